package swung_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

// gouge is a parabolic flute with an edge set back as a power, by what a turner measures.
type gouge struct{ radius, setback, halfWidth, exponent float64 }

func (c gouge) shape(o swung.Offsets) (swung.Edge, bool) {
	radius, setback := c.radius+o[swung.OfFluteRadius], c.setback+o[swung.OfSetback]
	if !(radius > 0.1) {
		return swung.Edge{}, false
	}
	section := flute.Parabola(radius)
	reach, ok := section.AlongAt(c.halfWidth + o[swung.OfHalfWidth])
	return swung.Even(section, swung.Setback{Setback: setback, Reach: reach, Exponent: c.exponent}, reach), ok && reach > 0.1
}

func anyGouge(r *rand.Rand) gouge {
	return gouge{uniform(r, 3, 7), uniform(r, 2, 12), uniform(r, 4, 8), uniform(r, 1.8, 3)}
}

// moved is a setting and edge with sizes off, put together without the engine's help.
func moved(g swung.Setting, c gouge, o swung.Offsets, part float64) swung.Face {
	if !g.Wheel.Flat() {
		g.Wheel = geometry.RoundWheel(lengthOf(2/g.Wheel.Curvature() + o[swung.OfDiameter]))
	}
	g.Gap += lengthOf(o[swung.OfGap])
	g.Pivot = geometry.Pivot{Behind: g.Pivot.Behind + lengthOf(o[swung.OfBehind]), Below: g.Pivot.Below + lengthOf(o[swung.OfBelow])}
	g.Aside += lengthOf(o[swung.OfAside])
	g.Roll += unit.Angle(o[swung.OfRoll])
	g.Contact += lengthOf(o[swung.OfContact])
	e, _ := c.shape(o)
	return g.Face(e.At(part * e.Right))
}

// every input of its own, with usual half-widths: rule, calliper and protractor (common practice).
func every() (inputs []swung.Input) {
	for i, half := range []float64{1, 1, 0.5, 0.5, 1 * degree, 2, 1, 0.3, 0.5, 0.2} {
		var o swung.Offsets
		o[i] = 1
		inputs = append(inputs, swung.Input{Changes: o, HalfWidth: half})
	}
	return inputs
}

// Every sensitivity is what differences of the face say.
func TestSensitivitiesAlongTheEdge(t *testing.T) {
	r := chance.New(t)
	var checked int
	for range 400 {
		g, _ := anyRig(r)
		c := anyGouge(r)
		parts := []float64{-1, -0.6, 0, 0.3, 1}
		for i, d := range (swung.Budget{Setting: g, Shape: c.shape, Inputs: every(), Draws: 100, Uniform: r.Float64}).Along(parts) {
			if d.Margin < 0.02 || d.Wedge < 0.1 {
				continue
			}
			for _, p := range d.Parts {
				step := 1e-3 * d.Margin * d.Margin
				at := func(f float64) float64 {
					var o swung.Offsets
					o[p.Input] = f * step
					return moved(g, c, o, parts[i]).Wedge
				}
				slope := (8*(at(1)-at(-1)) - (at(2) - at(-2))) / (12 * step)
				near(t, "sensitivity", p.Sensitivity, slope, 1e-6*(1+math.Abs(slope))+1e-12/step)
				checked++
			}
			if t.Failed() {
				t.Fatalf("at %g: %+v of %+v %+v", parts[i], d, g, c)
			}
		}
	}
	if checked < 5000 {
		t.Errorf("only %d sensitivities", checked)
	}
}

// At the nose they are those of the planar relation.
func TestNoseSensitivityIsPlanar(t *testing.T) {
	r := chance.New(t)
	for range 500 {
		g, nose := anyRig(r)
		g.Aside, g.Roll, g.Contact = 0, 0, 0
		d := (swung.Budget{Setting: g, Shape: anyGouge(r).shape, Inputs: every(), Draws: 100, Uniform: r.Float64}).Along([]float64{0})[0]
		s := g.Wheel.Sensitivity(g.Pivot, unit.Angle(nose), g.Gap)
		want := [10]float64{s.Gap, s.Behind, s.Below, 0, 0, 0, g.Wheel.PerDiameterAtGap(s)}
		for _, p := range d.Parts {
			near(t, "sensitivity", p.Sensitivity, want[p.Input], 1e-9)
		}
	}
}

