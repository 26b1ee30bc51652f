package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
)

// SolveSetup goes from an edge wanted to the settings that grind it.
func (g *Grind) SolveSetup(ctx context.Context, req *arrisv1.SolveSetupRequest) (*arrisv1.SolveSetupResponse, error) {
	question := solveIn(req)
	note(ctx, question.Common)
	found, err := g.solver.Solve(ctx, question)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return &arrisv1.SolveSetupResponse{Setup: setupOut(found)}, nil
}
