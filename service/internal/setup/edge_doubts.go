package setup

import (
	"context"
	"math"
	"math/rand/v2"

	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// edgeInput is something that the wedge along the edge depends on, with its half-width at 95 % and what it changes.
type edgeInput struct {
	half   float64
	change func(*edgeState, float64)
}

// edgeState is what an input can change: pivot, gap and diameter, and the flute.
type edgeState struct {
	pivot    geometry.Pivot
	gap      unit.Length
	diameter unit.Length
	radius   float64
}

// How many draws a Monte Carlo run takes at a place: with 10,000 its 95 % half-width is good to about one part in fifty. Where many places
// were asked for they share a million, about two seconds' work.
const (
	edgeTrials      = 10_000
	leastEdgeTrials = 2_000
	allEdgeTrials   = 1_000_000
)

// doubts says how well the wedge is known at every place: by sensitivities where the wedge follows the inputs in a straight line within
// their doubts, and otherwise by drawing the inputs (JCGM 101:2008).
func (x *search) doubts(ctx context.Context, s stand, t shaped, a *swung.Analysis, e *WholeEdge) error {
	inputs := x.edgeInputs(s, t)
	model := x.edgeModel(t, a.Setting, inputs)
	trials := min(edgeTrials, max(leastEdgeTrials, allEdgeTrials/len(e.Places)))
	for i := range e.Places {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		p := &e.Places[i]
		if !p.Reached {
			continue
		}
		at := func(draw []float64) (float64, bool) { return model(draw, p.Point.Along) }
		expanded, straight := linearDoubt(at, inputs, float64(p.Wedge))
		if !straight {
			drawn, ok := drawnDoubt(at, inputs, trials)
			if p.MonteCarlo = ok; !ok {
				continue // most draws do not reach the place at all: no half-width says that
			}
			expanded = drawn
		}
		p.Expanded = shop.Some(unit.Angle(expanded))
	}
	return nil
}

// edgeInputs are the inputs of a stand, and the flute's radius.
func (x *search) edgeInputs(s stand, t shaped) (list []edgeInput) {
	perGap := x.surface.Sensitivity(s.pivot, s.front, s.set.gap).Gap
	m, _ := x.machine.(*pivots)
	for _, item := range x.inputs(&s) {
		in := edgeInput{half: item.HalfWidth}
		switch item.Quantity {
		case "stick_out":
			in.change = func(e *edgeState, v float64) { e.pivot.Behind += unit.Length(v) }
		case "leg_angle":
			in.change = func(e *edgeState, v float64) {
				was, is := x.holder.Arm.Pivot(0, s.choice.leg), x.holder.Arm.Pivot(0, s.choice.leg+unit.Angle(v))
				e.pivot.Behind += is.Behind - was.Behind
				e.pivot.Below += is.Below - was.Below
			}
		case "wheel_diameter":
			per := unit.Length(m.gapPerDiameter(&s))
			in.change = func(e *edgeState, v float64) {
				e.diameter += unit.Length(v)
				e.gap += per * unit.Length(v)
			}
		case "holder":
			list = append(list, x.holderInputs(s, item.HalfWidth)...)
			continue
		default: // the support's datum and its slide's origin move the gap
			per := unit.Length(item.Sensitivity / perGap)
			in.change = func(e *edgeState, v float64) { e.gap += per * unit.Length(v) }
		}
		list = append(list, in)
	}
	if t.section.Shape() != flute.ShapeFlat {
		half := x.tool.Flute.Value.Doubt.Or(ByCalliper)
		list = append(list, edgeInput{float64(half), func(e *edgeState, v float64) { e.radius = math.Max(e.radius+v, flute.LeastSize) }})
	}
	return list
}

// holderInputs are a holder's own dimensions: behind, below, and a swing holder's leg.
func (x *search) holderInputs(s stand, half float64) []edgeInput {
	list := []edgeInput{{half, func(e *edgeState, v float64) { e.pivot.Below += unit.Length(v) }}}
	if x.holder.Kind != shop.Butted {
		list = append(list, edgeInput{half, func(e *edgeState, v float64) { e.pivot.Behind += unit.Length(v) }})
	}
	if x.holder.Kind == shop.Swing {
		sin, cos := math.Sincos(float64(s.choice.leg))
		list = append(list, edgeInput{half, func(e *edgeState, v float64) {
			e.pivot.Behind += unit.Length(v * cos)
			e.pivot.Below += unit.Length(v * sin)
		}})
	}
	return list
}

// edgeModel is the wedge at a place while the inputs are off by a draw; false where it is not reached.
func (x *search) edgeModel(t shaped, g swung.Setting, inputs []edgeInput) func(draw []float64, along float64) (float64, bool) {
	still := edgeState{pivot: g.Pivot, gap: g.Gap, radius: t.section.FloorRadius()}
	if !x.surface.Flat() {
		still.diameter = x.surface.Diameter()
	}
	return func(draw []float64, along float64) (float64, bool) {
		is, off := still, t
		for i, in := range inputs {
			if draw[i] != 0 {
				in.change(&is, draw[i])
			}
		}
		there := g
		there.Pivot, there.Gap = is.pivot, is.gap
		if !x.surface.Flat() {
			there.Wheel = geometry.RoundWheel(is.diameter)
		}
		if is.radius != still.radius {
			off.section = withRadius(t.section, is.radius)
			off.edge.Section = off.section
		}
		f := there.Face(off.on(there).At(along))
		return f.Wedge, f.Reached()
	}
}

// withRadius is a flute of the same shape with another radius.
func withRadius(s flute.Section, radius float64) flute.Section {
	switch s.Shape() {
	case flute.ShapeParabola:
		return flute.Parabola(radius)
	case flute.ShapeRound:
		return flute.Round(radius)
	case flute.ShapeVee:
		return flute.Vee(radius, s.Wall())
	}
	return s
}

// bentTooMuch is the share of an input's effect by which both ways may differ for sensitivities to count.
const bentTooMuch = 0.1

// linearDoubt is the half-width by sensitivities, taken over a hundredth of each input's doubt; straight tells whether they hold for all of
// it: to either side the whole doubt has to have the effect foretold, or one that does not matter beside the others together.
func linearDoubt(at func([]float64) (float64, bool), inputs []edgeInput, wedge float64) (expanded float64, straight bool) {
	draw := make([]float64, len(inputs))
	bent := 0.0
	square := 0.0
	for i, in := range inputs {
		step := func(v float64) (float64, bool) {
			draw[i] = v
			w, ok := at(draw)
			draw[i] = 0
			return w - wedge, ok
		}
		const share = 0.01
		up, ok1 := step(share * in.half)
		down, ok2 := step(-share * in.half)
		all, ok3 := step(in.half)
		none, ok4 := step(-in.half)
		if !ok1 || !ok2 || !ok3 || !ok4 {
			return 0, false
		}
		effect := (up - down) / (2 * share)
		square += effect * effect
		bent = math.Max(bent, math.Max(math.Abs(all-effect), math.Abs(none+effect)))
	}
	expanded = math.Sqrt(square)
	return expanded, bent <= bentTooMuch*expanded
}

// drawnDoubt is half the shortest interval that holds 95 % of what the drawn inputs make.
func drawnDoubt(at func([]float64) (float64, bool), inputs []edgeInput, trials int) (float64, bool) {
	known := make([]geometry.Distribution, len(inputs))
	for i, in := range inputs {
		known[i] = geometry.Distribution{Standard: in.half / 2}
	}
	spread, err := geometry.Propagate(known, at, rand.New(rand.NewPCG(1, 2)).Float64, trials)
	if err != nil {
		return 0, false
	}
	within := spread.Shortest(0.95)
	return (within.High - within.Low) / 2, true
}
