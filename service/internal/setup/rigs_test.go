package setup_test

import (
	"math"
	"math/rand/v2"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// anyWheel draws a wheel of a workshop, one in ten flat.
func anyWheel(r *rand.Rand) *shop.Wheel {
	if r.IntN(10) == 0 {
		return flat()
	}
	w := wheel(math.Round(uniform(r, 100, 300)*10) / 10)
	w.Doubt = length(uniform(r, 0.05, 1))
	return w
}

// anyTool draws a tool that a pivot can hold.
func anyTool(r *rand.Rand) *shop.Tool {
	switch r.IntN(5) {
	case 0:
		return &shop.Tool{Kind: shop.Skew, Thickness: length(uniform(r, 4, 12)), EdgeToSide: angle(uniform(r, 60, 90))}
	case 1:
		return &shop.Tool{Kind: shop.PartingTool, Thickness: length(uniform(r, 8, 20))}
	case 2:
		return &shop.Tool{Kind: shop.Scraper, Thickness: length(uniform(r, 5, 12))}
	default:
		return &shop.Tool{Kind: shop.BowlGouge, SteelUnderFlute: length(uniform(r, 5, 10))}
	}
}

// anyHolder draws a holder and settings that go with it.
func anyHolder(r *rand.Rand) (*shop.Holder, shop.Settings) {
	switch r.IntN(4) {
	case 0:
		h := clamp(uniform(r, 0, 60), uniform(r, 5, 60))
		h.FromBed, h.TurnsOver, h.Yawed = r.IntN(2) == 0, r.IntN(2) == 0, r.IntN(2) == 0
		return h, stuckOut(math.Round(uniform(r, 30, 120)))
	case 1:
		h := swing()
		h.Arm = geometry.SwingHolder{JointBehindFace: unit.Length(uniform(r, 10, 40)), JointBelowAxis: unit.Length(uniform(r, 0, 20)), Leg: unit.Length(uniform(r, 50, 110))}
		return h, swung(math.Round(uniform(r, 25, 90)), math.Round(uniform(r, 0, 60)))
	case 2:
		return &shop.Holder{Kind: shop.Butted, Below: unit.Length(uniform(r, -15, 15))}, stuckOut(math.Round(uniform(r, 250, 500)))
	}
	return pivot(uniform(r, 60, 300), uniform(r, -10, 80)), shop.Settings{}
}

// anySupport draws a bar or a pocket that the holder takes, on a slide that passes somewhere near the place where such a rig is held.
func anySupport(r *rand.Rand, h *shop.Holder, w *shop.Wheel) shop.Support {
	s := shop.Support{ID: "bar", Kind: shop.Bar, Near: 6, Far: 6, Top: 6}
	if pocketed := h.Kind == shop.Swing || h.Kind == shop.Butted || h.Kind == shop.BarePivot && r.IntN(2) == 0; pocketed {
		s = shop.Support{ID: "pocket", Kind: shop.Pocket, Near: unit.Length(uniform(r, -8, 3))}
	}
	direction := math.Round(uniform(r, -180, 180))
	if r.IntN(3) == 0 {
		direction = []float64{0, 90, 180, -90}[r.IntN(4)]
	}
	radius := float64(w.Diameter) / 2
	away := radius + uniform(r, 20, 200)
	from := uniform(r, -1.2, 0.6)
	// The slide's line passes a place in front of the wheel; its scale starts somewhere along it.
	zero := uniform(r, 0, 300)
	sin, cos := math.Sincos(float64(unit.Degrees(direction)))
	s.Slide = slide(away*math.Cos(from)-zero*cos, away*math.Sin(from)-zero*sin, direction, -200, 600)
	s.Reference = length(uniform(r, -300, -100))
	data := []shop.Datum{shop.DatumUnset, shop.DatumWheelGap, shop.DatumSlide, shop.DatumFaceDistance, shop.DatumHeight}
	if s.Kind == shop.Bar {
		data = append(data, shop.DatumWheelGapFar)
	}
	if !w.Flat {
		data = append(data, shop.DatumPivotToAxle)
	}
	s.Datum = data[r.IntN(len(data))]
	return s
}

// anyGrind draws an edge and, now and then, what lies behind it.
func anyGrind(r *rand.Rand) *shop.Grind {
	edge := math.Round(uniform(r, 25, 75))
	if r.IntN(3) > 0 {
		return grind(front(edge))
	}
	return grind(land(edge, uniform(r, 1, 3)), front(edge-uniform(r, 6, 15)))
}

// anyQuestion draws a whole question about a rig held at a pivot. Many have no answer.
func anyQuestion(r *rand.Rand) setup.Question {
	w, tool := anyWheel(r), anyTool(r)
	h, given := anyHolder(r)
	st := station(anySupport(r, h, w))
	st.EdgeAngles = shop.Some(shop.AngleRange{Least: unit.Degrees(10), Most: unit.Degrees(90)})
	q := setup.Question{Common: rig(st, w, h, tool), Given: given, Rounding: setup.Rounding{LengthStep: unit.Length([]float64{0, 0.001, 0.5}[r.IntN(3)])}}
	q.Grind, q.Budget = anyGrind(r), true
	if tool.Kind.TwoBevels() { // every bevel is on both faces: keep the whole edge below 90°
		for i := range q.Grind.Bevels {
			q.Grind.Bevels[i].Angle /= 2
		}
	}
	return q
}

// anyTable draws a question about a tool on a platform.
func anyTable(r *rand.Rand) setup.Question {
	w := anyWheel(r)
	tool := []*shop.Tool{
		{Kind: shop.Scraper, Thickness: length(uniform(r, 5, 12))},
		{Kind: shop.Skew, Thickness: length(uniform(r, 4, 12)), EdgeToSide: angle(uniform(r, 60, 90))},
		{Kind: shop.BowlGouge, SteelUnderFlute: length(uniform(r, 5, 10))},
	}[r.IntN(3)]
	radius := float64(w.Diameter) / 2
	table := tilting(radius+uniform(r, 2, 60), uniform(r, -40, 40), uniform(r, 0, 20), -80, 60)
	if r.IntN(2) == 0 && !w.Flat {
		table.Table.Hinge = shop.Maybe[geometry.Point]{}
		table.Table.Tilt = angle(uniform(r, -40, 20))
		table.Slide = slide(radius+uniform(r, 2, 40), uniform(r, -80, 0), []float64{90, 80, 100, -90}[r.IntN(4)], -300, 300)
	}
	q := setup.Question{Common: rig(station(table), w, &shop.Holder{}, tool), Rounding: setup.Rounding{AngleStep: unit.Degrees([]float64{0, 0.01}[r.IntN(2)])}}
	q.Grind, q.Budget = anyGrind(r), true
	if tool.Kind.TwoBevels() {
		for i := range q.Grind.Bevels {
			q.Grind.Bevels[i].Angle /= 2
		}
	}
	return q
}
