package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/note"
)

// surroundings are what a linkage tells of the damper's eyes and of what is near
// its body.
type surroundings struct {
	twists    linkage.Twists
	obstacles []linkage.Obstacle
	around    *linkage.Surroundings // nil without obstacles
}

// surroundings looks at them over the range. Only an eye and a bar pin turn on a
// bolt and have a bushing that is twisted.
func (r *Request) surroundings(k *kinematics, faults *fault.List) {
	found := k.linkage.CheckObstacles(r.Obstacles)
	faults.AddUnder("/obstacles", found)
	if len(found) > 0 || k.sweep == nil {
		return
	}
	k.twists = k.linkage.Twists(k.ride, k.judged)
	if !r.Readings.Upper.Style.Rubber() {
		k.twists.Upper = nil
	}
	if !r.Readings.Lower.Style.Rubber() {
		k.twists.Lower = nil
	}
	if len(r.Obstacles) > 0 {
		k.obstacles = r.Obstacles
		k.around = k.linkage.Surroundings(k.ride, k.judged, r.Obstacles)
	}
}

// checkObstacles refuses obstacles without a linkage, which alone says how anything
// moves.
func (r *Request) checkObstacles(faults *fault.List) {
	if len(r.Obstacles) > 0 && r.Travel.Basis != ByLinkage {
		faults.Add("/obstacles", linkageMissingForObstacles)
	}
}

// Clearance is the least gap between a damper's body and an obstacle over the
// travel.
type Clearance struct {
	Name string
	linkage.Gap
}

// clearances are those of a damper in an arrangement, in the obstacles' order, with
// a note for each that is small. Both are nil where no obstacle was given.
//
// The body is a cylinder of the damper's body diameter around the line between the
// mounts. It reaches from the mount of the end that carries it as far as the damper's
// compressed length, with what an adapter adds at that end. That is the dead length and
// the stroke, over which the rod goes into the body. Lists don't say by how much the
// body is shorter, so this is the safe side. A twin-tube damper stands with its rod up,
// as listed, and so its listed lower end carries the body. A single-tube damper works
// either way up, and lists don't say which end carries its body: of the two ways the
// one with the lesser gap counts.
func (t *task) clearances(d *catalog.Damper, arr *arrangement) ([]Clearance, []note.Note) {
	if t.kinematics == nil || t.kinematics.around == nil {
		return nil, nil
	}
	if d.BodyDiameter == 0 {
		return nil, []note.Note{note.New("body_not_listed")}
	}
	var least []linkage.Gap
	for _, b := range bodies(d, arr) {
		for i, gap := range t.kinematics.around.Gaps(b) {
			switch {
			case i == len(least):
				least = append(least, gap)
			case gap.Gap < least[i].Gap:
				least[i] = gap
			}
		}
	}
	var list []Clearance
	var notes []note.Note
	for i, gap := range least {
		name := t.kinematics.obstacles[i].Name
		list = append(list, Clearance{name, gap})
		notes = append(notes, gap.Caution(name)...)
	}
	return list, notes
}

// bodies are the bodies that a damper may have in an arrangement.
func bodies(d *catalog.Damper, arr *arrangement) []linkage.Body {
	body := func(atUpper bool) linkage.Body {
		adds := arr.lower.adds()
		if atUpper {
			adds = arr.upper.adds()
		}
		return linkage.Body{Diameter: d.BodyDiameter, Length: max(1, d.Compressed+adds), AtUpper: atUpper}
	}
	if d.Construction == catalog.Monotube {
		return []linkage.Body{body(false), body(true)}
	}
	return []linkage.Body{body(arr.inverted)}
}
