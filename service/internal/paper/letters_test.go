package paper_test

import (
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
// letters, and no leader runs through them. Only thin lines of construction may pass below.
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
			if a != b && drawing.Crosses(a.Place.Slab, b.Place.Leader) {
				t.Errorf("%s: the leader of %q runs through %q", where, b.Text, a.Text)
			}
		}
		for _, s := range d.Strokes {
			if s.Role != drawing.RoleConstruction && drawing.Crosses(a.Place.Slab, s.Points) {
				t.Errorf("%s: %q covers a line of %s (%v, head %v)", where, a.Text, s.Part, s.Role, s.Head)
			}
		}
	}
}
