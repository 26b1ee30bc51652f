package geometry_test

import (
	"math"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// slope is f's derivative by the five-point central difference: its error is step⁴ times the fifth derivative over 30.
func slope(f func(float64) float64, at, step float64) float64 {
	return (8*(f(at+step)-f(at-step)) - (f(at+2*step) - f(at-2*step))) / (12 * step)
}

// The derivatives of an edge angle grow as C, C², … C⁹ in the denominator, C = cos(β−δ), so steps shrink with C². A
// thousandth of the reach then leaves a relative error below 1e-9, and rounding less. A derivative that nearly cancels is held to
// the largest of its parts, (1 + k r)/(r C).
const slopeTolerance = 1e-8

func TestSensitivityAgainstDifferences(t *testing.T) {
	r := chance.New(t)
	for range 2000 {
		g := shopRig(r)
		w, p, gap := g.wheel, g.pivot, g.wheel.Gap(g.pivot, g.edge)
		c, reach, k := geometry.Conditioning(p, g.edge), float64(p.Reach()), w.Curvature()
		edge := func(w geometry.Wheel, p geometry.Pivot, gap unit.Length) float64 {
			return float64(must[unit.Angle](t)(w.EdgeAngle(p, gap)))
		}
		step := 1e-3 * c * c * math.Min(reach, 100)
		scale := (1 + k*reach) / (reach * c) * slopeTolerance

		s := w.Sensitivity(p, g.edge, gap)
		near(t, "per gap", s.Gap, slope(func(x float64) float64 { return edge(w, p, unit.Length(x)) }, float64(gap), step), scale)
		near(t, "per behind", s.Behind, slope(func(x float64) float64 {
			return edge(w, geometry.Pivot{Behind: unit.Length(x), Below: p.Below}, gap)
		}, float64(p.Behind), step), scale)
		near(t, "per below", s.Below, slope(func(x float64) float64 {
			return edge(w, geometry.Pivot{Behind: p.Behind, Below: unit.Length(x)}, gap)
		}, float64(p.Below), step), scale)
		if w.Flat() {
			near(t, "per diameter of a flat abrasive", w.PerDiameterAtGap(s), 0, 0)
			continue
		}
		axle := gap + w.Radius()
		near(t, "per diameter at the gap", w.PerDiameterAtGap(s), slope(func(d float64) float64 {
			return edge(geometry.RoundWheel(unit.Length(d)), p, gap)
		}, g.diameter, step), scale)
		near(t, "per diameter at the pivot", w.PerDiameterAtPivot(s), slope(func(d float64) float64 {
			return edge(geometry.RoundWheel(unit.Length(d)), p, axle-unit.Length(d/2))
		}, g.diameter, step), scale)
		near(t, "per curvature", s.Curvature, slope(func(k float64) float64 {
			return edge(geometry.RoundWheel(unit.Length(2/k)), p, gap)
		}, k, step*k*k), scale/(k*k))
	}
}

func TestPerLegAgainstDifferences(t *testing.T) {
	r := chance.New(t)
	for range 500 {
		s := geometry.SwingHolder{JointBehindFace: unit.Length(uniform(r, 0, 50)), JointBelowAxis: 9, Leg: unit.Length(uniform(r, 20, 120))}
		leg := uniform(r, -math.Pi, math.Pi)
		behind, below := s.PerLeg(unit.Angle(leg))
		near(t, "behind per leg, mm/rad", float64(behind), slope(func(x float64) float64 {
			return float64(s.Pivot(45, unit.Angle(x)).Behind)
		}, leg, 1e-3), 1e-9)
		near(t, "below per leg, mm/rad", float64(below), slope(func(x float64) float64 {
			return float64(s.Pivot(45, unit.Angle(x)).Below)
		}, leg, 1e-3), 1e-9)
	}
}

func TestPlatformSlopesAgainstDifferences(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		diameter, edge := uniform(r, 100, 300), unit.Degrees(uniform(r, 10, 85))
		w := geometry.RoundWheel(unit.Length(diameter))
		line := w.LineFor(edge)
		angle := func(w geometry.Wheel, line float64) float64 {
			return float64(must[unit.Angle](t)(w.LineAngle(unit.Length(line))))
		}
		near(t, "per line, rad/mm", w.PerLine(edge), slope(func(x float64) float64 { return angle(w, x) }, float64(line), 0.01), 1e-9)
		near(t, "per diameter, rad/mm", w.PerDiameterAtLine(edge), slope(func(x float64) float64 {
			return angle(geometry.RoundWheel(unit.Length(x)), float64(line))
		}, diameter, 0.01), 1e-9)

		p := geometry.Platform{Hinge: geometry.Point{Out: unit.Length(uniform(r, 20, 200)), Up: unit.Length(uniform(r, -120, 60))}, Surface: 6}
		tilt := uniform(r, -1, 1)
		near(t, "line per tilt, mm/rad", float64(p.LinePerTilt(unit.Angle(tilt))), slope(func(x float64) float64 {
			return float64(p.Line(unit.Angle(x), 4))
		}, tilt, 1e-3), 1e-8)
	}
}

