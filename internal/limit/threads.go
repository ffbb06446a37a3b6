package limit

import (
	"os"
	"runtime"
	"sync"
	"time"
)

// Threads lets more threads run Go than there are processors while long work goes on.
// Such work keeps a thread busy; with a spare one, the kernel hears of a new request at
// once and lets it go first. Without long work a spare thread does harm: the garbage
// collector uses it, and takes the processor from quick work.
type Threads struct {
	processors, spare int
	rest              time.Duration

	mu   sync.Mutex
	long int // pieces of long work that go on
	// resting takes the spare threads away some time after the last end.
	resting *time.Timer
}

// spareThreads is how many threads are added, and spareRest for how long after the last
// long work: to change their number stops the program for a moment.
const (
	spareThreads = 2
	spareRest    = 2 * time.Second
)

// NewThreads manages the threads of this process. Where the environment sets GOMAXPROCS,
// it adds none.
func NewThreads() *Threads {
	t := &Threads{processors: runtime.GOMAXPROCS(0), spare: spareThreads, rest: spareRest}
	if os.Getenv("GOMAXPROCS") != "" {
		t.spare = 0
	}
	return t
}

// Processors is how many threads there are without long work.
func (t *Threads) Processors() int { return t.processors }

// Long says that long work begins, and gives the function to call at its end. A nil
// Threads does nothing.
func (t *Threads) Long() (end func()) {
	if t == nil || t.spare == 0 {
		return func() {}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.long++
	t.set(t.processors + t.spare)
	return t.end
}

func (t *Threads) end() {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.long--; t.long > 0 {
		return
	}
	if t.resting == nil {
		t.resting = time.AfterFunc(t.rest, t.settle)
	} else {
		t.resting.Reset(t.rest)
	}
}

// settle takes the spare threads away, unless long work goes on again.
func (t *Threads) settle() {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.long == 0 {
		t.set(t.processors)
	}
}

// set is called while t.mu is held.
func (t *Threads) set(n int) {
	if runtime.GOMAXPROCS(0) != n {
		runtime.GOMAXPROCS(n)
	}
}
