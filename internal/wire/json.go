package wire

import (
	"math"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// writer appends an answer to a buffer, with lengths in the reader's units and
// words in the reader's language.
type writer struct {
	b     []byte
	units unit.System
	lang  string
	// currency is that of every price in the answer.
	currency string
	// bare leaves out the marks of JSON: a text stands as it is, null is nothing,
	// and "|" separates the items of a list.
	bare bool
	// serial is that of the snapshot answered from.
	serial uint64
	// working says that the arithmetic of hardware was asked for.
	working bool
	// damped says that damping was asked for, by a corner.
	damped bool
	words  []byte // of the text being written
	// said remembers where each note was last written.
	said []writtenNote
}

// part is a part of what has been written.
type part struct{ from, to int }

// appendAnswer appends the object made from v and a line end.
func appendAnswer[T any](w writer, of members[T], v *T) []byte {
	writeObject(&w, of, v)
	return append(w.b, '\n')
}

func (w *writer) appendNull() {
	if !w.bare {
		w.b = append(w.b, "null"...)
	}
}

func (w *writer) appendFlag(yes bool) { w.b = strconv.AppendBool(w.b, yes) }

func (w *writer) appendWhole(n int) { w.b = strconv.AppendInt(w.b, int64(n), 10) }

func (w *writer) appendLength(l unit.Length) { w.b = appendLength(w.b, l, w.units) }

// appendLengthAt is appendLength of a length that is known.
func (w *writer) appendLengthAt(l *unit.Length) { w.appendLength(*l) }

// appendFigure writes a number to so many decimals.
func (w *writer) appendFigure(n float64, decimals int) { w.b = appendNumber(w.b, n, decimals) }

func (w *writer) beginList() {
	if !w.bare {
		w.b = append(w.b, '[')
	}
}

func (w *writer) nextItem() {
	if w.bare {
		w.b = append(w.b, '|')
	} else {
		w.b = append(w.b, ',')
	}
}

func (w *writer) endList() {
	if !w.bare {
		w.b = append(w.b, ']')
	}
}

// appendText writes a text. What isn't UTF-8 in it becomes U+FFFD in JSON.
func (w *writer) appendText(s string) {
	switch {
	case w.bare:
		w.b = append(w.b, s...)
	case isPlain(s):
		w.b = append(append(append(w.b, '"'), s...), '"')
	default:
		w.b, _ = jsontext.AppendQuote(w.b, s)
	}
}

// appendWords is appendText for a text that is still being written.
func (w *writer) appendWords(s []byte) {
	switch {
	case w.bare:
		w.b = append(w.b, s...)
	case isPlain(s):
		w.b = append(append(append(w.b, '"'), s...), '"')
	default:
		w.b, _ = jsontext.AppendQuote(w.b, s)
	}
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

// appendLength writes l to six decimals of the units, without the zeros at the
// end.
func appendLength(b []byte, l unit.Length, s unit.System) []byte {
	return appendMillionths(b, l.Millionths(s))
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

// appendNumber rounds half away from zero, as people do; null where n isn't
// finite.
func appendNumber(b []byte, n float64, decimals int) []byte {
	if math.IsNaN(n) || math.IsInf(n, 0) {
		return append(b, "null"...)
	}
	const most = 1e12
	if math.Abs(n) < most {
		scale := scales[decimals]
		whole := math.Round(n * scale)
		if math.Abs(whole) < mostExact {
			// Digits that a float64 tells apart: these are also the shortest.
			return appendMillionths(b, int64(whole)*(1e6/int64(scale)))
		}
		n = whole / scale
	}
	if n == 0 {
		n = 0 // not -0
	}
	return strconv.AppendFloat(b, n, 'f', -1, 64)
}

// scales are the powers of ten by how many decimals a number is told to.
var scales = [decimals + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6}

// mostExact bounds numbers of at most 15 digits, of which each is the shortest way
// to write some float64, with room to be told in millionths.
const mostExact = 1e12

// decimals is to how many decimals a ratio, a likelihood or a figure of a note
// is told.
const decimals = 6

// appendAmount writes a price with its two decimals.
func appendAmount(b []byte, p mount.Price) []byte {
	b = strconv.AppendInt(b, int64(p/100), 10)
	return append(b, '.', byte('0'+p/10%10), byte('0'+p%10))
}

// aPrice is null where the price isn't known.
func aPrice[T any](get func(*T) *mount.Price) member[T] {
	return anObjectOrNull("price", moneyMembers, func(v *T) *mount.Price {
		if p := get(v); *p >= 0 {
			return p
		}
		return nil
	})
}

// anAmount is null where the price isn't known.
func anAmount[T any](name string, get func(*T) mount.Price) member[T] {
	return plainValue(name, shape{kind: textKind, null: true}, func(w *writer, v *T) {
		if p := get(v); p >= 0 {
			w.appendAmount(p)
		} else {
			w.appendNull()
		}
	})
}

func (w *writer) appendAmount(p mount.Price) {
	if w.bare {
		w.b = appendAmount(w.b, p)
	} else {
		w.b = append(appendAmount(append(w.b, '"'), p), '"')
	}
}

// currencyMember tells the currency of an answer's prices.
func currencyMember[T any]() member[T] {
	return plainValue("currency", shape{kind: textKind}, func(w *writer, _ *T) { w.appendText(w.currency) })
}

// moneyMembers are those of a price.
var moneyMembers = members[mount.Price]{
	plain("amount", textKind, func(p *mount.Price) mount.Price { return *p }, (*writer).appendAmount),
	currencyMember[mount.Price](),
}
