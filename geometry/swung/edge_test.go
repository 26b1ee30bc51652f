package swung_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// swept is a check value: a gouge whose plan is a parabola over the width.
type swept struct {
	Radius    float64 `json:"wheel_radius_mm"`
	Behind    float64 `json:"pivot_behind_tip_mm"`
	Below     float64 `json:"pivot_below_axis_mm"`
	ToAxle    float64 `json:"pivot_to_axle_mm"`
	Nose      float64 `json:"nose_angle_deg"`
	Flute     float64 `json:"flute_radius_mm"`
	Setback   float64 `json:"setback_mm"`
	HalfWidth float64 `json:"half_width_mm"`
	At        float64 `json:"at_fraction_of_half_width"`
	Wedge     float64 `json:"wedge_angle_deg"`
}

func sweptChecks(t *testing.T) []swept {
	t.Helper()
	text, err := os.ReadFile("../testdata/geometry.json")
	if err != nil {
		t.Fatal(err)
	}
	var checks struct{ Swept []swept }
	if err := json.Unmarshal(text, &checks); err != nil {
		t.Fatal(err)
	}
	if len(checks.Swept) < 10 {
		t.Fatalf("%d check values", len(checks.Swept))
	}
	return checks.Swept
}

func (c swept) setting() swung.Setting {
	return swung.Setting{
		Wheel: geometry.RoundWheel(lengthOf(2 * c.Radius)),
		Pivot: geometry.Pivot{Behind: lengthOf(c.Behind), Below: lengthOf(c.Below)},
		Gap:   lengthOf(c.ToAxle - c.Radius),
	}
}

// overWidth is the plan x = setback·(y/halfWidth)², on the section's length.
type overWidth struct {
	section            flute.Section
	setback, halfWidth float64
}

func (p overWidth) At(along float64) (back, slope, bend float64) {
	s := p.section.At(along)
	sin, cos := math.Sincos(s.Slope)
	xyy := 2 * p.setback / (p.halfWidth * p.halfWidth)
	xy := xyy * s.Side
	return xy * s.Side / 2, xy * cos, xyy*cos*cos - xy*s.Curvature*sin
}

// The design's check values, found by a root finder on the tool's pose.
func TestCheckValues(t *testing.T) {
	for i, c := range sweptChecks(t) {
		g, section := c.setting(), flute.Parabola(c.Flute)
		along, _ := section.AlongAt(c.At * c.HalfWidth)
		e := swung.Even(section, overWidth{section, c.setback(), c.HalfWidth}, along)
		for _, at := range []float64{along, -along} {
			near(t, fmt.Sprintf("check %d, wedge, °", i), g.Face(e.At(at)).Wedge/degree, c.Wedge, 1e-3)
		}
		near(t, fmt.Sprintf("check %d, nose, °", i), g.Face(e.At(0)).Wedge/degree, c.Nose, 1e-3)
		near(t, fmt.Sprintf("check %d, gap, mm", i), float64(swung.AtNose(g.Wheel, g.Pivot, unit.Degrees(c.Nose)).Gap), float64(g.Gap), 1e-5)
	}
}

func (c swept) setback() float64 { return c.Setback }

// The same through measured spots, 41 of them over the whole width: as near as a cubic spline is to the parabola away from its straight
// ends, 0.03°; with hundredths of a millimetre of noise and that doubt, 1.5°.
func TestCheckValuesMeasured(t *testing.T) {
	r := chance.New(t)
	for i, c := range sweptChecks(t) {
		g, section := c.setting(), flute.Parabola(c.Flute)
		var exact, noisy []swung.Spot
		for j := -20; j <= 20; j++ {
			side := 1.1 * c.HalfWidth * float64(j) / 20
			back := c.Setback * sq(side/c.HalfWidth)
			exact = append(exact, swung.Spot{Along: side, Back: back})
			if j != 0 {
				back += 0.01 * r.NormFloat64()
			}
			noisy = append(noisy, swung.Spot{Along: side, Back: back})
		}
		along, _ := section.AlongAt(c.At * c.HalfWidth)
		wedge := func(spots []swung.Spot, doubt float64) float64 {
			spots, err := swung.SpotsAcross(section, spots)
			if err != nil {
				t.Fatal(err)
			}
			plan, err := swung.NewMeasured(spots, doubt)
			if err != nil {
				t.Fatal(err)
			}
			return g.Face(swung.Even(section, plan, along).At(along)).Wedge / degree
		}
		near(t, fmt.Sprintf("check %d, through the spots, °", i), wedge(exact, 0), c.Wedge, 0.03)
		near(t, fmt.Sprintf("check %d, smoothed, °", i), wedge(noisy, 0.01), c.Wedge, 1.5)
	}
}

