package geometry_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// The diameter at which an angle is ground, from the angle at a diameter, whatever is held.
func TestDiameterThereAndBack(t *testing.T) {
	r := chance.New(t)
	for range 5000 {
		g := shopRig(r)
		if g.diameter == 0 {
			continue
		}
		gap := g.wheel.Gap(g.pivot, g.edge)
		// A millimetre of diameter that moves the angle by nothing is not to be found from the angle.
		s := g.wheel.Sensitivity(g.pivot, g.edge, gap)
		if math.Abs(g.wheel.PerDiameterAtGap(s)) > 1e-6 {
			d, ok := geometry.DiameterAtGap(g.pivot, g.edge, gap)
			if !ok {
				t.Fatalf("no diameter at the gap for %+v", g)
			}
			near(t, "diameter at the gap, mm", float64(d), g.diameter, 1e-6)
		}
		d, ok := geometry.DiameterAtPivot(g.pivot, g.edge, g.wheel.Radius()+gap)
		if !ok {
			t.Fatalf("no diameter at the pivot for %+v", g)
		}
		back := must[unit.Angle](t)(geometry.RoundWheel(d).EdgeAngle(g.pivot, g.wheel.Radius()+gap-d/2))
		near(t, "edge angle on that diameter, rad", back, g.edge, 1e-10)
		d, ok = geometry.DiameterAtLine(g.edge, g.wheel.LineFor(g.edge))
		if !ok {
			t.Fatalf("no diameter at the line for %+v", g)
		}
		near(t, "diameter at the line, mm", float64(d), g.diameter, 1e-9)
	}
}

// Diameters that do not exist are not given.
func TestNoDiameter(t *testing.T) {
	for name, ok := range map[string]bool{
		"pivot nearer than its reach along the tangent": has(geometry.DiameterAtPivot(bowl, bowlEdge, 90)),
		"an angle on the other branch":                  has(geometry.DiameterAtPivot(bowl, bowl.Dip()+100*unit.Degree, 208)),
		"the gap that a flat abrasive has":              has(geometry.DiameterAtGap(bowl, bowlEdge, geometry.FlatAbrasive().Gap(bowl, bowlEdge))),
		"a hollow wheel":                                has(geometry.DiameterAtGap(bowl, bowlEdge, geometry.FlatAbrasive().Gap(bowl, bowlEdge)-1)),
		"a blunt line on the keen side":                 has(geometry.DiameterAtLine(100*unit.Degree, 20)),
		"a line through the axle":                       has(geometry.DiameterAtLine(40*unit.Degree, 0)),
	} {
		if ok {
			t.Errorf("%s has a diameter", name)
		}
	}
}

func has(_ unit.Length, ok bool) bool { return ok }

// The band of diameters against wearing the wheel a little at a time until the angle leaves its tolerance or the tool its reach.
func TestWearBandAgainstWearing(t *testing.T) {
	r := chance.New(t)
	var unlimited int
	for range 300 {
		g := shopRig(r)
		if g.diameter == 0 {
			continue
		}
		tolerance := unit.Degrees(logUniform(r, 0.2, 15))
		gap := g.wheel.Gap(g.pivot, g.edge)
		toAxle := g.wheel.Radius() + gap
		line := g.wheel.LineFor(g.edge)
		for name, held := range map[string]struct {
			band geometry.WearBand
			on   func(w geometry.Wheel) (unit.Angle, error)
		}{
			"pivot": {g.wheel.BandAtPivot(g.pivot, g.edge, tolerance), func(w geometry.Wheel) (unit.Angle, error) {
				return w.EdgeAngle(g.pivot, toAxle-w.Radius())
			}},
			"gap": {g.wheel.BandAtGap(g.pivot, g.edge, tolerance), func(w geometry.Wheel) (unit.Angle, error) {
				return w.EdgeAngle(g.pivot, gap)
			}},
			"line": {g.wheel.BandAtLine(g.edge, tolerance), func(w geometry.Wheel) (unit.Angle, error) { return w.LineAngle(line) }},
		} {
			within := func(d float64) bool {
				edge, err := held.on(geometry.RoundWheel(unit.Length(d)))
				return err == nil && math.Abs(float64(edge-g.edge)) <= float64(tolerance)
			}
			const step = 0.05
			d := g.diameter
			for d > 60 && within(d-step) {
				d -= step
			}
			if d <= 60 {
				unlimited++
				if float64(held.band.Smallest) > 60 {
					t.Errorf("%s: %+v is within to Ø60, not from Ø%v", name, g, held.band.Smallest)
				}
			} else {
				near(t, name+": smallest diameter, mm", float64(held.band.Smallest), d-step/2, step/2+1e-6)
			}
			d = g.diameter
			for d < 400 && within(d+step) {
				d += step
			}
			if d >= 400 {
				if float64(held.band.Largest) < 400 {
					t.Errorf("%s: %+v is within to Ø400, not to Ø%v", name, g, held.band.Largest)
				}
			} else {
				near(t, name+": largest diameter, mm", float64(held.band.Largest), d+step/2, step/2+1e-6)
			}
		}
	}
	if unlimited == 0 {
		t.Error("every wheel wore out of its tolerance")
	}
}

