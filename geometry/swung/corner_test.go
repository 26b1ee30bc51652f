package swung_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// slowCorner holds the gouge by its pivot in front of a wheel (axle along the third direction through the origin, pivot at R + gap out)
// and turns it, as a body, until a place on its edge meets the rim in the pivot's plane with the edge lying along the rim's tangent plane.
// Then it measures the angle between flute and rim, square to the edge. It finds every turn there is, by bisection, and returns NaN where
// there is none.
func slowCorner(radius float64, p geometry.Pivot, gap, flute, around float64) float64 {
	a, h := float64(p.Behind), float64(p.Below)
	sin, cos := math.Sincos(around)
	// The tool lies axis level, handle out. Everything from the pivot.
	place := vector{-a, h + flute*(1-cos), flute * sin}
	edge := vector{0, sin, cos}
	channel := vector{1, 0, 0} // a line of the flute, square to the edge

	// First the place comes to the rim: down a circle about the pivot, from over the axle's far side inwards.
	pivot := vector{radius + gap, 0, 0}
	reach := place.length()
	target := func(u float64) vector { return vector{-math.Cos(u), math.Sin(u), 0}.times(reach) }
	low, high := 0., math.Pi
	for range 60 {
		if middle := (low + high) / 2; pivot.plus(target(middle)).length() < radius {
			low = middle
		} else {
			high = middle
		}
	}
	to := target(low)
	swing := place.cross(to)
	by := swing.times(math.Atan2(swing.length(), place.dot(to)) / swing.length())
	edge, channel = edge.turned(by), channel.turned(by)

	// Then it turns about the line from pivot to place until the edge lies in the tangent plane, the handle's side kept.
	line, at := to.times(1/to.length()), pivot.plus(to)
	outward := at.times(1 / at.length())
	slope := func(w float64) float64 { return edge.turned(line.times(w)).dot(outward) }
	const steps = 720
	for i := range steps {
		from, till := 2*math.Pi*float64(i)/steps, 2*math.Pi*float64(i+1)/steps
		if (slope(from) < 0) == (slope(till) < 0) {
			continue
		}
		sign := slope(from) < 0
		for range 60 {
			if middle := (from + till) / 2; (slope(middle) < 0) == sign {
				from = middle
			} else {
				till = middle
			}
		}
		t, c := edge.turned(line.times(from)), channel.turned(line.times(from))
		if t[2] < 0 {
			continue // the tool lies on its back
		}
		bevel := outward.cross(t) // in the tangent plane, square to the edge, down along the rim
		return math.Atan2(bevel.cross(c).length(), bevel.dot(c))
	}
	return math.NaN()
}

func TestCornerAgainstTurningTheTool(t *testing.T) {
	r := chance.New(t)
	var met, refused int
	for range 3000 {
		radius, flute := math.Exp(uniform(r, math.Log(40), math.Log(1000))), uniform(r, 3, 20)
		p := geometry.Pivot{Behind: lengthOf(uniform(r, 80, 500)), Below: lengthOf(uniform(r, -25, 60))}
		edge, around := unit.Degrees(uniform(r, 25, 75)), unit.Degrees(uniform(r, -100, 100))
		w := geometry.RoundWheel(lengthOf(2 * radius))
		gap := w.Gap(p, edge)
		got, ok := swung.Corner(w, p, gap, lengthOf(flute), around)
		want := slowCorner(radius, p, float64(gap), flute, float64(around))
		if !ok {
			refused++
			if !math.IsNaN(want) {
				t.Errorf("radius %g, %+v, flute %g at %v: refused, but turning the tool gives %v", radius, p, flute, around, unit.Angle(want))
			}
			continue
		}
		met++
		// The oracle's places are good to a few ε·(R+r) of 1e-13 mm; where the edge only just reaches, an angle moves as the
		// square root. 1e-7 rad is 25 nm at 250 mm.
		near(t, "wedge at "+around.String(), float64(got), want, 1e-7)
	}
	if met < 2500 || met+refused != 3000 {
		t.Errorf("%d places met the wheel, %d did not: the rigs are not what they should be", met, refused)
	}
}

func TestNoseIsPlanar(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		g, nose := anyRig(r)
		g.Aside, g.Roll, g.Contact = 0, 0, 0
		got, ok := swung.Corner(g.Wheel, g.Pivot, g.Gap, lengthOf(uniform(r, 3, 20)), 0)
		if !ok {
			t.Fatalf("%+v: refused at the nose", g)
		}
		near(t, "wedge at the nose, rad", float64(got), nose, 1e-12)
		f := g.Face(swung.Edge{Plan: swung.Across{}}.At(0))
		near(t, "angle to the axis at the nose, rad", f.ToAxis(), nose, 1e-12)
		near(t, "skew at the nose, rad", f.Skew(), math.Pi/2, 1e-12)
	}
}

// Rolled about its flute's own axis a roughing gouge is ground the same all round.
func TestRollAboutFluteAxisIsConstant(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		flute := lengthOf(uniform(r, 5, 20))
		p := geometry.Pivot{Behind: lengthOf(uniform(r, 80, 500)), Below: -flute}
		edge := unit.Degrees(uniform(r, 30, 60))
		w := geometry.RoundWheel(lengthOf(uniform(r, 120, 300)))
		got, ok := swung.Corner(w, p, w.Gap(p, edge), flute, unit.Degrees(uniform(r, -120, 120)))
		if !ok {
			t.Fatalf("%+v, flute %v: refused", p, flute)
		}
		near(t, "wedge, rad", got, edge, 1e-9)
	}
}

// Rolled about the flute's floor it loses at the corners: with a handle of 430 mm butted in a pocket, 45° at the nose on a Ø200
// wheel, a flute of 10 mm radius and corners 75° round it, 1.1°.
func TestRollAboutFluteFloorLosesAtCorners(t *testing.T) {
	w, p := geometry.RoundWheel(200), geometry.Pivot{Behind: 430}
	gap := w.Gap(p, 45*unit.Degree)
	for _, side := range []unit.Angle{1, -1} {
		corner, ok := swung.Corner(w, p, gap, 10, side*75*unit.Degree)
		if !ok {
			t.Fatal("the corner is out of reach")
		}
		near(t, "lost at the corner, °", 45-corner.Degrees(), 1.1, 0.05)
	}
}
