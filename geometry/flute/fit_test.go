package flute_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/flute"
)

var circlePoints = along(9, 34, 35, 10, -13, 6, 10, -14, 23, 27, 0, -10)

// A public worked example of least-squares circles, x = 9, 35, −13, 10, 23, 0 and y = 34, 10, 6, −14, 27, −10: by the points' distances
// (10.500086, 9.659950), radius 23.333528; by Kåsa's algebra (10.552313, 9.705900), radius 23.362411. Tutorials also print 23.334817 for
// the second: the mean distance from that centre, no radius of that fit. And a circle through three points.
func TestPublishedCircles(t *testing.T) {
	geometric := must[flute.Circle](t)(flute.GeometricCircle(circlePoints))
	near(t, "geometric side", geometric.Side.Value, 10.500086, 1e-6)
	near(t, "geometric up", geometric.Up.Value, 9.659950, 1e-6)
	near(t, "geometric radius", geometric.Radius.Value, 23.333528, 1e-6)

	kasa := must[flute.Circle](t)(flute.AlgebraicCircle(circlePoints))
	near(t, "algebraic side", kasa.Side.Value, 10.552313, 0.6e-6)
	near(t, "algebraic up", kasa.Up.Value, 9.705900, 0.6e-6)
	near(t, "algebraic radius", kasa.Radius.Value, 23.362411, 0.6e-6)
	var mean float64
	for _, p := range circlePoints {
		mean += math.Hypot(p.Side-kasa.Side.Value, p.Up-kasa.Up.Value) / float64(len(circlePoints))
	}
	near(t, "mean distance", mean, 23.334817, 0.6e-6)

	through := along(22.83, 2.07, 14.39, 30.24, 33.65, 17.31)
	for _, of := range []func([]flute.Point) (flute.Circle, error){flute.GeometricCircle, flute.AlgebraicCircle} {
		c := must[flute.Circle](t)(of(through))
		near(t, "side of three", c.Side.Value, 18.97851566, 0.6e-8)
		near(t, "up of three", c.Up.Value, 16.26541080, 0.6e-8)
		near(t, "radius of three", c.Radius.Value, 14.70862398, 0.6e-8)
	}
}

// NIST Statistical Reference Datasets, Pontius: y = b0 + b1 x + b2 x², certified values and standard deviations. In vertex form the
// curvature is 2 b2 and the vertex at −b1/2b2, b0 − b1²/4b2.
func TestPontiusInVertexForm(t *testing.T) {
	y := strings.Fields(`.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599 1.52399 1.63194
		1.73947 1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150 1.20004 1.30818
		1.41613 1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829`)
	var points []flute.Point
	for i, text := range y {
		var up float64
		if _, err := fmt.Sscan(text, &up); err != nil {
			t.Fatal(err)
		}
		points = append(points, flute.Point{Side: 150000 * float64(i%20+1), Up: up})
	}
	const b0, b1, b2 = 0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14
	v := must[flute.VertexForm](t)(flute.UprightParabola(points))
	relative := func(what string, got, want, tolerance float64) {
		t.Helper()
		near(t, what, got/want, 1, tolerance)
	}
	relative("curvature", v.Curvature.Value, 2*b2, 1e-9)
	relative("its standard error", v.Curvature.Standard, 2*0.486652849992036e-16, 1e-8)
	relative("vertex, side", v.Side.Value, -b1/(2*b2), 1e-9)
	relative("vertex, up", v.Up.Value, b0-b1*b1/(4*b2), 1e-9)
	relative("scatter", v.Scatter, 0.205177424076185e-3, 1e-8)
}

