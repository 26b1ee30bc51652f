package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
)

// PredictGrind goes from settings to the edge they grind.
func (g *Grind) PredictGrind(ctx context.Context, req *arrisv1.PredictGrindRequest) (*arrisv1.PredictGrindResponse, error) {
	forecast := predictIn(req)
	note(ctx, forecast.Common)
	ctx, release, err := g.turns.turn(ctx, forecast.Mesh)
	if err != nil {
		return nil, err
	}
	defer release()
	found, err := g.solver.Predict(ctx, forecast)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return predictionOut(found), nil
}
