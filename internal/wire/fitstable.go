package wire

import (
	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/ride"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
)

// The bounds of a request that has no source: they catch slips of the pen.
const (
	mostReference = 200 // characters
	mostCodes     = 100
	mostDampers   = 100
	mostAdjusters = 16
)

// maxInt is the largest whole number within 32 bits, which is what a revision's
// number takes. Every JSON reader keeps it exact (RFC 8259 section 6).
const maxInt = 1<<31 - 1

var (
	catalogName = form.Checked(form.Text(1, shop.MostName), shop.IsName, notAName)
	revision    = form.Whole(1, maxInt)
	motionRatio = form.Number(form.Span{Least: 0, Most: measure.MaxMotionRatio, Above: true})
)

// fitsTable is the fields of POST /v1/fits, in the contract's order.
var fitsTable = form.NewRecord(
	form.Field("units", form.Units, func(r *FitsRequest) *unit.System { return &r.Units }).Needed(),
	form.Field("reference", form.Text(0, mostReference), func(r *FitsRequest) *string { return &r.Reference }),
	form.Field("catalog", catalogName, func(r *FitsRequest) *string { return &r.Catalog }),
	form.Field("revision", revision, func(r *FitsRequest) *int { return &r.Revision }),
	form.Part("upper", placeTable, func(r *FitsRequest) *place { return &place{&r.Fit.Readings.Upper, &r.Fit.Upper} }).Needed(),
	form.Part("lower", placeTable, func(r *FitsRequest) *place { return &place{&r.Fit.Readings.Lower, &r.Fit.Lower} }).Needed(),
	form.Field("readings", form.ListOf(reading, 1, measure.MaxReadings), func(r *FitsRequest) *[]measure.Reading { return &r.Fit.Readings.Readings }).Needed(),
	form.Field("reading_tolerance", form.Length, func(r *FitsRequest) *unit.Length { return &r.Fit.Readings.Tolerance }),
	form.Field("tape", form.Either("along_damper", "vertical"), func(r *FitsRequest) *bool { return &r.Fit.Readings.Tape.Vertical }),
	form.Field("sideways_offset", form.LengthOrZero, func(r *FitsRequest) *unit.Length { return orNew(&r.Fit.Readings.Tape.SidewaysOffset) }),
	form.Part("condition", conditionTable, func(r *FitsRequest) *measure.Condition { return &r.Fit.Readings.Condition }),
	form.Field("motion_ratio", motionRatio, func(r *FitsRequest) *float64 { return &r.Fit.Readings.MotionRatio }),
	form.Field("motion_ratio_tolerance", form.Number(form.Span{Least: 0, Most: measure.MaxMotionRatio}), func(r *FitsRequest) *float64 { return &r.Fit.Readings.MotionRatioTolerance }),
	form.Field("planned_change", form.SignedLength, func(r *FitsRequest) *unit.Length { return &r.Fit.Readings.PlannedChange }),
	form.Field("planned_mount_move", form.SignedLength, func(r *FitsRequest) *unit.Length { return &r.Fit.Readings.PlannedMountMove }),
	form.Part("old_damper", oldDamperTable, func(r *FitsRequest) *measure.OldDamper { return &r.Fit.Readings.OldDamper }),
	form.Field("lean_deg", form.Number(form.Span{Least: 0, Most: 90}), func(r *FitsRequest) *float64 { return &r.Fit.LeanDeg }),
	form.Part("ride_height_range", heightsTable, func(r *FitsRequest) *fit.Heights { return &r.Fit.Heights }),
	form.Field("suspension", form.Named(fit.Suspensions), func(r *FitsRequest) *fit.Suspension { return &r.Fit.Suspension }),
	form.Part("travel", travelTable, func(r *FitsRequest) *fit.Request { return &r.Fit }),
	form.Part("bump_stop", bumpStopTable, func(r *FitsRequest) *fit.BumpStop { return newBumpStop(&r.Fit) }),
	form.Part("strap", strapTable, func(r *FitsRequest) *fit.Strap { return newStrap(&r.Fit) }),
	form.Part("droop_limit", form.NewRecord(
		form.Field("by", form.NameOf(fit.DroopLimiters()), func(d *fit.DroopLimit) *string { return &d.By }).Needed(),
		form.Field("travel", form.Length, func(d *fit.DroopLimit) *unit.Length { return &d.Travel }).Needed(),
	), func(r *FitsRequest) *fit.DroopLimit { return orNew(&r.Fit.DroopLimit) }),
	form.Field("obstacles", form.Records(obstacleTable, 0, linkage.MostObstacles, linkage.Obstacle{}), func(r *FitsRequest) *[]linkage.Obstacle { return &r.Fit.Obstacles }),
	form.Part("limits", limitsTable, func(r *FitsRequest) *fit.Limits { return &r.Fit.Limits }),
	form.Part("corner", cornerTable, func(r *FitsRequest) *ride.Corner { return orNew(&r.Fit.Corner) }),
	form.Part("targets", targetsTable, func(r *FitsRequest) *damping.Targets { return orNew(&r.Fit.Targets) }),
	form.Part("prefer", preferTable, func(r *FitsRequest) *fit.Request { return &r.Fit }),
	form.Field("codes", form.ListOf(form.Text(1, mount.MostCode), 0, mostCodes), func(r *FitsRequest) *[]string { return &r.Fit.Codes }),
	form.Field("top", form.Whole(1, fit.MostListed), func(r *FitsRequest) *int { return &r.Fit.Top }),
	form.Field("near_misses", form.Whole(0, fit.MostListed), func(r *FitsRequest) *int { return orNew(&r.Fit.NearMisses) }),
	form.Field("dampers", form.Whole(1, mostDampers), func(r *FitsRequest) *int { return &r.Fit.Dampers }),
	form.Field("explain", form.Flag, func(r *FitsRequest) *bool { return &r.Fit.Explain }),
	form.Field("working", form.Flag, func(r *FitsRequest) *bool { return &r.Fit.Working }),
).Settle(func(_ form.Value, r *FitsRequest) {
	r.Fit.Readings.HasLinkage = r.Fit.Travel.Basis == fit.ByLinkage
})

