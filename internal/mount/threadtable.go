package mount

import "midstroke/internal/unit"

// A threadSystem is the metric or the inch sizes of bolts, with the figures of their
// standards.
type threadSystem struct {
	sizes []threadSize // ascending

	bolt, nut, washer, hole string // the standards that they are made by
	stressArea              string // the source of the thread's stress area
	series                  string // the source of the preferred lengths

	// holeFits names the classes of fit of a clearance hole, the closest first.
	holeFits [3]string
	// lengths are the preferred lengths of bolts.
	lengths []lengthSeries
	// threaded says how long the thread is.
	threaded []threadedPart
}

// A threadSize is one size of bolt.
type threadSize struct {
	diameter unit.Length
	threads  []Thread    // the coarse one first
	nut      unit.Length // greatest height of its plain hexagon nut
	washer   unit.Length // nominal thickness of its plain washer
	// holes are its clearance holes, one for each of holeFits; zeros where the
	// standard has none.
	holes [3]unit.Length
}

// A lengthSeries is equally spaced lengths.
type lengthSeries struct{ first, last, step unit.Length }

// A threadedPart says how much of a bolt is threaded: two diameters and beyond, for
// bolts up to a length.
type threadedPart struct{ upTo, beyond unit.Length }

const mm = unit.Millimetre

// metricThreads are, in mm:
//   - ISO 261's coarse pitches, and the fine ones that are common on dampers and
//     brackets (from memory);
//   - the greatest nut heights of ISO 4032 (the older standard gives M10 8.0 and
//     M12 10.0) and the washers of ISO 7089, as fastener suppliers print them;
//     the washer for M22 is from memory;
//   - the fine, medium and coarse holes of ISO 273, as fastener suppliers print
//     them; M18 and M22 are from an older list that agrees on the others. (Older
//     tables give M12 14/15, M14 16/17 and M16 18/19 for medium and coarse.)
//   - the lengths of ISO 888 (from memory) and the thread lengths of ISO 4014.
var metricThreads = threadSystem{
	bolt: "ISO 4014", nut: "ISO 4032", washer: "ISO 7089", hole: "ISO 273", stressArea: "ISO 898-1", series: "ISO 888",
	holeFits: [3]string{"fine", "medium", "coarse"},
	sizes: []threadSize{
		metricSize(6, 5.2, 1.6, [3]float64{6.4, 6.6, 7}, 1),
		metricSize(8, 6.8, 1.6, [3]float64{8.4, 9, 10}, 1.25, 1),
		metricSize(10, 8.4, 2, [3]float64{10.5, 11, 12}, 1.5, 1.25, 1),
		metricSize(12, 10.8, 2.5, [3]float64{13, 13.5, 14.5}, 1.75, 1.5, 1.25),
		metricSize(14, 12.8, 2.5, [3]float64{15, 15.5, 16.5}, 2, 1.5),
		metricSize(16, 14.8, 3, [3]float64{17, 17.5, 18.5}, 2, 1.5),
		metricSize(18, 15.8, 3, [3]float64{19, 20, 21}, 2.5, 1.5),
		metricSize(20, 18, 3, [3]float64{21, 22, 24}, 2.5, 1.5),
		metricSize(22, 19.4, 3, [3]float64{23, 24, 26}, 2.5, 1.5),
		metricSize(24, 21.5, 4, [3]float64{25, 26, 28}, 3, 2),
	},
	lengths:  []lengthSeries{{20 * mm, 70 * mm, 5 * mm}, {70 * mm, 160 * mm, 10 * mm}, {160 * mm, 500 * mm, 20 * mm}},
	threaded: []threadedPart{{125 * mm, 6 * mm}, {200 * mm, 12 * mm}, {unit.MaxLength, 25 * mm}},
}

func metricSize(diameter, nut, washer float64, holes [3]float64, pitches ...float64) threadSize {
	s := threadSize{diameter: unit.FromMm(diameter), nut: unit.FromMm(nut), washer: unit.FromMm(washer)}
	for i, hole := range holes {
		s.holes[i] = unit.FromMm(hole)
	}
	for _, pitch := range pitches {
		s.threads = append(s.threads, Thread{Diameter: s.diameter, Pitch: unit.FromMm(pitch)})
	}
	return s
}

