package fit_test

import (
	"math"
	"math/big"

	"pgregory.net/rapid"

	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// hundredths draws a whole number of hundredths.
func hundredths(t *rapid.T, label string, least, most int) float64 {
	return float64(rapid.IntRange(least, most).Draw(t, label)) / 100
}

// drawBumpStop draws a stop on the chassis where the wheel's travel is known, one on
// the damper's rod, or none.
func drawBumpStop(t *rapid.T, atWheel bool) *fit.BumpStop {
	kind := rapid.SampledFrom([]string{"none", "none", "none", "rod", "chassis"}).Draw(t, "bump stop")
	if kind == "none" || kind == "chassis" && !atWheel {
		return nil
	}
	s := &fit.BumpStop{OnRod: kind == "rod"}
	s.Height, s.Squash = sixteenths(t, "stop height", 8, 56), hundredths(t, "squash", 10, 90)
	if !s.OnRod {
		s.Gap, s.MotionRatio = sixteenths(t, "stop gap", 0, 80), hundredths(t, "stop ratio", 30, 150)
		s.Reserve = sixteenths(t, "stop reserve", 0, 8)
	}
	return s
}

// drawDroopLimit draws a limit that doesn't contradict what the request itself asks
// for, or none.
func drawDroopLimit(t *rapid.T, r *fit.Request) *fit.DroopLimit {
	if r.Readings.MotionRatio == 0 || rapid.IntRange(0, 3).Draw(t, "droop limit") > 0 {
		return nil
	}
	least := max(r.Travel.Droop, r.Heights.Above)
	if r.Travel.Basis == fit.Stated {
		least = max(least, times(r.Travel.Extension, 1/r.Readings.MotionRatio))
	}
	return &fit.DroopLimit{
		By:     rapid.SampledFrom(fit.DroopLimiters()).Draw(t, "droop ends by"),
		Travel: least + sixteenths(t, "droop to the limit", 1, 80),
	}
}

// times is a length by a number, to the nanometre.
func times(l unit.Length, by float64) unit.Length {
	return unit.Length(math.RoundToEven(float64(l) * by))
}

// decimal is a number of hundredths, exactly.
func decimal(x float64) *big.Rat { return big.NewRat(int64(math.Round(100*x)), 100) }

func lengthRat(l unit.Length) *big.Rat { return new(big.Rat).SetInt64(int64(l)) }

// solidHeight is what is left of a stop when it is solid. Sixteenths of an inch by
// hundredths are whole nanometres.
func solidHeight(s *fit.BumpStop) unit.Length {
	left := new(big.Rat).Sub(big.NewRat(1, 1), decimal(s.Squash))
	left.Mul(left, lengthRat(s.Height))
	if !left.IsInt() {
		panic("a stop's height isn't in sixteenths of an inch")
	}
	return unit.Length(left.Num().Int64())
}

// rodOf is what a stop on the rod adds to a damper's compressed length.
func rodOf(r *fit.Request) unit.Length {
	if r.BumpStop == nil || !r.BumpStop.OnRod {
		return 0
	}
	return solidHeight(r.BumpStop)
}

// skipper gives a case up.
type skipper interface{ Skip(args ...any) }

// isLate says whether a chassis stop is solid only after a damper with so much
// compression is. The wheel is then as far up as (gap + squash·height)/stop ratio, and
// the damper has no more than its reserve at (compression - reserve)/ratio; exact
// fractions. Where the two are closer than rounding to the nanometre tells apart it
// gives up the case.
func isLate(t skipper, r *fit.Request, compression unit.Length) bool {
	s := r.BumpStop
	if s == nil || s.OnRod {
		return false
	}
	room := lengthRat(compression - s.Reserve)
	if room.Sign() < 0 {
		return true
	}
	solid := new(big.Rat).Mul(lengthRat(s.Gap+s.Height-solidHeight(s)), decimal(r.Readings.MotionRatio))
	by := new(big.Rat).Mul(room, decimal(s.MotionRatio))
	if off := new(big.Rat).Sub(solid, by); off.Sign() != 0 || r.Readings.MotionRatio != 1 {
		if off.Abs(off).Cmp(big.NewRat(5, 1)) <= 0 {
			t.Skip("too close to call")
		}
	}
	return solid.Cmp(by) > 0
}

// limitedDroop is the extension needed that a droop limit leaves: its travel at the
// damper and the reserve.
func limitedDroop(r *fit.Request, e fit.Need) fit.Need {
	d := r.DroopLimit
	if d == nil || r.Travel.Basis == fit.ByWheel {
		return e
	}
	const usual = 10 * unit.Millimetre // common practice, no source
	m := &r.Readings
	most := times(d.Travel, m.MotionRatio) + usual
	worst := times(d.Travel, m.MotionRatio+m.MotionRatioTolerance) + usual
	if r.Travel.Basis == fit.Stated { // which never gives way
		most, worst = max(most, r.Travel.Extension), max(worst, r.Travel.Extension)
	}
	return fit.Need{
		Least: min(e.Least, most), Wanted: min(e.Wanted, most),
		LeastWorst: min(e.LeastWorst, worst), WantedWorst: min(e.WantedWorst, worst),
	}
}

// lengthsOver gives the damper's least and greatest length between two wheel travels,
// in mm, of a linkage and for an axle over the whole square of left and right. It looks
// at single poses: on a grid, and then on ever finer ones around the least and the
// greatest.
func lengthsOver(l *linkage.Linkage, spec *linkage.Spec, low, high float64) (shortest, longest float64, ok bool) {
	a, isAxle := l.Axle()
	ok = true
	at := func(x, y float64) float64 {
		var n float64
		var err error
		if isAxle {
			n, err = corner(a, spec, x, y)
		} else {
			n, _, err = l.At(x)
		}
		ok = ok && err == nil && !math.IsNaN(n)
		return n
	}
	least := func(sign float64) float64 {
		n := 40
		if !isAxle {
			n = 400
		}
		best, bx, by := math.Inf(1), low, low
		x0, x1, y0, y1 := low, high, low, high
		for range 9 {
			for i := range n + 1 {
				x := x0 + (x1-x0)*float64(i)/float64(n)
				if !isAxle {
					if v := sign * at(x, 0); v < best {
						best, bx = v, x
					}
					continue
				}
				for j := range n + 1 {
					y := y0 + (y1-y0)*float64(j)/float64(n)
					if v := sign * at(x, y); v < best {
						best, bx, by = v, x, y
					}
				}
			}
			dx, dy := 2*(x1-x0)/float64(n), 2*(y1-y0)/float64(n)
			x0, x1, y0, y1 = max(low, bx-dx), min(high, bx+dx), max(low, by-dy), min(high, by+dy)
			n = 10
		}
		return sign * best
	}
	return least(1), least(-1), ok
}
