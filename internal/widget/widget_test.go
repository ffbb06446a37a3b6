package widget_test

import (
	"testing"

	"midstroke/internal/widget"
)

func TestBuild(t *testing.T) {
	f, err := widget.Build()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("script %d bytes, %d zipped", len(f.Script.Body), len(f.Script.Zipped))
}
