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
	if i, ok := inchSize(d); ok && spokenInInches(name, in) {
		return inch(inchSizes[i].sixteenths, inchSizes[i].coarse).bolt(), nil
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
	row, known := metricSizeOf(diameter)
	if err != nil || !known {
		return Bolt{}, boltError(text, unknownMetricSize)
	}
	m := metricSizes[row]
	if pitch == "" {
		return metric(m.diameter, m.pitches[0]).bolt(), nil
	}
	wanted, err := unit.Parse(pitch, unit.Millimetres)
	for _, p := range m.pitches {
		if t := metric(m.diameter, p); err == nil && t.Pitch == wanted {
			return t.bolt(), nil
		}
	}
	return Bolt{}, boltError(text, unknownPitch, note.Word("size", "M"+strconv.Itoa(m.diameter)), note.Word("pitches", pitchList(m.pitches)))
}

func pitchList(pitches []float64) string {
	words := make([]string, len(pitches))
	for i, p := range pitches {
		words[i] = strconv.FormatFloat(p, 'f', -1, 64)
	}
	return strings.Join(words, ", ")
}

// cutInchThread parts "1/2-20 in" into the size and the threads in an inch.
// "17-1/4", a mixed number, has a fraction behind its hyphen and is none.
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
	row, known := inchSize(diameter)
	if err != nil || !known {
		return Bolt{}, boltError(text, unknownInchSize)
	}
	s := inchSizes[row]
	n, err := strconv.ParseUint(perInch, 10, 8)
	if err == nil && (uint8(n) == s.coarse || uint8(n) == s.fine) {
		t := inch(s.sixteenths, uint8(n))
		upper := strings.ToUpper(text)
		if !(strings.Contains(upper, "UNC") && t.PerInch != s.coarse) && !(strings.Contains(upper, "UNF") && t.PerInch != s.fine) {
			return t.bolt(), nil
		}
	}
	return Bolt{}, boltError(text, unknownInchThread, note.Word("size", inchText(diameter)),
		note.Num("coarse", float64(s.coarse), ""), note.Num("fine", float64(s.fine), ""))
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
