package main

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// printer writes an answer as text for people, in the request's units.
type printer struct {
	*bufio.Writer
	units    unit.System
	language string
}

// show writes the whole answer. The error is the writer's first one.
func show(w io.Writer, a *fit.Answer, s *catalog.Snapshot, units unit.System, language string) error {
	out := &printer{bufio.NewWriter(w), units, language}
	out.heading(a, s)
	out.working(a)
	out.needed(a.Required)
	out.fits(a, s.Currency())
	out.nearMisses(a.NearMisses)
	out.counts(a)
	out.notes("Cautions", a.Cautions)
	return out.Flush()
}

func (o *printer) heading(a *fit.Answer, s *catalog.Snapshot) {
	switch a.Outcome {
	case fit.Fits:
		of := counted(len(a.Fits), "damper fits", "dampers fit, best first,")
		if a.More {
			of = counted(len(a.Fits), "damper, the best of more that fit,", "dampers, the best of more that fit,")
		}
		fmt.Fprintf(o, "%s of catalogue %s, revision %d\n", of, s.Name(), s.Revision())
	case fit.NoFit:
		fmt.Fprintf(o, "No damper of catalogue %s, revision %d, fits\n", s.Name(), s.Revision())
	case fit.MeasureAgain:
		fmt.Fprintln(o, "Measure again")
	case fit.OutsideMethod:
		fmt.Fprintln(o, "Outside this method")
	}
	for _, why := range a.Reasons {
		o.paragraph("  ", why.Text(o.language, o.units))
	}
}

func (o *printer) working(a *fit.Answer) {
	if a.Working == nil {
		return
	}
	w := a.Working
	fmt.Fprintf(o, "\nWorking length %s, between %s and %s\n", o.length(w.Value), o.spare(w.Low), o.need(w.High))
	if w.Shorter.Length != w.Longer.Length {
		fmt.Fprintf(o, "One side %s, the other %s: each must fit\n", o.length(w.Shorter.Length), o.length(w.Longer.Length))
	}
	o.steps(w.Steps)
}

func (o *printer) needed(r *fit.Required) {
	if r == nil {
		return
	}
	fmt.Fprintf(o, "\nTravel needed by %s: %s in compression (%s wanted), %s in extension (%s wanted)\n", r.Basis,
		o.need(r.Compression.Least), o.need(r.Compression.Wanted), o.need(r.Extension.Least), o.need(r.Extension.Wanted))
	o.steps(r.Steps)
}

func (o *printer) steps(steps []note.Step) {
	var rows [][]string
	for _, s := range steps {
		source := ""
		if s.Source != "" {
			source = "(" + s.Source + ")"
		}
		rows = append(rows, []string{"  " + s.Text(o.language, o.units), string(s.AppendResult(nil, o.language, o.units)), source})
	}
	o.columns(rows)
}

// columns writes rows of cells in columns, without blanks at the ends of lines.
func (o *printer) columns(rows [][]string) {
	var b strings.Builder
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, row := range rows {
		fmt.Fprintln(t, strings.Join(row, "\t"))
	}
	_ = t.Flush() // a strings.Builder gives no error
	for line := range strings.Lines(b.String()) {
		fmt.Fprintln(o, strings.TrimRight(line, " \n"))
	}
}

func (o *printer) fits(a *fit.Answer, currency string) {
	if len(a.Fits) == 0 {
		return
	}
	fmt.Fprintln(o)
	rows := [][]string{{"", "damper", "grade", "compressed", "ride height in the stroke", "extended", "spare in", "spare out", "likely"}}
	for i := range a.Fits {
		f := &a.Fits[i]
		rows = append(rows, []string{
			strconv.Itoa(f.Rank), f.Damper.Code, f.Grade.String() + inverted(f.Inverted),
			o.length(f.Compressed), picture(f), o.length(f.Extended),
			o.spare(f.Margin.Compression), o.spare(f.Margin.Extension), percent(f.Likelihood),
		})
	}
	o.columns(rows)
	o.legend()

	fmt.Fprintln(o, "\nTo take off the shelf")
	said := texts{}
	for _, n := range a.Cautions {
		said[n.Text(o.language, o.units)] = true // printed below, under "Cautions"
	}
	shared := o.shared(a.Fits, said)
	for i := range a.Fits {
		o.hardware(&a.Fits[i], currency, said, shared)
	}
	for _, text := range shared {
		o.paragraph("  with each: ", text)
	}
	if a.AskNext != nil {
		o.paragraph("  next: ", a.AskNext.Note.Text(o.language, o.units))
	}
}