// The vertex's standard errors, which NIST does not certify, against refitting with errors drawn anew.
func TestVertexErrorsAgainstRepeats(t *testing.T) {
	r := chance.New(t)
	var seen, said [3]float64
	const repeats, points = 2000, 15
	for range repeats {
		var ps []flute.Point
		for i := range points {
			x := float64(i)/2 - 2
			ps = append(ps, flute.Point{Side: x, Up: 1 + (x-1)*(x-1)/8 + 0.02*r.NormFloat64()})
		}
		v := must[flute.VertexForm](t)(flute.UprightParabola(ps))
		for i, got := range []flute.Estimate{v.Side, v.Up, v.Curvature} {
			off := got.Value - []float64{1, 1, 0.25}[i]
			seen[i] += off * off / repeats
			said[i] += got.Standard * got.Standard / repeats
		}
	}
	for i, what := range []string{"side", "up", "curvature"} {
		near(t, what+": seen over said", math.Sqrt(seen[i]/said[i]), 1, 0.08)
	}
}

func only(t *testing.T, m flute.Measurements, shape flute.Shape) flute.Fit {
	t.Helper()
	fits := must[[]flute.Fit](t)(flute.FitShapes(m, shape))
	if fits[0].Err != nil {
		t.Fatalf("%v: %v", shape, fits[0].Err)
	}
	return fits[0]
}

// c = 21, h = 6 → r = 12.1875 (help.matheass.eu/en/CircularSections.html); its standard error by the derivatives of r = c²/8h + h/2. A
// parabola through the same mouth has r = (c/2)²/2h.
func TestMouthOfASegment(t *testing.T) {
	m := flute.Measurements{Mouth: flute.Mouth{Width: 21, Depth: 6, WidthDoubt: 0.2, DepthDoubt: 0.1}}
	u := only(t, m, flute.ShapeRound)
	near(t, "U", u.Radius.Value, 12.1875, 1e-7)
	const perWidth, perDepth = 21.0 / (4 * 6), 0.5 - 21.0*21/(8*36)
	near(t, "its standard error", u.Radius.Standard, math.Hypot(perWidth*0.1, perDepth*0.05), 1e-6)
	p := only(t, m, flute.ShapeParabola)
	near(t, "parabola", p.Radius.Value, 21*21/8.0/6, 1e-7)
	near(t, "its standard error", p.Radius.Standard, math.Hypot(21/4.0/6*0.1, 21*21/8.0/36*0.05), 1e-6)

	fits := must[[]flute.Fit](t)(flute.FitShapes(m))
	var few *flute.MeasureError
	if last := fits[2]; last.Shape != flute.ShapeVee || !errors.As(last.Err, &few) || few.Kind != flute.TooFew || few.Need != 2 {
		t.Errorf("a V from one measurement: %+v", last)
	}
	if open := flute.Tells(fits); !slices.Equal(open, []flute.Untold{flute.UntoldTest, flute.UntoldShape}) {
		t.Errorf("a mouth leaves open %v", open)
	}
}

// A U deeper than its radius has its width's half as radius, whatever its depth.
func TestMouthOfADeepU(t *testing.T) {
	m := flute.Measurements{Mouth: flute.Mouth{Width: 8, Depth: 6, WidthDoubt: 0.2, DepthDoubt: 0.1}}
	u := only(t, m, flute.ShapeRound)
	near(t, "radius", u.Radius.Value, 4, 1e-7)
	near(t, "standard error", u.Radius.Standard, 0.05, 1e-6)
}

// Where a pin touches is found here by walking the wall for the lowest middle at which the pin enters nowhere.
func TestPinHeightAgainstTheWall(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		radius := uniform(r, 0.5, 6)
		s := flute.Parabola(radius)
		if r.IntN(2) == 0 {
			s = flute.Vee(radius, uniform(r, 0.2, 1.3))
		}
		pin := radius * uniform(r, 0.3, 4)
		middle := 0.0
		for i := range 200_000 {
			p := s.At(float64(i) * 4e-5 * pin * 2)
			if p.Side > pin {
				break
			}
			middle = max(middle, p.Up+math.Sqrt((pin-p.Side)*(pin+p.Side)))
		}
		height, ok := s.PinHeight(2 * pin)
		if !ok {
			t.Fatalf("%+v lets no pin of radius %g in", s, pin)
		}
		near(t, fmt.Sprintf("pin of radius %g in %+v", pin, s), height, middle-pin, 1e-7*pin)
	}
	if _, ok := flute.Round(4).PinHeight(8.1); ok {
		t.Error("a U of radius 4 lets a pin of 8.1 mm in")
	}
}

