package wire

import (
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// csvRow is what a line of the CSV form is made of.
type csvRow struct {
	answer *fit.Answer
	fit    *fit.Fit
	units  unit.System
	from   *Edition
}

// csvColumn is a column by its flat name. A cell is a number or a text; only a
// text is looked at for what a spreadsheet would take for a formula.
type csvColumn struct {
	name   string
	number func(b []byte, r *csvRow) []byte
	text   func(r *csvRow) string
}

// csvColumns are the columns of the CSV form: the same names and order as the
// members of a fit in JSON, joined by "_". Lists stand in one cell, their
// items parted by "|".
var csvColumns = slices.Concat(
	[]csvColumn{
		whole("rank", func(f *fit.Fit) int { return f.Rank }),
		word("grade", func(r *csvRow) string { return r.fit.Grade.String() }),
		word("mounted", func(r *csvRow) string { return mounted(r.fit.Inverted) }),
		word("damper_code", func(r *csvRow) string { return r.fit.Damper.Code }),
		word("damper_description", func(r *csvRow) string { return r.fit.Damper.Description }),
		word("damper_construction", func(r *csvRow) string { return r.fit.Damper.Construction.String() }),
		word("damper_gas", func(r *csvRow) string { return strconv.FormatBool(r.fit.Damper.Gas) }),
		word("damper_adjusters", func(r *csvRow) string { return strings.Join(r.fit.Damper.Adjusters.Names(), "|") }),
		length("damper_compressed", func(f *fit.Fit) unit.Length { return f.Damper.Compressed }),
		length("damper_extended", func(f *fit.Fit) unit.Length { return f.Damper.Extended }),
		length("damper_stroke", func(f *fit.Fit) unit.Length { return f.Damper.Stroke() }),
		known("damper_body_diameter", func(f *fit.Fit) unit.Length { return f.Damper.BodyDiameter }),
		length("effective_compressed", func(f *fit.Fit) unit.Length { return f.Compressed }),
		length("effective_extended", func(f *fit.Fit) unit.Length { return f.Extended }),
		length("travel_compression", func(f *fit.Fit) unit.Length { return f.Travel.Compression }),
		length("travel_extension", func(f *fit.Fit) unit.Length { return f.Travel.Extension }),
		length("margin_compression", func(f *fit.Fit) unit.Length { return f.Margin.Compression }),
		length("margin_extension", func(f *fit.Fit) unit.Length { return f.Margin.Extension }),
		length("worst_case_margin_compression", func(f *fit.Fit) unit.Length { return f.Worst.Compression }),
		length("worst_case_margin_extension", func(f *fit.Fit) unit.Length { return f.Worst.Extension }),
		figure("worst_case_likelihood", func(f *fit.Fit) float64 { return f.Likelihood }),
		figure("ride_position", func(f *fit.Fit) float64 { return f.RidePosition }),
	},
	hardwareColumns("upper", func(f *fit.Fit) *mount.Result { return f.Upper }),
	hardwareColumns("lower", func(f *fit.Fit) *mount.Result { return f.Lower }),
	[]csvColumn{
		whole("parts", func(f *fit.Fit) int { return f.Parts }),
		{name: "price_amount", number: func(b []byte, r *csvRow) []byte {
			if r.fit.Damper.Price < 0 {
				return b
			}
			return appendAmount(b, r.fit.Damper.Price)
		}},
		word("price_currency", func(r *csvRow) string {
			if r.fit.Damper.Price < 0 {
				return ""
			}
			return r.from.Currency
		}),
		word("pick_list", func(r *csvRow) string {
			lines := make([]string, len(r.fit.PickList))
			for i, p := range r.fit.PickList {
				lines[i] = strconv.Itoa(p.Quantity) + " x " + p.Kind + " " + p.Code
			}
			return strings.Join(lines, "|")
		}),
		word("units", func(r *csvRow) string { return r.units.String() }),
		{name: "working_length", number: func(b []byte, r *csvRow) []byte {
			if r.answer.Working == nil {
				return b
			}
			return appendLength(b, r.answer.Working.Value, r.units)
		}},
		word("catalog_name", func(r *csvRow) string { return r.from.Name }),
		{name: "catalog_revision", number: func(b []byte, r *csvRow) []byte {
			return strconv.AppendInt(b, int64(r.from.Revision), 10)
		}},
	},
)

func hardwareColumns(at string, of func(*fit.Fit) *mount.Result) []csvColumn {
	return []csvColumn{
		word(at+"_adapter", func(r *csvRow) string {
			if a := of(r.fit).Adapter; a != nil {
				return a.Code
			}
			return ""
		}),
		word(at+"_sleeves", func(r *csvRow) string {
			var codes []string
			for i := range of(r.fit).Sleeves {
				codes = append(codes, of(r.fit).Sleeves[i].Sleeve.Code)
			}
			return strings.Join(codes, "|")
		}),
		word(at+"_spacers_each_side", func(r *csvRow) string {
			var codes []string
			if s := of(r.fit).Spacers; s != nil {
				for i := range s.EachSide {
					for range s.EachSide[i].Quantity {
						codes = append(codes, s.EachSide[i].Spacer.Code)
					}
				}
			}
			return strings.Join(codes, "|")
		}),
		{name: at + "_spacers_left_over", number: func(b []byte, r *csvRow) []byte {
			if s := of(r.fit).Spacers; s != nil {
				b = appendLength(b, s.LeftOver, r.units)
			}
			return b
		}},
	}
}

func word(name string, text func(*csvRow) string) csvColumn { return csvColumn{name: name, text: text} }

func whole(name string, n func(*fit.Fit) int) csvColumn {
	return csvColumn{name: name, number: func(b []byte, r *csvRow) []byte {
		return strconv.AppendInt(b, int64(n(r.fit)), 10)
	}}
}

func length(name string, l func(*fit.Fit) unit.Length) csvColumn {
	return csvColumn{name: name, number: func(b []byte, r *csvRow) []byte { return appendLength(b, l(r.fit), r.units) }}
}

// known leaves the cell of a length that isn't known empty.
func known(name string, l func(*fit.Fit) unit.Length) csvColumn {
	return csvColumn{name: name, number: func(b []byte, r *csvRow) []byte {
		if l(r.fit) == 0 {
			return b
		}
		return appendLength(b, l(r.fit), r.units)
	}}
}

func figure(name string, n func(*fit.Fit) float64) csvColumn {
	return csvColumn{name: name, number: func(b []byte, r *csvRow) []byte { return appendNumber(b, n(r.fit), decimals) }}
}

// AppendFitsCSV appends the fits of an answer by RFC 4180: a header line, and
// one line a fit. Of an answer without fits the header line is all.
func AppendFitsCSV(dst []byte, a *fit.Answer, r *FitsRequest, from Edition) []byte {
	for i := range csvColumns {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = append(dst, csvColumns[i].name...)
	}
	dst = append(dst, '\r', '\n')
	row := csvRow{answer: a, units: r.Units, from: &from}
	for i := range a.Fits {
		row.fit = &a.Fits[i]
		for j := range csvColumns {
			if j > 0 {
				dst = append(dst, ',')
			}
			if c := &csvColumns[j]; c.number != nil {
				dst = c.number(dst, &row)
			} else {
				dst = appendCell(dst, c.text(&row))
			}
		}
		dst = append(dst, '\r', '\n')
	}
	return dst
}

// appendCell writes a text cell. One that a spreadsheet would take for a
// formula gets an apostrophe in front, which makes it a text there.
func appendCell(b []byte, s string) []byte {
	if s != "" && strings.IndexByte("=+-@\t\r", s[0]) >= 0 {
		s = "'" + s
	}
	if !strings.ContainsAny(s, ",\"\r\n") {
		return append(b, s...)
	}
	b = append(b, '"')
	for i := range len(s) {
		if s[i] == '"' {
			b = append(b, '"')
		}
		b = append(b, s[i])
	}
	return append(b, '"')
}
