package table

import (
	"errors"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A cell is one filled cell of a row: what stands in it without blanks around
// it, and the units of its column, Unset where the header names none.
type cell struct {
	text  string
	units unit.System
	memos *memos
}

// tidy takes from a cell what isn't part of its value.
func tidy(text string) string {
	if text == "" || isPlain(text[0]) && isPlain(text[len(text)-1]) {
		return text
	}
	return strings.TrimSpace(unguarded(strings.TrimSpace(text)))
}

// isPlain says whether a cell that begins or ends with b needs no tidying.
func isPlain(b byte) bool { return b > ' ' && b < utf8.RuneSelf && b != '\'' }

// diagnosed says more of a filled cell that couldn't be read, t, where it can
// be seen what became of it on its way.
func diagnosed(text string, t *trouble) *trouble {
	if plain := plainTrouble(text); plain != nil {
		return plain
	}
	if text[0] == '=' {
		return &trouble{"formula", "a formula stands here in place of its value", "save the file so that cells show their values, or put the value in its place"}
	}
	return t
}

// plainTrouble finds what is wrong with a filled cell of any kind.
func plainTrouble(text string) *trouble {
	switch {
	case !utf8.ValidString(text):
		t := notUTF8()
		return &t
	case strings.IndexByte(text, 0) >= 0:
		return &trouble{"nul_byte", "bytes of nothing stand in this cell", "save the file again from the program that it comes from"}
	case isSpreadsheetError(text):
		return &trouble{"spreadsheet_error", "a spreadsheet's formula failed here", "mend the formula and save the file again"}
	}
	return nil
}

// isSpreadsheetError says whether text is what spreadsheets write where a
// formula failed.
func isSpreadsheetError(text string) bool {
	switch text {
	case "#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NULL!", "#NUM!", "#SPILL!", "#CALC!", "#GETTING_DATA":
		return true
	}
	return false
}

// length reads a length of either sign.
func (c cell) length() (unit.Length, *trouble) {
	return c.memos.lengths.of(c.text, c.units, c.parseLength)
}

func (c cell) parseLength() (unit.Length, *trouble) {
	l, err := unit.Parse(c.text, c.units)
	if err == nil {
		return l, nil
	}
	t := &trouble{code: "length", detail: "this can't be read as a length", cure: "write a length, as in 17 1/4 in or 438.15 mm"}
	var syntax *unit.SyntaxError
	if errors.As(err, &syntax) {
		t.code, t.cure = "length_"+string(syntax.Code), note.FaultText("en", c.units, string(syntax.Code), nil)
	}
	return 0, c.dated(t)
}

// dated says of a measure that can't be read, t, whether a spreadsheet has
// made a date of it.
func (c cell) dated(t *trouble) *trouble {
	d, ok := looksLikeDate(c.text)
	if !ok {
		d, ok = looksLikeSerial(c.text)
	}
	if ok {
		return dateTrouble(d)
	}
	return t
}

// atLeast reads a length that is no less than least, which is 0 or 1 nm.
func (c cell) atLeast(least unit.Length) (unit.Length, *trouble) {
	l, t := c.length()
	switch {
	case t != nil:
		return 0, t
	case l >= least:
		return l, nil
	case least == 0:
		return 0, &trouble{"length_negative", "this length is below zero", "write it without its sign, or look for a slip of the pen"}
	}
	return 0, &trouble{"length_not_positive", "this length must be more than zero", "write the true length, or leave the cell empty where the column may be"}
}

// thread reads a stud's thread.
func (c cell) thread() (mount.Thread, *trouble) {
	return c.memos.threads.of(c.text, c.units, c.parseThread)
}

func (c cell) parseThread() (mount.Thread, *trouble) {
	bolt, err := mount.ParseBolt(c.text, c.units)
	var unknown *mount.BoltError
	switch {
	case err == nil && bolt.Threaded():
		return bolt.Thread, nil
	case errors.As(err, &unknown):
		return mount.Thread{}, &trouble{unknown.Code.Public(), "this thread isn't known", note.FaultText("en", c.units, string(unknown.Code), unknown.Values)}
	}
	return mount.Thread{}, c.dated(&trouble{"thread", "this names no thread", "write it as M12, M12x1.25, 1/2 in or 1/2-20 in"})
}

// yesOrNo reads a yes or a no.
func (c cell) yesOrNo() (yes bool, t *trouble) {
	switch c.text {
	case "yes":
		return true, nil
	case "no":
		return false, nil
	}
	switch strings.ToLower(c.text) {
	case "yes", "y", "true", "1":
		return true, nil
	case "no", "n", "false", "0":
		return false, nil
	}
	return false, &trouble{"yes_or_no", "this is neither yes nor no", "write yes or no, or leave the cell empty for no"}
}

func yesOrNoText(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// mostPrice keeps a slip of the hand, such as a bar code in the price's
// column, out of a catalogue: ten million of any currency.
const mostPrice mount.Price = 1_000_000_000

// price reads an amount with at most two decimals.
func (c cell) price() (mount.Price, *trouble) {
	bad := func(code, detail, cure string) (mount.Price, *trouble) {
		return mount.NoPrice, &trouble{code, detail, cure}
	}
	const example = "write it as in 84.50"
	if strings.Contains(c.text, ",") {
		return bad("price_comma", "a comma can be read in two ways", "write a point for decimals and nothing between thousands, as in 1084.50")
	}
	whole, cents, point := strings.Cut(c.text, ".")
	switch {
	case !isDigits(whole) || point && !isDigits(cents):
		return bad("price", "this isn't a price", example+", without a sign of the currency, which stands in catalog.csv")
	case len(cents) > 2:
		return bad("price_decimals", "a price has at most two decimals", example)
	case len(whole) > 9:
		return bad("price_too_large", "this price is more than ten million", "check that the cell holds the price")
	}
	cents += "00"[len(cents):]
	n, err := strconv.ParseInt(whole+cents, 10, 64)
	if err != nil || mount.Price(n) > mostPrice {
		return bad("price_too_large", "this price is more than ten million", "check that the cell holds the price")
	}
	return mount.Price(n), nil
}

func priceText(p mount.Price) string {
	switch {
	case p == mount.NoPrice:
		return ""
	case p < 0:
		return strconv.FormatInt(int64(p), 10) // no price, and read as none
	}
	cents := strconv.FormatInt(int64(p%100), 10)
	return strconv.FormatInt(int64(p/100), 10) + "." + "00"[len(cents):] + cents
}

func isDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// The longest texts that are read, in characters.
const (
	mostCode        = 64
	mostDescription = 1000
)

// codeTrouble finds what is wrong with a part's code. A bar is refused because
// it parts the codes of a list, and what a spreadsheet has made of a long
// number because it no longer says which part is meant.
func codeTrouble(code string) *trouble {
	switch {
	case code == "":
		return &trouble{"missing", "there is no code", "give every part a code of its own"}
	case utf8.RuneCountInString(code) > mostCode:
		return &trouble{"code_too_long", "this code is longer than 64 characters", "give the part a shorter code"}
	case strings.Contains(code, "|"):
		return &trouble{"code_bar", "a code can't hold a bar, which parts the codes of a list", "write the code without it"}
	case isShortenedNumber(code):
		return &trouble{"code_shortened", "a spreadsheet has shortened this number", "format the column as text and enter the code again"}
	}
	return unprintable(code, false)
}

// isShortenedNumber says whether code looks like 4.01235E+12.
func isShortenedNumber(code string) bool {
	mantissa, exponent, ok := strings.Cut(code, "E+")
	whole, decimals, point := strings.Cut(mantissa, ".")
	return ok && isDigits(exponent) && isDigits(whole) && (!point || isDigits(decimals))
}

// descriptionTrouble finds what is wrong with a description.
func descriptionTrouble(text string) *trouble {
	if utf8.RuneCountInString(text) > mostDescription {
		return &trouble{"description_too_long", "this description is longer than 1,000 characters", "shorten it"}
	}
	return unprintable(text, true)
}

func unprintable(text string, lines bool) *trouble {
	if isPlainText(text) {
		return nil
	}
	if t := plainTrouble(text); t != nil {
		return t
	}
	if text != strings.TrimSpace(text) {
		return &trouble{"blanks_around", "blanks stand around this text", "take them off"}
	}
	for _, r := range text {
		if unicode.IsControl(r) && (r != '\n' || !lines) {
			return &trouble{"unprintable", "a character stands here that can't be printed", "type the text again"}
		}
	}
	return nil
}

// isPlainText says of most texts that nothing is wrong with them: printable
// ASCII that doesn't begin as an error does, without blanks around it.
func isPlainText(text string) bool {
	if text == "" || text[0] == '#' || text[0] == ' ' || text[len(text)-1] == ' ' {
		return text == ""
	}
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return false
		}
	}
	return true
}