// The signs of the picture.
const (
	atRide    = 'R'
	isNeeded  = '='
	isToSpare = '.'
	// pictureCells is how many characters a stroke is drawn with.
	pictureCells = 25
)

func (o *printer) legend() {
	fmt.Fprintf(o, "   %c ride height  %c travel needed  %c travel to spare; the damper is compressed at [ and extended at ]\n", atRide, isNeeded, isToSpare)
}

// picture draws where ride height lies in a damper's stroke. Fully compressed is
// at the left, fully extended at the right. Around ride height is the travel that
// the suspension needs, and beyond it the travel to spare.
func picture(f *fit.Fit) string {
	stroke := f.Extended - f.Compressed
	if stroke <= 0 {
		return ""
	}
	// Cell i covers the stroke from i to i+1 parts of pictureCells.
	cell := func(from unit.Length) int {
		return min(max(int(int64(from)*pictureCells/int64(stroke)), 0), pictureCells-1)
	}
	ride := cell(stroke.Scale(f.RidePosition))
	from, to := cell(f.Margin.Compression), cell(stroke-f.Margin.Extension)
	var b strings.Builder
	b.WriteByte('[')
	for i := range pictureCells {
		switch {
		case i == ride:
			b.WriteRune(atRide)
		case i >= from && i <= to:
			b.WriteRune(isNeeded)
		default:
			b.WriteRune(isToSpare)
		}
	}
	b.WriteByte(']')
	return b.String()
}

// texts is a set of texts that are printed already or will be.
type texts map[string]bool

// told gives the cautions and notes of one fit, without those in said.
func (o *printer) told(f *fit.Fit, said texts) []string {
	var all []string
	tell := func(lead string, notes []note.Note) {
		for _, n := range notes {
			if text := n.Text(o.language, o.units); !said[text] {
				all = append(all, lead+text)
			}
		}
	}
	for i, e := range [...]fit.End{f.Upper, f.Lower} {
		lead := [...]string{"upper end: ", "lower end: "}[i]
		if summary := e.Summary(); !e.Complete && len(summary) > 0 {
			tell(lead, summary[len(summary)-1:]) // says what was left open
		}
		tell(lead, e.Cautions)
	}
	tell("", f.Notes)
	return all
}

// shared gives the cautions and notes that all of several fits have.
func (o *printer) shared(fits []fit.Fit, said texts) []string {
	if len(fits) < 2 {
		return nil
	}
	shared := o.told(&fits[0], said)
	for i := range fits[1:] {
		own := o.told(&fits[1+i], said)
		shared = slices.DeleteFunc(shared, func(text string) bool { return !slices.Contains(own, text) })
	}
	return shared
}

// hardware lists the parts of one fit, and its cautions and notes that aren't
// shared.
func (o *printer) hardware(f *fit.Fit, currency string, said texts, shared []string) {
	var picks []string
	for _, p := range f.PickList() {
		part := string(p.Kind) + " " + p.Code
		if !p.Listed() {
			part = p.Order.Text(o.language, o.units)
		}
		picks = append(picks, fmt.Sprintf("%d × %s", p.Quantity, part))
	}
	o.paragraph(fmt.Sprintf("%2d  ", f.Rank), strings.Join(picks, ", ")+"; "+total(f.Total, currency))
	if h := f.AtHeights; h != nil {
		o.paragraph("      ", fmt.Sprintf("at the lowest ride height: compression %s, extension %s; at the highest: compression %s, extension %s",
			o.spare(h.Lowest.Compression), o.spare(h.Lowest.Extension), o.spare(h.Highest.Compression), o.spare(h.Highest.Extension)))
	}
	for _, text := range o.told(f, said) {
		if !slices.Contains(shared, text) {
			o.paragraph("      ", text)
		}
	}
}

