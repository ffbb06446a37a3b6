package table

// batchRows is how many rows are handed on at a time.
const batchRows = 1 << 10

// A settingsDesk takes in the one row of settings.
type settingsDesk struct {
	*checker[Settings]
	value Settings
	rows  int
}

func newSettingsDesk(faults *Faults) *settingsDesk {
	k := settingsKind()
	d := &settingsDesk{value: k.blank()}
	d.checker = newChecker(k, faults, func(s *Settings) error {
		if d.rows++; d.rows == 1 {
			d.value = *s
		} else {
			d.fault(noPlace, "", "", trouble{"rows_too_many", "this is a second row of settings", "leave one row under the header"})
		}
		return nil
	})
	return d
}

// seat gives the reading its desks, in the order of a catalogue's files. Their
// rows go to a sink until the first fault; the function that is given hands on
// those that are left at the end.
func (r *reading) seat(settings *settingsDesk, to Sink) (flush func() error) {
	dampers, flushDampers := batched(dampersKind(), r.faults, to.Dampers)
	sleeves, flushSleeves := batched(sleevesKind(), r.faults, to.Sleeves)
	spacers, flushSpacers := batched(spacersKind(), r.faults, to.Spacers)
	adapters, flushAdapters := batched(adaptersKind(), r.faults, to.Adapters)
	r.desks = []desk{settings, dampers, sleeves, spacers, adapters}
	return func() error {
		for _, flush := range []func() error{flushDampers, flushSleeves, flushSpacers, flushAdapters} {
			if err := flush(); err != nil {
				return err
			}
		}
		return nil
	}
}

// batched makes a desk that hands on rows by the batch.
func batched[T any](k kind[T], faults *Faults, to func([]T) error) (d *checker[T], flush func() error) {
	if to == nil {
		return newChecker(k, faults, nil), func() error { return nil }
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
	return newChecker(k, faults, func(row *T) error {
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
func (r *reading) checkCurrency(s *settingsDesk) {
	prices := false
	for _, d := range r.desks {
		prices = prices || d.hasPrices()
	}
	if prices && s.value.Currency == "" && !s.hurt {
		r.faults.add(currencyMissing())
	}
}

func currencyMissing() Fault {
	return Fault{
		File: SettingsFile, Column: "currency", Code: "currency_missing",
		Detail: "parts have prices, but no currency is named", Cure: "name it in " + SettingsFile + ", as in EUR",
	}
}

// checkDampers finds that no file had a damper. Where there are other faults
// they may be why.
func (r *reading) checkDampers(files []File) {
	if len(r.faults.List) > 0 {
		return
	}
	for _, d := range r.desks {
		if d.item() == "damper" && d.taken() > 0 {
			return
		}
	}
	var o origin
	if len(files) == 1 {
		o.file = files[0].Name
	}
	r.fault(o, spot{}, "", trouble{"dampers_missing", "there are no dampers", "add a table of them with a row for each; a catalogue is nothing without dampers"})
}
