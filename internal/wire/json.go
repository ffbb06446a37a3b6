package wire

import (
	"math"
	"slices"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// writer appends JSON to a buffer, in the order in which it is called, with
// lengths in the reader's units and words in the reader's language. Members
// and items put their own commas.
type writer struct {
	b     []byte
	units unit.System
	lang  string
	words []byte // of the note being written
	kept  *Kept  // nil: nothing is kept between answers
	// written remembers where hardware that several fits share was written.
	written map[*mount.Result]part
	// said remembers where each note was last written, by its code.
	said map[string]said
}

// said is a note as it was written. Its words cost more than anything else in
// an answer, and much the same is said of one part after another.
type said struct {
	values []note.Value
	part
}

// comma parts what follows from what stands before it in the same object or
// list.
func (w *writer) comma() {
	if n := len(w.b); n > 0 && !opens(w.b[n-1]) {
		w.b = append(w.b, ',')
	}
}

// opens says that nothing need part what follows from c.
func opens(c byte) bool { return c == '{' || c == ':' || c == '[' || c == ',' }

// key begins a member. Names are the contract's and need no escape.
func (w *writer) key(name string) {
	w.comma()
	b := append(w.b, '"')
	b = append(b, name...)
	w.b = append(b, '"', ':')
}

func (w *writer) open()      { w.comma(); w.b = append(w.b, '{') }
func (w *writer) close()     { w.b = append(w.b, '}') }
func (w *writer) openList()  { w.comma(); w.b = append(w.b, '[') }
func (w *writer) closeList() { w.b = append(w.b, ']') }

func (w *writer) null(name string) {
	w.key(name)
	w.b = append(w.b, "null"...)
}

func (w *writer) flag(name string, yes bool) {
	w.key(name)
	w.b = strconv.AppendBool(w.b, yes)
}

func (w *writer) whole(name string, n int) {
	w.key(name)
	w.b = strconv.AppendInt(w.b, int64(n), 10)
}

func (w *writer) text(name, s string) {
	w.key(name)
	w.string(s)
}

// textOrNull writes a text, null where it is empty.
func (w *writer) textOrNull(name, s string) {
	if s == "" {
		w.null(name)
		return
	}
	w.text(name, s)
}

// string appends a string value. Text that isn't UTF-8 gets U+FFFD in place of
// what can't be read.
func (w *writer) string(s string) {
	w.comma()
	if isPlain(s) {
		w.b = append(w.b, '"')
		w.b = append(w.b, s...)
		w.b = append(w.b, '"')
		return
	}
	w.b, _ = jsontext.AppendQuote(w.b, s)
}

// bytes is string of a text that is still being written.
func (w *writer) bytes(s []byte) {
	if isPlain(s) {
		w.b = append(append(append(w.b, '"'), s...), '"')
		return
	}
	w.b, _ = jsontext.AppendQuote(w.b, s)
}

// isPlain says that s needs no escape.
func isPlain[T string | []byte](s T) bool {
	for i := range len(s) {
		if !plainBytes[s[i]] {
			return false
		}
	}
	return true
}

// plainBytes are the bytes of ASCII that stand for themselves in a JSON string.
// It is never changed.
var plainBytes = func() (plain [256]bool) {
	for c := byte(' '); c <= '~'; c++ {
		plain[c] = c != '"' && c != '\\'
	}
	return plain
}()

func (w *writer) length(name string, l unit.Length) {
	w.key(name)
	w.b = appendLength(w.b, l, w.units)
}

// lengthOrNull writes a length, null where it is 0 and so not known.
func (w *writer) lengthOrNull(name string, l unit.Length) {
	if l == 0 {
		w.null(name)
		return
	}
	w.length(name, l)
}

// appendLength writes l to six decimals of the units, without the noughts at
// the end.
func appendLength(b []byte, l unit.Length, s unit.System) []byte {
	// In rounds to millionths already; as a whole number of them it is exact.
	return appendMillionths(b, int64(math.RoundToEven(l.In(s)*1e6)))
}

// appendMillionths writes n / 1 000 000, digits from the last to the first.
func appendMillionths(b []byte, n int64) []byte {
	const million = 1_000_000
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	var digits [24]byte
	at := len(digits)
	whole, fraction := uint64(n)/million, uint32(uint64(n)%million)
	if fraction != 0 {
		places := 6
		for fraction%10 == 0 {
			fraction, places = fraction/10, places-1
		}
		for ; places > 0; places-- {
			at--
			digits[at] = byte('0' + fraction%10)
			fraction /= 10
		}
		at--
		digits[at] = '.'
	}
	for {
		at--
		digits[at] = byte('0' + whole%10)
		if whole /= 10; whole == 0 {
			return append(b, digits[at:]...)
		}
	}
}

// number writes a figure to so many decimals, null where it isn't finite.
func (w *writer) number(name string, n float64, decimals int) {
	w.key(name)
	w.b = appendNumber(w.b, n, decimals)
}

// appendNumber rounds half away from zero, as people do.
func appendNumber(b []byte, n float64, decimals int) []byte {
	if math.IsNaN(n) || math.IsInf(n, 0) {
		return append(b, "null"...)
	}
	const most = 1e12
	if scale := math.Pow10(decimals); math.Abs(n) < most {
		n = math.Round(n*scale) / scale
	}
	if n == 0 {
		n = 0 // not -0
	}
	return strconv.AppendFloat(b, n, 'f', -1, 64)
}

// decimals is to how many decimals a ratio, a likelihood or a figure of a note
// is told.
const decimals = 6

func (w *writer) price(name string, p mount.Price, currency string) {
	if p < 0 {
		w.null(name)
		return
	}
	w.key(name)
	w.open()
	w.key("amount")
	w.b = append(w.b, '"')
	w.b = appendAmount(w.b, p)
	w.b = append(w.b, '"')
	w.text("currency", currency)
	w.close()
}

// appendAmount writes a price with its two decimals.
func appendAmount(b []byte, p mount.Price) []byte {
	b = strconv.AppendInt(b, int64(p/100), 10)
	return append(b, '.', byte('0'+p/10%10), byte('0'+p%10))
}

// notes writes a list of what is told to people.
func (w *writer) notes(name string, notes []note.Note) {
	w.key(name)
	w.openList()
	for i := range notes {
		w.open()
		w.note(&notes[i])
		w.close()
	}
	w.closeList()
}

// note writes a note's members: its code, its words and its values by name. A
// length and a bare number are numbers, a word is a text, and a figure of a
// unit of its own is an object of value and unit.
func (w *writer) note(n *note.Note) {
	w.comma()
	if s, ok := w.said[n.Code]; ok && slices.Equal(s.values, n.Values) {
		w.b = append(w.b, w.b[s.from:s.to]...)
		return
	}
	from := len(w.b)
	w.noteMembers(n)
	if w.said == nil {
		w.said = make(map[string]said, usualNotes)
	}
	w.said[n.Code] = said{n.Values, part{from, len(w.b)}}
}

// usualNotes is room for the different notes of an ordinary answer.
const usualNotes = 48

func (w *writer) noteMembers(n *note.Note) {
	w.text("code", n.Code)
	w.words = n.AppendText(w.words[:0], w.lang, w.units)
	w.key("text")
	w.bytes(w.words)
	w.key("values")
	w.open()
	for i := range n.Values {
		v := &n.Values[i]
		switch v.Kind {
		case note.AsLength:
			w.length(v.Name, v.Length)
		case note.AsText:
			w.text(v.Name, v.Text)
		case note.AsNumber:
			if v.Unit == "" {
				w.number(v.Name, v.Number, decimals)
				continue
			}
			w.key(v.Name)
			w.open()
			w.number("value", v.Number, decimals)
			w.text("unit", v.Unit)
			w.close()
		case note.Nothing:
		}
	}
	w.close()
}

// steps writes lines of arithmetic: notes with what each comes to and where
// its rule came from.
func (w *writer) steps(name string, steps []note.Step) {
	w.key(name)
	w.openList()
	for i := range steps {
		s := &steps[i]
		w.open()
		w.note(&s.Note)
		switch s.Result.Kind {
		case note.AsLength:
			w.length("value", s.Result.Length)
			w.text("unit", w.units.String())
		case note.AsNumber:
			w.number("value", s.Result.Number, decimals)
			if s.Result.Unit != "" {
				w.text("unit", s.Result.Unit)
			}
		case note.AsText:
			w.text("value", s.Result.Text)
		case note.Nothing:
		}
		if s.Source != "" {
			w.text("source", s.SourceText(w.lang))
		}
		w.close()
	}
	w.closeList()
}
