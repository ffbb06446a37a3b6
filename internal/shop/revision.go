package shop

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/enum"
	"midstroke/internal/mount"
)

// Place is a catalogue of a shop.
type Place struct {
	// Shop is the shop's number; Everywhere for whoever runs the service.
	Shop    int64
	Catalog string
}

// Everywhere stands for the number of any shop.
const Everywhere = 0

// Parts are what a revision is made of, each kind a row at a time, so that a
// catalogue of any size passes through. A sequence that is nil has no rows; one
// that gives an error makes an end of it all.
type Parts struct {
	catalog.Settings
	Dampers  iter.Seq2[catalog.Damper, error]
	Sleeves  iter.Seq2[mount.Sleeve, error]
	Spacers  iter.Seq2[mount.Spacer, error]
	Adapters iter.Seq2[mount.Adapter, error]
	// Checked is called last; an error of it makes an end of it all. Optional.
	Checked func() error
	// Quota limits what the shop may store with them.
	Quota Quota
}

// Quota is what a shop may store; 0 sets no limit.
type Quota struct {
	Revisions int // of all its catalogues, drafts among them
	Parts     int // in all of these
}

// The quotas.
const (
	QuotaOfRevisions = "revisions"
	QuotaOfParts     = "parts"
)

// QuotaError says that a shop would store more than it may.
type QuotaError struct {
	Of           string // QuotaOfRevisions or QuotaOfParts
	Stored, Most int
}

func (e *QuotaError) Error() string {
	return fmt.Sprintf("the shop would store %d %s, and it may store %d", e.Stored, e.Of, e.Most)
}

// PartsOf gives contents as parts.
func PartsOf(c catalog.Contents) Parts {
	return Parts{
		Settings: c.Settings(),
		Dampers:  each(c.Dampers), Sleeves: each(c.Sleeves), Spacers: each(c.Spacers), Adapters: each(c.Adapters),
	}
}

func each[T any](list []T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for one := range slices.Values(list) {
			if !yield(one, nil) {
				return
			}
		}
	}
}

// Revision is what is known of a revision beside its parts.
type Revision struct {
	Catalog string
	Number  int
	// Identity tells it from a revision of the same number in another history of
	// the database.
	Identity  string
	Published bool
	// Current is the revision that the catalogue is answered from, 0 for none;
	// BasedOn was it when this one was drafted.
	Current, BasedOn int
	Note             string
	Created          time.Time
	CreatedBy        string
	// Used is when a draft was last drafted, read or compared, to within a day.
	Used   time.Time
	Counts Counts
	// Publications are when it was made the current one, the first first.
	Publications []Publication
}

// Publication is the moment at which a revision was made the current one.
type Publication struct {
	Action   Action
	By       string
	At       time.Time
	Replaced int // what was current before, 0 for nothing
}

// Action is how a revision is made the current one.
type Action uint8

// The actions.
const (
	// Publish makes a draft known to everyone, for good.
	Publish Action = iota
	// RollBack goes back to a revision that was published before.
	RollBack
)

// Actions names the actions.
var Actions = enum.Names[Action]{Publish: "publish", RollBack: "roll_back"}

// String gives the action's name.
func (a Action) String() string { return Actions[a] }

// Release gives a revision that is the current one as the newest of its catalogue.
func (r *Revision) Release(owner int64) Release {
	return Release{Owner: owner, Catalog: r.Catalog, Revision: r.Number, Identity: r.Identity, Counts: r.Counts}
}

// Numbered is a revision by its number.
type Numbered struct {
	Place
	Number int
}

// ErrUnreachable says that what keeps the revisions doesn't answer just now.
var ErrUnreachable = errors.New("the database is out of reach")

// ErrFull says that what keeps the revisions has no room left.
var ErrFull = errors.New("the database has no room left")

// Conflict says why a revision's state doesn't allow what was asked.
type Conflict uint8

// The conflicts.
const (
	// PublishedAlready: what is published is rolled back to, not published
	// again.
	PublishedAlready Conflict = iota
	// NotPublished: a draft can't be rolled back to.
	NotPublished
	// CurrentAlready: the catalogue is answered from this revision.
	CurrentAlready
	// CurrentStays: what answers come from can't be deleted.
	CurrentStays
)

var conflictTexts = [...]string{
	PublishedAlready: "is published already; to answer from it again, roll back to it",
	NotPublished:     "is a draft; publish it",
	CurrentAlready:   "is the one that answers come from already",
	CurrentStays:     "is the one that answers come from, so it stays",
}

// ConflictError says that a revision's state doesn't allow what was asked.
type ConflictError struct {
	Reason   Conflict
	Revision int
}

func (e *ConflictError) Error() string {
	return fmt.Sprintf("revision %d %s", e.Revision, conflictTexts[e.Reason])
}
