package api

import (
	"context"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
)

// TransferSetup carries a set-up over to another wheel, station, holder or stick-out.
func (g *Grind) TransferSetup(ctx context.Context, req *arrisv1.TransferSetupRequest) (*arrisv1.TransferSetupResponse, error) {
	carry := setup.Carry{
		From: solveIn(req.GetFrom()), To: rigIn(req.GetTo()), Given: settingsIn(req.GetGiven()), Blunter: unit.Degrees(req.GetBlunterDeg()),
	}
	note(ctx, carry.From.Common)
	found, err := g.solver.Transfer(ctx, carry)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.To.Basis)
	return &arrisv1.TransferSetupResponse{From: setupOut(found.From), To: setupOut(found.To), Differences: each(found.Differences, differenceOut)}, nil
}

func differenceOut(d setup.Difference) *arrisv1.Difference {
	out := &arrisv1.Difference{Step: int32(d.Step), Quantity: d.Quantity, Unit: "mm", From: d.From, To: d.To, Text: d.Text}
	if d.IsAngle {
		out.Unit, out.From, out.To = "deg", unit.Angle(d.From).Degrees(), unit.Angle(d.To).Degrees()
	}
	return out
}
