package main

import (
	"reflect"
	"testing"
	"time"
)

// TestEverySettingHasItsLeast: a count or a time below zero could be taken for "for ever",
// so each says where it is declared what it is at least.
func TestEverySettingHasItsLeast(t *testing.T) {
	settings := reflect.TypeFor[serveCommand]()
	seen := 0
	for i := range settings.NumField() {
		f := settings.Field(i)
		if f.Type != reflect.TypeFor[int]() && f.Type != reflect.TypeFor[time.Duration]() {
			continue
		}
		seen++
		if _, ok := f.Tag.Lookup("least"); !ok {
			t.Errorf("%s has none", f.Name)
		}
	}
	if seen < 8 { // four times and four counts
		t.Errorf("only %d settings were seen", seen)
	}
}