// measured draws measurements of a flute with normal errors of half the doubts.
func measured(r *rand.Rand, s flute.Section, photo bool) flute.Measurements {
	radius := s.FloorRadius()
	var m flute.Measurements
	p := s.At(radius * 1.5)
	doubt := 0.004 * radius
	m.Mouth = flute.Mouth{
		Width: 2*p.Side + doubt/2*r.NormFloat64(), Depth: p.Up + doubt/2*r.NormFloat64(), WidthDoubt: doubt, DepthDoubt: doubt,
	}
	if s.Shape() != flute.ShapeRound {
		for _, over := range []float64{1.15, 1.3} {
			height, _ := s.PinHeight(2 * over * radius)
			m.Pins = append(m.Pins, flute.Pin{
				Diameter: 2 * over * radius, Height: max(0, height+doubt/4*r.NormFloat64()), HeightDoubt: doubt / 2,
			})
		}
	}
	if !photo {
		return m
	}
	m = flute.Measurements{Photograph: flute.Photograph{Scale: 0.05, PointDoubt: 2 * doubt, TurnDoubt: 0.1}}
	sin, cos := math.Sincos(0.05 * r.NormFloat64())
	for i := range 41 {
		at := s.At(radius * (float64(i)/20 - 1) * 1.4)
		x, y := at.Side+doubt*r.NormFloat64(), at.Up+doubt*r.NormFloat64()
		m.Photograph.Points = append(m.Photograph.Points, flute.Point{Side: 300 + (x*cos-y*sin)/0.05, Up: -70 + (x*sin+y*cos)/0.05})
	}
	return m
}

// Flutes drawn at random, measured with errors that are as large as is said: the fit's own standard error has to hold the true radius as
// often as a normal distribution's does: 68 % within one, 99.7 % within three.
func TestFitsHoldTheTruth(t *testing.T) {
	r := chance.New(t)
	for _, shape := range []flute.Shape{flute.ShapeParabola, flute.ShapeRound, flute.ShapeVee} {
		for _, photo := range []bool{false, true} {
			const n = 120
			one, three, within := 0, 0, 0
			for range n {
				radius := uniform(r, 2, 8)
				s := flute.Parabola(radius)
				switch shape {
				case flute.ShapeRound:
					s = flute.Round(radius)
				case flute.ShapeVee:
					s = flute.Vee(radius, uniform(r, 0.7, 1.1))
				}
				f := only(t, measured(r, s, photo), shape)
				off := math.Abs(f.Radius.Value-radius) / f.Radius.Standard
				if off <= 1 {
					one++
				}
				if off <= 3 {
					three++
				}
				if f.Within {
					within++
				}
			}
			what := fmt.Sprintf("%v, photograph %v", shape, photo)
			// 68.3 % of 120 is 82 ± 5; the bounds are four of those, and a chance of 1e-5 of being passed.
			if one < 62 || one > 102 || three < n-5 || within < n-20 {
				t.Errorf("%s: of %d, %d within one standard error, %d within three, %d agree", what, n, one, three, within)
			}
			t.Logf("%s: of %d, %d within one standard error, %d within three, %d agree", what, n, one, three, within)
		}
	}
}

