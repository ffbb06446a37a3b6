package main

import (
	"log/slog"
	"math"

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
