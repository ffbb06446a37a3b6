package fit

import "midstroke/internal/fault"

func (r *Request) wantByRoad(n *Required, faults *fault.List) {}
