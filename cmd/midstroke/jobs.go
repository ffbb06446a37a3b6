package main

import (
	"midstroke/internal/jobs"
	"midstroke/internal/postgres"
)

// jobKinds are the kinds of jobs that this process does, over a store.
func (s *supervisor) jobKinds(*postgres.Store) *jobs.Kinds {
	return jobs.NewKinds()
}
