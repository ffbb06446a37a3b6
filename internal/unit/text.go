package unit

import (
	"strconv"
	"strings"
)

// Text writes l as people write it, with its unit: inches as a mixed fraction
// where l is a whole number of 1/64 in, else as a decimal of at most four
// places; millimetres as a decimal of at most three.
func (l Length) Text(s System) string {
	sign := ""
	if l < 0 {
		sign, l = "-", -l
	}
	if s != Inches {
		return sign + trimmed(l.In(Millimetres), 3) + " mm"
	}
	const sixtyFourth = Inch / 64
	if l%sixtyFourth != 0 {
		return sign + trimmed(l.In(Inches), 4) + " in"
	}
	whole, num, den := l/Inch, (l%Inch)/sixtyFourth, Length(64)
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	switch {
	case num == 0:
		return sign + strconv.FormatInt(int64(whole), 10) + " in"
	case whole == 0:
		return sign + strconv.FormatInt(int64(num), 10) + "/" + strconv.FormatInt(int64(den), 10) + " in"
	}
	return sign + strconv.FormatInt(int64(whole), 10) + " " +
		strconv.FormatInt(int64(num), 10) + "/" + strconv.FormatInt(int64(den), 10) + " in"
}

func trimmed(f float64, places int) string {
	t := strconv.FormatFloat(f, 'f', places, 64)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	return t
}
