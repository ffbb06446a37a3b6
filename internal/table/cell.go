package table

import (
	"cmp"
	"errors"
	"strconv"
	"strings"
	"unicode/utf8"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A cell is one filled cell of a row: its text without blanks around it, and the
// units of its column, Unset where the header names none.
type cell struct {
	text   string
	units  unit.System
	caches *caches
}

// read puts a cell into a field of a row.
func read[T any](f *catalog.Field[T], row *T, c cell) *fault.Fault {
	var bad *fault.Fault
	switch f.Kind {
	case catalog.KindText:
		// The texts of a row share one allocation: what is kept is copied.
		*f.Text(row) = strings.Clone(c.text)
		if c.text[0] == '#' && isSpreadsheetError(c.text) {
			return problem(spreadsheetError)
		}
	case catalog.KindLength:
		*f.Length(row), bad = c.length(f.Zero != catalog.ZeroUnknown)
	case catalog.KindSigned:
		*f.Length(row), bad = c.signedLength()
	case catalog.KindMoney:
		*f.Price(row), bad = c.price()
	case catalog.KindYesNo:
		*f.YesNo(row), bad = c.yesOrNo()
	case catalog.KindOneOf:
		if !f.Choose(row, c.text) && !f.Choose(row, normalisedWord(c.text)) {
			return unknownWord(f)
		}
	case catalog.KindListOf:
		for item := range strings.SplitSeq(c.text, "|") {
			if !f.Include(row, normalisedWord(strings.TrimSpace(item))) {
				return unknownWord(f)
			}
		}
	case catalog.KindThread:
		*f.Thread(row), bad = c.thread()
	case catalog.KindNumber:
		var n float64
		if n, bad = c.number(); bad == nil {
			f.SetNumber(row, n)
		}
	case catalog.KindForces:
		var forces catalog.Forces
		forces, bad = c.forces()
		f.Forces(row).SetCurvesOf(forces)
	}
	return bad
}

// unknownWord says that a cell holds none of its field's words.
func unknownWord[T any](f *catalog.Field[T]) *fault.Fault {
	return problem(cmp.Or(f.WrongWord, wordUnknown), note.Word("words", strings.Join(f.Choices(), ", ")))
}

// normalisedWord gives the settled form of a word that people write more freely:
// "Bar pin" is bar_pin.
func normalisedWord(text string) string {
	return strings.ToLower(strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return '_'
		}
		return r
	}, text))
}

