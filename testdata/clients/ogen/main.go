// Command ogen asks the service at the given address for dampers, with the client
// that ogen makes of the contract, and prints the best pick list.
package main

import (
	"context"
	"fmt"
	"log"
	"os"

	"github.com/ogen-go/ogen/ogenerrors"

	"clients/ogen/gen"
)

// noKey leaves out the key, which the demo catalogue doesn't need.
type noKey struct{}

func (noKey) Key(context.Context, gen.OperationName) (gen.Key, error) {
	return gen.Key{}, ogenerrors.ErrSkipClientSecurity
}

func (noKey) KeyInQuery(context.Context, gen.OperationName) (gen.KeyInQuery, error) {
	return gen.KeyInQuery{}, ogenerrors.ErrSkipClientSecurity
}

func main() {
	client, err := gen.NewClient(os.Args[1], noKey{})
	must(err)
	answer, err := client.FindFits(context.Background(), request(), gen.FindFitsParams{})
	must(err)
	found, ok := answer.(*gen.FitsAnswerHeaders)
	if !ok {
		log.Fatalf("%T: %+v", answer, answer)
	}
	for _, line := range found.Response.Fits[0].PickList {
		fmt.Println(line.Quantity, line.Text)
	}
	missing := request()
	missing.Revision = gen.NewOptInt(2_000_000_000)
	refused, err := client.FindFits(context.Background(), missing, gen.FindFitsParams{})
	must(err)
	if _, ok := refused.(*gen.FindFitsNotFound); !ok {
		log.Fatalf("a revision that isn't there: %T", refused)
	}
}

// request is an eye over an eye, each on an M12 bolt, and two readings: a text and
// a number.
func request() *gen.FitsRequest {
	end := gen.NewEyePlaceVehicleEnd(gen.EyePlace{
		Style: gen.EyePlaceStyleEye, Bolt: gen.NewOptBolt("M12"), Opening: gen.NewOptLength(gen.NewStringLength("1 1/2")),
		Plate: gen.NewOptLength(gen.NewStringLength("3/16")),
	})
	return &gen.FitsRequest{
		Units: gen.UnitsIn, Upper: end, Lower: end, Suspension: gen.NewOptSuspension(gen.SuspensionSolidAxle),
		Readings: []gen.Reading{gen.NewLengthReading(gen.NewStringLength("17 5/16")), gen.NewLengthReading(gen.NewFloat64Length(17.3125))},
	}
}

func must(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
