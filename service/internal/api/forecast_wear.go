package api

import (
	"context"

	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/wear"
)

// ForecastWear looks forward from a wheel's log.
func (s *Wheels) ForecastWear(ctx context.Context, req *arrisv1.ForecastWearRequest) (*arrisv1.ForecastWearResponse, error) {
	found, err := s.solver.ForecastWear(ctx, setup.WearQuestion{
		Wheel: req.GetName(), AsOf: timeIn(req.GetAsOfTime()), On: timeIn(req.GetForecastTime()),
		Language: req.GetWording().GetLanguageCode(), Unit: unitIn(req.GetWording().GetLengthUnit()),
	})
	if err != nil {
		return nil, refused(err)
	}
	return wearOut(found), nil
}

func wearOut(a setup.WearAnswer) *arrisv1.ForecastWearResponse {
	f := a.Forecast
	out := &arrisv1.ForecastWearResponse{
		Wheel: a.Wheel.Name, MeasurementsCount: int32(a.Count), Wears: a.Wears, DressedUnmeasured: a.Dressed, Texts: a.Texts, //nolint:gosec // a thousand at most
		DiameterMm: mmOut(f.Diameter), LeastDiameterMm: mmOut(f.Diameter - f.HalfWidth), MostDiameterMm: mmOut(f.Diameter + f.HalfWidth),
		ForecastTime: timeOut(a.On), SmallestTime: timeOut(a.Smallest.Expected), EarliestSmallestTime: timeOut(a.Smallest.Earliest),
		RestGapTime: timeOut(a.RestGapAt), Recipes: each(a.Recipes, recipeWearOut),
	}
	if a.Basis == wear.ByUse {
		out.Basis, out.RateMmPerHour = arrisv1.WearBasis_WEAR_BASIS_USE, proto.Float64(a.Rate)
	} else {
		out.Basis, out.RateMmPerDay = arrisv1.WearBasis_WEAR_BASIS_DAYS, proto.Float64(a.Rate)
	}
	return out
}

func recipeWearOut(r setup.RecipeWear) *arrisv1.RecipeWear {
	return &arrisv1.RecipeWear{
		Recipe: r.Recipe, ToleranceDeg: r.Tolerance.Degrees(), DriftDegPerMm: r.PerMM * perDegree, LimitDiameterMm: optMM(r.Limit),
		LimitTime: timeOut(r.LimitAt), DoubtDeg: r.Doubt.Degrees(), MeasureTime: timeOut(r.MeasureAt), Text: r.Text,
	}
}
