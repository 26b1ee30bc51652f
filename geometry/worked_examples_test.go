package geometry_test

import (
	"math"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/geometry/worked"
)

// TestWorkedExamples holds the engine to the examples that every other layer is held to. Numbers are given to four or more places, so
// 1e-4 (a tenth of a micrometre, or of a thousandth of a degree in three) is one unit of the last place in most.
func TestWorkedExamples(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	held := 0
	for _, e := range all {
		for _, r := range e.Engine {
			held++
			t.Run(e.Name+"/"+r.Kind, func(t *testing.T) { holdRelation(t, r) })
		}
	}
	if held < 15 {
		t.Errorf("only %d relations were held; the examples are not read", held)
	}
}

func holdRelation(t *testing.T, r worked.Relation) {
	n := r.Numbers
	w := geometry.RoundWheel(unit.Length(n["wheel"]))
	edge := unit.Degrees(n["edge"])
	is := func(what string, got, want, tolerance float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tolerance) {
			t.Errorf("%s is %.7f, want %.7f", what, got, want)
		}
	}
	switch r.Kind {
	case "planar":
		p := geometry.Pivot{Behind: unit.Length(n["behind"]), Below: unit.Length(n["below"])}
		is("gap", float64(w.Gap(p, edge)), n["gap"], 1e-4)
		back, err := w.EdgeAngle(p, unit.Length(n["gap"]))
		if err != nil {
			t.Fatal(err)
		}
		is("edge angle", back.Degrees(), n["edge"], 1e-4)
	case "line":
		back, err := w.LineAngle(unit.Length(n["line"]))
		if err != nil {
			t.Fatal(err)
		}
		is("edge angle", back.Degrees(), n["edge"], 1e-4)
		is("line", float64(w.LineFor(edge)), n["line"], 1e-3)
	case "chord":
		h, err := w.HollowOfDepth(edge, unit.Length(n["steel"]))
		if err != nil {
			t.Fatal(err)
		}
		if want, ok := n["reading"]; ok {
			is("reading", h.Reading.Degrees(), want, 1e-3)
		}
		if want, ok := n["chord"]; ok {
			is("chord", float64(h.Chord), want, 1e-3)
		}
	case "land":
		h, err := w.HollowOfChord(edge, unit.Length(n["width"]))
		if err != nil {
			t.Fatal(err)
		}
		is("reading", h.Reading.Degrees(), n["reading"], 1e-5)
		is("depth", float64(h.Depth), n["depth"], 1e-6)
	case "lift":
		lift, err := geometry.Lift(unit.Length(n["land"]), unit.Length(n["radius"]))
		if err != nil {
			t.Fatal(err)
		}
		is("lift", lift.Degrees(), n["lift"], 1e-5)
	case "speed":
		is("speed", geometry.SurfaceSpeed(unit.Length(n["wheel"]), n["rpm"]), n["speed"], 5e-4)
	case "reach":
		is("reach", float64(geometry.Pivot{Behind: unit.Length(n["behind"]), Below: unit.Length(n["below"])}.Reach()), n["reach"], 5e-3)
	case "room":
		is("room", float64(w.RoomBelow(edge, unit.Length(n["behind"]))), n["room"], 1e-3)
	default:
		t.Errorf("the engine has no relation %q", r.Kind)
	}
}
