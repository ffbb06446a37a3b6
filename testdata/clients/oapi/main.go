// Command oapi asks the service at the given address for dampers, with the client
// that oapi-codegen makes of the contract, and prints the best pick list.
package main

import (
	"context"
	"fmt"
	"log"
	"os"

	"clients/oapi/gen"
)

func main() {
	client, err := gen.NewClientWithResponses(os.Args[1])
	must(err)
	answer, err := client.FindFitsWithResponse(context.Background(), &gen.FindFitsParams{}, request())
	must(err)
	if answer.JSON200 == nil {
		log.Fatalf("%s: %s", answer.Status(), answer.Body)
	}
	for _, line := range answer.JSON200.Fits[0].PickList {
		fmt.Println(line.Quantity, line.Text)
	}
	refused, err := client.FindFitsWithResponse(context.Background(), &gen.FindFitsParams{}, gen.FitsRequest{Units: "ft"})
	must(err)
	if refused.ApplicationproblemJSON422 == nil || refused.ApplicationproblemJSON422.Status != 422 {
		log.Fatalf("a request with faults: %s", refused.Status())
	}
}

// request is an eye over an eye, each on an M12 bolt, and two readings: a text and
// a number.
func request() gen.FitsRequest {
	bolt, opening, plate := "M12", length("1 1/2"), length("3/16")
	end := gen.EyePlace{Style: "eye", Bolt: &bolt, Opening: &opening, Plate: &plate}
	r := gen.FitsRequest{Units: "in"}
	must(r.Upper.FromEyePlace(end))
	must(r.Lower.FromEyePlace(end))
	suspension := gen.Suspension("solid_axle")
	r.Suspension = &suspension
	r.Readings = make([]gen.Reading, 2)
	must(r.Readings[0].FromLength(length("17 5/16")))
	var number gen.Length
	must(number.FromLength0(17.3125))
	must(r.Readings[1].FromLength(number))
	return r
}

func length(text string) (l gen.Length) {
	must(l.FromLength1(text))
	return l
}

func must(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
