package limit

// Callers counts those that are remembered.
func (r *Rates) Callers() int { return len(r.buckets) }
