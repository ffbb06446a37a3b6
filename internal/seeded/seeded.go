// Package seeded makes property tests draw the same cases in every run. Test packages
// import it only for this effect:
//
//	import _ "midstroke/internal/seeded"
//
// The flag -rapid.seed still chooses other cases, 0 new ones in each run.
// -rapid.checks sets how many there are.
package seeded

import (
	"flag"

	_ "pgregory.net/rapid" // its flags must be defined first
)

// seed is any number but 0, which stands for none.
const seed = "19590701"

func init() {
	if err := flag.Set("rapid.seed", seed); err != nil {
		panic(err) // this version of rapid has no such flag
	}
}