// Against propagation of distributions (JCGM 101:2008) with 200,000 draws: what is not flagged agrees within a few per cent, and what is
// flagged says what was drawn.
func TestDoubtAgainstMonteCarlo(t *testing.T) {
	const draws = 200_000
	r := chance.New(t)
	var straight, bent int
	for range 40 {
		g, _ := anyRig(r)
		c := anyGouge(r)
		parts := []float64{-1, 0.5, 1}
		b := swung.Budget{Setting: g, Shape: c.shape, Inputs: every(), Draws: 20_000, Uniform: r.Float64}
		for i, d := range b.Along(parts) {
			if !d.Reached() || straight >= 8 && !d.Bent || bent >= 5 && d.Bent {
				continue
			}
			var wedges []float64
			for range draws {
				var o swung.Offsets
				for j, in := range b.Inputs {
					o[j] = in.HalfWidth / 2 * r.NormFloat64()
				}
				if f := moved(g, c, o, parts[i]); f.Reached() {
					wedges = append(wedges, f.Wedge)
				}
			}
			unreached := 1 - float64(len(wedges))/draws
			if !d.Bent {
				straight++
				near(t, "linear over drawn", d.Expanded/(2*deviation(wedges)), 1, 0.04)
				within(t, "the part not reached where linear counts", unreached, 0, 0.003)
				continue
			}
			bent++
			near(t, "the part not reached", d.Unreached, unreached, 0.02)
			if unreached < 0.45 {
				low, high := shortest(wedges)
				near(t, "drawn interval's width", (d.Drawn.High-d.Drawn.Low)/(high-low), 1, 0.05)
			}
		}
		if t.Failed() {
			t.Fatalf("%+v %+v", g, c)
		}
	}
	t.Logf("%d straight, %d bent", straight, bent)
	if straight < 6 || bent < 3 {
		t.Errorf("%d straight, %d bent: the settings are not what they should be", straight, bent)
	}
}

func deviation(values []float64) float64 {
	var mean, squares float64
	for _, v := range values {
		mean += v / float64(len(values))
	}
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	return math.Sqrt(squares / float64(len(values)-1))
}

// shortest interval that holds 95 % of the values.
func shortest(values []float64) (low, high float64) {
	slices.Sort(values)
	span := len(values) * 95 / 100
	low, high = values[0], values[len(values)-1]
	for i := 0; i+span < len(values); i++ {
		if values[i+span]-values[i] < high-low {
			low, high = values[i], values[i+span]
		}
	}
	return low, high
}

