//go:build browser

package widget_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// TestCodesAreThoseOfAnotherMaker holds our symbols, of sizes from the least to
// the largest, against those of an independent library: the npm package qrcode
// 1.5.4, run once with the texts in testdata/qr.json.
func TestCodesAreThoseOfAnotherMaker(t *testing.T) {
	t.Parallel()
	raw, err := os.ReadFile("testdata/qr.json")
	if err != nil {
		t.Fatal(err)
	}
	var known struct {
		Symbols []struct {
			Text, SHA256 string
			Size         int
		}
	}
	if err := json.Unmarshal(raw, &known); err != nil {
		t.Fatal(err)
	}
	p := newTab(t, desktop)
	p.exposes("qr.js", "qr")
	for _, symbol := range known.Symbols {
		rows := eval[[]string](p, "(qr("+jsonOf(t, symbol.Text)+") ?? []).map((row) => row.map(Number).join(''))")
		sum := sha256.Sum256([]byte(strings.Join(rows, "\n") + "\n"))
		if len(rows) != symbol.Size || hex.EncodeToString(sum[:]) != symbol.SHA256 {
			t.Errorf("the symbol of %.20q… has %d rows, want %d, or another pattern", symbol.Text, len(rows), symbol.Size)
		}
	}
	if !eval[bool](p, "qr('x'.repeat(2954)) === null") {
		t.Error("2954 bytes are more than any symbol holds at level L (ISO/IEC 18004 table 7), and made one")
	}
}
