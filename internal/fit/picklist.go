package fit

import (
	"cmp"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// Pick is one line of what to take off the shelf.
type Pick struct {
	Kind     PickKind
	Code     string // "" for what no catalogue lists
	Quantity int
	// Description is the part's in the catalogue. What no catalogue lists has
	// Order, as people order it, and the Standard that it is made by.
	Description string
	Order       note.Note
	Standard    string
	InStock     bool
	// Levels are how many are where, none where that isn't told.
	Levels []catalog.Level
	Each   mount.Price
}

// PickKind names what is picked.
type PickKind string

// The kinds, in the order in which they are listed.
const (
	PickDamper  PickKind = "damper"
	PickAdapter PickKind = "adapter"
	PickSleeve  PickKind = "sleeve"
	PickSpacer  PickKind = "spacer"
	PickBolt    PickKind = "bolt"
	PickNut     PickKind = "nut"
	PickWasher  PickKind = "washer"
)

// Listed says that a catalogue has the part, and so knows of its stock.
func (p *Pick) Listed() bool { return p.Code != "" }

// Amount is what the line costs.
func (p *Pick) Amount() mount.Price {
	if p.Each == mount.NoPrice {
		return mount.NoPrice
	}
	return p.Each * mount.Price(p.Quantity)
}

// Total is what a pick list costs.
type Total struct {
	Amount mount.Price // of the lines that have a price
	// Complete says that every line has one, and that neither end is left open.
	Complete bool
}

// pickLists makes the pick lists of an answer's fits. All lines but the first, the
// damper, follow from the hardware of the two ends, which several fits have in common.
type pickLists struct {
	snapshot *catalog.Snapshot
	dampers  int
	fits     int // for how many a list is still to be made
	known    []hardwareList
	room     []Pick // of which lists are made
}

// hardwareList is what two ends take.
type hardwareList struct {
	upper, lower *mount.Result
	lines        pickList
}

// of gives the pick list of a fit.
func (l *pickLists) of(f *Fit) pickList {
	hardware := l.hardware(f.Upper.Result, f.Lower.Result)
	n := 1 + len(hardware)
	if cap(l.room)-len(l.room) < n {
		l.room = make([]Pick, 0, n*l.fits) // most lists of an answer are as long as this one
	}
	l.fits--
	from := len(l.room)
	l.room = append(append(l.room, damperLine(f.Damper, l.dampers)), hardware...)
	pickList(l.room[from : from+1]).stock(l.snapshot)
	return l.room[from : from+n : from+n]
}

func (l *pickLists) hardware(upper, lower *mount.Result) pickList {
	for i := range l.known {
		if k := &l.known[i]; k.upper == upper && k.lower == lower {
			return k.lines
		}
	}
	lines := newPickList([2]*mount.Result{upper, lower}, l.dampers)
	lines.stock(l.snapshot)
	l.known = append(l.known, hardwareList{upper, lower, lines})
	return lines
}

// pickList is what to take off the shelf for so many dampers.
type pickList []Pick

// newPickList lists what two ends take.
func newPickList(ends [2]*mount.Result, dampers int) pickList {
	const fasteners = 3 // for each end
	n := len(ends) * (1 + fasteners)
	for _, end := range ends {
		n += len(end.Sleeves)
		if end.Spacers != nil {
			n += len(end.Spacers.EachSide)
		}
	}
	list := make(pickList, 0, n)
	for _, end := range ends {
		if a := end.Adapter; a != nil {
			list.add(Pick{Kind: PickAdapter, Code: a.Code, Quantity: dampers, Description: a.Description, InStock: a.InStock, Each: a.Price})
		}
	}
	for _, end := range ends {
		for i := range end.Sleeves {
			s := &end.Sleeves[i].Sleeve
			list.add(Pick{
				Kind: PickSleeve, Code: s.Code, Quantity: end.Sleeves[i].Quantity * dampers,
				Description: s.Description, InStock: s.InStock, Each: s.Price,
			})
		}
	}
	for _, end := range ends {
		if end.Spacers == nil {
			continue
		}
		for i := range end.Spacers.EachSide {
			s := &end.Spacers.EachSide[i].Spacer
			list.add(Pick{
				Kind: PickSpacer, Code: s.Code, Quantity: 2 * end.Spacers.EachSide[i].Quantity * dampers,
				Description: s.Description, InStock: s.InStock, Each: s.Price,
			})
		}
	}
	list.addFasteners(ends, dampers)
	return list
}

// stock says of each part whether it can be had, and where.
func (l pickList) stock(s *catalog.Snapshot) {
	if !s.StockMoves() {
		return
	}
	for i := range l {
		if l[i].Listed() {
			l[i].InStock, l[i].Levels = s.InStock(l[i].Code, l[i].InStock), s.Levels(l[i].Code)
		}
	}
}

// addFasteners adds the bolts whose length is known, each with its nut and two
// washers.
func (l *pickList) addFasteners(ends [2]*mount.Result, dampers int) {
	for _, kind := range [...]PickKind{PickBolt, PickNut, PickWasher} {
		for _, end := range ends {
			b := end.Bolt
			if b == nil || b.Length == 0 {
				continue
			}
			thread := b.Bolt.Thread
			p := Pick{Kind: kind, Quantity: dampers, Each: mount.NoPrice}
			switch kind {
			case PickBolt:
				p.Order, p.Standard = note.New("hexagon_bolt", note.Word("bolt", b.Order)), b.Standard()
			case PickNut:
				p.Order, p.Standard = note.New("hexagon_nut", note.Word("thread", thread.String())), thread.NutStandard()
			default:
				p.Order, p.Standard = note.New("plain_washer", note.Word("size", thread.Size())), thread.WasherStandard()
				p.Quantity *= 2
			}
			l.add(p)
		}
	}
}

// add adds a line, or its quantity to that of a line for the same part.
func (l *pickList) add(p Pick) {
	for i := range *l {
		same := &(*l)[i]
		if same.Kind == p.Kind && same.Code == p.Code && (p.Listed() || same.Order.Values[0] == p.Order.Values[0]) {
			same.Quantity += p.Quantity
			return
		}
	}
	*l = append(*l, p)
}

// Joined puts pick lists together, such as those of both axles: the kinds in their
// order, and each part once.
func Joined(lists ...[]Pick) []Pick {
	var all pickList
	for _, list := range lists {
		for _, p := range list {
			all.add(p)
		}
	}
	slices.SortStableFunc(all, func(a, b Pick) int { return cmp.Compare(kindOrder[a.Kind], kindOrder[b.Kind]) })
	return all
}

// kindOrder is the place of each kind in a list.
var kindOrder = map[PickKind]int{PickDamper: 0, PickAdapter: 1, PickSleeve: 2, PickSpacer: 3, PickBolt: 4, PickNut: 5, PickWasher: 6}

// PickDampers gives the pick list of dampers alone, for a damper that is taken
// although it doesn't fit.
func PickDampers(s *catalog.Snapshot, d *catalog.Damper, quantity int) []Pick {
	list := pickList{damperLine(d, quantity)}
	list.stock(s)
	return list
}

func damperLine(d *catalog.Damper, quantity int) Pick {
	return Pick{Kind: PickDamper, Code: d.Code, Quantity: quantity, Description: d.Description, InStock: d.InStock, Each: d.Price}
}

// TotalOf adds up the amounts of a pick list. whole says that it lacks no line.
func TotalOf(list []Pick, whole bool) Total {
	t := Total{Complete: whole}
	for i := range list {
		if amount := list[i].Amount(); amount != mount.NoPrice {
			t.Amount += amount
		} else {
			t.Complete = false
		}
	}
	return t
}

// total adds up the amounts of a fit's pick list. The list lacks what an end that is
// left open still needs.
func (l pickList) total(f *Fit) Total { return TotalOf(l, f.Upper.Complete && f.Lower.Complete) }
