package flute_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/flute"
)

// anySection draws a flute of any shape, and how far along its wall is still of interest.
func anySection(r *rand.Rand) (flute.Section, float64) {
	radius := logUniform(r, 0.05, 500)
	along := radius * logUniform(r, 1e-6, 1e3)
	switch r.IntN(4) {
	case 0:
		return flute.Parabola(radius), along
	case 1:
		return flute.Round(radius), along
	case 2:
		return flute.Vee(radius, uniform(r, flute.LeastWall, math.Pi/2)), along
	}
	return flute.Flat(), along
}

// The arc length of a parabola by integrating √(1 + (dup/dside)²), from its equation alone.
func TestParabolaAgainstIntegration(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		radius := logUniform(r, 0.05, 500)
		along := radius * logUniform(r, 1e-9, 300)
		p := flute.Parabola(radius).At(along)
		near(t, "the parabola's equation", p.Up, p.Side*p.Side/(2*radius), 4e-16*p.Up)
		length := integral(func(side float64) float64 { return math.Hypot(1, side/radius) }, 0, p.Side)
		near(t, fmt.Sprintf("arc length, radius %g", radius), along, length, 1e-12*length)
		near(t, "slope", math.Tan(p.Slope), p.Side/radius, 2e-13*(1+p.Side*p.Side/radius/radius))
	}
}

// Walking any section by its slope has to lead to its places, and its curvature to its slope.
func TestAtAgainstIntegration(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		s, along := anySection(r)
		along = min(along, 20*s.FloorRadius())
		p := s.At(along)
		// Pieces end where straight walls begin, or the rule would have to integrate across a corner.
		bend := 0.0
		if s.Wall() > 0 {
			bend = min(along, s.FloorRadius()*s.Wall())
		}
		walk := func(f func(flute.Place) float64) float64 {
			at := func(l float64) float64 { return f(s.At(l)) }
			return integral(at, 0, bend) + integral(at, bend, along)
		}
		what := fmt.Sprintf("%+v at %g", s, along)
		near(t, what+": side", walk(func(p flute.Place) float64 { return math.Cos(p.Slope) }), p.Side, 1e-11*along)
		near(t, what+": up", walk(func(p flute.Place) float64 { return math.Sin(p.Slope) }), p.Up, 1e-11*along)
		near(t, what+": slope", walk(func(p flute.Place) float64 { return p.Curvature }), p.Slope, 1e-10)
	}
}

func TestAlongAtUndoesAt(t *testing.T) {
	r := chance.New(t)
	for range 20000 {
		s, along := anySection(r)
		if r.IntN(2) == 0 {
			along = -along
		}
		p := s.At(along)
		if s.Wall() == math.Pi/2 && math.Abs(along) > s.FloorRadius()*1.5707 {
			if _, ok := s.AlongAt(p.Side * 1.001); ok {
				t.Errorf("a U of radius %g is said to be %g wide", s.FloorRadius(), 2*math.Abs(p.Side)*1.001)
			}
			continue // all of a wall that stands upright is at one half-width
		}
		back, ok := s.AlongAt(p.Side)
		if !ok {
			t.Errorf("%+v is never as wide as it is at %g", s, along)
		}
		// Where the wall is steep, a rounding of the half-width is much along the wall.
		near(t, fmt.Sprintf("%+v: along", s), back, along, 1e-13*math.Abs(along)+4e-15*math.Abs(p.Side)/math.Cos(p.Slope))
	}
}

func TestBothWallsAreOne(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		s, along := anySection(r)
		one, other := s.At(along), s.At(-along)
		if other != (flute.Place{Side: -one.Side, Up: one.Up, Slope: -one.Slope, Curvature: one.Curvature}) {
			t.Errorf("%+v at ±%g: %+v and %+v", s, along, one, other)
		}
		if one.Up < 0 || one.Curvature < 0 || one.Slope < 0 || one.Slope > math.Pi/2 {
			t.Errorf("%+v at %g: %+v", s, along, one)
		}
	}
}

// Circular segments of radius 1: chord and rise at the middle angle, in the layout of Machinery's Handbook (the table from memory, its
// values computed), and the worked example c = 21, h = 6 → r = 12.1875, angle 118.97953°, arc 25.308373, segment 89.254148 of
// help.matheass.eu/en/CircularSections.html.
func TestSegmentsOfAU(t *testing.T) {
	for _, c := range []struct{ angle, rise, chord float64 }{
		{30, 0.03407, 0.51764}, {45, 0.07612, 0.76537}, {60, 0.13397, 1}, {90, 0.29289, 1.41421}, {120, 0.5, 1.73205},
	} {
		p := flute.Round(1).At(c.angle / 2 * math.Pi / 180)
		near(t, fmt.Sprintf("rise at %g°", c.angle), p.Up, c.rise, 0.5e-5)
		near(t, fmt.Sprintf("chord at %g°", c.angle), 2*p.Side, c.chord, 0.5e-5)
	}
	p := flute.Round(12.1875).At(25.308373 / 2)
	near(t, "chord", 2*p.Side, 21, 1e-6)
	near(t, "rise", p.Up, 6, 1e-6)
	near(t, "angle", 2*p.Slope*180/math.Pi, 118.97953, 1e-5)
}

func TestAtAllocatesNothing(t *testing.T) {
	for _, s := range []flute.Section{flute.Parabola(4), flute.Round(4), flute.Vee(2, 1), flute.Flat()} {
		if n := testing.AllocsPerRun(100, func() { sink = s.At(6) }); n != 0 {
			t.Errorf("%v: At allocates %v times", s.Shape(), n)
		}
	}
}

var sink flute.Place

// The baseline is the least that any flute costs: a sine and a cosine.
func BenchmarkAt(b *testing.B) {
	b.Run("sine and cosine", func(b *testing.B) {
		for i := range b.N {
			sin, cos := math.Sincos(float64(i&1023) / 1024)
			sink = flute.Place{Side: sin, Up: cos}
		}
	})
	for _, s := range []flute.Section{flute.Parabola(4), flute.Round(4), flute.Vee(2, 1)} {
		b.Run(s.Shape().String(), func(b *testing.B) {
			for i := range b.N {
				sink = s.At(float64(i&1023)/64 - 8)
			}
		})
	}
}
