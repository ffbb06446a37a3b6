package damping

import "math"

// slopes are the sums of both forces of a curve as a line of straight pieces over
// velocity. The gas force isn't in them: it adds to one force what it takes from
// the other.
type slopes struct {
	jump  float64 // N at rest, of friction
	n     int
	end   [MostPoints]float64 // velocity where each piece ends, m/s; the last has no end
	slope [MostPoints]float64 // N·s/m
	last  float64             // N at the last point
}

// weight says how much of compression and of rebound is in a sum.
type weight struct{ compression, rebound float64 }

var bothForces = weight{1, 1}

// pieces writes a curve as slopes. Beyond the last point the last piece goes on, level
// if it falls. That is an extrapolation: a Gaussian velocity knows no limit, so that some
// force must be taken there. The answer tells how much of the damping comes from there
// (Beyond), warns from tellBeyond on, and gives no verdict over mostBeyond.
func (t *Table) pieces(c *Curve, w weight, s *slopes) {
	gas := 0.0
	if t.GasIncluded {
		gas = t.GasForce * (w.rebound - w.compression)
	}
	force := func(p *Point) float64 { return w.compression*p.Compression + w.rebound*p.Rebound + gas }
	v, f := 0.0, 0.0
	points := c.Points
	if points[0].Velocity == 0 {
		f = max(0, force(&points[0]))
		points = points[1:]
	}
	s.jump, s.n = f, len(points)
	for i := range points {
		p := &points[i]
		to := max(0, force(p))
		s.end[i], s.slope[i] = p.Velocity, (to-f)/(p.Velocity-v)
		v, f = p.Velocity, to
	}
	s.last = f
	if s.slope[s.n-1] < 0 {
		s.end[s.n], s.slope[s.n] = math.Inf(1), 0
		s.n++
	}
}

// coefficient is the damping of the linear damper that takes as much power as the
// curve at a Gaussian velocity of mean 0 and root mean square sigma:
//
//	c = E[v F(v)]/σ² = E[F'(v)]
//
// the second by integration by parts (Stein's lemma). With S the sum of both
// forces, of pieces with slopes s_i between v_i and v_(i+1), and J its jump at rest,
//
//	c = Σ s_i [erf(v_(i+1)/(σ√2)) - erf(v_i/(σ√2))]/2 + J/(σ√(2π))
//
// Statistical linearisation by equal power is also the one of least mean square
// error (Booton 1954; Roberts and Spanos, Random Vibration and Statistical
// Linearization, 1990, from memory). For F = C v² sign(v) it gives 2√(2/π) C σ =
// 1.596 C σ, for a linear damper its own coefficient. grow is dc/d(ln σ).
func (s *slopes) coefficient(sigma float64) (c, grow float64) {
	before, density := 0.0, 0.0 // at the start of the piece: of the distribution, and x φ(x)
	for i := range s.n {
		after, next := 0.5, 0.0
		if i < s.n-1 {
			x := s.end[i] / sigma
			after, next = normal(x)
			next *= x
		}
		c += s.slope[i] * (after - before)
		grow += s.slope[i] * (density - next)
		before, density = after, next
	}
	jump := s.jump * perRoot2Pi / sigma
	return c + jump, grow - jump
}

const perRoot2Pi = 0.3989422804014327 // 1/√(2π)

// solveFrom finds the root mean square of the velocity at which the curve takes a
// mean power in W: σ² c(σ) = power, from a velocity that is near it. Newton's method on
// logarithms, in which the left side is close to a line: its slope is 2 for a linear
// damper, 1 for friction and 3 for a quadratic one. Each step squares what is missing, so
// the step from 1e-5 is the last. Brackets keep it from leaving; tables whose forces sag
// take a step or two more.
func (s *slopes) solveFrom(begin, power float64) (sigma, c float64) {
	const close = 1e-5
	sigma = begin
	low, high := 0.0, math.Inf(1)
	for range 80 {
		c, grow := s.coefficient(sigma)
		miss := math.Log(sigma * sigma * c / power)
		if miss < 0 {
			low = sigma
		} else {
			high = sigma
		}
		next := sigma * math.Exp(-miss/max(0.5, 2+grow/c))
		if math.Abs(miss) < close {
			sigma = next
			break
		}
		switch {
		case next > low && next < high:
			sigma = next
		case math.IsInf(high, 1):
			sigma = 2 * low
		default:
			sigma = (low + high) / 2
		}
	}
	return sigma, power / (sigma * sigma)
}

// guess is a velocity to start from. With k = √(8/π) = 1.596 a linear and a
// quadratic curve take their power at σ = v/k, where v S(v)/2 = k² power: so the
// piece in which that holds is sought, and a quadratic equation solved. For
// friction it is a quarter too large, for all tables near.
func (s *slopes) guess(power float64) float64 {
	const k = 1.5957691216057308 // √(8/π)
	want := 2 * k * k * power
	v, f := 0.0, s.jump
	for i := range s.n {
		to := s.end[i]
		at := f + s.slope[i]*(to-v)
		if i < s.n-1 && to*at < want {
			v, f = to, at
			continue
		}
		// v S(v) on this piece: b v² + a v = want.
		a, b := f-s.slope[i]*v, s.slope[i]
		root := math.Sqrt(max(0, a*a+4*b*want))
		if a+root <= 0 {
			break
		}
		return 2 * want / (a + root) / k
	}
	return max(v, s.end[0]) / k
}

// lastVelocity is the velocity of the last point, m/s.
func (s *slopes) lastVelocity() float64 {
	if end := s.end[s.n-1]; !math.IsInf(end, 1) {
		return end
	}
	return s.end[s.n-2]
}

// beyond is the part of the damping that comes from velocities beyond the last
// point of the table.
func (s *slopes) beyond(sigma, c float64) float64 {
	within, density := normal(s.lastVelocity() / sigma)
	return (s.last*density/sigma + s.slope[s.n-1]*(0.5-within)) / c
}

// mean is the mean over all time of a curve's force in one direction, N. The
// velocity is in that direction half of the time. A piece a + b v between v1 and v2
// adds a [Φ(v2/σ) - Φ(v1/σ)] + b σ² [φ_σ(v1) - φ_σ(v2)].
func (s *slopes) mean(sigma float64) float64 {
	density := func(v float64) float64 { return math.Exp(-v*v/(2*sigma*sigma)) / (sigma * math.Sqrt(2*math.Pi)) }
	sum, v, f := 0.0, 0.0, s.jump
	for i := range s.n {
		to := s.end[i]
		if i == s.n-1 {
			to = math.Inf(1)
		}
		b := s.slope[i]
		share := (math.Erf(to/(sigma*math.Sqrt2)) - math.Erf(v/(sigma*math.Sqrt2))) / 2
		sum += (f-b*v)*share + b*sigma*sigma*(density(v)-density(to))
		f += b * (s.end[i] - v)
		v = s.end[i]
	}
	return sum
}
