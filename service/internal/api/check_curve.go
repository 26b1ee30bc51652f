package api

import (
	"context"

	"google.golang.org/protobuf/proto"

	"arris.example/geometry"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// CheckCurve tells whether a grind clears the inside of a bowl.
func (g *Grind) CheckCurve(ctx context.Context, req *arrisv1.CheckCurveRequest) (*arrisv1.CheckCurveResponse, error) {
	question := curveIn(req)
	note(ctx, question.Common)
	found, err := g.solver.CheckCurve(ctx, question)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return curveOut(found), nil
}

func curveIn(req *arrisv1.CheckCurveRequest) setup.CurveQuestion {
	q := setup.CurveQuestion{Common: grindAskedIn(req), Radius: mm(req.GetRadiusMm()), Lift: maybeDeg(req.AllowedLiftDeg)}
	for _, p := range req.GetProfile().GetPoints() {
		q.Profile = append(q.Profile, geometry.ProfilePoint{FromAxis: mm(p.GetRadiusMm()), BelowRim: mm(p.GetDepthMm())})
	}
	return q
}

func curveOut(c setup.CurveAnswer) *arrisv1.CheckCurveResponse {
	return &arrisv1.CheckCurveResponse{
		Clears: c.Clears, TightestRadiusMm: optMM(c.Tightest), CurveRadiusMm: optMM(c.Curve), TightestAt: pointAt(c.TightestAt),
		LiftDeg: optDeg(c.Lift), LongestLandMm: optMM(c.Longest), ReliefFrontAngleDeg: optDeg(c.Relief), UndersideRoomDeg: optDeg(c.Underside),
		ShaftRoomMm: optMM(c.Shaft), ShaftCuttingAt: pointAt(c.ShaftAt), ShaftNearestTo: pointAt(c.ShaftNear), Limit: c.Limit,
		Text: c.Text, Cautions: each(c.Cautions, cautionOut), Basis: basisOut(c.Basis),
	}
}

func pointAt(p shop.Maybe[geometry.ProfilePoint]) *arrisv1.ProfilePoint {
	if !p.Known {
		return nil
	}
	return &arrisv1.ProfilePoint{RadiusMm: proto.Float64(float64(p.Value.FromAxis)), DepthMm: proto.Float64(float64(p.Value.BelowRim))}
}
