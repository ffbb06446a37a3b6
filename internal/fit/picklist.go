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
	known    []hardwareList
	room     pickList // in which each list is made
}

// hardwareList is what two ends take.
type hardwareList struct {
	upper, lower *mount.Result
	lines        pickList
}

// fill gives a fit its pick list.
func (l *pickLists) fill(f *Fit) {
	f.DamperPick, f.HardwarePicks = damperLine(f.Damper, l.dampers), l.hardware(f.Upper.Result, f.Lower.Result)
	f.DamperPick.stock(l.snapshot)
	f.Total = TotalOf(f.HardwarePicks, f.Upper.Complete && f.Lower.Complete).with(&f.DamperPick)
}

func (l *pickLists) hardware(upper, lower *mount.Result) pickList {
	for i := range l.known {
		if k := &l.known[i]; k.upper == upper && k.lower == lower {
			return k.lines
		}
	}
	l.room = l.room[:0].hardwareOf([2]*mount.Result{upper, lower}, l.dampers)
	lines := slices.Clone(l.room)
	lines.stock(l.snapshot)
	l.known = append(l.known, hardwareList{upper, lower, lines})
	return lines
}

// pickList is what to take off the shelf for so many dampers.
type pickList []Pick

// hardwareOf adds to an empty list what two ends take.
func (list pickList) hardwareOf(ends [2]*mount.Result, dampers int) pickList {
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

// stock says of each part whether as many as are needed can be had, and where.
func (l pickList) stock(s *catalog.Snapshot) {
	for i := range l {
		l[i].stock(s)
	}
}

func (p *Pick) stock(s *catalog.Snapshot) {
	if s.StockMoves() && p.Listed() {
		p.InStock, p.Levels = s.InStock(p.Code, p.InStock, p.Quantity), s.Levels(p.Code)
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
		t = t.with(&list[i])
	}
	return t
}

// with adds a line.
func (t Total) with(p *Pick) Total {
	if amount := p.Amount(); amount != mount.NoPrice {
		t.Amount += amount
	} else {
		t.Complete = false
	}
	return t
}

// PickList lists what to take off the shelf: the damper, and then its hardware.
func (f *Fit) PickList() []Pick { return slices.Concat([]Pick{f.DamperPick}, f.HardwarePicks) }
