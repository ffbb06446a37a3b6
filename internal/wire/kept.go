package wire

import (
	"math/bits"
	"sync/atomic"

	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// keptText is a piece of JSON that answers have in common, such as what a damper
// or the hardware of an end looks like. It never changes.
type keptText struct {
	key  textKey
	text []byte
}

// textKey tells such pieces apart.
type textKey struct {
	kind  textOf
	units unit.System
	lang  string
	// of and with are serial numbers of what the text is made from, place and
	// count further numbers.
	of, with     uint64
	place, count int
}

type textOf uint8

const (
	damperText textOf = iota
	hardwareText
	summaryText
	pickText
)

// The room for kept texts: places for so many, of which none is longer than
// mostText. A text takes the place of another that falls on the same one, so
// that the memory for them is bounded, whatever is asked.
const (
	placesOfTexts = 1 << 13
	mostText      = 4 << 10
)

// keptTexts are those of all answers, by the hash of their keys.
var keptTexts [placesOfTexts]atomic.Pointer[keptText]

// slot is the place for the text of a key.
func (k *textKey) slot() *atomic.Pointer[keptText] {
	// The odd factors are the fractional parts of the golden ratio, √2 and √3.
	h := (k.of+uint64(k.place)*0xbb67ae8584caa73b)*0x9e3779b97f4a7c15 ^ (k.with+uint64(k.count)<<32)*0x6a09e667f3bcc909
	h ^= uint64(k.kind)<<3 | uint64(k.units)<<1 | uint64(len(k.lang))<<5
	if k.lang != "" {
		h ^= uint64(k.lang[0]) << 8
	}
	hi, lo := bits.Mul64(h, 0x9e3779b97f4a7c15)
	return &keptTexts[(hi^lo)%placesOfTexts]
}

// again appends the text of a key where it is kept. One that is made from
// something without a serial number never is.
func (w *writer) again(k *textKey) bool {
	if w.bare || k.of == 0 {
		return false
	}
	k.units, k.lang = w.units, w.lang
	if kept := k.slot().Load(); kept != nil && kept.key == *k {
		w.b = append(w.b, kept.text...)
		return true
	}
	return false
}

// keep keeps what was written from there on as the text of a key.
func (w *writer) keep(k *textKey, from int) {
	if n := len(w.b) - from; !w.bare && k.of != 0 && n <= mostText {
		text := make([]byte, n)
		copy(text, w.b[from:])
		k.slot().Store(&keptText{*k, text})
	}
}

// kept makes m one whose JSON is kept for further answers.
func kept[T any](m member[T], key func(w *writer, v *T) textKey) member[T] {
	write := m.json
	m.json = func(w *writer, v *T) {
		k := key(w, v)
		if w.again(&k) {
			return
		}
		from := len(w.b)
		write(w, v)
		w.keep(&k, from)
	}
	return m
}

// damperKey is for the damper at a place in the list by code.
func (w *writer) damperKey(place int32) textKey {
	return textKey{kind: damperText, of: w.serial, place: int(place)}
}

func hardwareKey(_ *writer, h *fit.Hardware) textKey {
	return textKey{kind: hardwareText, of: h.Serial}
}

// pickList writes a fit's pick list. All but its first line, the damper, follows
// from the hardware of both ends.
func (w *writer) pickList(f *fit.Fit) {
	w.beginList()
	writeObject(w, pickMembers, &f.DamperPick)
	k := textKey{kind: pickText, of: f.Upper.Serial, with: f.Lower.Serial, count: f.DamperPick.Quantity}
	if k.with == 0 {
		k.of = 0
	}
	if !w.again(&k) {
		from := len(w.b)
		for i := range f.HardwarePicks {
			w.nextItem()
			writeObject(w, pickMembers, &f.HardwarePicks[i])
		}
		w.keep(&k, from)
	}
	w.endList()
}

// summary writes what an end takes.
func (w *writer) summary(e *fit.End) {
	k := summaryKey(e.Result)
	if w.again(&k) {
		return
	}
	from := len(w.b)
	w.appendText(w.joined(e.Summary(), ", "))
	w.keep(&k, from)
}

func summaryKey(r *mount.Result) textKey { return textKey{kind: summaryText, of: r.Serial} }
