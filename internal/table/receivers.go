package table

import (
	"cmp"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A receiver reads the rows of one kind of part, or of the settings. It is a
// checker without its type parameter.
type receiver interface {
	// table is the kind's name, "dampers", and item that of one row.
	table() string
	item() string
	// taken counts the rows so far, those with faults among them.
	taken() int64
	hasPrices() bool
	// likeness counts how many of a header's names are columns of the kind, and
	// says whether all that are needed are there, of which there is at least one.
	likeness(names map[string]bool) (known int, complete bool)
	// columnNames lists all columns; column finds the place of one in them, and
	// unknownColumn says of another name that there is none.
	columnNames() []string
	column(name string) (place int, isList bool)
	unknownColumn(name string) *fault.Fault
	// begin takes in a table's header, and says whether it names any column.
	begin(o origin, header []string, r rowInfo) bool
	// take reads the present row. Its error is that of the sink.
	take(cells []string, units unit.System) error
}

// batchRows is how many rows are passed on at a time.
const batchRows = 1 << 10

// A settingsReceiver takes in the one row of settings.
type settingsReceiver struct {
	*checker[catalog.Settings]
	value catalog.Settings
	rows  int
}

func newSettingsReceiver(faults *Faults, stated Stated) *settingsReceiver {
	kind := catalog.SettingsTable()
	r := &settingsReceiver{value: kind.Blank}
	r.value.Currency = stated.Currency
	r.checker = newChecker(kind, faults, func(s *catalog.Settings) error {
		switch r.rows++; {
		case r.rows > 1:
			r.report(wholeRow, "", problem(settingsTwice))
		case stated.Currency != "" && s.Currency != "" && s.Currency != stated.Currency:
			r.report(r.placeOf("currency"), "currency", problem(currencyOther, note.Word("stated", stated.Currency)))
		default:
			r.value = *s
			r.value.Currency = cmp.Or(s.Currency, stated.Currency)
		}
		return nil
	})
	return r
}

// receive gives the reading its receivers, in the order of a catalogue's files.
// Their rows go to a sink until the first fault. flush passes on the rows that
// are left at the end.
func (r *reading) receive(settings *settingsReceiver, to Sink) (flush func() error) {
	dampers, flushDampers := batched(catalog.DamperTable(), r.faults, to.Dampers)
	sleeves, flushSleeves := batched(catalog.SleeveTable(), r.faults, to.Sleeves)
	spacers, flushSpacers := batched(catalog.SpacerTable(), r.faults, to.Spacers)
	adapters, flushAdapters := batched(catalog.AdapterTable(), r.faults, to.Adapters)
	r.receivers = []receiver{settings, dampers, sleeves, spacers, adapters}
	return func() error {
		for _, flush := range []func() error{flushDampers, flushSleeves, flushSpacers, flushAdapters} {
			if err := flush(); err != nil {
				return err
			}
		}
		return nil
	}
}

// batched makes a receiver that gives rows to the sink in batches.
func batched[T any](kind *catalog.Table[T], faults *Faults, to func([]T) error) (c *checker[T], flush func() error) {
	if to == nil {
		return newChecker(kind, faults, nil), func() error { return nil }
	}
	var rows []T
	flush = func() error {
		if len(rows) == 0 {
			return nil
		}
		full := rows
		rows = rows[:0]
		return to(full)
	}
	return newChecker(kind, faults, func(row *T) error {
		if len(faults.List) > 0 {
			return nil
		}
		if rows == nil {
			rows = make([]T, 0, batchRows)
		}
		if rows = append(rows, *row); len(rows) < batchRows {
			return nil
		}
		return flush()
	}), flush
}

// checkCurrency finds prices in no currency.
func (r *reading) checkCurrency(s *settingsReceiver) {
	for _, part := range r.receivers {
		if part.hasPrices() && s.value.Currency == "" && !s.failed {
			r.faults.add(noCurrency())
			return
		}
	}
}

func noCurrency() fault.Fault {
	return origin{file: SettingsFile}.put(*problem(currencyMissing), position{}, "currency", "")
}

// checkDampers reports that no file had a damper. Where there are other faults
// they may be the reason.
func (r *reading) checkDampers(files []File) {
	if len(r.faults.List) > 0 {
		return
	}
	for _, part := range r.receivers {
		if part.item() == catalog.DamperTable().Item && part.taken() > 0 {
			return
		}
	}
	var o origin
	if len(files) == 1 {
		o.file = files[0].Name
	}
	r.faults.add(o.put(*problem(dampersMissing), position{}, "", ""))
}