// orNew gives what p points to, which it makes where there is nothing yet.
func orNew[T any](p **T) *T {
	if *p == nil {
		*p = new(T)
	}
	return *p
}

// reading is a length, or a length with its side.
var reading = form.Or(form.Length, form.NewRecord(
	form.Field("length", form.Length, func(r *measure.Reading) *unit.Length { return &r.Length }).Needed(),
	form.Field("side", form.Named(measure.Sides), func(r *measure.Reading) *measure.Side { return &r.Side }),
), func(l unit.Length) measure.Reading { return measure.Reading{Length: l} })

var conditionTable = form.NewRecord(
	form.Field("state", form.Either("loaded", notAtRide), func(c *measure.Condition) *bool { return &c.NotAtRide }).Needed().Short().Decides(notWithState),
	form.Field("arch_gap", form.Length, func(c *measure.Condition) *unit.Length { return &c.ArchGap }).With(notAtRide),
	form.Field("arch_gap_at_ride", form.Length, func(c *measure.Condition) *unit.Length { return &c.ArchGapAtRide }).With(notAtRide),
	form.Field("gap_tolerance", form.Length, func(c *measure.Condition) *unit.Length { return &c.GapTolerance }).With(notAtRide),
)

const notAtRide = "not_at_ride"

var oldDamperTable = form.NewRecord(
	form.Field("at_stop", form.Flag, func(d *measure.OldDamper) *bool { return &d.AtStop }),
	form.Field("carries_load", form.Flag, func(d *measure.OldDamper) *bool { return &d.CarriesLoad }),
)

var heightsTable = form.NewRecord(
	form.Field("below", form.LengthOrZero, func(h *fit.Heights) *unit.Length { return &h.Below }),
	form.Field("above", form.LengthOrZero, func(h *fit.Heights) *unit.Length { return &h.Above }),
)

var limitsTable = form.NewRecord(
	form.Field("max_body_diameter", form.Length, func(l *fit.Limits) *unit.Length { return &l.MaxBodyDiameter }),
	form.Field("max_compressed", form.Length, func(l *fit.Limits) *unit.Length { return &l.MaxCompressed }),
	form.Field("construction", form.Named(catalog.Constructions), func(l *fit.Limits) *catalog.Construction { return &l.Construction }),
	form.Field("adjusters", adjusters, func(l *fit.Limits) *catalog.Adjusters { return &l.Adjusters }),
	form.Field("in_stock", form.Flag, func(l *fit.Limits) *bool { return &l.InStock }),
	form.Field("in_stock_at", stockLocation, func(l *fit.Limits) *string {
		l.InStock = true
		return &l.InStockAt
	}),
	form.Field("max_price", amount, func(l *fit.Limits) *mount.Price {
		l.HasMaxPrice = true
		return &l.MaxPrice
	}),
	form.Field("mounting", form.Named(fit.Mountings), func(l *fit.Limits) *fit.Mounting { return &l.Mounting }),
	form.Field("adapters", form.Either("any", "none"), func(l *fit.Limits) *bool { return &l.NoAdapters }),
	form.Field("load_carrying", form.Either("none", "allowed"), func(l *fit.Limits) *bool { return &l.LoadCarrying }),
	form.Field("damping", verdicts, func(l *fit.Limits) *fit.Verdicts { return &l.Damping }),
)

var verdicts = form.As(form.ListOf(form.OneOf(damping.Verdicts.All(), damping.Verdicts.Parse), 0, len(damping.Verdicts.All())),
	func(all []damping.Verdict) (set fit.Verdicts) {
		for _, one := range all {
			set = set.With(one)
		}
		return set
	})

var adjusters = form.As(form.ListOf(form.OneOf(catalog.AdjusterNames(), catalog.ParseAdjuster), 0, mostAdjusters),
	func(all []catalog.Adjusters) (set catalog.Adjusters) {
		for _, one := range all {
			set |= one
		}
		return set
	})

var preferTable = form.NewRecord(
	form.Field("ride_position", exactRatio, func(q *fit.Request) *fit.Ratio { return orNew(&q.Prefer) }),
)
