package flute_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/flute"
)

// anyBar draws a bar with a flute in it that it holds.
func anyBar(r *rand.Rand) (flute.Bar, flute.Section) {
	s, _ := anySection(r)
	if r.IntN(2) == 0 {
		d := logUniform(r, 3, 50)
		return flute.RoundBar(d, uniform(r, 0.02, 0.98)*d), s
	}
	h := logUniform(r, 2, 30)
	return flute.RectangularBar(logUniform(r, 3, 60), h, uniform(r, 0.02, 0.98)*h), s
}

func TestRimIsOnBoth(t *testing.T) {
	r := chance.New(t)
	for range 5000 {
		b, s := anyBar(r)
		rim, ok := b.Rim(s)
		if !ok {
			t.Errorf("%+v does not hold %+v: %v", b, s, b.Check(s))
			continue
		}
		p := s.At(rim)
		near(t, fmt.Sprintf("%+v in %+v: rim from the outside", s, b), b.Inside(p.Side, p.Up), 0, 1e-13*b.Girth())
		for i := range 50 { // inside all the way up, outside beyond
			if p := s.At(rim * (float64(i) + 0.5) / 50); b.Inside(p.Side, p.Up) <= 0 {
				t.Errorf("%+v in %+v: outside at %d/50 of the way to the rim", s, b, i)
			}
			if p := s.At(rim * (1.001 + float64(i)/10)); b.Inside(p.Side, p.Up) >= 0 {
				t.Errorf("%+v in %+v: inside again beyond the rim", s, b)
			}
		}
		spot := b.Outline(b.AroundAt(p.Side, p.Up))
		near(t, "mouth on the outline: side", spot.Side, p.Side, 1e-12*b.Girth())
		near(t, "mouth on the outline: up", spot.Up, p.Up, 1e-12*b.Girth())
	}
}

// The area by integrating, over the side, from the bar's lower outside to the lower of the flute and the bar's upper outside.
func TestAreaAgainstIntegration(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		d, w, h := uniform(r, 6, 30), uniform(r, 6, 40), uniform(r, 4, 20)
		under, radius := uniform(r, 0.1, 0.9), uniform(r, 1, 8)
		height := func(side float64) float64 { return side * side / (2 * radius) }
		// At side = (d/2) sin v the integrand is smooth at the bar's edge; where flute and outside cross it has a corner, and a piece ends.
		round := flute.RoundBar(d, under*d)
		flat := flute.RectangularBar(w, h, under*h)
		s := flute.Parabola(radius)

		mouth := func(b flute.Bar) float64 { rim, _ := b.Rim(s); return s.At(rim).Side }
		steel := func(v float64) float64 {
			half := d / 2 * math.Cos(v)
			side := d / 2 * math.Sin(v)
			lower, upper := d/2-under*d-half, d/2-under*d+half
			return max(0, min(upper, height(side))-lower) * half
		}
		corner := math.Asin(min(1, 2*mouth(round)/d))
		area := integral(steel, 0, corner)
		if mouthAbove := s.At(must2(round.Rim(s))).Up > round.Centre(); mouthAbove {
			area += integral(steel, corner, math.Pi/2)
		}
		near(t, "round bar", round.Area(s), 2*area, 1e-10*area)

		thick := func(side float64) float64 { return min(h-under*h, height(side)) + under*h }
		area = integral(thick, 0, mouth(flat)) + integral(thick, mouth(flat), w/2)
		near(t, "rectangular bar", flat.Area(s), 2*area, 1e-10*area)
	}
}

func must2(v float64, ok bool) float64 {
	if !ok {
		return math.NaN()
	}
	return v
}

// A polygon round the outside and along the flute has the area too, whatever the shapes: outline, rim and flute close to one curve.
func TestAreaOfThePolygon(t *testing.T) {
	r := chance.New(t)
	for range 100 {
		b, s := anyBar(r)
		rim, ok := b.Rim(s)
		if !ok {
			t.Fatalf("%+v does not hold %+v", b, s)
		}
		p := s.At(rim)
		m := b.AroundAt(p.Side, p.Up)
		const n = 20000
		var around []float64
		for i := range n + 1 {
			around = append(around, m*(2*float64(i)/n-1))
		}
		var twice float64
		last := s.At(-rim)
		add := func(to flute.Place) {
			twice += last.Side*to.Up - to.Side*last.Up
			last = to
		}
		for _, a := range around {
			spot := b.Outline(a)
			add(flute.Place{Side: spot.Side, Up: spot.Up})
		}
		for i := range n + 1 {
			add(s.At(rim * (1 - 2*float64(i)/n)))
		}
		near(t, fmt.Sprintf("%+v in %+v", s, b), b.Area(s), twice/2, 2e-6*b.Girth()*b.Girth())
	}
}

// A segment of a circle: c = 21, h = 6 has r = 12.1875 and an area of 89.254148 (help.matheass.eu/en/CircularSections.html). A round
// bar milled flat with that much steel under the face has it, and so has the hole of a U that is not deeper.
func TestAreaOfASegment(t *testing.T) {
	near(t, "bar milled flat", flute.RoundBar(2*12.1875, 6).Area(flute.Flat()), 89.254148, 0.5e-6)
	blank := flute.RectangularBar(21, 20, 14)
	near(t, "a U's hole", 21*20-blank.Area(flute.Round(12.1875)), 89.254148, 0.5e-6)
	near(t, "a blade", flute.RectangularBar(20, 6, 6).Area(flute.Flat()), 120, 1e-12)
}