// Every plan's slope and bend are its own derivatives, and a point's direction and curvature those of the edge.
func TestPointsByDifferences(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		section, reach := anyFlute(r)
		plan := anyPlan(r, reach)
		if r.IntN(5) == 0 {
			g, _ := anyRig(r)
			plan = swung.EvenSwing{Section: section, Setting: g}
		}
		e := swung.Even(section, plan, reach)
		const step = 1e-4
		along := uniform(r, -1, 1) * reach
		if math.Abs(along) < 0.05*reach || !smooth(section, along, 2*step) {
			continue
		}
		b, s, d := plan.At(along)
		b0, s0, _ := plan.At(along - step)
		b1, s1, _ := plan.At(along + step)
		near(t, "slope", s, (b1-b0)/(2*step), 1e-6*(1+math.Abs(b)))
		near(t, "bend", d, (s1-s0)/(2*step), 1e-5*(1+math.Abs(d)))
		p, before, after := e.At(along), e.At(along-step), e.At(along+step)
		move := after.At.Minus(before.At).Times(1 / (2 * step))
		near(t, "rate", move.Length(), p.Rate, 1e-6*p.Rate)
		near(t, "direction", move.Dir().Minus(p.Edge).Length(), 0, 1e-6)
		turn := after.Edge.Minus(before.Edge).Times(1 / (2 * step * p.Rate))
		near(t, "curvature", turn.Minus(p.Bend).Length(), 0, 1e-5)
		near(t, "flute across the edge", p.Flute.Dot(p.Edge), 0, 1e-14)
		if t.Failed() {
			t.Fatalf("%+v at %g", e, along)
		}
	}
}

func TestPlans(t *testing.T) {
	for _, c := range []struct {
		plan    swung.Plan
		at, end float64
	}{
		{swung.Setback{Setback: 14, Reach: 8, Exponent: 2}, 8, 14},
		{swung.Setback{Setback: 14, Reach: 8, Exponent: 2}, -4, 3.5},
		{swung.Setback{Setback: 14, Reach: 8, Exponent: 3}, -4, 1.75},
		{swung.Setback{Setback: 16, Reach: 8, Exponent: 1.5}, 2, 2},
		{swung.Across{}, 5, 0},
	} {
		back, _, _ := c.plan.At(c.at)
		near(t, fmt.Sprintf("%+v at %g", c.plan, c.at), back, c.end, 1e-12)
	}
	p, ok := swung.NewSwept(14, 1.5, 8)
	if !ok {
		t.Fatal("no swept plan")
	}
	end, _, _ := p.At(-8)
	_, slope, bend := p.At(0)
	near(t, "swept end", end, 14, 1e-12)
	near(t, "swept nose's slope", slope, 0, 0)
	near(t, "swept nose's radius", 1/bend, 1.5, 1e-12)
	if _, s1, b1 := p.At(1000); !(b1 < 1e-6 && s1 > 1) {
		t.Errorf("swept wings do not straighten: %g, %g", s1, b1)
	}
	for _, c := range [][3]float64{{14, 3, 8}, {0, 1, 8}, {14, 0, 8}, {math.NaN(), 1, 8}, {-1, 1, 8}} {
		if p, ok := swung.NewSwept(c[0], c[1], c[2]); ok {
			t.Errorf("swept %v is taken: %+v", c, p)
		}
	}
}