func TestGapPerReadingAgainstDifferences(t *testing.T) {
	r := chance.New(t)
	for range 1000 {
		g := shopRig(r)
		s := geometry.Slide{
			Origin:    geometry.Point{Out: unit.Length(uniform(r, 50, 150)), Up: unit.Length(uniform(r, -200, 200))},
			Direction: unit.Degrees(uniform(r, -90, 90)),
		}
		reading := uniform(r, 30, 200)
		near(t, "gap per reading", s.GapPerReading(g.wheel, unit.Length(reading)), slope(func(x float64) float64 {
			return float64(g.wheel.GapTo(s.At(unit.Length(x))))
		}, reading, 0.03), 1e-8)
	}
}

// Propagation of distributions against propagation of uncertainty (JCGM 101:2008): the inputs of bowl-50 on north are drawn, the
// relation itself is asked, and the spread of its answers is what the linear combination said. At a nose the two agree; with
// 200 000 draws a standard deviation is known to 0.16 %, so 1 % is six of its own.
func TestCombinedAgainstMonteCarlo(t *testing.T) {
	gap := north.Gap(bowl, bowlEdge)
	s := north.Sensitivity(bowl, bowlEdge, gap)
	behind, below := swing.PerLeg(30 * unit.Degree)
	// Half-widths at 95 % with rulers and a protractor: gap and stick-out 1 mm, joint 0.5 mm, leg 1.5°, diameter 1 mm.
	parts := []geometry.Contribution{
		{Sensitivity: s.Gap, HalfWidth: 1},
		{Sensitivity: s.Behind, HalfWidth: 1},
		{Sensitivity: s.Below, HalfWidth: 0.5},
		{Sensitivity: s.Behind*float64(behind) + s.Below*float64(below), HalfWidth: float64(1.5 * unit.Degree)},
		{Sensitivity: north.PerDiameterAtGap(s), HalfWidth: 1},
	}
	r := chance.New(t)
	const draws = 200_000
	var mean, squares float64
	for i := range draws {
		off := func(part int) float64 { return r.NormFloat64() * parts[part].HalfWidth / 2 }
		pivot := swing.Pivot(45+unit.Length(off(1)), 30*unit.Degree+unit.Angle(off(3)))
		pivot.Below += unit.Length(off(2))
		wheel := geometry.RoundWheel(200 + unit.Length(off(4)))
		edge := must[unit.Angle](t)(wheel.EdgeAngle(pivot, gap+unit.Length(off(0)))).Degrees()
		delta := edge - mean
		mean += delta / float64(i+1)
		squares += delta * (edge - mean)
	}
	spread := 2 * math.Sqrt(squares/(draws-1))
	combined := geometry.Combined(parts).Degrees()
	t.Logf("95 %% half-width: linear %.4f°, drawn %.4f°", combined, spread)
	near(t, "drawn over linear", spread/combined, 1, 0.01)
	near(t, "mean, °", mean, 50, 0.05)
}

// A contribution is a width: it has no sign, whichever way the angle follows.
func TestContributionHasNoSign(t *testing.T) {
	for _, c := range []geometry.Contribution{{Sensitivity: 0.01, HalfWidth: 2}, {Sensitivity: -0.01, HalfWidth: 2}} {
		near(t, "contribution, rad", c.Angle(), 0.02, 1e-17)
		near(t, "alone", geometry.Combined([]geometry.Contribution{c}), c.Angle(), 1e-17)
	}
	near(t, "none", geometry.Combined(nil), 0, 0)
}

// The offset to the blunt side does what it promises: of a bevel and a new setting that each scatter about what they are meant to
// be, the setting is the blunter 95 times in 100.
func TestTouchFirstTouchesFirst(t *testing.T) {
	r := chance.New(t)
	const draws, expanded = 200_000, 1.3
	offset := float64(geometry.TouchFirst(expanded))
	var first int
	for range draws {
		if offset+r.NormFloat64()*expanded/2 > r.NormFloat64()*expanded/2 {
			first++
		}
	}
	near(t, "touched the edge first", float64(first)/draws, 0.95, 0.003) // six times its own spread
	difference := expanded / 2 * math.Sqrt2                              // its standard deviation
	near(t, "and by the normal distribution", math.Erfc(-offset/difference/math.Sqrt2)/2, 0.95, 2e-5)
}