// inchThreads are:
//   - the diameters in 1/16 in, and the threads to the inch of ASME B1.1's UNC
//     and UNF (from memory);
//   - the greatest nut heights of ASME B18.2.2 and the washers of ASME B18.21.1
//     type A narrow in 1/1000 in, as Machinery's Handbook, 31st ed., pp. 1677 and
//     1694, prints them; the washers below 7/16 in and above 3/4 in are from
//     memory;
//   - the close, normal and loose holes of ASME B18.2.8-1999 in 1/64 in; it has
//     none for 9/16 in. Loose is as Machinery's Handbook, 31st ed., p. 1741,
//     prints it, close and normal are from a chart that agrees with it. Many
//     charts print 33/64, 17/32 and 35/64 for 1/2 in, which isn't that standard;
//   - the lengths, which are common practice, no source, and the thread lengths of
//     ASME B18.2.1.
var inchThreads = threadSystem{
	bolt: "ASME B18.2.1", nut: "ASME B18.2.2", washer: "ASME B18.21.1, type A narrow", hole: "ASME B18.2.8", stressArea: "ASME B1.1",
	series:   "common practice",
	holeFits: [3]string{"close", "normal", "loose"},
	sizes: []threadSize{
		inchSize(4, 226, 65, [3]unit.Length{17, 18, 19}, 20, 28),
		inchSize(5, 273, 65, [3]unit.Length{21, 22, 23}, 18, 24),
		inchSize(6, 337, 65, [3]unit.Length{25, 26, 27}, 16, 24),
		inchSize(7, 385, 65, [3]unit.Length{29, 30, 31}, 14, 20),
		inchSize(8, 448, 95, [3]unit.Length{34, 36, 39}, 13, 20),
		inchSize(9, 496, 95, [3]unit.Length{}, 12, 18),
		inchSize(10, 559, 95, [3]unit.Length{42, 44, 47}, 11, 18),
		inchSize(12, 665, 134, [3]unit.Length{50, 52, 58}, 10, 16),
		inchSize(14, 776, 134, [3]unit.Length{58, 60, 66}, 9, 14),
		inchSize(16, 887, 134, [3]unit.Length{66, 70, 74}, 8, 12),
	},
	lengths:  []lengthSeries{{unit.Inch / 2, 5 * unit.Inch, unit.Inch / 4}, {5 * unit.Inch, 8 * unit.Inch, unit.Inch / 2}},
	threaded: []threadedPart{{6 * unit.Inch, unit.Inch / 4}, {unit.MaxLength, unit.Inch / 2}},
}

func inchSize(sixteenths, nut, washer unit.Length, holes [3]unit.Length, perInch ...uint8) threadSize {
	s := threadSize{diameter: sixteenths * unit.Inch / 16, nut: nut * unit.Inch / 1000, washer: washer * unit.Inch / 1000}
	for i, hole := range holes {
		s.holes[i] = hole * unit.Inch / 64
	}
	for _, n := range perInch {
		s.threads = append(s.threads, Thread{Diameter: s.diameter, Pitch: unit.Inch.Scale(1 / float64(n)), PerInch: n})
	}
	return s
}

// size finds a size by its diameter, nil where there is none.
func (s *threadSystem) size(diameter unit.Length) *threadSize {
	for i := range s.sizes {
		if s.sizes[i].diameter == diameter {
			return &s.sizes[i]
		}
	}
	return nil
}

// preferredLength gives the shortest preferred length that is at least least, 0
// where there is none.
func (s *threadSystem) preferredLength(least unit.Length) unit.Length {
	for _, part := range s.lengths {
		l := max(least, part.first)
		if l = part.first + (l-part.first+part.step-1)/part.step*part.step; l <= part.last {
			return l
		}
	}
	return 0
}

// system gives the threads that t is one of.
func (t Thread) system() *threadSystem {
	if t.Inch() {
		return &inchThreads
	}
	return &metricThreads
}

// size finds a thread's row of the tables; nil for none, and for a thread that
// isn't in them.
func (t Thread) size() *threadSize { return t.system().size(t.Diameter) }

// lengthOn gives how much of a bolt of a length is threaded, at most all of it.
func (t Thread) lengthOn(bolt unit.Length) unit.Length {
	for _, part := range t.system().threaded {
		if bolt <= part.upTo {
			return min(2*t.Diameter+part.beyond, bolt)
		}
	}
	return bolt
}

// CoarseBolts lists the bolts of both tables with their coarse threads, metric
// first, ascending.
func CoarseBolts() []Bolt {
	var bolts []Bolt
	for _, s := range [...]*threadSystem{&metricThreads, &inchThreads} {
		for i := range s.sizes {
			bolts = append(bolts, s.sizes[i].threads[0].bolt())
		}
	}
	return bolts
}
