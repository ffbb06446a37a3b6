package httpapi_test

import (
	"math"
	"net/http"
	"strings"
	"testing"
)

// byPoints is a place judged by an inclined damper's points, each length with
// its unit, so that it may be asked in either. The points make the damper
// 388.8 mm.
const byPoints = `{
	"units": "UNITS",
	"upper": {"style": "eye"}, "lower": {"style": "eye"},
	"readings": ["391 mm"], "reading_tolerance": "1 mm",
	"suspension": "solid_axle", "working": true,
	"planned_change": "PLANNED mm",
	"travel": {
		"basis": "linkage", "reserve": "5 mm",
		"linkage": {"kind": "inclined", "damper": {"upper": ["0 mm", "450 mm", "640 mm"], "lower": ["80 mm", "430 mm", "260 mm"]}},
		"range": {"bump": "75 mm", "droop": "65 mm"}
	},
	"bump_stop": {"gap": "40 mm", "height": "50 mm", "squash": 0.5, "motion_ratio": 1},
	"strap": {"distance": "380 mm", "motion_ratio": 1, "stretch": 0.08, "reserve": "8 mm"},
	"limits": {"adapters": "none"}, "top": 20
}`

// linkageAnswer is what an answer says by a linkage, in the caller's units.
type linkageAnswer struct {
	Units    string
	Required struct {
		Compression, Extension struct{ Least, Wanted float64 }
	}
	Fits []struct {
		Damper struct{ Code string }
		Stops  struct {
			Bump, Droop *float64
			BumpStop    *struct {
				SolidAt float64 `json:"solid_at"`
				InTime  bool    `json:"in_time"`
				Gap     float64
				Height  float64
				Working []struct{ Code string }
			} `json:"bump_stop"`
			Strap *struct {
				Length  float64
				Working []struct{ Code string }
			}
		}
	}
	NearMisses []struct {
		Damper   struct{ Code string }
		Remedies []struct {
			Kind   string
			By     float64
			Margin struct{ Compression, Extension float64 }
			Move   *struct {
				Point       string
				Vector      []float64
				MotionRatio float64 `json:"motion_ratio"`
			}
		}
	} `json:"near_misses"`
	Cautions []struct{ Code string }
}

func (s *service) byPoints(t *testing.T, units, planned string) linkageAnswer {
	t.Helper()
	res := s.post(t, "/v1/fits", strings.NewReplacer("UNITS", units, "PLANNED", planned).Replace(byPoints))
	return decode[linkageAnswer](t, res, http.StatusOK)
}

// The same points in inches and in millimetres have the same answer, moves and
// stops included, to the six decimals of an inch.
func TestPointsInInchesAndMillimetresAgree(t *testing.T) {
	s := newService(t)
	for _, planned := range []string{"0", "-12"} {
		mm, in := s.byPoints(t, "mm", planned), s.byPoints(t, "in", planned)
		same := func(what string, inMM, inIn float64) {
			t.Helper()
			if math.Abs(inMM-25.4*inIn) > 25.4*0.51e-6 {
				t.Errorf("%s is %v mm and %v in", what, inMM, inIn)
			}
		}
		same("compression", mm.Required.Compression.Least, in.Required.Compression.Least)
		same("extension wanted", mm.Required.Extension.Wanted, in.Required.Extension.Wanted)
		if len(mm.Fits) == 0 || len(mm.Fits) != len(in.Fits) || len(mm.NearMisses) == 0 || len(mm.NearMisses) != len(in.NearMisses) {
			t.Fatalf("%d and %d fits, %d and %d near misses", len(mm.Fits), len(in.Fits), len(mm.NearMisses), len(in.NearMisses))
		}
		for i, f := range mm.Fits {
			g := in.Fits[i]
			if f.Damper != g.Damper || f.Stops.Bump == nil || f.Stops.Droop == nil || f.Stops.BumpStop == nil || f.Stops.Strap == nil {
				t.Fatalf("fit %+v and in inches %+v", f, g)
			}
			same("bump", *f.Stops.Bump, *g.Stops.Bump)
			same("droop", *f.Stops.Droop, *g.Stops.Droop)
			same("solid at", f.Stops.BumpStop.SolidAt, g.Stops.BumpStop.SolidAt)
			same("gap", f.Stops.BumpStop.Gap, g.Stops.BumpStop.Gap)
			same("height", f.Stops.BumpStop.Height, g.Stops.BumpStop.Height)
			same("strap", f.Stops.Strap.Length, g.Stops.Strap.Length)
			if late := *f.Stops.Bump < f.Stops.BumpStop.SolidAt; late == f.Stops.BumpStop.InTime {
				t.Errorf("solid at %v, by %v, in time: %v", f.Stops.BumpStop.SolidAt, *f.Stops.Bump, f.Stops.BumpStop.InTime)
			}
			if len(f.Stops.BumpStop.Working) == 0 || len(f.Stops.Strap.Working) == 0 {
				t.Errorf("no arithmetic beside %+v", f.Stops)
			}
		}
		moves := 0
		for i, m := range mm.NearMisses {
			n := in.NearMisses[i]
			if m.Damper != n.Damper || len(m.Remedies) != len(n.Remedies) {
				t.Fatalf("near miss %+v and in inches %+v", m, n)
			}
			for j, r := range m.Remedies {
				q := n.Remedies[j]
				same("by", r.By, q.By)
				same("margin", r.Margin.Compression, q.Margin.Compression)
				if (r.Move == nil) != (q.Move == nil) {
					t.Fatalf("remedy %+v and in inches %+v", r, q)
				}
				if r.Move == nil {
					continue
				}
				moves++
				if r.Move.Point != q.Move.Point || r.Move.MotionRatio != q.Move.MotionRatio {
					t.Errorf("move %+v and in inches %+v", *r.Move, *q.Move)
				}
				length := 0.0
				for k, x := range r.Move.Vector {
					same("vector", x, q.Move.Vector[k])
					length = math.Hypot(length, x)
				}
				if math.Abs(length-r.By) > 1e-5 {
					t.Errorf("the point moves by %v, the mounts by %v", length, r.By)
				}
			}
		}
		if moves == 0 {
			t.Error("no near miss has a move")
		}
	}
}

// A reading that is off the points by more than its tolerance and the points' rounding is
// cautioned about. By hand, √(80² + 20² + 380²) = 388.844 mm, within 2·25.4/32·480/388.844 =
// 1.960 mm, and 1 mm of the reading: up to 391.804 mm is explained.
func TestPointsAreHeldAgainstTheReading(t *testing.T) {
	s := newService(t)
	for reading, want := range map[string]bool{"391.8 mm": false, "391.81 mm": true} {
		body := strings.NewReplacer("UNITS", "mm", "PLANNED", "0", "391 mm", reading).Replace(byPoints)
		got := false
		for _, c := range decode[linkageAnswer](t, s.post(t, "/v1/fits", body), http.StatusOK).Cautions {
			got = got || c.Code == "lengths_disagree"
		}
		if got != want {
			t.Errorf("%s: lengths_disagree is %v, want %v", reading, got, want)
		}
	}
}
