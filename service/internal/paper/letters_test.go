package paper_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"arris.example/geometry/drawing"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/demo/demotest"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// boxes are the room that sheets give a drawing, in millimetres: the usual one, and the lowest at a page's end.
var boxes = [][2]float64{{110, 46}, {116, 46}, {110, 32}}

// Letters on paper stand free, whatever the tool, station, language and unit: on no line of the drawing, no arrowhead, no arc, no other
// letters, on no centre mark, and no leader runs through them or the frame they may get. Only thin lines of construction may pass below. What
// has no leader stands beside what it names, or on it.
func TestLettersStandFree(t *testing.T) {
	drawn := 0
	solver := setup.Solver{Records: demotest.Reader()}
	for _, record := range demo.Records(time.Now()) {
		tool, is := record.(shop.Tool)
		if !is {
			continue
		}
		for _, station := range []string{"north", "south", "west"} {
			for _, language := range []string{"en", "de", "es"} {
				for _, unit := range []setup.LengthUnit{setup.Millimetres, setup.BothUnits} {
					q := setup.Question{Common: setup.Common{Shop: demo.Name, Recipe: tool.Recipe, Language: language, Unit: unit, Figures: true}}
					q.Rig.Tool.Name, q.Rig.Station.Name = tool.Name, demo.Name+"/stations/"+station
					found, err := solver.Solve(t.Context(), q)
					if err != nil {
						continue
					}
					for _, step := range found.Steps {
						for _, box := range boxes {
							drawn++
							free(t, strings.Join([]string{tool.Name, station, language}, " "), paper.Arrange(step.Figure, box[0], box[1]).Drawing())
						}
					}
				}
			}
		}
	}
	if drawn < 800 {
		t.Errorf("only %d drawings, want 800: the shop has more", drawn)
	}
}

func free(t *testing.T, where string, d *drawing.Drawing) {
	t.Helper()
	for i, a := range d.Labels {
		for _, b := range d.Labels[:i] {
			if a.Place.Slab.Meets(b.Place.Slab) {
				t.Errorf("%s: %q covers %q", where, a.Text, b.Text)
			}
		}
		for _, b := range d.Labels {
			if a != b && cross(a.Place.Leader, b.Place.Leader) {
				t.Errorf("%s: the leaders of %q and %q cross", where, a.Text, b.Text)
			}
			if a != b && drawing.Crosses(a.Place.Slab.Grown(0.25*d.Em), b.Place.Leader) {
				t.Errorf("%s: the leader of %q runs through %q", where, b.Text, a.Text)
			}
		}
		for _, s := range d.Strokes {
			if s.Role != drawing.RoleConstruction && drawing.Crosses(a.Place.Slab, s.Points) {
				t.Errorf("%s: %q covers a line of %s (%v, head %v)", where, a.Text, s.Part, s.Role, s.Head)
			}
			if centreMark(d, s) && drawing.Crosses(a.Place.Slab.Grown(0.15*d.Em), s.Points) {
				t.Errorf("%s: %q covers the centre mark of %s", where, a.Text, s.Part)
			}
		}
		if leader := a.Place.Leader; len(leader) > 0 && a.Place.Slab.Turn == 0 {
			end, to := leader[len(leader)-1], a.Place.Slab
			if math.Abs(end.X-to.Centre.X) > 0.75*to.HalfW && math.Abs(end.Y-to.Centre.Y) > 0.3*d.Em {
				t.Errorf("%s: its own leader runs into an end of %q", where, a.Text)
			}
		}
		if far := fromNamed(d, a); len(a.Place.Leader) == 0 && far > 1.2*d.Em {
			t.Errorf("%s: %q stands %.1f letter heights from what it names, without a leader", where, a.Text, far/d.Em)
		}
	}
}

// cross tells whether two straight leaders cross: each, as a slab without height, meets the other.
func cross(a, b []drawing.Point) bool {
	if len(a) != 2 || len(b) != 2 {
		return false
	}
	thin := func(l []drawing.Point) drawing.Slab {
		return drawing.NewSlab(l[0].Between(l[1], 0.5), l[0].Distance(l[1]), 1e-9, l[0].Direction(l[1]))
	}
	return thin(a).Meets(thin(b))
}

// centreMark tells whether a line is one of two that cross in the middle of both.
func centreMark(d *drawing.Drawing, s drawing.Stroke) bool {
	return s.Role == drawing.RoleConstruction && slices.ContainsFunc(d.Strokes, func(o drawing.Stroke) bool {
		middle := func(s drawing.Stroke) drawing.Point { return s.Points[0].Between(s.Points[1], 0.5) }
		return o.Role == drawing.RoleConstruction && len(o.Points) == 2 && len(s.Points) == 2 && o.Points[0] != s.Points[0] && middle(o).Distance(middle(s)) < 1e-6
	})
}

// fromNamed is how far a label is from the nearest line of what it names; none where it stands within.
func fromNamed(d *drawing.Drawing, l *drawing.Label) float64 {
	far := math.Inf(1)
	for _, s := range d.Strokes {
		if s.Part != l.Part || s.Role == drawing.RoleConstruction {
			continue
		}
		if s.Closed && !s.Head && drawing.Holds(s.Points, l.Place.Slab.Centre) {
			return 0
		}
		for grown := 0.0; grown < far; grown += 0.1 * d.Em {
			if grown > 40*d.Em || drawing.Crosses(l.Place.Slab.Grown(grown), s.Points) {
				far = min(far, grown)
				break
			}
		}
	}
	return far
}
