package httpapi_test

import (
	"encoding/xml"
	"net/url"
	"os"
	"strings"
	"testing"
)

// TestTheExampleSheetAsksWhatIsAnswered sends what the cells of the example sheet ask.
// Each cell shows one value, or a fault as text.
func TestTheExampleSheetAsksWhatIsAnswered(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/examples/webservice.fods")
	if err != nil {
		t.Fatal(err)
	}
	var sheet struct {
		Rows []struct {
			Cells []struct {
				Text    string `xml:"p"`
				Formula string `xml:"formula,attr"`
			} `xml:"table-cell"`
		} `xml:"body>spreadsheet>table>table-row"`
	}
	if err := xml.Unmarshal(raw, &sheet); err != nil || len(sheet.Rows) < 4 {
		t.Fatal(len(sheet.Rows), err)
	}
	asks, err := url.Parse(sheet.Rows[0].Cells[1].Text)
	if err != nil {
		t.Fatal(err)
	}
	s := newService(t)
	// By hand: nothing fits at 100 in, and a comma is refused.
	outcomes := map[string]string{"14": "fits", "15.5": "fits", "17.3125": "fits", "17 1/4": "fits", "100": "no_fit", "17,5": "error: readings: write a point"}
	for _, row := range sheet.Rows[2:] {
		reading := row.Cells[0].Text
		for i, cell := range row.Cells[1:] {
			pick := sheet.Rows[1].Cells[i+1].Text
			if !strings.Contains(cell.Formula, "WEBSERVICE(") {
				t.Fatalf("%s, %s: the formula is %q", reading, pick, cell.Formula)
			}
			a := s.get(t, asks.RequestURI()+"&readings="+url.QueryEscape(reading)+"&pick="+pick)
			if a.status != 200 || !strings.HasPrefix(a.header.Get("Content-Type"), "text/plain") || len(a.body) > 250 {
				t.Errorf("%s, %s: %d as %s: %s", reading, pick, a.status, a.header.Get("Content-Type"), a.body)
			}
			if pick == "outcome" && !strings.HasPrefix(string(a.body), outcomes[reading]) {
				t.Errorf("%s: %s, want %s", reading, a.body, outcomes[reading])
			}
		}
	}
}
