package geometry_test

import (
	"math"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// vector is the oracle's own.
type vector struct{ x, y, z float64 }

func (a vector) plus(b vector) vector   { return vector{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vector) times(f float64) vector { return vector{a.x * f, a.y * f, a.z * f} }
func (a vector) dot(b vector) float64   { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vector) length() float64        { return math.Sqrt(a.dot(a)) }
func (a vector) direction() vector      { return a.times(1 / a.length()) }
func (a vector) cross(b vector) vector {
	return vector{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

// turned is a rotated about a unit axis.
func (a vector) turned(axis vector, angle float64) vector {
	sin, cos := math.Sincos(angle)
	return a.times(cos).plus(axis.cross(a).times(sin)).plus(axis.times(axis.dot(a) * (1 - cos)))
}

// slowRollCorner holds the gouge by its pivot in front of a wheel (axle along z through the origin, pivot at R + gap out) and turns
// it, as a body, until a place on its edge meets the rim in the pivot's plane with the edge lying along the rim's tangent plane.
// Then it measures the angle between flute and rim, square to the edge. It returns NaN where no turn does it.
func slowRollCorner(radius float64, p geometry.Pivot, gap, flute, around float64) float64 {
	a, h := float64(p.Behind), float64(p.Below)
	sin, cos := math.Sincos(around)
	// The tool lies axis level, handle out: x back, y up, z side. Everything from the pivot.
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
	by := math.Atan2(swing.length(), place.dot(to))
	edge, channel = edge.turned(swing.direction(), by), channel.turned(swing.direction(), by)

	// Then it turns about the line from pivot to place until the edge lies in the tangent plane, the handle's side kept.
	line, outward := to.direction(), pivot.plus(to).direction()
	slope := func(w float64) float64 { return edge.turned(line, w).dot(outward) }
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
		t, c := edge.turned(line, from), channel.turned(line, from)
		if t.z < 0 {
			continue // the tool lies on its back
		}
		bevel := outward.cross(t) // in the tangent plane, square to the edge, down along the rim
		return math.Atan2(bevel.cross(c).length(), bevel.dot(c))
	}
	return math.NaN()
}

func TestRollCornerAgainstTurningTheTool(t *testing.T) {
	r := newRand(t)
	var met, refused int
	for range 3000 {
		radius, flute := logUniform(r, 40, 1000), uniform(r, 3, 20)
		p := geometry.Pivot{Behind: unit.Length(uniform(r, 80, 500)), Below: unit.Length(uniform(r, -25, 60))}
		edge, around := unit.Degrees(uniform(r, 25, 75)), unit.Degrees(uniform(r, -100, 100))
		w := wheelOfRadius(radius)
		gap := w.Gap(p, edge)
		got, ok := w.RollCorner(p, gap, unit.Length(flute), around)
		want := slowRollCorner(radius, p, float64(gap), flute, float64(around))
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

func TestRollCornerAtNoseIsEdgeAngle(t *testing.T) {
	r := newRand(t)
	for range 1000 {
		g := shopRig(r)
		gap := g.wheel.Gap(g.pivot, g.edge)
		got, ok := g.wheel.RollCorner(g.pivot, gap, unit.Length(uniform(r, 3, 20)), 0)
		if !ok {
			t.Fatalf("%+v: refused at the nose", g)
		}
		near(t, "wedge at the nose, rad", got, g.edge, 1e-12/math.Pow(geometry.Conditioning(g.pivot, g.edge), 2))
	}
}

// Rolled about its flute's own axis a roughing gouge is ground the same all round.
func TestRollAboutFluteAxisIsConstant(t *testing.T) {
	r := newRand(t)
	for range 1000 {
		flute := unit.Length(uniform(r, 5, 20))
		p := geometry.Pivot{Behind: unit.Length(uniform(r, 80, 500)), Below: -flute}
		edge := unit.Degrees(uniform(r, 30, 60))
		w := wheelOfRadius(uniform(r, 60, 150))
		got, ok := w.RollCorner(p, w.Gap(p, edge), flute, unit.Degrees(uniform(r, -120, 120)))
		if !ok {
			t.Fatalf("%+v, flute %v: refused", p, flute)
		}
		near(t, "wedge, rad", got, edge, 1e-9)
	}
}

// Rolled about the flute's floor it loses at the corners: with a handle of 430 mm butted in a pocket, 45° at the nose on a Ø200
// wheel, a flute of 10 mm radius and corners 75° round it, 1.1°.
func TestRollAboutFluteFloorLosesAtCorners(t *testing.T) {
	p := geometry.Pivot{Behind: 430}
	gap := north.Gap(p, 45*unit.Degree)
	for _, side := range []unit.Angle{1, -1} {
		corner, ok := north.RollCorner(p, gap, 10, side*75*unit.Degree)
		if !ok {
			t.Fatal("the corner is out of reach")
		}
		reads(t, "lost at the corner, °", 45-corner.Degrees(), "1.1")
	}
}