// With the pivot low a wheel that wears first grinds blunter, then keener again, past where it began: the limit is met on the way back.
// Law of cosines with R unknown: R² + 2R r sin(β − δ) + r² − d² = 0.
func TestWearBandPastTheTurn(t *testing.T) {
	p, w := geometry.Pivot{Behind: 120, Below: 90}, geometry.RoundWheel(160)
	edge := 15 * unit.Degree
	d := float64(w.Radius() + w.Gap(p, edge))
	c := 150 * math.Sin(float64(edge-4*unit.Degree-p.Dip()))
	root := math.Sqrt(c*c + d*d - 150*150)
	band := w.BandAtPivot(p, edge, 4*unit.Degree)
	near(t, "smallest diameter, mm", float64(band.Smallest), 2*(-c-root), 1e-9)
	near(t, "largest diameter, mm", float64(band.Largest), 2*(-c+root), 1e-9)
}

// Two degrees short of the limit a pocket's tolerance of five is not what ends it: the nose loses the wheel when the gap has opened to
// the reach.
func TestWearBandEndsWithTheReach(t *testing.T) {
	edge := bowl.Dip() + 88*unit.Degree
	toAxle := north.Radius() + north.Gap(bowl, edge)
	near(t, "smallest diameter, mm", float64(north.BandAtPivot(bowl, edge, 5*unit.Degree).Smallest), 2*float64(toAxle-bowl.Reach()), 1e-9)
}

// A flat abrasive has no diameter to wear.
func TestFlatDoesNotWear(t *testing.T) {
	flat := geometry.FlatAbrasive()
	want := geometry.WearBand{Largest: unit.Length(math.Inf(1))}
	for _, got := range []geometry.WearBand{
		flat.BandAtPivot(bowl, bowlEdge, unit.Degree), flat.BandAtGap(bowl, bowlEdge, unit.Degree), flat.BandAtLine(bowlEdge, unit.Degree),
	} {
		if got != want {
			t.Errorf("%+v", got)
		}
	}
}

// Worn to the diameter found, north grinds the angle that the job's description says of Ø180.
func TestScenarioWearBackwards(t *testing.T) {
	gap := north.Gap(bowl, bowlEdge)
	for _, c := range []struct {
		what  string
		edge  string
		found func(edge unit.Angle) (unit.Length, bool)
		exact func(w geometry.Wheel) (unit.Angle, error)
	}{
		{"pocket untouched", "59.3",
			func(e unit.Angle) (unit.Length, bool) { return geometry.DiameterAtPivot(bowl, e, 100+gap) },
			func(w geometry.Wheel) (unit.Angle, error) { return w.EdgeAngle(bowl, 100+gap-w.Radius()) }},
		{"reset to the same gap", "48.0",
			func(e unit.Angle) (unit.Length, bool) { return geometry.DiameterAtGap(bowl, e, gap) },
			func(w geometry.Wheel) (unit.Angle, error) { return w.EdgeAngle(bowl, gap) }},
		{"platform", "31.7",
			func(e unit.Angle) (unit.Length, bool) {
				return geometry.DiameterAtLine(e, north.LineFor(40*unit.Degree))
			},
			func(w geometry.Wheel) (unit.Angle, error) { return w.LineAngle(north.LineFor(40 * unit.Degree)) }},
	} {
		edge := must[unit.Angle](t)(c.exact(geometry.RoundWheel(180)))
		reads(t, c.what+", °", edge.Degrees(), c.edge)
		d, ok := c.found(edge)
		if !ok {
			t.Errorf("%s: no diameter", c.what)
		}
		near(t, c.what+", mm", float64(d), 180, 1e-9)
	}
}

func TestScenarioStripAroundWheel(t *testing.T) {
	reads(t, "diameter, mm", float64(geometry.AroundToDiameter(588.7, 0)), "187.4")
	// A tape half a millimetre thick lies on the wheel: its middle runs round a circle that much larger.
	near(t, "less the tape, mm", float64(geometry.AroundToDiameter(math.Pi*187.9, 0.5)), 187.4, 1e-12)
}
