package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
)

// FindFurthestWing says how far back the wings of an edge may go.
func (g *Grind) FindFurthestWing(ctx context.Context, req *arrisv1.FindFurthestWingRequest) (*arrisv1.FindFurthestWingResponse, error) {
	question := furthestIn(req)
	note(ctx, question.Common)
	found, err := g.solver.FindFurthestWing(ctx, question)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return furthestOut(found), nil
}

func furthestOut(found setup.Furthest) *arrisv1.FindFurthestWingResponse {
	return &arrisv1.FindFurthestWingResponse{
		SetbackMm: float64(found.Setback), Limit: found.Limit, WingAngleDeg: found.Wing.Degrees(), LeastWedgeAngleDeg: found.Least.Degrees(),
		Edge: edgeShapeOut(found.Shape), Text: found.Text, Basis: basisOut(found.Basis),
	}
}

func furthestIn(req *arrisv1.FindFurthestWingRequest) setup.FurthestQuestion {
	q := setup.FurthestQuestion{
		Question: setup.Question{Common: grindAskedIn(req), Given: settingsIn(req.GetGiven())},
		Shape:    edgeShapeIn(req.GetEdge()), Least: maybeDeg(req.LeastWedgeAngleDeg),
	}
	if req.GetSettings() != nil {
		settings := settingsIn(req.GetSettings())
		q.Settings = &settings
	}
	return q
}