func TestPlaces(t *testing.T) {
	e := swung.Edge{Right: 6, Left: 3}
	got := e.Places(4)
	want := []float64{-3, -1.5, 0, 3, 6}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("places %v, want %v", got, want)
	}
	if n := len(e.Places(65)); n != 65 {
		t.Errorf("%d of 65 places", n)
	}
	if n := len(e.Places(-5)); n != 3 {
		t.Errorf("%d places at the least", n)
	}
}

// skewed is a straight edge at an angle to the tool.
type skewed float64

func (s skewed) At(along float64) (back, slope, bend float64) {
	return float64(s) * along, float64(s), 0
}

// ISO 3002-1 relates a tool's wedge in the plane square to the edge to that in a plane along the tool's axis: cot αn = cot αo cos λs, here
// tan β_axial = tan β_normal·sin σ with σ between edge and axis. A skew's half angles are published rows: 40° and 30° along the axis at a
// skew of 20° are 42.345664° and 31.830532° square to the edge. The ground surface itself is cut along the axis and measured.
func TestISO3002OnASkew(t *testing.T) {
	const skew = 20 * degree
	for _, row := range []struct{ axial, normal float64 }{{40, 42.345664}, {30, 31.830532}} {
		e := swung.Even(flute.Flat(), skewed(math.Tan(skew)), 5)
		g := swung.AtNose(geometry.RoundWheel(250), geometry.Pivot{Behind: 150, Below: 10}, 20*unit.Degree)
		low, high := float64(g.Gap)-20, float64(g.Gap)+20
		for range 60 {
			g.Gap = lengthOf((low + high) / 2)
			if f := g.Face(e.At(0)); f.Wedge < row.normal/2*degree {
				low = float64(g.Gap)
			} else {
				high = float64(g.Gap)
			}
		}
		f := g.Face(e.At(0))
		near(t, "wedge square to the edge, °", f.Wedge/degree, row.normal/2, 1e-9)
		near(t, "wedge along the axis, °", axial(t, g, e, 0)/degree, row.axial/2, 1e-4)
	}
}

// On a gouge's wing the plane along the axis is that of the flute's line and its normal. Also: a row of published rake angles is the same
// relation, tan γn = tan γo cos λs: 14° and 8° are 13.869037°.
func TestISO3002OnAWing(t *testing.T) {
	near(t, "published row, °", math.Atan(math.Tan(14*degree)*math.Cos(8*degree))/degree, 13.869037, 1e-6)
	e, g := rowSix(4, 6.5)
	for _, part := range []float64{-1, -0.7, -0.4, 0, 0.2, 0.5, 0.9} {
		along := part * e.Right
		f := g.Face(e.At(along))
		inclination := math.Pi/2 - f.Edge.AngleTo(e.At(0).Edge.Cross(e.At(0).Flute).Times(-1)) // from square to the axis
		want := math.Atan(math.Tan(f.Wedge) * math.Cos(inclination))
		if want < 0 {
			want += math.Pi
		}
		near(t, fmt.Sprintf("wedge along the axis at %g, °", along), axial(t, g, e, along)/degree, want/degree, 1e-4)
	}
}

