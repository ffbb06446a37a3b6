//go:build browser

package widget_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestPictures takes the pictures of the README, for make pictures.
func TestPictures(t *testing.T) {
	folder := os.Getenv("MIDSTROKE_PICTURES")
	if folder == "" {
		t.Skip("make pictures takes the README's pictures")
	}
	s := newService(t)
	take := func(p *tab, name string) {
		ctx, cancel := context.WithTimeout(p.ctx, timeout)
		defer cancel()
		picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	counter := newTab(t, screen{width: 1280, height: 800})
	counter.open(s.URL + "/")
	counter.until("document.activeElement.id === 'call'")
	counter.press("rear solid stud eye 16 5/8 M12")
	counter.until("seen('.row[data-code]')")
	take(counter, "counter")

	sheet := newTab(t, screen{width: 1000, height: 1400}) // all of it as on a desktop
	sheet.open(s.URL + "/sheet?" + encoded(fullRequest+"&rank=1&lang=en") + "&paper=letter")
	sheet.until("q('.stages')")
	take(sheet, "sheet")
}
