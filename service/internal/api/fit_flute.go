package api

import (
	"context"

	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// FitFlute finds a flute from what can be measured on it.
func (g *Grind) FitFlute(ctx context.Context, req *arrisv1.FitFluteRequest) (*arrisv1.FitFluteResponse, error) {
	found, err := setup.FitFlute(fluteMeasuresIn(req))
	if err != nil {
		return nil, refused(err)
	}
	return flutesOut(found), ctx.Err()
}

func flutesOut(f setup.FittedFlutes) *arrisv1.FitFluteResponse {
	return &arrisv1.FitFluteResponse{Fits: each(f.Fits, fluteFitOut), Cautions: each(f.Cautions, cautionOut), Text: f.Text}
}

func fluteMeasuresIn(req *arrisv1.FitFluteRequest) setup.FluteMeasures {
	m := setup.FluteMeasures{
		Shape: shop.FluteShape(req.GetShape()), Doubt: lengthDoubtIn(req.GetDoubt()), PointDoubt: lengthDoubtIn(req.GetPointDoubt()),
		ScaleDoubt: req.GetScaleDoubtPercent() / 100, TurnDoubt: unit.Degrees(req.GetTurnDoubtDeg()),
		Language: req.GetWording().GetLanguageCode(), Unit: unitIn(req.GetWording().GetLengthUnit()),
	}
	if mouth := req.GetMouth(); mouth != nil {
		m.Mouth = shop.Some(setup.FluteMouth{Width: mm(mouth.GetWidthMm()), Depth: mm(mouth.GetDepthMm())})
	}
	for _, p := range req.GetPins() {
		m.Pins = append(m.Pins, setup.FlutePin{Diameter: mm(p.GetDiameterMm()), AboveFloor: mm(p.GetAboveFloorMm())})
	}
	for _, p := range req.GetPoints() {
		m.Points = append(m.Points, setup.FlutePoint{Side: mm(p.GetSideMm()), Up: mm(p.GetUpMm())})
	}
	return m
}

func fluteFitOut(f setup.FluteFit) *arrisv1.FluteFit {
	out := &arrisv1.FluteFit{Flute: fluteOut(f.Flute), Fits: f.Fits, LeftOver: int32(f.LeftOver), Text: f.Text}
	if f.Allowed {
		out.RadiusHalfWidthMm, out.ResidualCount = proto.Float64(float64(f.Flute.Doubt.Value)), proto.Float64(f.Residual)
		out.WallHalfWidthDeg = optDeg(f.WallDoubt)
	}
	return out
}

func fluteOut(f shop.Flute) *arrisv1.Flute {
	out := &arrisv1.Flute{Shape: arrisv1.FluteShape(f.Shape)}
	if f.Radius > 0 {
		out.RadiusMm = proto.Float64(float64(f.Radius))
	}
	if f.Wall > 0 {
		out.WallAngleDeg = proto.Float64(f.Wall.Degrees())
	}
	if f.Doubt.Known {
		out.RadiusDoubt = &arrisv1.LengthDoubt{Source: &arrisv1.LengthDoubt_HalfWidthMm{HalfWidthMm: float64(f.Doubt.Value)}}
	}
	return out
}
