package api

import (
	"context"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// MapEdge says which settings of a holder grind the whole edge.
func (g *Grind) MapEdge(ctx context.Context, req *arrisv1.MapEdgeRequest) (*arrisv1.MapEdgeResponse, error) {
	question := mapIn(req)
	note(ctx, question.Common)
	ctx, release, err := g.turns.turn(ctx, true)
	if err != nil {
		return nil, err
	}
	defer release()
	found, err := g.solver.MapEdge(ctx, question)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return mapOut(found), nil
}

func mapOut(found setup.EdgeMap) *arrisv1.MapEdgeResponse {
	out := &arrisv1.MapEdgeResponse{Cells: each(found.Cells, cellOut), FeasibleCells: int32(found.Feasible), Text: found.Text, Basis: basisOut(found.Basis)}
	out.LeastNoseAngleDeg, out.MostNoseAngleDeg = rangeOut(found.Nose)
	out.LeastWingAngleDeg, out.MostWingAngleDeg = rangeOut(found.Wing)
	return out
}

func rangeOut(r shop.Maybe[shop.AngleRange]) (least, most *float64) {
	return optDeg(shop.Maybe[unit.Angle]{Value: r.Value.Least, Known: r.Known}), optDeg(shop.Maybe[unit.Angle]{Value: r.Value.Most, Known: r.Known})
}

func cellOut(c setup.EdgeCell) *arrisv1.EdgeCell {
	return &arrisv1.EdgeCell{
		StickOutMm: float64(c.StickOut), LegAngleDeg: c.Leg.Degrees(), WheelGapMm: float64(c.Gap), Trouble: c.Trouble,
		NoseAngleDeg: optDeg(c.Nose), WingAngleDeg: optDeg(c.Wing),
	}
}

func mapIn(req *arrisv1.MapEdgeRequest) setup.MapQuestion {
	stick, leg, gap := orNew(req.GetStickOut()), orNew(req.GetLeg()), orNew(req.GetWheelGap())
	return setup.MapQuestion{
		Common: setup.Common{
			Shop: req.GetShop(), Rig: rigIn(req.GetRig()), Recipe: req.GetRecipe(), AsOf: timeIn(req.GetAsOfTime()), Unit: unitIn(req.GetWording().GetLengthUnit()), Language: req.GetWording().GetLanguageCode(),
		},
		Given: settingsIn(req.GetGiven()), Shape: edgeShapeIn(req.GetEdge()),
		Sticks: each(axis(stick.GetValuesMm(), stick.FromMm, stick.ToMm, stick.Steps), mm),
		Legs:   each(axis(leg.GetValuesDeg(), leg.FromDeg, leg.ToDeg, leg.Steps), unit.Degrees),
		Gaps:   each(axis(gap.GetValuesMm(), gap.FromMm, gap.ToMm, gap.Steps), mm),
	}
}

// axis is a list as said, or evenly spaced; both ends where nobody says how many.
func axis(values []float64, from, to *float64, steps *int32) []float64 {
	if len(values) > 0 || from == nil && to == nil && steps == nil {
		return values
	}
	first, last := maybe(from).Value, maybe(to).Value
	count := 2
	if steps != nil {
		count = int(*steps)
	}
	list := make([]float64, count)
	for i := range list {
		list[i] = first
		if count > 1 {
			list[i] += (last - first) * float64(i) / float64(count-1)
		}
	}
	return list
}

// orNew is a message that was said, or an empty one.
func orNew[M any](m *M) *M {
	if m == nil {
		return new(M)
	}
	return m
}
