package damping

import (
	"strconv"
	"strings"
)

// A table's curves as one line of text, for a cell of a file:
//
//	soft: 0.05 90/200; 0.13 160/380; 0.39 290/690 | firm: 0.05 140/330; 0.13 250/600
//
// A point is its velocity in m/s, a blank, the compression force, a slash and the
// rebound force, both in N. Points are separated by semicolons and positions by
// bars. A single curve needs no position's name.
const (
	positionEnd   = ":"
	betweenPoints = ";"
	betweenCurves = "|"
	betweenForces = "/"
)

// FormatCurves writes curves as a text, exactly. Positions' names that hold one of
// the marks ":;|" don't come back from it.
func FormatCurves(curves []Curve) string {
	var b []byte
	for i := range curves {
		if i > 0 {
			b = append(b, " "+betweenCurves+" "...)
		}
		b = AppendCurve(b, &curves[i])
	}
	return string(b)
}

// AppendCurve appends one curve as it is written in FormatCurves.
func AppendCurve(b []byte, c *Curve) []byte {
	if c.Position != "" {
		b = append(append(b, c.Position...), positionEnd+" "...)
	}
	for j, p := range c.Points {
		if j > 0 {
			b = append(b, betweenPoints+" "...)
		}
		b = appendNumber(b, p.Velocity)
		b = appendNumber(append(b, ' '), p.Compression)
		b = appendNumber(append(b, betweenForces...), p.Rebound)
	}
	return b
}

func appendNumber(b []byte, n float64) []byte { return strconv.AppendFloat(b, n, 'f', -1, 64) }

// ParseCurves reads what FormatCurves writes, with blanks wherever people put them.
// It judges only the spelling: Table.Faults says whether the figures can be. Where
// the text can't be read, unread is the part of it that is at fault.
func ParseCurves(text string) (curves []Curve, unread string, ok bool) {
	for part := range strings.SplitSeq(text, betweenCurves) {
		var c Curve
		points := part
		if name, rest, named := strings.Cut(part, positionEnd); named {
			c.Position, points = strings.TrimSpace(name), rest
			if c.Position == "" {
				return nil, strings.TrimSpace(part), false
			}
		}
		for line := range strings.SplitSeq(points, betweenPoints) {
			p, ok := parsePoint(line)
			if !ok {
				return nil, strings.TrimSpace(line), false
			}
			c.Points = append(c.Points, p)
		}
		curves = append(curves, c)
	}
	return curves, "", true
}

// parsePoint reads "0.13 160/380".
func parsePoint(text string) (p Point, ok bool) {
	velocity, forces, _ := strings.Cut(strings.TrimSpace(text), " ")
	compression, rebound, _ := strings.Cut(forces, betweenForces)
	for _, part := range []struct {
		text string
		to   *float64
	}{{velocity, &p.Velocity}, {compression, &p.Compression}, {rebound, &p.Rebound}} {
		if *part.to, ok = parseNumber(strings.TrimSpace(part.text)); !ok {
			return Point{}, false
		}
	}
	return p, true
}

// parseNumber reads a decimal number. It leaves out the other things that strconv
// reads, such as hexadecimal numbers and exponents.
func parseNumber(text string) (float64, bool) {
	if strings.Trim(text, "-.0123456789") != "" {
		return 0, false
	}
	n, err := strconv.ParseFloat(text, 64)
	return n, err == nil
}
