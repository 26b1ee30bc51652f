package geometry_test

import (
	"errors"
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

func stackOf(t *testing.T, bevels ...geometry.Hollow) geometry.Stack {
	t.Helper()
	var s geometry.Stack
	for _, h := range bevels {
		s = must[geometry.Stack](t)(s.Then(h))
	}
	return s
}

func chordOf(t *testing.T, w geometry.Wheel, front, chord float64) geometry.Hollow {
	t.Helper()
	return must[geometry.Hollow](t)(w.HollowOfChord(unit.Degrees(front), unit.Length(chord)))
}

func depthOf(t *testing.T, w geometry.Wheel, front, steel float64) geometry.Hollow {
	t.Helper()
	return must[geometry.Hollow](t)(w.HollowOfDepth(unit.Degrees(front), unit.Length(steel)))
}

// Not below the tangent where the land ends, 51.72° behind 3 mm of 50° on Ø200, a relief grinds air; not below the edge angle, it does not.
func TestRisingBevelIsRefused(t *testing.T) {
	land := chordOf(t, north, 50, 3)
	s := stackOf(t, land)
	for _, c := range []struct {
		front  unit.Angle
		refuse bool
	}{{55 * unit.Degree, true}, {land.Far, true}, {land.Far - 1e-9, false}, {51 * unit.Degree, false}} {
		_, err := s.Then(must[geometry.Hollow](t)(north.HollowOfChord(c.front, 3)))
		var rising *geometry.RisingError
		if errors.As(err, &rising) != c.refuse {
			t.Errorf("a relief of %v behind a land that ends at %v: %v", c.front, land.Far, err)
		}
		if rising != nil && (rising.Front != c.front || rising.Before != land.Far) {
			t.Errorf("refused as %+v", rising)
		}
	}
}

func TestShapelessBevelIsRefused(t *testing.T) {
	for name, h := range map[string]geometry.Hollow{
		"no width":   chordOf(t, north, 50, 0),
		"runs along": chordOf(t, north, 0, 3),
		"turns back": chordOf(t, geometry.RoundWheel(20), 170, 8),
		"not known":  {Front: unit.Angle(math.NaN()), Far: unit.Angle(math.NaN()), Chord: 3},
	} {
		var shape *geometry.ShapeError
		if _, err := (geometry.Stack{}).Then(h); !errors.As(err, &shape) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A flat relief between the land's reading and its far tangent does not grind air where it starts, but it cuts the edge off.
func TestLargerWheelTakesTheEdge(t *testing.T) {
	land := chordOf(t, north, 50, 3)
	s := stackOf(t, land)
	_, err := s.Then(depthOf(t, geometry.FlatAbrasive(), (land.Reading + 0.3*unit.Degree).Degrees(), 5))
	var crossing *geometry.CrossingError
	if !errors.As(err, &crossing) || crossing.Wheel != 1 || crossing.Bevel != 0 {
		t.Fatalf("%v", err)
	}
	near(t, "taken off the edge, mm", float64(crossing.Depth), 3*math.Sin(0.3*math.Pi/180), 1e-12)
	near(t, "where, mm", math.Hypot(float64(crossing.Behind), float64(crossing.Below)), 0, 1e-12)
	stackOf(t, land, depthOf(t, geometry.FlatAbrasive(), (land.Reading-0.01*unit.Degree).Degrees(), 5))
}

// Behind a flat land of 50°, a relief of 35° on a wheel of R 20 turns up by 2 asin(L/40): its chord comes back to the land's line, and so
// out of the steel, when L is 40 sin 15° = 10.35 mm.
func TestSmallerWheelLeavesTheSteel(t *testing.T) {
	s := stackOf(t, chordOf(t, geometry.FlatAbrasive(), 50, 3))
	small := geometry.RoundWheel(40)
	if _, err := s.Then(chordOf(t, small, 35, 10.352)); err != nil {
		t.Error(err)
	}
	_, err := s.Then(chordOf(t, small, 35, 10.36))
	var crossing *geometry.CrossingError
	if !errors.As(err, &crossing) || crossing.Wheel != 0 || crossing.Bevel != 1 {
		t.Fatalf("%v", err)
	}
}

// Planning backwards from the adjuster: bowl-50's slide moved back by 21.67 mm grinds 35° at the end of a 3 mm land, and every turn of
// 1.5 mm there is worth the sensitivity at the land's end.
func TestFrontAngleFromAdjuster(t *testing.T) {
	from := outer(t, north, north.Gap(bowl, bowlEdge))
	at := bowl.SeenFrom(stackOf(t, chordOf(t, north, 50, 3)).End())
	front := func(reading float64) float64 {
		return must[unit.Angle](t)(north.EdgeAngle(at, north.GapTo(slide.At(unit.Length(reading))))).Degrees()
	}
	reads(t, "front angle, °", front(from-21.67), "35.0")
	reading := from - 21.67
	gap := north.GapTo(slide.At(unit.Length(reading)))
	s := north.Sensitivity(at, unit.Degrees(front(reading)), gap)
	turn := unit.Angle(1.5 * s.Gap * slide.GapPerReading(north, unit.Length(reading))).Degrees()
	near(t, "degrees per turn", (front(reading+0.75) - front(reading-0.75)), turn, 0.005)
}

// Then leaves the stack it was asked of alone, also when two grow from one.
func TestThenSharesNothing(t *testing.T) {
	s := stackOf(t, chordOf(t, north, 50, 3), chordOf(t, north, 40, 2))
	one := must[geometry.Stack](t)(s.Then(chordOf(t, north, 30, 2)))
	two := must[geometry.Stack](t)(s.Then(chordOf(t, north, 20, 2)))
	if len(s) != 2 || one[2].Front != 30*unit.Degree || two[2].Front != 20*unit.Degree {
		t.Errorf("%v %v %v", len(s), one[2].Front, two[2].Front)
	}
}

// Corners and facets of the job's description: front angles 58, 42, 28 with lands of 3 and 3 mm on Ø150.
func TestFacetScenarioAsStack(t *testing.T) {
	s := stackOf(t, chordOf(t, west, 58, 3), chordOf(t, west, 42, 3), depthOf(t, west, 28, 3))
	p := swing.Pivot(40, 30*unit.Degree)
	for i, want := range []string{"114.79", "100.17", "84.52"} {
		reads(t, "gap, mm", float64(west.Gap(p.SeenFrom(s[i].Behind, s[i].Below), s[i].Front)), want)
	}
	turn := unit.Angle(2 * math.Asin(3./150)).Degrees()
	near(t, "first corner, °", s.Corners()[0].Degrees(), 58+turn-42, 1e-9)
	near(t, "second corner, °", s.Corners()[1].Degrees(), 42+turn-28, 1e-9)
	if s[:1].Corners() != nil || len(s[:0].Corners()) != 0 || s[:1].Deviation() != 0 {
		t.Error("one bevel has a corner")
	}
}

func TestFacetsRefused(t *testing.T) {
	s := stackOf(t, chordOf(t, north, 60, 2))
	for name, ask := range map[string]func() (geometry.Stack, error){
		"none":             func() (geometry.Stack, error) { return north.Facets(s, 0, 0.4, 8) },
		"too many":         func() (geometry.Stack, error) { return north.Facets(s, geometry.MostFacets+1, 0.4, 8) },
		"no land":          func() (geometry.Stack, error) { return north.Facets(nil, 3, 0.4, 8) },
		"no steel left":    func() (geometry.Stack, error) { return north.Facets(s, 3, 0.4, 1.7) },
		"last too high":    func() (geometry.Stack, error) { return north.Facets(s, 3, 70*unit.Degree, 8) },
		"last along":       func() (geometry.Stack, error) { return north.Facets(s, 3, 0, 8) },
		"not known":        func() (geometry.Stack, error) { return north.Facets(s, 3, unit.Angle(math.NaN()), 8) },
		"beyond the wheel": func() (geometry.Stack, error) { return geometry.RoundWheel(5).Facets(s, 1, 0.4, 100) },
	} {
		var facets *geometry.FacetError
		if _, err := ask(); !errors.As(err, &facets) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The deviation against search: the corner's distance from the arc that touches both chords at equal distances.
func TestDeviationOfEqualFacets(t *testing.T) {
	s := stackOf(t, chordOf(t, geometry.FlatAbrasive(), 50, 3), chordOf(t, geometry.FlatAbrasive(), 30, 3))
	// Radius so that half a chord is the tangent's length over 10°: ρ = 1.5 / tan 10°; the corner stands at ρ / cos 10°.
	rho := 1.5 / math.Tan(10*math.Pi/180)
	near(t, "deviation, mm", float64(s.Deviation()), rho/math.Cos(10*math.Pi/180)-rho, 1e-12)
}

// The softening round touches the wheel's arc and the underside, at the lengths given.
func TestSoftenedRoundTouchesBoth(t *testing.T) {
	r := chance.New(t)
	var short int
	for range 2000 {
		diameter := logUniform(r, 40, 1e5)
		h := depthOf(t, geometry.RoundWheel(unit.Length(diameter)), uniform(r, 10, 60), uniform(r, 2, 12))
		radius := logUniform(r, 0.05, 10)
		bevel, underside, ok := geometry.Softened(h, unit.Length(radius))
		if !ok {
			short++
			continue
		}
		sin, cos := math.Sincos(float64(h.Far))
		axle := place{-sin * diameter / 2, cos * diameter / 2} // from the heel
		round := place{float64(underside), -radius}
		near(t, "centres apart, mm", axle.far(round), diameter/2+radius, 1e-9*diameter)
		part := diameter / 2 / axle.far(round)
		touch := place{axle.back + (round.back-axle.back)*part, axle.down + (round.down-axle.down)*part}
		near(t, "taken off the bevel, mm", float64(bevel), touch.far(place{}), 1e-7)
	}
	if short == 0 || short > 1500 {
		t.Errorf("%d of 2000 rounds were too large", short)
	}
	flat := depthOf(t, geometry.FlatAbrasive(), 40, 5)
	bevel, underside, ok := geometry.Softened(flat, 2)
	if !ok {
		t.Error("a small round is refused")
	}
	near(t, "off a flat bevel, mm", float64(bevel), 2*math.Tan(20*math.Pi/180), 1e-12)
	near(t, "off the underside, mm", float64(underside), 2*math.Tan(20*math.Pi/180), 1e-12)
	if _, _, ok := geometry.Softened(flat, 0); ok {
		t.Error("a round without a radius")
	}
}

// A plan of a land and four facets, with the gap of each and its sensitivity.
func BenchmarkFourFacets(b *testing.B) {
	p := swing.Pivot(40, 30*unit.Degree)
	land, err := west.HollowOfChord(58*unit.Degree, 3)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		s, err := geometry.Stack{}.Then(land)
		if err != nil {
			b.Fatal(err)
		}
		if s, err = west.Facets(s, 4, 20*unit.Degree, 10); err != nil {
			b.Fatal(err)
		}
		for _, bevel := range s {
			at := p.SeenFrom(bevel.Behind, bevel.Below)
			gap := west.Gap(at, bevel.Front)
			sink = west.Sensitivity(at, bevel.Front, gap).Gap
		}
	}
}