// The shape that was measured fits; well measured, the others do not, and the answer says so.
func TestFitsTellShapesApart(t *testing.T) {
	r := chance.New(t)
	for _, s := range []flute.Section{flute.Parabola(4), flute.Round(4), flute.Vee(3, 1)} {
		m := measured(r, s, true)
		m.Photograph.PointDoubt *= 1.2 // so that chance refuses the right one less often than 5 times in 100
		fits := must[[]flute.Fit](t)(flute.FitShapes(m))
		if fits[0].Shape != s.Shape() || !fits[0].Within || len(fits[0].Residuals) != len(m.Photograph.Points) {
			t.Errorf("a %v is said to be a %v, within the doubts: %v", s.Shape(), fits[0].Shape, fits[0].Within)
		}
		for _, f := range fits[1:] {
			if f.Err == nil && f.Within && f.Shape != flute.ShapeVee {
				t.Errorf("a %v is said to be a %v too", s.Shape(), f.Shape)
			}
		}
	}
	// Three points fit any shape that has no more unknowns.
	few := measured(r, flute.Parabola(4), true)
	few.Photograph.Points = []flute.Point{few.Photograph.Points[2], few.Photograph.Points[20], few.Photograph.Points[38]}
	open := flute.Tells(must[[]flute.Fit](t)(flute.FitShapes(few)))
	if !slices.Contains(open, flute.UntoldTest) || !slices.Contains(open, flute.UntoldShape) {
		t.Errorf("three points leave open %v", open)
	}
	// A mouth and a pin that no shape has together.
	never := flute.Measurements{
		Mouth: flute.Mouth{Width: 10, Depth: 3, WidthDoubt: 0.01, DepthDoubt: 0.01},
		Pins:  []flute.Pin{{Diameter: 6, Height: 1.5, HeightDoubt: 0.01}, {Diameter: 6.2, Height: 1.5, HeightDoubt: 0.01}},
	}
	if open := flute.Tells(must[[]flute.Fit](t)(flute.FitShapes(never))); !slices.Contains(open, flute.UntoldMatch) {
		t.Errorf("measurements of no flute leave open %v", open)
	}
}

// A scale known to 2 % (k = 2) makes the radius doubtful by 1 %, however many points.
func TestDoubtfulScale(t *testing.T) {
	m := measured(chance.New(t), flute.Parabola(4), true)
	m.Photograph.ScaleDoubt = 0.02
	m.Photograph.PointDoubt = 0.002
	for i := range m.Photograph.Points { // exact points, so that nothing else counts
		p := flute.Parabola(4).At(5.6 * (float64(i)/20 - 1))
		m.Photograph.Points[i] = flute.Point{Side: p.Side * 20, Up: p.Up * 20}
	}
	f := only(t, m, flute.ShapeParabola)
	near(t, "radius", f.Radius.Value, 4, 1e-6)
	near(t, "its doubt", f.Radius.Standard/f.Radius.Value, 0.01, 1e-4)
	m.Mouth = flute.Mouth{Width: 8, Depth: 2, WidthDoubt: 0.01, DepthDoubt: 0.01}
	if better := only(t, m, flute.ShapeParabola).Radius.Standard; !(better < f.Radius.Standard/2) {
		t.Errorf("a mouth with the photograph leaves a doubt of %g, without %g", better, f.Radius.Standard)
	}
}

// The bowl of points off a circle about the middle has the geometric fit's radius: two ways to one flute.
func TestPhotographedUIsTheCircle(t *testing.T) {
	m := measured(chance.New(t), flute.Round(5), true)
	u := only(t, m, flute.ShapeRound)
	var mm []flute.Point
	for _, p := range m.Photograph.Points {
		mm = append(mm, flute.Point{Side: p.Side * m.Photograph.Scale, Up: p.Up * m.Photograph.Scale})
	}
	c := must[flute.Circle](t)(flute.GeometricCircle(mm))
	near(t, "radius", u.Radius.Value, c.Radius.Value, 1e-6)
}

func mouth(width, depth, widthDoubt, depthDoubt float64) flute.Mouth {
	return flute.Mouth{Width: width, Depth: depth, WidthDoubt: widthDoubt, DepthDoubt: depthDoubt}
}

// pins takes diameter, height and doubt of each.
func pins(of ...float64) (out []flute.Pin) {
	for ; len(of) > 0; of = of[3:] {
		out = append(out, flute.Pin{Diameter: of[0], Height: of[1], HeightDoubt: of[2]})
	}
	return out
}

