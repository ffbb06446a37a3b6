package table

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// codeTextFault says what is wrong with how a code is written, nil where nothing is.
// A code is read aloud, typed and compared by eye, so two that look alike must be the
// same. bare says that no apostrophe stands before it in its cell.
func codeTextFault(code string, bare bool) *fault.Fault {
	if bare && strings.IndexByte(formulaStarts, code[0]) >= 0 {
		return problem(codeFormula, note.Word("code", code))
	}
	for _, r := range code {
		switch {
		case r < utf8.RuneSelf:
		case isInvisible(r):
			return problem(codeInvisible, note.Word("character", fmt.Sprintf("U+%04X", r)))
		case isRightToLeft(r):
			return problem(codeRightToLeft, note.Word("character", fmt.Sprintf("U+%04X", r)))
		}
	}
	return nil
}

// isInvisible says whether a character shows nothing, or a blank other than the usual
// one: format characters, blanks (general categories Cf and Zs) and what else is
// ignorable by default (Unicode Standard, section 5.21).
func isInvisible(r rune) bool {
	return unicode.In(r, unicode.Cf, unicode.Zs, unicode.Other_Default_Ignorable_Code_Point, unicode.Variation_Selector)
}

// rightToLeft are the blocks whose characters are written from right to left, the
// unassigned ones included (Unicode Standard, DerivedBidiClass.txt, @missing lines,
// from memory).
var rightToLeft = &unicode.RangeTable{
	R16: []unicode.Range16{{0x0590, 0x08FF, 1}, {0xFB1D, 0xFDFF, 1}, {0xFE70, 0xFEFF, 1}},
	R32: []unicode.Range32{{0x10800, 0x10FFF, 1}, {0x1E800, 0x1EFFF, 1}},
}

func isRightToLeft(r rune) bool { return unicode.Is(rightToLeft, r) }
