// Command till sells dampers at a counter: readings in, a choice, the pick list out.
//
//	till http://127.0.0.1:8080 testdata/examples/rear-axle-two-eyes.json
package main

import (
	"encoding/json"
	"fmt"
	"log"
	"net/http"
	"os"
)

// answer is what a till looks at of an answer to POST /v1/fits, or of a problem.
type answer struct {
	Detail  string // of a problem
	Reasons []struct{ Text string }
	More    bool
	AskNext *struct{ Text string } `json:"ask_next"`
	Fits    []struct {
		Grade    string
		Damper   struct{ Code, Description string }
		PickList []struct {
			Quantity                     int
			Text, Code, Standard, Amount string // null is read as ""
		} `json:"pick_list"`
		Total struct {
			Amount, Currency string
			Complete         bool
		}
	}
}

func main() {
	log.SetFlags(0)
	if len(os.Args) != 3 {
		log.Fatal("usage: till URL REQUEST.json")
	}
	request, err := os.Open(os.Args[2])
	if err != nil {
		log.Fatal(err)
	}
	response, err := http.Post(os.Args[1]+"/v1/fits", "application/json", request)
	if err != nil {
		log.Fatal(err)
	}
	var a answer
	if err := json.NewDecoder(response.Body).Decode(&a); err != nil {
		log.Fatal(err)
	}
	for _, r := range a.Reasons {
		fmt.Println(r.Text)
	}
	if len(a.Fits) == 0 {
		log.Fatalln("Nothing to sell.", a.Detail)
	}
	for i, f := range a.Fits {
		fmt.Printf("%2d  %s  %s  %s\n", i+1, f.Damper.Code, f.Grade, f.Damper.Description)
	}
	if a.More {
		fmt.Println("More dampers fit than these.")
	}
	fmt.Print("Which one? ")
	var chosen int
	if _, err := fmt.Scan(&chosen); err != nil || chosen < 1 || chosen > len(a.Fits) {
		log.Fatal("None of these.")
	}
	fit := a.Fits[chosen-1]
	for _, p := range fit.PickList { // what has no code is bought by its standard
		fmt.Printf("%3d × %-56s %-20s %9s\n", p.Quantity, p.Text, p.Code+p.Standard, p.Amount)
	}
	fmt.Printf("Total %s %s\n", fit.Total.Amount, fit.Total.Currency)
	if !fit.Total.Complete {
		fmt.Println("That is without what has no price here or isn't known yet.")
	}
	if a.AskNext != nil {
		fmt.Println("Next:", a.AskNext.Text)
	}
}