// write gives the cell for a field of a row, exactly, "" where it has no value.
func write[T any](f *catalog.Field[T], row *T, units unit.System) string {
	switch f.Kind {
	case catalog.KindText:
		return *f.Text(row)
	case catalog.KindLength:
		l := *f.Length(row)
		if l == 0 && f.Zero != catalog.ZeroCounts {
			return ""
		}
		return exactText(l, units)
	case catalog.KindSigned:
		return exactMm(*f.Length(row))
	case catalog.KindMoney:
		return priceText(*f.Price(row))
	case catalog.KindYesNo:
		return yesOrNoText(*f.YesNo(row))
	case catalog.KindOneOf:
		return f.Word(row)
	case catalog.KindListOf:
		return strings.Join(f.Items(row), "|")
	case catalog.KindThread:
		return f.Thread(row).String()
	case catalog.KindNumber:
		if n, known := f.Number(row); known {
			return strconv.FormatFloat(n, 'f', -1, 64)
		}
	case catalog.KindForces:
		return f.Forces(row).Text()
	}
	return ""
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

// betterReason gives a better reason for a fault of a filled cell, bad, where its
// text shows what happened to it on its way.
func betterReason(text string, bad *fault.Fault) *fault.Fault {
	switch {
	case !utf8.ValidString(text):
		return problem(notUTF8)
	case strings.IndexByte(text, 0) >= 0:
		return problem(nulByte)
	case isSpreadsheetError(text):
		return problem(spreadsheetError)
	case text[0] == '=':
		return problem(formula)
	}
	return bad
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

// signedLength reads a length of either sign.
func (c cell) signedLength() (unit.Length, *fault.Fault) {
	return c.caches.lengths.of(c.text, c.units, c.parseLength)
}

func (c cell) parseLength() (unit.Length, *fault.Fault) {
	l, err := unit.Parse(c.text, c.units)
	if err == nil {
		return l, nil
	}
	var syntax *unit.SyntaxError
	errors.As(err, &syntax) // Parse gives no other
	return 0, c.dated(problem(fault.Code("length_"+string(syntax.Code)), note.Word("why", string(syntax.Code))))
}

// dated says of a measure that can't be read, for the reason bad, whether a
// spreadsheet has made a date of it.
func (c cell) dated(bad *fault.Fault) *fault.Fault {
	d, ok := looksLikeDate(c.text)
	if !ok {
		d, ok = looksLikeSerial(c.text)
	}
	if ok {
		return d.fault()
	}
	return bad
}

// length reads a length above zero, or zero where that may be.
func (c cell) length(zero bool) (unit.Length, *fault.Fault) {
	l, bad := c.signedLength()
	switch {
	case bad != nil:
		return 0, bad
	case l > 0 || l == 0 && zero:
		return l, nil
	case zero:
		return 0, problem(lengthNegative)
	}
	return 0, problem(lengthNotPositive)
}

// forces reads a force table.
func (c cell) forces() (catalog.Forces, *fault.Fault) {
	forces, unread, ok := c.caches.forces.Read([]byte(c.text))
	if !ok {
		return forces, c.dated(problem(forcesUnreadable, note.Word("part", beginning(unread))))
	}
	return forces, nil
}

// thread reads a stud's thread.
func (c cell) thread() (mount.Thread, *fault.Fault) {
	return c.caches.threads.of(c.text, c.units, c.parseThread)
}

func (c cell) parseThread() (mount.Thread, *fault.Fault) {
	bolt, err := mount.ParseBolt(c.text, c.units)
	var unknown *mount.BoltError
	switch {
	case err == nil && bolt.Threaded():
		return bolt.Thread, nil
	case errors.As(err, &unknown):
		return mount.Thread{}, problem(threadCodes[unknown.Code.Public()], append(unknown.Values, note.Word("why", string(unknown.Code)))...)
	}
	return mount.Thread{}, c.dated(problem(threadUnreadable))
}

// beginning gives the first few characters of a text, to tell which one is meant.
func beginning(text string) string {
	const most = 24
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}

// number reads a decimal number of either sign.
func (c cell) number() (float64, *fault.Fault) {
	n, err := strconv.ParseFloat(c.text, 64)
	if err != nil || strings.Trim(c.text, "+-.0123456789") != "" {
		return 0, c.dated(problem(numberUnreadable))
	}
	return n, nil
}

// yesOrNo reads a yes or a no.
func (c cell) yesOrNo() (yes bool, bad *fault.Fault) {
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
	return false, problem(neitherYesNorNo)
}

func yesOrNoText(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// price reads an amount with at most two decimals.
func (c cell) price() (mount.Price, *fault.Fault) {
	whole, cents, point := strings.Cut(c.text, ".")
	switch {
	case strings.Contains(c.text, ","):
		return mount.NoPrice, problem(priceComma)
	case !isDigits(whole) || point && !isDigits(cents):
		return mount.NoPrice, problem(priceUnreadable)
	case len(cents) > 2:
		return mount.NoPrice, problem(priceDecimals)
	case len(whole) > 9:
		return mount.NoPrice, problem(mount.PriceTooLarge)
	}
	cents += "00"[len(cents):]
	n, err := strconv.ParseInt(whole+cents, 10, 64)
	if err != nil {
		return mount.NoPrice, problem(mount.PriceTooLarge)
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

// isShortenedNumber says whether code looks like 4.01235E+12: what a spreadsheet
// makes of a long number, which no longer says which part is meant.
func isShortenedNumber(code string) bool {
	mantissa, exponent, ok := strings.Cut(code, "E+")
	whole, decimals, point := strings.Cut(mantissa, ".")
	return ok && isDigits(exponent) && isDigits(whole) && (!point || isDigits(decimals))
}

// Spreadsheets take a cell that begins with one of these for a formula.
const formulaStarts = "=+-@"

// guarded puts an apostrophe before a text that a spreadsheet would take for a
// formula, and before a text that is already guarded, so that unguarded gives
// back every text.
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