// along is points from their coordinates in turn.
func along(of ...float64) (out []flute.Point) {
	for ; len(of) > 0; of = of[2:] {
		out = append(out, flute.Point{Side: of[0], Up: of[1]})
	}
	return out
}

func TestRefusedMeasurements(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	usual := flute.Mouth{Width: 10, Depth: 3, WidthDoubt: 0.1, DepthDoubt: 0.1}
	photo := func(of ...float64) flute.Measurements {
		return flute.Measurements{Photograph: flute.Photograph{Points: along(of...), Scale: 1, PointDoubt: 0.05}}
	}
	change := func(of func(*flute.Measurements)) flute.Measurements {
		m := photo(-2, 1, -1, 0.25, 0, 0, 1, 0.25, 2, 1)
		of(&m)
		return m
	}
	var many []float64
	for i := range flute.MostPoints + 1 {
		many = append(many, float64(i), float64(i*i))
	}
	for _, c := range []struct {
		name string
		m    flute.Measurements
		kind flute.MeasureKind
	}{
		{"width NaN", flute.Measurements{Mouth: mouth(nan, 3, 0.1, 0.1)}, flute.OutOfRange},
		{"width 0", flute.Measurements{Mouth: mouth(0, 3, 0.1, 0.1)}, flute.OutOfRange},
		{"depth infinite", flute.Measurements{Mouth: mouth(10, inf, 0.1, 0.1)}, flute.OutOfRange},
		{"no doubt", flute.Measurements{Mouth: mouth(10, 3, 0, 0.1)}, flute.OutOfRange},
		{"doubt beyond the depth", flute.Measurements{Mouth: mouth(10, 3, 0.1, 4)}, flute.OutOfRange},
		{"too deep", flute.Measurements{Mouth: mouth(10, 41, 0.1, 0.1)}, flute.TooDeep},
		{"pin infinite", flute.Measurements{Pins: pins(inf, 1, 0.1)}, flute.OutOfRange},
		{"pin below the floor", flute.Measurements{Pins: pins(5, -1, 0.1)}, flute.OutOfRange},
		{"pin without doubt", flute.Measurements{Pins: pins(5, 1, 0)}, flute.OutOfRange},
		{"pin sinks", flute.Measurements{Pins: pins(5, 1, 0.1, 6, 0.5, 0.1)}, flute.PinSinks},
		{"one pin twice", flute.Measurements{Pins: pins(5, 1, 0.1, 5, 0.5, 0.1)}, flute.PinSinks},
		{"pin on the corners", flute.Measurements{Mouth: usual, Pins: pins(14, 0.5, 0.1)}, flute.PinBeyondMouth},
		{"too many pins", flute.Measurements{Pins: make([]flute.Pin, 21)}, flute.TooMany},
		{"two points", photo(0, 0, 1, 1), flute.TooFew},
		{"too many points", photo(many...), flute.TooMany},
		{"point NaN", photo(0, 0, 1, nan, 2, 1), flute.OutOfRange},
		{"one place", photo(1, 1, 1, 1, 1, 1), flute.OneLine},
		{"one line", photo(0, 0, 1, 1, 2, 2.01, 3, 3), flute.OneLine},
		{"upright line", photo(0, 0, 0, 1, 0, 2), flute.OneLine},
		{"two sides", photo(0, 0, 0, 5, 3, 0), flute.OneLine},
		{"upside down", photo(-2, -1, 0, 0, 2, -1), flute.UpsideDown},
		{"swapped", photo(2, 1, 0, 0, -2, 1), flute.Swapped},
		{"no scale", change(func(m *flute.Measurements) { m.Photograph.Scale = 0 }), flute.OutOfRange},
		{"scale NaN", change(func(m *flute.Measurements) { m.Photograph.Scale = nan }), flute.OutOfRange},
		{"scale's doubt", change(func(m *flute.Measurements) { m.Photograph.ScaleDoubt = 2 }), flute.OutOfRange},
		{"no point doubt", change(func(m *flute.Measurements) { m.Photograph.PointDoubt = 0 }), flute.OutOfRange},
		{"turned over", change(func(m *flute.Measurements) { m.Photograph.TurnDoubt = 3 }), flute.OutOfRange},
		{"huge", change(func(m *flute.Measurements) { m.Photograph.Scale = 1e6; m.Photograph.PointDoubt = 1 }), flute.OutOfRange},
	} {
		var wrong *flute.MeasureError
		if _, err := flute.FitShapes(c.m); !errors.As(err, &wrong) || wrong.Kind != c.kind || wrong.Error() == "" {
			t.Errorf("%s: %v, want kind %v", c.name, err, c.kind)
		}
	}
	if _, err := flute.FitShapes(flute.Measurements{Mouth: usual}, flute.ShapeFlat); err == nil {
		t.Error("a flat face is fitted")
	}
}

