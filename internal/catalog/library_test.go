package catalog_test

import (
	"fmt"
	"sync"
	"testing"

	"midstroke/internal/catalog"
)

func TestLibrary(t *testing.T) {
	var l catalog.Library
	if l.Find("own") != nil || l.Complete() {
		t.Error("an empty library has something")
	}
	l.SetStale(true) // of nothing
	own, other := new(catalog.Live), new(catalog.Live)
	l.Add("own", 1, own)
	l.Add("other", 2, other)
	if w := l.Find("own"); w == nil || w.Owner != 1 || w.Live != own {
		t.Errorf("own is %+v", w)
	}
	l.SetStale(true)
	if !own.Stale() || !other.Stale() {
		t.Error("not all are stale")
	}
	l.SetComplete()
	if l.Find("third") != nil || !l.Complete() {
		t.Error("a catalogue that was never put in is there, or the library isn't complete")
	}
}

func TestLibraryTakesManyAtOnce(t *testing.T) {
	var l catalog.Library
	var all sync.WaitGroup
	const writers = 8
	for i := range writers {
		all.Go(func() {
			for n := range 50 {
				l.Add(fmt.Sprint(i, " ", n), int64(i), new(catalog.Live))
				l.Find(fmt.Sprint(i, " ", n)).SetStale(true)
			}
		})
	}
	all.Wait()
	for i := range writers {
		if w := l.Find(fmt.Sprint(i, " ", 49)); w == nil || w.Owner != int64(i) || !w.Stale() {
			t.Fatalf("%d: %+v", i, w)
		}
	}
}
