package wire

import (
	"strings"

	"midstroke/internal/damping"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/linkage"
	"midstroke/internal/mount"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// RatesRequest is what POST /v1/rates asks: the spring and damping that a corner
// wants, and which dampers give it.
type RatesRequest struct {
	Units     unit.System
	Reference string
	// Catalog is "" and Revision 0 where none was named.
	Catalog  string
	Revision int

	Question damping.Question
	// Linkage, where given, has the damper's motion ratio.
	Linkage *linkage.Spec
	// Codes, where any, are the only dampers to judge, and Top is how many are
	// listed where there are none.
	Codes []string
	Top   int

	spring coilSpring
}

// coilSpring is the lengths of a spring, as a request has them.
type coilSpring struct {
	wire, mean, solid, free, seats, bump, droop unit.Length
}

// Place puts faults that the core found in the request in its sender's terms. The
// core's names of a spring's lengths tell their unit, which the request's don't.
func (r *RatesRequest) Place(core fault.List) error {
	for i := range core {
		if p := core[i].Pointer; strings.HasPrefix(p, "/spring/") {
			core[i].Pointer = strings.TrimSuffix(p, "_mm")
		}
		if p := core[i].Pointer; p == "/spring/rate_n" {
			core[i].Pointer = "/spring/rate_n_mm"
		}
	}
	return refused(core, r.Units)
}

// ReadRates reads the body of POST /v1/rates. What could be read is returned with
// an error, too.
func ReadRates(body []byte) (RatesRequest, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return RatesRequest{}, unread(err)
	}
	r := RatesRequest{Top: fit.DefaultTop}
	faults := form.Read(f, ratesTable, &r, nil)
	if len(faults) > 0 {
		return r, refused(faults, r.Units)
	}
	if found := r.settle(); len(found) > 0 {
		return r, r.Place(found)
	}
	return r, nil
}

// settle fills in what follows from the linkage, and gives the faults of the whole.
func (r *RatesRequest) settle() fault.List {
	q := &r.Question
	if r.Linkage != nil {
		var faults fault.List
		l, found := linkage.New(*r.Linkage)
		faults.AddUnder("/linkage", found)
		if len(faults) > 0 {
			return faults
		}
		c := &q.Corner
		curve, _ := l.FromRide(0) // which every linkage reaches
		faults.AddUnder("/corner", c.PutOnLinkage(curve))
		if len(faults) > 0 {
			return faults
		}
		if c.DamperRollRatio == 0 {
			c.DamperRollRatio = l.RatioInRoll()
		}
		// A wheel rate alone may be that of a leaf, which no ratio is known of.
		if c.SpringRate > 0 || q.Spring != nil || c.SpringRollRatio != 0 || c.SpringRatioChange != 0 {
			c.PutSpringOnDamper()
		}
		if q.Spring != nil && c.SpringCurve != nil {
			curve.Check(&faults, "/spring/bump", r.spring.bump)
			curve.Check(&faults, "/spring/droop", -r.spring.droop)
			if len(faults) > 0 {
				return faults
			}
		}
	}
	if s := q.Spring; s != nil {
		s.Wire, s.Mean, s.Solid, s.Free = r.spring.wire.Mm(), r.spring.mean.Mm(), r.spring.solid.Mm(), r.spring.free.Mm()
		s.SeatsAtRide, s.Bump, s.Droop = r.spring.seats.Mm(), r.spring.bump.Mm(), r.spring.droop.Mm()
	}
	return q.Faults()
}

// ratesTable is the fields of POST /v1/rates, in the contract's order.
var ratesTable = form.NewRecord(
	form.Field("units", form.Units, func(r *RatesRequest) *unit.System { return &r.Units }).Needed(),
	form.Field("reference", form.Text(0, mostReference), func(r *RatesRequest) *string { return &r.Reference }),
	form.Field("catalog", catalogName, func(r *RatesRequest) *string { return &r.Catalog }),
	form.Field("revision", revision, func(r *RatesRequest) *int { return &r.Revision }),
	form.Part("corner", cornerTable, func(r *RatesRequest) *ride.Corner { return &r.Question.Corner }).Needed(),
	form.Part("linkage", linkageTable, func(r *RatesRequest) *linkage.Spec { return orNew(&r.Linkage) }),
	form.Part("targets", targetsTable, func(r *RatesRequest) *damping.Targets { return &r.Question.Targets }),
	form.Field("velocities", form.ListOf(form.In(form.Velocity, upTo(damping.MostVelocity)), 0, damping.MostVelocities), func(r *RatesRequest) *[]float64 { return &r.Question.Velocities }),
	form.Part("spring", springTable, func(r *RatesRequest) *springFields { return &springFields{orNew(&r.Question.Spring), &r.spring} }),
	form.Field("codes", form.ListOf(form.Text(1, mount.MostCode), 0, mostCodes), func(r *RatesRequest) *[]string { return &r.Codes }),
	form.Field("top", form.Whole(1, fit.MostListed), func(r *RatesRequest) *int { return &r.Top }),
)

// springFields is where the fields of a spring go.
type springFields struct {
	*damping.Spring
	lengths *coilSpring
}

var springTable = form.NewRecord(
	form.Field("wire", form.Length, func(s *springFields) *unit.Length { return &s.lengths.wire }),
	form.Field("mean_diameter", form.Length, func(s *springFields) *unit.Length { return &s.lengths.mean }),
	form.Field("turns", form.Number(upTo(damping.MostTurns)), func(s *springFields) *float64 { return &s.Turns }),
	form.Field("ends", form.OneOf(damping.SpringEnds.All(), damping.SpringEnds.Parse), func(s *springFields) *damping.Ends { return &s.Ends }),
	form.Field("rate_n_mm", rate, func(s *springFields) *float64 { return &s.Rate }),
	form.Field("solid_length", form.Length, func(s *springFields) *unit.Length { return &s.lengths.solid }),
	form.Field("free_length", form.Length, func(s *springFields) *unit.Length { return &s.lengths.free }),
	form.Field("shear_modulus_gpa", form.In(form.Modulus, upTo(300)), func(s *springFields) *float64 { return &s.ShearModulus }),
	form.Field("shear_yield_mpa", form.In(form.Stress, upTo(5000)), func(s *springFields) *float64 { return &s.ShearYield }),
	form.Field("rate_tolerance", form.Number(upTo(0.5)), func(s *springFields) *float64 { return &s.RateTolerance }),
	form.Field("fixity", form.Number(upTo(2)), func(s *springFields) *float64 { return &s.Fixity }),
	form.Field("seats_at_ride", form.Length, func(s *springFields) *unit.Length { return &s.lengths.seats }),
	form.Field("bump", form.Length, func(s *springFields) *unit.Length { return &s.lengths.bump }),
	form.Field("droop", form.Length, func(s *springFields) *unit.Length { return &s.lengths.droop }),
)
