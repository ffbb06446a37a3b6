package main

import (
	"context"
	"log/slog"
	"math"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"time"

	"github.com/KimMachineGun/automemlimit/memlimit"
)

// The shares of a container's memory that the garbage collector may use. A
// private Postgres needs the rest of it.
const (
	memoryShare             = 0.9
	memoryShareWithPostgres = 0.7
)

// boundMemory sets GOMEMLIMIT from the container's limit, unless the environment
// sets it, and gives the ceiling of the catalogues in memory.
func (s *serveCommand) boundMemory(log *slog.Logger) int64 {
	share := memoryShare
	if s.Database.DatabaseURL == "" {
		share = memoryShareWithPostgres
	}
	limit, err := memlimit.Set(memlimit.WithProvider(memlimit.FromCgroup), memlimit.WithRatio(share))
	if err != nil {
		// There are no control groups here, so there is no limit.
		log.Debug("the container's memory isn't known", "error", err)
	}
	switch {
	case s.Memory != nil:
		return s.Memory.bytes
	case limit <= 0 || limit == math.MaxInt64:
		return 0
	}
	log.Info("memory is limited", "heap_bytes", limit, "catalogue_bytes", limit/2)
	return limit / 2
}

// floorHeap lets so much be allocated between two garbage collections, until ctx
// ends. Where the catalogues are small, the collector would otherwise come many
// times a second. Where they are large, the usual 100 % is more than the floor.
// GOMEMLIMIT holds all the same, and a GOGC in the environment is left as it is.
func floorHeap(ctx context.Context, floor int64) {
	if floor <= 0 || os.Getenv("GOGC") != "" {
		return
	}
	const usual, most, seldom = 100, 1_000_000, 2 * time.Second
	sample := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	set := usual
	for {
		metrics.Read(sample)
		const least = 4 << 20 // is what the runtime counts with at least
		live := max(least, int64(sample[0].Value.Uint64()))
		// To set it stops the program for a moment, so small changes aren't worth it.
		if percent := int(min(most, max(usual, 100*floor/live))); percent > set+set/4 || percent < set-set/4 {
			debug.SetGCPercent(percent)
			set = percent
		}
		select {
		case <-ctx.Done():
			debug.SetGCPercent(usual)
			return
		case <-time.After(seldom):
		}
	}
}