// total gives the price of a pick list.
func total(t fit.Total, currency string) string {
	text := fmt.Sprintf("%d.%02d %s", t.Amount/100, t.Amount%100, currency)
	if !t.Complete {
		text += " without what has no price"
	}
	return text
}

func (o *printer) nearMisses(misses []fit.NearMiss) {
	if len(misses) == 0 {
		return
	}
	fmt.Fprintln(o, "\nNear misses, and what would make each a fit")
	for i := range misses {
		m := &misses[i]
		fmt.Fprintf(o, "  %s (%s to %s%s)", m.Damper.Code, o.length(m.Damper.Compressed), o.length(m.Damper.Extended), inverted(m.Inverted))
		switch c, e := m.ShortBy.Compression, m.ShortBy.Extension; {
		case c > 0 && e > 0:
			fmt.Fprintf(o, " lacks %s of compression and %s of extension\n", o.need(c), o.need(e))
		case c > 0:
			fmt.Fprintf(o, " lacks %s of compression\n", o.need(c))
		case e > 0:
			fmt.Fprintf(o, " lacks %s of extension\n", o.need(e))
		default:
			fmt.Fprintln(o, " has the travel, but not the hardware")
		}
		for _, r := range m.Remedies {
			o.paragraph("      ", r.Text.Text(o.language, o.units))
		}
	}
}

func (o *printer) counts(a *fit.Answer) {
	if a.Counts != nil {
		fmt.Fprintf(o, "\nOf %d dampers %d fit, %d nearly do, and %d are ruled out\n",
			a.Counts.Dampers, a.Counts.Fits, a.Counts.NearMisses, a.Counts.RuledOut)
		for _, c := range a.RuledOut {
			fmt.Fprintf(o, "  %6d  %s\n", c.Count, strings.ReplaceAll(string(c.Reason), "_", " "))
		}
	}
	for _, j := range a.Judged {
		fmt.Fprintf(o, "\n%s: %s\n", j.Code, strings.ReplaceAll(j.Verdict, "_", " "))
		for _, why := range j.Reasons {
			o.paragraph("  ", why.Text(o.language, o.units))
		}
	}
}

func (o *printer) notes(title string, notes []note.Note) {
	if len(notes) == 0 {
		return
	}
	fmt.Fprintf(o, "\n%s\n", title)
	for _, n := range notes {
		o.paragraph("  - ", n.Text(o.language, o.units))
	}
}

// lineWidth is where a paragraph breaks.
const lineWidth = 100

// paragraph breaks text into lines and writes them, the first one after lead and
// the others indented as far.
func (o *printer) paragraph(lead, text string) {
	column := utf8.RuneCountInString(lead)
	indent := strings.Repeat(" ", column)
	line := lead
	for i, word := range strings.Fields(text) {
		width := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case column+1+width > lineWidth:
			fmt.Fprintln(o, line)
			line, column = indent, len(indent)
		default:
			line, column = line+" ", column+1
		}
		line, column = line+word, column+width
	}
	fmt.Fprintln(o, line)
}

// length writes a length as people say it, spare one that may be rounded down
// only, and need one that may be rounded up only.
func (o *printer) length(l unit.Length) string { return o.spoken(l, unit.Nearest) }
func (o *printer) spare(l unit.Length) string  { return o.spoken(l, unit.Down) }
func (o *printer) need(l unit.Length) string   { return o.spoken(l, unit.Up) }

func (o *printer) spoken(l unit.Length, r unit.Rounding) string {
	return string(l.AppendSpoken(nil, o.units, r))
}

func inverted(upsideDown bool) string {
	if upsideDown {
		return ", inverted"
	}
	return ""
}

// percent writes a likelihood. It never rounds to 0 % or 100 %.
func percent(p float64) string {
	whole := int(p*100 + 0.5)
	switch {
	case p < 1 && whole == 100:
		return ">99 %"
	case p > 0 && whole == 0:
		return "<1 %"
	}
	return strconv.Itoa(whole) + " %"
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
