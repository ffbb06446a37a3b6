package wire

import (
	"bytes"
	"encoding/json"
	"testing"
)

// TestContentIsWhatTheStandardLibraryWrites compares the two byte by byte.
func TestContentIsWhatTheStandardLibraryWrites(t *testing.T) {
	total := totalJSON{Amount: "1.00", Currency: "USD", Complete: true}
	axle := quotedAxleJSON{Axle: "rear", Damper: "d-1", Quantity: 2, Fits: true, Request: []byte(`{"a":"x y"}`), Answer: []byte(`{"fits":[]}`)}
	risky := quotedAxleJSON{
		Axle: "front", Damper: `d "2" \ é`, Quantity: 1, Risk: &riskJSON{By: "Zoë <head> & \"co\"", Reason: "line\nbreak\ttab \x01"}, Request: []byte(`{}`), Answer: []byte(`{"a":null}`),
	}
	for name, c := range map[string]quoteContent{
		"one axle":   {Language: "en", Axles: []quotedAxleJSON{axle}, PickList: []byte(`[]`), Total: total},
		"both axles": {Language: "es", Axles: []quotedAxleJSON{axle, risky}, PickList: []byte(`[{"kind":"damper"}]`), Total: totalJSON{}},
	} {
		if want, got := bytes.TrimSpace(appendJSON(nil, c)), c.appendTo(nil); !bytes.Equal(want, got) {
			t.Errorf("%s:\n%s\n%s", name, got, want)
		}
	}
}

// TestRequestsAreKeptWithoutSpace compares what is kept of a body with json.Compact.
func TestRequestsAreKeptWithoutSpace(t *testing.T) {
	rear, front := "{ \"units\" : \"in\",\r\n\t\"reference\": \"a \\\" b \\\\\", \"list\": [ 1 , 2.50 , { } ] }", `{"request":{"axles":[]},"x":"\\"}`
	body := `{"reference":"axles", "other":{"axles":[{"request":1}]}, "axles": [ {"damper":"request","request":` + rear + ` , "axle":"rear"}, {"request":` + front + `} ] , "remark":"request" }`
	r := &QuoteRequest{Axles: make([]QuoteAxle, 2)}
	if err := r.keepRaw([]byte(body)); err != nil {
		t.Fatal(err)
	}
	for i, sent := range []string{rear, front} {
		var want bytes.Buffer
		if err := json.Compact(&want, []byte(sent)); err != nil {
			t.Fatal(err)
		}
		if got := string(r.Axles[i].Raw); got != want.String() {
			t.Errorf("%s, want %s", got, want.String())
		}
	}
}
