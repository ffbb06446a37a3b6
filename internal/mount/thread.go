package mount

import "midstroke/internal/unit"

// Thread is a screw thread; the zero value is none. It is comparable.
type Thread struct {
	Diameter unit.Length
	// Pitch is the distance between threads; for an inch thread it is 1 in
	// over PerInch, rounded to a nanometre.
	Pitch unit.Length
	// PerInch is the threads in an inch, 0 for a metric thread.
	PerInch uint8
}

// Bolt is a bolt or, where Thread is zero, a plain pin. The zero value means
// that none was given.
type Bolt struct {
	Diameter unit.Length
	Thread   Thread
}