// axial cuts the ground surface with the plane through a place along the tool's axis and the flute's normal, and measures the angle
// between flute and cut, 0.1 µm along the arc.
func axial(t *testing.T, g swung.Setting, e swung.Edge, along float64) float64 {
	t.Helper()
	const down = 1e-4
	at := e.At(along)
	across := at.Flute.Cross(at.At.Times(0).Plus(vec(1, 0, 0))) // square to that plane
	off := func(u float64) float64 { return g.Face(e.At(along + u)).Arc(down).Minus(at.At).Dot(across) }
	low, high := -10*down, 10*down
	if off(low)*off(high) > 0 {
		t.Fatal("the cut does not meet the arcs")
	}
	for range 50 {
		if middle := (low + high) / 2; off(middle)*off(low) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	cut := g.Face(e.At(along + low)).Arc(down).Minus(at.At)
	return math.Atan2(-cut.Dot(at.Flute), cut.Back)
}

// Common practice, for gouges with swept wings: nose 55°, wing ends 43–51°, shoulders above the nose, 58–72°. A nose of 0.75 to 1.25 mm
// radius in the unrolled flute makes such a shape; a parabola in the unrolled flute has the ends, but no shoulders. A wide flute's wings go
// with a wide tool: 4.5 mm of radius cut off at 6 mm would end at 52° and more.
func TestCommonGouge(t *testing.T) {
	for _, c := range [][2]float64{{3.5, 6}, {3.5, 6.3}, {4, 6.5}, {4, 6.9}, {4.5, 7}} {
		for _, nose := range []float64{0.75, 1.25} {
			e, g := rowSix(c[0], c[1])
			plan, ok := swung.NewSwept(14, nose, e.Right)
			if !ok {
				t.Fatal("no swept plan")
			}
			what := fmt.Sprintf("flute radius %g, half-width %g, nose radius %g: ", c[0], c[1], nose)
			parabola := swung.Analyse(e, g, geometry.Point{}, e.Places(65))
			within(t, what+"a parabola's end", parabola.Points[0].Wedge/degree, 43, 51)
			e.Plan = plan
			a := swung.Analyse(e, g, geometry.Point{}, e.Places(65))
			near(t, what+"nose", a.Nose.Wedge/degree, 55, 1e-9)
			within(t, what+"end", a.Points[0].Wedge/degree, 43, 51)
			within(t, what+"shoulders", a.Most.Wedge/degree, 58, 72)
			within(t, what+"shoulder's place", math.Abs(a.Most.Along)/e.Right, 0.05, 0.5)
			if len(a.Unreached) > 0 || len(a.Poor) > 0 {
				t.Errorf("%sunreached %v, poor %v", what, a.Unreached, a.Poor)
			}
			for _, p := range a.Points { // it leans as far as such gouges are seen to lean
				if math.Abs(p.Along) == e.Right {
					within(t, what+"lean at the end, °", p.Lean.Angle/degree, 50, 107)
				}
			}
		}
	}
}

// What is usually left out costs, at the wing's end: a contact 10 mm off the plane 0.2–0.5°, 20 mm 1–2°; a pivot 1 mm aside 0.4–0.8° and a
// tool rolled by 2° 0.6–1.7°, one wing each way.
func TestWhatIsLeftOutCosts(t *testing.T) {
	for _, c := range [][2]float64{{3.5, 6}, {4, 6.5}, {4.5, 7}} {
		e, plain := rowSix(c[0], c[1])
		ends := func(g swung.Setting) (left, right float64) {
			return (g.Face(e.At(-e.Left)).Wedge - plain.Face(e.At(-e.Left)).Wedge) / degree,
				(g.Face(e.At(e.Right)).Wedge - plain.Face(e.At(e.Right)).Wedge) / degree
		}
		for _, off := range []struct {
			name              string
			change            func(*swung.Setting)
			low, high, wingly float64
		}{
			{"contact 10 mm off", func(g *swung.Setting) { g.Contact = 10 }, 0.2, 0.5, 1},
			{"contact 20 mm off", func(g *swung.Setting) { g.Contact = 20 }, 1, 2, 1},
			{"pivot 1 mm aside", func(g *swung.Setting) { g.Aside = 1 }, 0.4, 0.8, -1},
			{"rolled by 2°", func(g *swung.Setting) { g.Roll, g.Centre = 2*unit.Degree, -2 }, 0.6, 1.7, -1},
		} {
			g := plain
			off.change(&g)
			left, right := ends(g)
			within(t, fmt.Sprintf("%v %s, right end, °", c, off.name), right, off.low, off.high)
			within(t, fmt.Sprintf("%v %s, left end, °", c, off.name), off.wingly*left, off.low, off.high)
		}
	}
}
