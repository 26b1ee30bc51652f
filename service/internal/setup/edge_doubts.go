package setup

import (
	"context"
	"math"
	"math/rand/v2"

	"arris.example/geometry/flute"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// A Monte Carlo run takes [swung.DefaultDraws] at a place; where many places were asked for they share two million, about two seconds' work.
// Between some places it is looked whether anybody still waits.
const (
	leastEdgeDraws = 2_000
	allEdgeDraws   = 2_000_000
	doubtsAtOnce   = 8
)

// doubts says how well the wedge is known at every place: by sensitivities where the wedge follows the inputs in a straight line within
// their doubts, and otherwise by drawing the inputs (JCGM 101:2008).
func (x *search) doubts(ctx context.Context, s stand, t shaped, a *swung.Analysis, e *WholeEdge) error {
	b := swung.Budget{
		Setting: a.Setting, Inputs: x.edgeInputs(s, t), Shape: x.edgeShapes(t),
		Draws:   min(swung.DefaultDraws, max(leastEdgeDraws, allEdgeDraws/len(e.Places))),
		Uniform: rand.New(rand.NewPCG(1, 2)).Float64, //nolint:gosec // the same question has the same answer
	}
	for from := 0; from < len(e.Places); from += doubtsAtOnce {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		some := e.Places[from:min(from+doubtsAtOnce, len(e.Places))]
		parts := make([]float64, len(some))
		for i, p := range some {
			parts[i] = p.Share
		}
		for i, d := range b.Along(parts) {
			some[i].doubt(d)
		}
	}
	return nil
}

// doubt takes over how well the wedge is known. Where most draws do not reach the place no half-width says it.
func (p *EdgePlace) doubt(d swung.Doubt) {
	half := unit.Angle(d.Expanded)
	if d.Bent {
		half = unit.Angle((d.Drawn.High - d.Drawn.Low) / 2)
	}
	if d.Reached() && half > 0 {
		p.Expanded, p.MonteCarlo = shop.Some(half), d.Bent
	}
}

// edgeShapes is the edge when the flute's radius is off: laid as it was told, by its half-width, along the flute or to the rim.
func (x *search) edgeShapes(t shaped) func(swung.Offsets) (swung.Edge, bool) {
	off := t
	if t.shape.HalfWidth.Known || t.shape.AlongFlute.Known {
		off.bar = shop.Maybe[flute.Bar]{} // a rim that has moved is no refusal
	}
	return func(o swung.Offsets) (swung.Edge, bool) {
		if o[swung.OfFluteRadius] == 0 {
			return t.edge, true
		}
		there := off
		there.section = withRadius(t.section, t.section.FloorRadius()+o[swung.OfFluteRadius])
		if there.section.Check() != nil {
			return swung.Edge{}, false
		}
		there.edge.Section = there.section
		if x.layEdge(&there, "") != nil {
			return swung.Edge{}, false
		}
		return there.edge, true
	}
}

// edgeInputs are the inputs of a stand, and the flute's radius.
func (x *search) edgeInputs(s stand, t shaped) (list []swung.Input) {
	perGap := x.surface.Sensitivity(s.pivot, s.front, s.set.gap).Gap
	m, _ := x.machine.(*pivots)
	for _, item := range x.inputs(&s) {
		in := swung.Input{HalfWidth: item.HalfWidth}
		switch item.Quantity {
		case "stick_out":
			in.Changes[swung.OfBehind] = 1
		case "leg_angle":
			back, down := x.holder.Arm.PerLeg(s.choice.leg)
			in.Changes[swung.OfBehind], in.Changes[swung.OfBelow] = float64(back), float64(down)
		case wheelDiameter:
			in.Changes[swung.OfDiameter], in.Changes[swung.OfGap] = 1, m.gapPerDiameter(&s)
		case "holder":
			list = append(list, x.holderInputs(s, item.HalfWidth)...)
			continue
		default: // the support's datum and its slide's origin move the gap
			in.Changes[swung.OfGap] = item.Sensitivity / perGap
		}
		list = append(list, in)
	}
	if t.section.Shape() != flute.ShapeFlat {
		half := x.tool.Flute.Value.Doubt.Or(ByCalliper)
		list = append(list, swung.Input{Changes: swung.Offsets{swung.OfFluteRadius: 1}, HalfWidth: float64(half)})
	}
	return list
}

// holderInputs are a holder's own dimensions: behind, below, and a swing holder's leg.
func (x *search) holderInputs(s stand, half float64) []swung.Input {
	list := []swung.Input{{Changes: swung.Offsets{swung.OfBelow: 1}, HalfWidth: half}}
	if x.holder.Kind != shop.Butted {
		list = append(list, swung.Input{Changes: swung.Offsets{swung.OfBehind: 1}, HalfWidth: half})
	}
	if x.holder.Kind == shop.Swing {
		sin, cos := math.Sincos(float64(s.choice.leg))
		list = append(list, swung.Input{Changes: swung.Offsets{swung.OfBehind: cos, swung.OfBelow: sin}, HalfWidth: half})
	}
	return list
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