// Spreadsheets take a cell that begins with one of these for a formula.
const formulaStarts = "=+-@"

// guarded puts an apostrophe before what a spreadsheet would take for a
// formula, and before what already is so guarded, so that unguarded gives back
// every text.
func guarded(text string) string {
	if looksGuarded(text, 0) {
		return "'" + text
	}
	return text
}

// unguarded takes off what guarded put on.
func unguarded(text string) string {
	if looksGuarded(text, 1) {
		return text[1:]
	}
	return text
}

// looksGuarded says whether text begins with at least so many apostrophes and
// then as a formula does.
func looksGuarded(text string, least int) bool {
	n := 0
	for n < len(text) && text[n] == '\'' {
		n++
	}
	return n >= least && n < len(text) && strings.IndexByte(formulaStarts, text[n]) >= 0
}

// exactMm gives l in millimetres, every nanometre of it.
func exactMm(l unit.Length) string {
	sign := ""
	if l < 0 {
		sign = "-"
	}
	whole, rest := l.Abs()/unit.Millimetre, l.Abs()%unit.Millimetre
	text := sign + strconv.FormatInt(int64(whole), 10)
	if rest == 0 {
		return text
	}
	decimals := strconv.FormatInt(int64(rest), 10)
	decimals = "000000"[len(decimals):] + decimals
	return text + "." + strings.TrimRight(decimals, "0")
}

// exactText gives l with its unit: as a mixed number of inches where inches
// are asked for and it is a whole number of 1/64 in, else in millimetres.
func exactText(l unit.Length, units unit.System) string {
	if units == unit.Inches && l%(unit.Inch/64) == 0 {
		return l.Text(unit.Inches)
	}
	return exactMm(l) + " mm"
}
