package shop

// Release is the newest published revision of a catalogue.
type Release struct {
	// Owner is the number of the shop whose catalogue it is.
	Owner    int64
	Catalog  string
	Revision int
	// Identity tells the revision from any other of the same number, such as
	// one of a database that was restored to an earlier state.
	Identity string
	Counts   Counts
}

// Counts are how many of each kind of part a revision has.
type Counts struct{ Dampers, Sleeves, Spacers, Adapters int }
