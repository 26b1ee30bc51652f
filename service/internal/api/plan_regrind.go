package api

import (
	"context"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
)

// PlanRegrind tells what a change of grind costs, at once or spread over sharpenings.
func (g *Grind) PlanRegrind(ctx context.Context, req *arrisv1.PlanRegrindRequest) (*arrisv1.PlanRegrindResponse, error) {
	change := changeIn(req)
	note(ctx, change.Common)
	found, err := g.solver.Regrind(ctx, change)
	if err != nil {
		return nil, refused(err)
	}
	noteBasis(ctx, found.Basis)
	return regrindOut(found), nil
}

func changeIn(req *arrisv1.PlanRegrindRequest) setup.Change {
	c := setup.Change{
		Common: setup.Common{
			Shop: req.GetShop(), Rig: rigIn(req.GetRig()), Recipe: req.GetRecipe(), AsOf: timeIn(req.GetAsOfTime()),
			Unit: unitIn(req.GetWording().GetLengthUnit()), Language: req.GetWording().GetLanguageCode(),
		},
		Today: grindIn(req.GetToday()), TodayPlaces: placesIn(req.GetToday()),
		UsualLoss: maybeMM(req.UsualLossMm), Sharpenings: int(req.GetSharpenings()), Settings: settingsIn(req.GetSettings()), Tolerance: maybeDeg(req.ToleranceDeg),
	}
	if req.GetGrind() != nil {
		grind := grindIn(req.GetGrind())
		c.Grind, c.Places = &grind, placesIn(req.GetGrind())
	}
	return c
}

func regrindOut(r setup.Regrind) *arrisv1.PlanRegrindResponse {
	return &arrisv1.PlanRegrindResponse{
		TodayEdgeAngleDeg: r.Today.Degrees(), WantedEdgeAngleDeg: r.Wanted.Degrees(), LengthLostMm: float64(r.Lost),
		Sharpenings: int32(r.Sharpenings), LossEachMm: float64(r.LostEach),
		Stages: each(r.Stages, func(s setup.RegrindStage) *arrisv1.RegrindStage {
			return &arrisv1.RegrindStage{Sharpening: int32(s.Sharpening), LengthLostMm: float64(s.Lost), NewBevelWidthMm: float64(s.Width)}
		}),
		SeatAgainAfterMm: optMM(r.SeatAgain), LossDegPerMm: opt(r.PerMM, perDegree),
		Text: r.Text, Cautions: each(r.Cautions, cautionOut), Basis: basisOut(r.Basis),
	}
}
