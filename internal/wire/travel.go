package wire

import (
	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// TravelRequest is what POST /v1/travel asks: a linkage's damper length over
// wheel travel.
type TravelRequest struct {
	Units   unit.System
	Linkage linkage.Spec
	Options linkage.Options
}

// Place puts faults that the core found in the request in its sender's terms:
// those of linkage.New come under "/linkage", the others as they are.
func (r *TravelRequest) Place(core fault.List) error { return refused(core, r.Units) }

// ReadTravel reads the body of POST /v1/travel. What could be read is returned
// with an error, too.
func ReadTravel(body []byte) (TravelRequest, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return TravelRequest{}, unread(err)
	}
	var r TravelRequest
	faults := form.Read(f, travelRequestTable, &r, func(own fault.List, r *TravelRequest) (core fault.List) {
		if len(own) > 0 { // else the core finds its faults when it is asked for the curve
			_, found := linkage.New(r.Linkage)
			core.AddUnder("/linkage", found)
		}
		return core
	})
	return r, refused(faults, r.Units)
}

// travelRequestTable is the fields of POST /v1/travel, in the contract's order.
var travelRequestTable = form.NewRecord(
	form.Field("units", form.Units, func(r *TravelRequest) *unit.System { return &r.Units }).Needed(),
	form.Part("linkage", linkageTable, func(r *TravelRequest) *linkage.Spec { return &r.Linkage }).Needed(),
	form.Part("range", rangeTable(
		func(r *linkage.Range) *unit.Length { return &r.Bump },
		func(r *linkage.Range) *unit.Length { return &r.Droop },
	), func(r *TravelRequest) *linkage.Range { return &r.Options.Range }).Needed(),
	form.Field("at", form.ListOf(form.SignedLength, 1, linkage.MostPoints), func(r *TravelRequest) *[]unit.Length { return &r.Options.At }),
	form.Field("points", form.Whole(linkage.FewestPoints, linkage.MostPoints), func(r *TravelRequest) *int { return &r.Options.Points }),
	form.Field("obstacles", form.Records(obstacleTable, 0, linkage.MostObstacles, linkage.Obstacle{}), func(r *TravelRequest) *[]linkage.Obstacle { return &r.Options.Obstacles }),
	form.Part("body", bodyTable, func(r *TravelRequest) *linkage.Body { return &r.Options.Body }),
	form.Field("poses", form.Records(poseTable, 0, linkage.MostPoints, linkage.Pose{}), func(r *TravelRequest) *[]linkage.Pose { return &r.Options.Poses }),
	form.Field("places", form.Flag, func(r *TravelRequest) *bool { return &r.Options.Places }),
).Settle(func(v form.Value, r *TravelRequest) {
	if points := v.Member("points"); points.Given() && v.Member("at").Given() {
		points.Fail(pointsAndAt)
	}
	if poses := v.Member("poses"); poses.Given() && r.Linkage.Kind != "" && r.Linkage.Kind != linkage.SolidAxle {
		poses.Fail(posesOfNoAxle)
	}
})

var poseTable = form.NewRecord(
	form.Field("heave", form.SignedLength, func(p *linkage.Pose) *unit.Length { return &p.Heave }).Needed(),
	form.Field("roll_deg", form.Number(form.Span{Least: -90, Most: 90, Above: true, Below: true}), func(p *linkage.Pose) *float64 { return &p.RollDeg }).Needed(),
)