func TestBladeEndsAtItsCorner(t *testing.T) {
	b := flute.RectangularBar(20, 6, 6)
	rim, ok := b.Rim(flute.Flat())
	if !ok || rim != 10 {
		t.Errorf("a blade of 20 mm ends %v mm from its middle, %v", rim, ok)
	}
	near(t, "middle", b.Centre(), -3, 0)
	if spot := b.Outline(b.AroundAt(10, 0)); !spot.Corner() {
		t.Errorf("a blade's corner is smooth: %+v", spot)
	}
}

// The outline is walked at the speed of its parameter, its normals are square to it and point out, and corners are where it says.
func TestOutline(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		b, _ := anyBar(r)
		around := uniform(r, -0.5, 0.5) * b.Girth()
		e := 1e-6 * b.Girth()
		at, on := b.Outline(around), b.Outline(around+e)
		near(t, "on the outside", b.Inside(at.Side, at.Up), 0, 1e-12*b.Girth())
		near(t, "length of the normal", math.Hypot(at.Normal.Side, at.Normal.Up), 1, 1e-14)
		near(t, "out", b.Inside(at.Side+e*at.Normal.Side, at.Up+e*at.Normal.Up), -e, 1e-9*b.Girth())
		if on.Normal == at.Normal || b.Corners() == nil {
			near(t, "speed", math.Hypot(on.Side-at.Side, on.Up-at.Up), e, 1e-9*b.Girth())
			near(t, "square", (on.Side-at.Side)*at.Normal.Side+(on.Up-at.Up)*at.Normal.Up, 0, 1e-10*b.Girth())
		}
		other := b.Outline(-around)
		near(t, "mirrored side", other.Side, -at.Side, 1e-12*b.Girth())
		near(t, "once around", b.Outline(around+b.Girth()).Up, at.Up, 1e-12*b.Girth())
		for _, c := range b.Corners() {
			if spot := b.Outline(c); !spot.Corner() || spot.Normal.Side*spot.Before.Side+spot.Normal.Up*spot.Before.Up != 0 {
				t.Errorf("%+v has no corner at %g: %+v", b, c, spot)
			}
		}
	}
}

func TestRefusedBars(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	u := flute.Round(4)
	for _, c := range []struct {
		bar     flute.Bar
		section flute.Section
		size    flute.Size
	}{
		{flute.RoundBar(12, 0), u, flute.SteelUnderFlute},
		{flute.RoundBar(12, -1), u, flute.SteelUnderFlute},
		{flute.RoundBar(12, 12), u, flute.SteelUnderFlute},
		{flute.RoundBar(12, 13), flute.Flat(), flute.SteelUnderFlute},
		{flute.RoundBar(12, nan), u, flute.SteelUnderFlute},
		{flute.RoundBar(nan, 4), u, flute.BarDiameter},
		{flute.RoundBar(inf, 4), u, flute.BarDiameter},
		{flute.RoundBar(-12, 4), u, flute.BarDiameter},
		{flute.RectangularBar(0, 6, 4), u, flute.BarWidth},
		{flute.RectangularBar(20, 1e300, 4), u, flute.BarThickness},
		{flute.RectangularBar(20, 6, 6), u, flute.SteelUnderFlute},
		{flute.RectangularBar(20, 6, 6.001), flute.Flat(), flute.SteelUnderFlute},
		{flute.RoundBar(12, 4), flute.Parabola(0), flute.FluteRadius},
		{flute.RoundBar(12, 4), flute.Round(nan), flute.FluteRadius},
		{flute.RoundBar(12, 4), flute.Vee(-1, 1), flute.FluteRadius},
		{flute.RoundBar(12, 4), flute.Parabola(inf), flute.FluteRadius},
		{flute.RoundBar(12, 4), flute.Vee(1, 2), flute.FluteWall},
		{flute.RoundBar(12, 4), flute.Vee(1, 0), flute.FluteWall},
		{flute.RoundBar(12, 4), flute.Vee(1, nan), flute.FluteWall},
	} {
		var wrong *flute.SizeError
		if err := c.bar.Check(c.section); !errors.As(err, &wrong) || wrong.Size != c.size || wrong.Error() == "" {
			t.Errorf("%+v with %+v: %v, want a refusal of %v", c.bar, c.section, err, c.size)
		}
		if rim, ok := c.bar.Rim(c.section); ok || rim != 0 {
			t.Errorf("%+v with %+v: a rim at %v", c.bar, c.section, rim)
		}
		if area := c.bar.Area(c.section); area != 0 {
			t.Errorf("%+v with %+v: an area of %v", c.bar, c.section, area)
		}
	}
	err := flute.RoundBar(12, 13).Check(u)
	want := "the steel under the flute is 13 mm; it must be from 0.01 mm to 11.99 mm: " +
		"with less the flute is deeper than the bar, with more it lies above the bar and never meets its outside"
	if err == nil || err.Error() != want {
		t.Errorf("says %q, want %q", err, want)
	}
}

// Places far along and next to nothing along are finite on every flute that is one.
func TestAtIsFinite(t *testing.T) {
	for _, s := range []flute.Section{
		flute.Parabola(flute.LeastSize), flute.Parabola(flute.MostSize), flute.Round(flute.LeastSize), flute.Vee(flute.MostSize, flute.LeastWall),
		flute.Vee(flute.LeastSize, math.Pi/2), flute.Flat(), {},
	} {
		for _, along := range []float64{0, 5e-324, -1e-300, 1e-20, 1e-9, 1, 1e5, -1e9, 1e100} {
			p := s.At(along)
			for _, v := range []float64{p.Side, p.Up, p.Slope, p.Curvature} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Errorf("%+v at %g: %+v", s, along, p)
				}
			}
		}
	}
}
