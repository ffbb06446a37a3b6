package mount

import (
	"strconv"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The codes of the faults of a bolt's name.
const (
	unknownMetricSize fault.Code = "unknown_thread.metric_size"
	unknownInchSize   fault.Code = "unknown_thread.inch_size"
	unknownInchThread fault.Code = "unknown_thread.inch"
	unknownPitch      fault.Code = "unknown_pitch"
	pitchMissing      fault.Code = "unknown_pitch.missing"
	boltNotPositive   fault.Code = "bolt_not_positive"
)

// BoltError says why a text names no bolt.
type BoltError struct {
	// Text is what was read, cut short where it is long.
	Text   string
	Code   fault.Code
	Values []note.Value
}

// Error gives the text and what is wrong with it, in English.
func (e *BoltError) Error() string {
	return strconv.Quote(e.Text) + ": " + note.FaultText("en", unit.Unset, string(e.Code), e.Values)
}

// Fault gives the code and the values of the fault.
func (e *BoltError) Fault() (fault.Code, []note.Value) { return e.Code, e.Values }

// ParseBolt reads a bolt by its name:
//
//	"M12"            a metric thread, coarse
//	"M12x1.25"       a metric thread of that pitch ("M12-1.25" and "M12×1.25" too)
//	"1/2 in", "7/16" an inch size of the table, which means UNC; bare where in is inches
//	"1/2-20 in"      an inch thread of so many to the inch ("1/2-20", "1/2-20 UNF" too)
//	"12.2 mm"        any other diameter is a plain pin
//
// A diameter in millimetres is a plain pin whatever its size, since a metric
// bolt is written with its M. Letters count in either case. The error is a
// *BoltError for a thread that isn't in the tables, else unit.Parse's
// *unit.SyntaxError.
func ParseBolt(text string, in unit.System) (Bolt, error) {
	name := strings.TrimSpace(text)
	if rest, ok := cutM(name); ok {
		return parseMetric(text, rest)
	}
	if size, perInch, ok := cutInchThread(name); ok {
		return parseInch(text, size, perInch)
	}
	d, err := unit.Parse(text, in)
	if err != nil {
		return Bolt{}, err
	}
	if d <= 0 {
		return Bolt{}, boltError(text, boltNotPositive)
	}
	if size := inchThreads.size(d); size != nil && spokenInInches(name, in) {
		return size.threads[0].bolt(), nil
	}
	return Bolt{Diameter: d}, nil
}

// cutM takes the M off a metric thread's name. "M" with no figure behind it,
// as in "metre", is no thread.
func cutM(name string) (rest string, ok bool) {
	if name == "" || name[0]|0x20 != 'm' {
		return "", false
	}
	rest = strings.TrimLeft(name[1:], " ")
	return rest, rest == "" || '0' <= rest[0] && rest[0] <= '9'
}

func parseMetric(text, rest string) (Bolt, error) {
	size, pitch := rest, ""
	if i := strings.IndexAny(rest, "xX×-"); i >= 0 {
		size, pitch = rest[:i], strings.TrimLeft(rest[i:], "xX×- ")
		if pitch == "" {
			return Bolt{}, boltError(text, pitchMissing)
		}
	}
	diameter, err := unit.Parse(size, unit.Millimetres)
	found := metricThreads.size(diameter)
	if err != nil || found == nil {
		return Bolt{}, boltError(text, unknownMetricSize)
	}
	if pitch == "" {
		return found.threads[0].bolt(), nil
	}
	wanted, err := unit.Parse(pitch, unit.Millimetres)
	var pitches []string
	for _, t := range found.threads {
		if err == nil && t.Pitch == wanted {
			return t.bolt(), nil
		}
		pitches = append(pitches, mmText(t.Pitch))
	}
	return Bolt{}, boltError(text, unknownPitch, note.Word("size", "M"+mmText(diameter)), note.Word("pitches", strings.Join(pitches, ", ")))
}

// cutInchThread cuts "1/2-20 in" into the size and the threads in an inch. "17-1/4"
// is a mixed number and no thread: what follows its hyphen is a fraction.
func cutInchThread(name string) (size, perInch string, ok bool) {
	size, rest, ok := strings.Cut(name, "-")
	if !ok || size == "" {
		return "", "", false
	}
	rest = strings.ToLower(strings.TrimSpace(rest))
	for _, suffix := range [...]string{`"`, "inches", "inch", "in.", "in", "unc", "unf"} {
		if cut, found := strings.CutSuffix(rest, suffix); found {
			rest = strings.TrimSpace(cut)
			break
		}
	}
	if rest == "" || strings.Trim(rest, "0123456789") != "" {
		return "", "", false
	}
	return strings.TrimSuffix(strings.TrimSpace(size), `"`), rest, true
}

func parseInch(text, size, perInch string) (Bolt, error) {
	diameter, err := unit.Parse(size, unit.Inches)
	found := inchThreads.size(diameter)
	if err != nil || found == nil {
		return Bolt{}, boltError(text, unknownInchSize)
	}
	n, err := strconv.ParseUint(perInch, 10, 8)
	upper := strings.ToUpper(text)
	for i, t := range found.threads {
		otherSeries := strings.Contains(upper, inchSeries[1-i])
		if err == nil && t.PerInch == uint8(n) && !otherSeries {
			return t.bolt(), nil
		}
	}
	return Bolt{}, boltError(text, unknownInchThread, note.Word("size", inchText(diameter)),
		note.Num("coarse", float64(found.threads[0].PerInch), ""), note.Num("fine", float64(found.threads[1].PerInch), ""))
}

// spokenInInches says whether a length that was read was written in inches.
// Every metric unit has an m in its name, and no other has.
func spokenInInches(name string, in unit.System) bool {
	if strings.ContainsAny(name, "mM") {
		return false
	}
	_, err := unit.Parse(name, unit.Unset)
	return err == nil || in == unit.Inches
}

func boltError(text string, code fault.Code, values ...note.Value) error {
	const most = 64
	if runes := []rune(strings.ToValidUTF8(text, "\ufffd")); len(runes) > most {
		text = string(runes[:most]) + "…"
	}
	return &BoltError{Text: text, Code: code, Values: values}
}
