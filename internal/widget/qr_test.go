//go:build browser

package widget_test

import (
	"bytes"
	"context"
	"image/png"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
)

// TestTheSheetsCodeLeadsToTheSheet reads the code from the screen by an
// independent library.
func TestTheSheetsCodeLeadsToTheSheet(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/sheet?"+encoded(fullRequest)+"&rank=1&lang=en")
	p.until("seen('.qr')")
	ctx, cancel := context.WithTimeout(p.ctx, timeout)
	defer cancel()
	picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
	if err != nil {
		t.Fatal(err)
	}
	if want := eval[string](p, "location.href"); code.GetText() != want {
		t.Errorf("the code leads to %s, want %s", code.GetText(), want)
	}
}

// TestCodesOfEverySize reads symbols of texts from the shortest to the longest
// by an independent library.
func TestCodesOfEverySize(t *testing.T) {
	t.Parallel()
	p := newTab(t, desktop)
	p.exposes("symbolOf")
	const quiet = 4
	// 2953 bytes are the most that a symbol holds at level L (ISO/IEC 18004, table 7).
	for _, text := range []string{"m", "Año ½ – 漢字", strings.Repeat("flatbed-hauler/", 3), strings.Repeat("ride+height=", 30), strings.Repeat("x", 1500), strings.Repeat("q", 2953)} {
		rows := eval[[][]bool](p, "symbolOf("+jsonOf(t, text)+")")
		bits, err := gozxing.NewBitMatrix(len(rows)-2*quiet, len(rows)-2*quiet)
		if err != nil {
			t.Fatal(err)
		}
		for y, row := range rows {
			for x, dark := range row {
				inside := min(x, y) >= quiet && max(x, y) < len(rows)-quiet
				if dark && !inside {
					t.Fatalf("the quiet zone of %.20q is dark at %d, %d", text, x, y)
				}
				if dark {
					bits.Set(x-quiet, y-quiet)
				}
			}
		}
		if code, err := decoder.NewDecoder().DecodeWithoutHint(bits); err != nil || code.GetText() != text {
			t.Errorf("the symbol of %.20q reads otherwise: %v", text, err)
		}
	}
	if !eval[bool](p, "symbolOf('x'.repeat(2954)) === null") {
		t.Error("2954 bytes made a symbol")
	}
}