// What one shape cannot have is refused for it alone.
func TestRefusedForOneShape(t *testing.T) {
	for _, c := range []struct {
		name  string
		m     flute.Measurements
		shape flute.Shape
		kind  flute.MeasureKind
	}{
		{"nothing measured", flute.Measurements{}, flute.ShapeParabola, flute.TooFew},
		{"one pin for a V", flute.Measurements{Pins: pins(8, 1, 0.01)}, flute.ShapeVee, flute.TooFew},
		{"a pin over the floor of a U", flute.Measurements{Pins: pins(8, 1, 0.01)}, flute.ShapeRound, flute.PinInU},
		{"a pin on the floor", flute.Measurements{Pins: pins(1, 0, 0.01)}, flute.ShapeRound, flute.Undetermined},
	} {
		fits := must[[]flute.Fit](t)(flute.FitShapes(c.m, c.shape))
		var wrong *flute.MeasureError
		if !errors.As(fits[0].Err, &wrong) || wrong.Kind != c.kind || wrong.Error() == "" {
			t.Errorf("%s: %v, want kind %v", c.name, fits[0].Err, c.kind)
		}
	}
}

// Whatever is asked, what is answered is finite.
func TestFitsAreFinite(t *testing.T) {
	r := chance.New(t)
	odd := []float64{0, 1e-300, 1e-5, 0.01, 9999, 1e9, -1, math.Inf(1), math.NaN()}
	pick := func() float64 {
		if r.IntN(12) == 0 {
			return odd[r.IntN(len(odd))]
		}
		return logUniform(r, 0.01, 100)
	}
	answered := 0
	for range 1500 {
		m := flute.Measurements{Mouth: mouth(pick(), pick(), 0.1, 0.1), Pins: pins(pick(), pick(), 0.1)}
		if r.IntN(2) == 0 {
			m = flute.Measurements{Photograph: flute.Photograph{Scale: 1, ScaleDoubt: 0.01, PointDoubt: pick()}}
			for range 3 + r.IntN(4) {
				m.Photograph.Points = append(m.Photograph.Points, flute.Point{Side: pick(), Up: pick()})
			}
		}
		fits, err := flute.FitShapes(m)
		if err != nil {
			continue
		}
		for _, f := range fits {
			if f.Err != nil {
				continue
			}
			answered++
			values := append([]float64{f.ChiSquare}, f.Residuals...)
			for _, e := range []flute.Estimate{f.Radius, f.Wall, f.Turn} {
				values = append(values, e.Value, e.Standard)
			}
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Errorf("%+v: %+v", m, f)
					break
				}
			}
		}
	}
	if answered < 50 {
		t.Errorf("only %d answers: the test looks at nothing", answered)
	}
}

func BenchmarkFitOf500Points(b *testing.B) {
	m := flute.Measurements{Photograph: flute.Photograph{Scale: 1, PointDoubt: 0.02}}
	for i := range flute.MostPoints {
		p := flute.Parabola(4).At(float64(i)/40 - 6.2375)
		m.Photograph.Points = append(m.Photograph.Points, flute.Point{Side: p.Side, Up: p.Up})
	}
	for range b.N {
		if _, err := flute.FitShapes(m); err != nil {
			b.Fatal(err)
		}
	}
}
