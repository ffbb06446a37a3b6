package wire

import (
	"midstroke/internal/fault"
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
func (r *TravelRequest) Place(core fault.List) Faults { return inBody(core, r.Units) }

// ReadTravel reads the body of POST /v1/travel. What could be read is returned
// with an error, too.
func ReadTravel(body []byte) (TravelRequest, error) {
	f, err := newForm(body)
	if err != nil {
		return TravelRequest{}, err
	}
	var r TravelRequest
	r.read(f)
	var core fault.List
	if len(f.faults) > 0 {
		_, found := linkage.New(r.Linkage)
		core.AddUnder("/linkage", found)
	}
	told, more := f.all(f.settled(core))
	return r, append(inBody(told, r.Units), unlisted(more)...).Err()
}

// rolls bounds an axle's roll, in degrees.
var rolls = span{least: -90, most: 90, above: true, below: true}

func (r *TravelRequest) read(f *form) {
	o := f.top()
	readUnits(o)
	r.Units = f.units
	q := &r.Options
	if v := o.need("linkage"); v.given() {
		r.Linkage = *readLinkage(v.object())
	}
	if v := o.need("range"); v.given() {
		q.Range.Bump, q.Range.Droop = readRange(v.object())
	}
	at := o.get("at")
	for _, v := range at.items(1, linkage.MostPoints) {
		if l, ok := v.length(signed); ok {
			q.At = append(q.At, l)
		}
	}
	if n, ok := o.get("points").whole(linkage.FewestPoints, linkage.MostPoints); ok {
		q.Points = n
		if at.given() {
			o.get("points").fail(notTogether, "goes without at: the points are either listed or counted")
		}
	}
	poses := o.get("poses")
	for _, v := range poses.items(0, linkage.MostPoints) {
		p := v.object()
		var pose linkage.Pose
		pose.Heave, _ = p.need("heave").length(signed)
		pose.RollDeg, _ = p.need("roll_deg").number(rolls)
		p.close()
		q.Poses = append(q.Poses, pose)
	}
	if poses.given() && r.Linkage.Kind != "" && r.Linkage.Kind != linkage.SolidAxle {
		poses.fail(notWithKind, "are for a solid axle alone")
	}
	o.close()
}
