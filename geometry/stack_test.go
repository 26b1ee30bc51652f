package geometry_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// TestCurveChecks holds the tightest curve to the check values, whose relief is flat.
func TestCurveChecks(t *testing.T) {
	text, err := os.ReadFile("testdata/geometry.json")
	if err != nil {
		t.Fatal(err)
	}
	var rows struct {
		Curve []struct {
			Wheel  unit.Length `json:"wheel_radius_mm"`
			Edge   float64     `json:"primary_edge_tangent_deg"`
			Land   unit.Length `json:"land_chord_mm"`
			Steel  unit.Length `json:"steel_depth_mm"`
			Relief float64     `json:"second_bevel_flat_angle_deg"`
			Radius float64     `json:"smallest_concave_radius_mm"`
		} `json:"curve"`
	}
	if err := json.Unmarshal(text, &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows.Curve) != 12 {
		t.Fatalf("%d rows", len(rows.Curve))
	}
	for _, row := range rows.Curve {
		land, err := geometry.RoundWheel(2*row.Wheel).HollowOfChord(unit.Degrees(row.Edge), row.Land)
		if err != nil {
			t.Fatal(err)
		}
		_, below := land.End()
		relief, err := geometry.FlatAbrasive().HollowOfDepth(unit.Degrees(row.Relief), row.Steel-below)
		if err != nil {
			t.Fatal(err)
		}
		s := geometry.Stack{{Hollow: land}}
		if s, err = s.Then(relief); err != nil {
			t.Fatal(err)
		}
		if got := float64(s.TightestCurve()); math.Abs(got-row.Radius) > 0.0001 {
			t.Errorf("edge %v, land %v, relief %v: %.4f, want %.4f", row.Edge, row.Land, row.Relief, got, row.Radius)
		}
	}
}
