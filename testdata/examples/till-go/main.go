// Command till goes from readings to a kept quote and its sheet, by the client of
// api/clients/go.
//
//	MIDSTROKE_KEY=… till http://127.0.0.1:8080 rear ../rear-axle-two-eyes.json
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"log"
	"net/http"
	"os"

	midstroke "midstroke-client"
)

func main() {
	log.SetFlags(0)
	if len(os.Args) != 4 {
		log.Fatal("usage: till URL front|rear REQUEST.json")
	}
	client, err := midstroke.Connect(os.Args[1], os.Getenv("MIDSTROKE_KEY"))
	must(err)
	raw, err := os.ReadFile(os.Args[3])
	must(err)
	var request midstroke.FitsRequest
	must(json.Unmarshal(raw, &request))
	ctx := context.Background()

	found, err := client.FindFitsWithResponse(ctx, &midstroke.FindFitsParams{}, request)
	must(err)
	if found.JSON200 == nil {
		log.Fatalf("%s: %s", found.Status(), found.Body)
	}
	if len(found.JSON200.Fits) == 0 {
		log.Fatalf("Nothing to sell: %s", found.JSON200.Outcome)
	}
	for _, fit := range found.JSON200.Fits {
		fmt.Printf("%2d  %s  %s  %s\n", fit.Rank, fit.Damper.Code, fit.Grade, fit.Damper.Description)
	}
	fmt.Print("Which one? ")
	var chosen int
	if _, err := fmt.Scan(&chosen); err != nil || chosen < 1 || chosen > len(found.JSON200.Fits) {
		log.Fatal("None of these.")
	}

	// The key makes it safe to send the request again, which the client does.
	answer, err := client.KeepQuoteWithResponse(ctx, &midstroke.KeepQuoteParams{IdempotencyKey: midstroke.NewKey()}, midstroke.QuoteRequest{
		Reference: request.Reference,
		Axles: []midstroke.QuoteAxleRequest{{
			Axle: midstroke.VehicleAxle(os.Args[2]), Damper: found.JSON200.Fits[chosen-1].Damper.Code, Request: request,
		}},
	})
	must(err)
	quote := answer.JSON201
	if quote == nil {
		log.Fatalf("%s: %s", answer.Status(), answer.Body)
	}
	for _, line := range quote.PickList {
		fmt.Printf("%3d × %s\n", line.Quantity, line.Text)
	}
	fmt.Printf("Total %s %s\nQuote %s\n", quote.Total.Amount, quote.Total.Currency, quote.Id)
	sheet, err := http.Get(os.Args[1] + quote.Sheet.Url)
	must(err)
	if sheet.StatusCode != http.StatusOK {
		log.Fatalf("the sheet: %s", sheet.Status)
	}
	fmt.Println("Sheet", os.Args[1]+quote.Sheet.Url)
}

func must(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
