package table

import (
	"math"
	"strconv"
	"strings"

	"midstroke/internal/mount"
)

// A format is what a workbook's number format says of the numbers under it.
type format struct {
	// date says that they are shown as dates or times of day.
	date bool
	// digits is to how many they are filled up with zeros, as codes are; 0 for
	// not at all.
	digits uint8
	// unit is written behind them: mm, cm or in, "" for none.
	unit string
}

// builtIn gives the format of a number that has no code of its own: 14 to 22
// and 45 to 47 everywhere, 27 to 36 and 50 to 58 in East Asia are dates or
// times (ISO/IEC 29500-1, section 18.8.30).
func builtIn(number int) format {
	return format{date: 14 <= number && number <= 22 || 27 <= number && number <= 36 || 45 <= number && number <= 47 || 50 <= number && number <= 58}
}

// readFormat reads the code of a number format, of which the first section
// decides: yyyy\-mm\-dd, 00000, 0.00" mm".
func readFormat(code string) format {
	var f format
	var shown, literal strings.Builder
scan:
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case ';':
			break scan
		case '"':
			end := strings.IndexByte(code[i+1:], '"')
			if end < 0 {
				break scan
			}
			literal.WriteString(code[i+1 : i+1+end])
			i += end + 1
		case '\\':
			if i++; i < len(code) {
				literal.WriteByte(code[i])
			}
		case '_', '*': // room as wide as the next character, or filled with it
			i++
		case '[': // a colour, a condition, a currency, or a time that passes 24 h
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				break scan
			}
			inside := strings.ToLower(code[i+1 : i+end])
			f.date = f.date || inside != "" && strings.Trim(inside, inside[:1]) == "" && strings.Contains("hms", inside[:1])
			i += end
		default:
			shown.WriteByte(c)
		}
	}
	number := shown.String()
	f.date = f.date || !strings.EqualFold(number, "general") && strings.ContainsAny(number, "dDmMyYhHsS")
	if n := len(number); n >= 2 && n <= mount.MostCode && strings.Trim(number, "0") == "" {
		f.digits = uint8(n)
	}
	switch unit := strings.ToLower(strings.TrimSpace(literal.String())); unit {
	case "mm", "cm", "in", "in.", `"`:
		f.unit = unit
	}
	return f
}

// readStyles reads the formats of cells.
func (w *workbook) readStyles(m *markup) error { return w.styles.read(w, m) }

// styles are read in the order in which they stand: first the codes of number
// formats, then which of them each format of cells has.
type styles struct {
	codes map[int]format
	// cells says that the formats which follow are those of cells.
	cells bool
}

func (s *styles) read(w *workbook, m *markup) error {
	switch {
	case m.opens("numFmt") && len(s.codes) < mostFormats:
		if s.codes == nil {
			s.codes = map[int]format{}
		}
		if number, err := strconv.Atoi(string(m.attribute("numFmtId"))); err == nil {
			s.codes[number] = readFormat(string(m.attribute("formatCode")))
		}
	case string(m.name) == "cellXfs":
		s.cells = !m.closing && !m.empty
	case s.cells && m.opens("xf") && len(w.formats) < mostFormats:
		number, _ := strconv.Atoi(string(m.attribute("numFmtId"))) // 0 is the general one
		f, ok := s.codes[number]
		if !ok {
			f = builtIn(number)
		}
		w.formats = append(w.formats, f)
	}
	return nil
}

// The whole numbers below it are those that a spreadsheet keeps every digit
// of: it shows no more than 15.
const mostExact = 1e15

// appendNumber appends a number as a spreadsheet shows it: with at most 15
// digits and without an exponent, for 16.1 may be kept as 16.100000000000001.
// It says whether digits of a whole number were lost before.
func appendNumber(b []byte, raw []byte, f format) (_ []byte, lost bool) {
	if !isShort(raw) {
		v, err := strconv.ParseFloat(string(raw), 64)
		switch {
		case err != nil || math.IsNaN(v) || math.IsInf(v, 0):
			return append(b, raw...), false
		case math.Abs(v) >= mostExact:
			return strconv.AppendFloat(b, v, 'g', 15, 64), true
		}
		text := strconv.FormatFloat(v, 'e', 14, 64)
		v, _ = strconv.ParseFloat(text, 64) // it was written by the line above
		raw = strconv.AppendFloat(nil, v, 'f', -1, 64)
	}
	for n := len(raw); n < int(f.digits); n++ {
		b = append(b, '0')
	}
	b = append(b, raw...)
	if f.unit != "" {
		b = append(append(b, ' '), f.unit...)
	}
	return b, false
}

// isShort says of most numbers that they stand as they are shown.
func isShort(raw []byte) bool {
	if len(raw) == 0 || len(raw) > 15 {
		return false
	}
	for i, c := range raw {
		if (c < '0' || c > '9') && c != '.' && (c != '-' || i > 0) {
			return false
		}
	}
	return true
}
