package setup_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/demo/demotest"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

var solver = setup.Solver{Records: demotest.Reader()}

func uniform(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// near fails unless got is within tolerance of want; NaN is near nothing.
func near[T ~float64](t testing.TB, what string, got, want T, tolerance float64) {
	t.Helper()
	if !(math.Abs(float64(got-want)) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g within %.3g", what, float64(got), float64(want), tolerance)
	}
}

// nearDeg is [near] in degrees.
func nearDeg(t testing.TB, what string, got unit.Angle, want, tolerance float64) {
	t.Helper()
	near(t, what, got.Degrees(), want, tolerance)
}

func length(mm float64) shop.Maybe[unit.Length] { return shop.Some(unit.Length(mm)) }

func angle(d float64) shop.Maybe[unit.Angle] { return shop.Some(unit.Degrees(d)) }

func front(d float64) shop.Bevel { return shop.Bevel{Angle: unit.Degrees(d)} }

func land(d, width float64) shop.Bevel {
	return shop.Bevel{Angle: unit.Degrees(d), Width: length(width)}
}

func grind(bevels ...shop.Bevel) *shop.Grind { return &shop.Grind{Bevels: bevels} }

func wheel(diameter float64) *shop.Wheel { return &shop.Wheel{Diameter: unit.Length(diameter)} }

func flat() *shop.Wheel { return &shop.Wheel{Flat: true} }

// swing is the reference shop's swing holder: 131.0859 behind and 46 below at a stick-out of 45 with the leg at 30°.
func swing() *shop.Holder {
	return &shop.Holder{
		Kind: shop.Swing, Arm: geometry.SwingHolder{JointBehindFace: 22, JointBelowAxis: 9, Leg: 74},
		Leg: shop.AngleRange{Least: 0, Most: unit.Degrees(90)},
	}
}

func pivot(behind, below float64) *shop.Holder {
	return &shop.Holder{Kind: shop.BarePivot, Behind: unit.Length(behind), Below: unit.Length(below)}
}

func clamp(behind, below float64) *shop.Holder {
	return &shop.Holder{Kind: shop.Clamp, Behind: unit.Length(behind), Below: unit.Length(below)}
}

func swung(stickOut, leg float64) shop.Settings {
	return shop.Settings{StickOut: length(stickOut), Leg: angle(leg)}
}

func stuckOut(stickOut float64) shop.Settings { return shop.Settings{StickOut: length(stickOut)} }

func at(d shop.Datum, v float64) shop.Settings {
	if d == shop.DatumTilt {
		return shop.Settings{Datum: d, Tilt: unit.Degrees(v)}
	}
	return shop.Settings{Datum: d, Support: unit.Length(v)}
}

// slide is a slide from an origin, with the direction in degrees.
func slide(out, up, direction, least, most float64) shop.Maybe[shop.Slide] {
	return shop.Some(shop.Slide{
		Slide:  geometry.Slide{Origin: geometry.Point{Out: unit.Length(out), Up: unit.Length(up)}, Direction: unit.Degrees(direction)},
		Travel: shop.LengthRange{Least: unit.Length(least), Most: unit.Length(most)},
	})
}

// pocket is the reference shop's: on a horizontal slide 110 below the axle, its scale reading the distance out from the axle.
func pocket() shop.Support {
	return shop.Support{ID: "pocket", Kind: shop.Pocket, Slide: slide(0, -110, 0, 120, 260)}
}

// bar is a bar of 12 mm on an upright slide, set by its height above a surface 140 below the axle.
func bar() shop.Support {
	return shop.Support{ID: "bar", Kind: shop.Bar, Near: 6, Far: 6, Top: 6, Slide: slide(118, -20, 90, 0, 150), Reference: length(-140), Datum: shop.DatumHeight}
}

func tilting(out, up, surface, least, most float64) shop.Support {
	return shop.Support{ID: "table", Kind: shop.Platform, Table: shop.Table{
		Hinge: shop.Some(geometry.Point{Out: unit.Length(out), Up: unit.Length(up)}), Surface: unit.Length(surface),
		Tilts: shop.AngleRange{Least: unit.Degrees(least), Most: unit.Degrees(most)},
	}}
}

func station(supports ...shop.Support) *shop.Station { return &shop.Station{Supports: supports} }

// rig writes a whole rig out; nil is "not said".
func rig(s *shop.Station, w *shop.Wheel, h *shop.Holder, tool *shop.Tool) setup.Common {
	var c setup.Common
	c.Rig.Station.Inline, c.Rig.Wheel.Inline, c.Rig.Holder.Inline, c.Rig.Tool.Inline = s, w, h, tool
	return c
}

// reference asks the reference shop's rig for bevels, at a stick-out of 45 with the leg at 30°.
func reference(bevels ...shop.Bevel) setup.Question {
	q := setup.Question{Common: rig(station(pocket()), wheel(200), swing(), nil), Given: swung(45, 30)}
	q.Grind = grind(bevels...)
	return q
}

func mustSolve(t testing.TB, q setup.Question) setup.Setup {
	t.Helper()
	s, err := solver.Solve(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func mustPredict(t testing.TB, c setup.Common, s shop.Settings) setup.Prediction {
	t.Helper()
	p, err := solver.Predict(context.Background(), setup.Forecast{Common: c, Settings: s})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// refused is the fault of a question that has none of an answer.
func refused(t testing.TB, err error, reason fault.Reason) *fault.Fault {
	t.Helper()
	f, ok := fault.As(err)
	if !ok || f.Reason != reason {
		t.Fatalf("got %v, want a refusal with reason %s", err, reason)
	}
	return f
}

func refusedSolve(t testing.TB, q setup.Question, reason fault.Reason) (*fault.Fault, *setup.Refusal) {
	t.Helper()
	_, err := solver.Solve(context.Background(), q)
	f := refused(t, err, reason)
	detail, _ := f.Detail.(*setup.Refusal)
	return f, detail
}

func caution(list []setup.Caution, code string) *setup.Caution {
	for i := range list {
		if list[i].Code == code {
			return &list[i]
		}
	}
	return nil
}

// settingsOf is a step's own settings, as a person would read them off: what is set, the support by the datum it is set by.
func settingsOf(step setup.Step) shop.Settings {
	var s shop.Settings
	if step.StickOut != nil {
		s.StickOut = shop.Some(step.StickOut.Set)
	}
	if step.Position != "" {
		s.Position = step.Position
	} else if step.Leg != nil {
		s.Leg = shop.Some(step.Leg.Set)
	}
	s.Datum = step.Support.SetBy
	if s.Datum == shop.DatumTilt {
		s.Tilt = step.Support.Tilt.Set
	} else {
		s.Support = step.Support.Lengths[s.Datum].Set
	}
	return s
}