// Near the limit the angle moves as a square root of the gap: 18° per millimetre and more. That is flagged, and the part of the draws that
// are not reached is what the normal distribution says lies beyond the limit.
func TestDoubtNearTheLimit(t *testing.T) {
	e, g := rowSix(4, 6.5)
	end := e.At(e.Right)
	_, limit := g.Gaps(end)
	wedge := func(under float64) float64 {
		g.Gap = lengthOf(limit - under)
		f := g.Face(end)
		if !f.Reached() {
			t.Fatalf("%g mm under the limit the end is not reached", under)
		}
		return f.Wedge
	}
	near(t, "four times as far from the limit, twice the angle", (wedge(4e-4)-wedge(0))/(wedge(1e-4)-wedge(0)), 2, 0.01)

	c := gouge{radius: 4, setback: 14, halfWidth: 6.5, exponent: 2}
	for _, under := range []float64{0.1, 0.4, 0.8} {
		const half = 1
		gap := []swung.Input{{Changes: swung.Offsets{swung.OfGap: 1}, HalfWidth: half}}
		b := swung.Budget{Setting: g, Shape: c.shape, Inputs: gap, Draws: 100_000, Uniform: chance.New(t).Float64}
		b.Setting.Gap = lengthOf(limit - under)
		d := b.Along([]float64{1})[0]
		slope := math.Abs(d.Parts[0].Sensitivity)
		near(t, "degrees per mm, by differences", slope/degree, math.Abs(wedge(under-1e-3)-wedge(under+1e-3))/2e-3/degree, 1e-3)
		near(t, "as the root of the distance, degrees per mm", slope*math.Sqrt(under/0.1)/degree, 17.5, 0.5)
		if !d.Bent || d.Margin > swung.LeastMargin {
			t.Errorf("%g mm under the limit it is not flagged: %+v", under, d)
		}
		near(t, "part beyond the limit", d.Unreached, math.Erfc(under/(half/2.0)/math.Sqrt2)/2, 0.006)
		if !(d.Drawn.High-d.Drawn.Low > 0) {
			t.Errorf("nothing drawn: %+v", d)
		}
		b.Setting.Gap = lengthOf(limit - 1e-13) // at the limit itself slopes stay numbers
		if at := b.Along([]float64{1})[0]; at.Reached() && (!at.Bent || math.IsNaN(at.Expanded) || math.IsInf(at.Expanded, 0)) {
			t.Errorf("at the limit: %+v", at)
		}
		b.Setting.Gap, b.Uniform = lengthOf(limit-under), chance.New(t).Float64
		again := b.Along([]float64{1})[0]
		if again.Drawn != d.Drawn || again.Unreached != d.Unreached {
			t.Error("the same question with the same numbers has two answers")
		}
	}
}

// The flute's radius is what the wing's end follows most, by 6 to 8° per millimetre on a nose of 55° that stands 105 behind and 75 above its
// pivot with a setback of 14, when the edge is laid on the new flute with the same half-width. Two flutes half a millimetre either way show it
// without any derivative. (Common practice speaks of 9 to 10°; this setting does not have it anywhere in its row.)
func TestFluteRadiusDominatesTheWing(t *testing.T) {
	for _, radius := range []float64{3.5, 4, 4.5} {
		for _, halfWidth := range []float64{6, 6.5, 7} {
			_, g := rowSix(radius, halfWidth)
			b := swung.Budget{Setting: g, Shape: gouge{radius, 14, halfWidth, 2}.shape, Inputs: every()}
			for i := range b.Inputs {
				b.Inputs[i].HalfWidth = 1
			}
			b.Inputs[swung.OfRoll].HalfWidth = 1 * degree
			b.Inputs[swung.OfHalfWidth].HalfWidth = 0.2
			doubts := b.Along([]float64{1})
			first := doubts[0].Parts[0]
			if first.Input != int(swung.OfFluteRadius) {
				t.Errorf("the largest part is input %d: %+v", first.Input, doubts[0].Parts)
			}
			smaller, larger := endOfRow(radius-0.5, halfWidth), endOfRow(radius+0.5, halfWidth)
			near(t, "degrees per mm of flute radius", first.Sensitivity/degree, (larger-smaller)/degree, 0.05)
			within(t, "degrees per mm of flute radius", first.Sensitivity/degree, 6, 8.2)
		}
	}
}

// endOfRow is the wedge at the wing's end.
func endOfRow(radius, halfWidth float64) float64 {
	e, g := rowSix(radius, halfWidth)
	return g.Face(e.At(e.Right)).Wedge
}

