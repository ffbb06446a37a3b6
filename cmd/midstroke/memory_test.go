package main

import (
	"context"
	"runtime/debug"
	"runtime/metrics"
	"testing"
	"time"
)

// TestTheHeapHasAFloor: a small heap is collected less often, until the end.
func TestTheHeapHasAFloor(t *testing.T) {
	t.Setenv("GOGC", "")
	percent := func() uint64 {
		sample := []metrics.Sample{{Name: "/gc/gogc:percent"}}
		metrics.Read(sample)
		return sample[0].Value.Uint64()
	}
	defer debug.SetGCPercent(debug.SetGCPercent(100))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		floorHeap(ctx, 1<<40) // far more than this process holds
	}()
	for end := time.Now().Add(10 * time.Second); percent() <= 100 && time.Now().Before(end); time.Sleep(time.Millisecond) {
	}
	if now := percent(); now <= 100 {
		t.Errorf("the heap may grow by %d %%, want more", now)
	}
	cancel()
	<-done
	if now := percent(); now != 100 {
		t.Errorf("in the end it may grow by %d %%, want 100", now)
	}
	t.Setenv("GOGC", "50")
	floorHeap(t.Context(), 1<<40) // returns at once
}