// Parts are ranked and combine as the law of propagation of uncertainty says (JCGM 100:2008, 5.1.2); a budget without inputs has no doubt.
func TestDoubtsCombine(t *testing.T) {
	e, g := rowSix(4, 6.5)
	c := gouge{radius: 4, setback: 14, halfWidth: 6.5, exponent: 2}
	h := geometry.SwingHolder{JointBehindFace: 10, JointBelowAxis: 9, Leg: 60}
	behind, below := h.PerLeg(0.9)
	inputs := []swung.Input{
		{Changes: swung.Offsets{swung.OfBehind: 1}, HalfWidth: 0.5},
		{Changes: swung.Offsets{swung.OfBehind: float64(behind), swung.OfBelow: float64(below)}, HalfWidth: 0.5 * degree},
		{Changes: swung.Offsets{swung.OfDiameter: 1, swung.OfGap: -0.5}, HalfWidth: 1},
	}
	b := swung.Budget{Setting: g, Shape: c.shape, Inputs: inputs}
	parts := []float64{-1, -0.5, 0, 0.5, 1}
	doubts := b.Along(parts)
	for i, d := range doubts {
		near(t, "wedge", d.Wedge, g.Face(e.At(parts[i]*e.Right)).Wedge, 1e-9)
		var list []geometry.Contribution
		for j, p := range d.Parts {
			list = append(list, geometry.Contribution{Sensitivity: p.Sensitivity, HalfWidth: inputs[p.Input].HalfWidth})
			if j > 0 && p.Angle > d.Parts[j-1].Angle {
				t.Errorf("parts are not ranked: %+v", d.Parts)
			}
		}
		near(t, "combined", d.Expanded, float64(geometry.Combined(list)), 1e-15)
		// An even edge's wings are known alike.
		near(t, "the other wing", d.Expanded, doubts[len(doubts)-1-i].Expanded, 1e-9)
	}
	for _, d := range (swung.Budget{Setting: g, Shape: c.shape}).Along(parts) {
		near(t, "no inputs", d.Expanded, 0, 0)
		if d.Bent {
			t.Error("flagged without inputs")
		}
	}
}

// Where nothing is reached, and where sizes make no edge or wheel, nothing is said and nothing is NaN.
func TestDoubtOfNothing(t *testing.T) {
	_, g := rowSix(4, 6.5)
	c := gouge{radius: 4, setback: 14, halfWidth: 6.5, exponent: 2}
	if d := (swung.Budget{Setting: g, Shape: func(swung.Offsets) (swung.Edge, bool) { return swung.Edge{}, false }}).Along([]float64{0}); d != nil {
		t.Errorf("no edge: %+v", d)
	}
	far := g
	far.Gap = 5000
	if d := (swung.Budget{Setting: far, Shape: c.shape, Inputs: every()}).Along([]float64{1})[0]; d.Reached() || d.Parts != nil || d.Bent {
		t.Errorf("far away: %+v", d)
	}
	wild := every()
	for i := range wild {
		wild[i].HalfWidth = 1e6
	}
	d := (swung.Budget{Setting: g, Shape: c.shape, Inputs: wild, Uniform: chance.New(t).Float64}).Along([]float64{1})[0]
	if !d.Bent {
		t.Errorf("a kilometre of doubt is not flagged: %+v", d)
	}
	within(t, "the part not reached", d.Unreached, 0.5, 1)
	if math.IsNaN(d.Expanded + d.Drawn.Low + d.Drawn.High) {
		t.Errorf("%+v", d)
	}
}

// How well 65 points are known, beside the plain analysis of as many.
func BenchmarkDoubt(b *testing.B) {
	e, g := rowSix(5, 6)
	places := e.Places(65)
	parts := make([]float64, len(places))
	for i, along := range places {
		parts[i] = along / e.Right
	}
	budget := swung.Budget{Setting: g, Shape: gouge{radius: 5, setback: 14, halfWidth: 6, exponent: 2}.shape, Inputs: every()}
	for i := range budget.Inputs {
		budget.Inputs[i].HalfWidth /= 20 // small enough that nothing is drawn
	}
	b.Run("analysis", func(b *testing.B) {
		for range b.N {
			sink += swung.Analyse(e, g, geometry.Point{Out: 150, Up: 60}, places).Most.Wedge
		}
	})
	b.Run("doubt", func(b *testing.B) {
		b.ReportAllocs()
		drawn := 0
		for range b.N {
			for _, d := range budget.Along(parts) {
				sink += d.Expanded
				if d.Bent {
					drawn++
				}
			}
		}
		b.ReportMetric(float64(drawn)/float64(b.N), "drawn")
	})
}
