package api

import (
	"math"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// EngineVersion names the engine in every answer. It changes when an answer to the same question may.
const EngineVersion = "1.0.0"

const perDegree = 180 / math.Pi // degrees in a radian, for slopes

func optMM(m shop.Maybe[unit.Length]) *float64 {
	if !m.Known {
		return nil
	}
	return proto.Float64(float64(m.Value))
}

func optDeg(m shop.Maybe[unit.Angle]) *float64 {
	if !m.Known {
		return nil
	}
	return proto.Float64(m.Value.Degrees())
}

func opt(m shop.Maybe[float64], scale float64) *float64 {
	if !m.Known {
		return nil
	}
	return proto.Float64(m.Value * scale)
}

func setupOut(s setup.Setup) *arrisv1.Setup {
	return &arrisv1.Setup{
		Steps: each(s.Steps, stepOut), Cautions: each(s.Cautions, cautionOut), Basis: basisOut(s.Basis), Figure: figureOut(s.Figure),
		TouchFirstOffsetDeg: s.TouchFirstOffset.Degrees(), TouchFirstAppliedDeg: s.TouchFirstApplied.Degrees(), Proof: each(s.Proof, proofOut), Edge: edgeOut(s.Edge),
	}
}

func predictionOut(p setup.Prediction) *arrisv1.PredictGrindResponse {
	return &arrisv1.PredictGrindResponse{
		Steps: each(p.Steps, stepOut), Cautions: each(p.Cautions, cautionOut), Basis: basisOut(p.Basis), Figure: figureOut(p.Figure), Edge: edgeOut(p.Edge),
		Explanations: each(p.Explanations, func(e setup.Explanation) *arrisv1.Explanation {
			return &arrisv1.Explanation{Quantity: e.Quantity, EffectDeg: e.Effect.Degrees(), RemainingDeg: e.Remaining.Degrees(), Text: e.Text}
		}),
	}
}

func each[A, B any](list []A, convert func(A) B) []B {
	out := make([]B, len(list))
	for i, a := range list {
		out[i] = convert(a)
	}
	return out
}

func stepOut(s setup.Step) *arrisv1.Step {
	out := &arrisv1.Step{
		Bevel: int32(s.Bevel), StickOut: lengthOut(s.StickOut), LegAngle: angleOut(s.Leg), LegPosition: s.Position,
		Support: supportOut(s.Support), Predicted: anglesOut(s.Predicted), Text: s.Text, FigurePart: s.FigurePart, Side: arrisv1.Side(s.Side),
		WantedFrontAngleDeg: s.Wanted.Degrees(), PocketAsideMm: float64(s.PocketAside), ErrorBudget: each(s.Budget, budgetOut),
	}
	out.Figure = figureOut(s.Figure)
	if s.Basis != nil {
		out.Basis = basisOut(*s.Basis)
	}
	out.Improve = improveOut(s.Improve)
	return out
}

func improveOut(i *setup.Improvement) *arrisv1.Improvement {
	if i == nil {
		return nil
	}
	return &arrisv1.Improvement{Quantity: i.Quantity, ExpandedUncertaintyDeg: i.Expanded.Degrees(), Text: i.Text}
}

func proofOut(p setup.Proof) *arrisv1.Proof {
	return &arrisv1.Proof{Step: int32(p.Step), EdgeAngleDeg: p.Edge.Degrees(), DifferenceDeg: p.Difference.Degrees(), Lines: p.Lines}
}

func lengthOut(l *setup.LengthSetting) *arrisv1.LengthSetting {
	if l == nil {
		return nil
	}
	return &arrisv1.LengthSetting{ExactMm: float64(l.Exact), SetMm: float64(l.Set), DegPerMm: l.PerMM * perDegree, Text: l.Text, MeasuredTo: l.To}
}

func angleOut(a *setup.AngleSetting) *arrisv1.AngleSetting {
	if a == nil {
		return nil
	}
	return &arrisv1.AngleSetting{ExactDeg: a.Exact.Degrees(), SetDeg: a.Set.Degrees(), DegPerDeg: a.PerAngle, Text: a.Text}
}

func supportOut(s setup.SupportSetting) *arrisv1.SupportSetting {
	out := &arrisv1.SupportSetting{
		Slide:               lengthOut(s.Lengths[shop.DatumSlide]),
		WheelGap:            lengthOut(s.Lengths[shop.DatumWheelGap]),
		WheelGapFar:         lengthOut(s.Lengths[shop.DatumWheelGapFar]),
		PivotToAxle:         lengthOut(s.Lengths[shop.DatumPivotToAxle]),
		FaceDistance:        lengthOut(s.Lengths[shop.DatumFaceDistance]),
		Height:              lengthOut(s.Lengths[shop.DatumHeight]),
		PlatformToAxle:      lengthOut(s.Lengths[shop.DatumPlatformToAxle]),
		PlatformTilt:        angleOut(s.Tilt),
		ReferenceLineToAxle: lengthOut(s.Line),
		SetBy:               s.SetBy.String(),
	}
	if m := s.Move; m != nil {
		out.Move = &arrisv1.Move{SlideMm: optMM(m.Slide), AdjusterTurns: opt(m.Turns, 1), Text: m.Text, WheelGapMm: optMM(m.Gap), TiltDeg: optDeg(m.Tilt)}
	}
	return out
}

func anglesOut(a setup.Angles) *arrisv1.Angles {
	return &arrisv1.Angles{
		EdgeAngleDeg: a.Edge.Degrees(), BevelReadingDeg: optDeg(a.Reading), ExpandedUncertaintyDeg: a.Expanded.Degrees(),
		BevelWidthMm: optMM(a.Width), HollowDepthMm: optMM(a.Hollow), ContactHeightMm: optMM(a.ContactHeight), ContactAngleDeg: optDeg(a.ContactAngle),
		ToolPitchDeg: optDeg(a.Pitch), IncludedEdgeAngleDeg: optDeg(a.IncludedEdge), IncludedReadingDeg: optDeg(a.IncludedReading),
		AxialEdgeAngleDeg: optDeg(a.Axial), RestGapMm: optMM(a.RestGap), WearDegPerMm: opt(a.WearPerMM, perDegree),
		CornerEdgeAngleDeg: optDeg(a.Corner), SurfaceSpeedMps: opt(a.SurfaceSpeed, 1),
	}
}

func budgetOut(b setup.BudgetItem) *arrisv1.BudgetItem {
	out := &arrisv1.BudgetItem{
		Quantity: b.Quantity, Unit: "mm", HalfWidth: b.HalfWidth, DegPerUnit: b.Sensitivity * perDegree,
		ContributionDeg: b.Contribution().Degrees(), Text: b.Text,
	}
	if b.IsAngle {
		out.Unit, out.HalfWidth, out.DegPerUnit = "deg", unit.Angle(b.HalfWidth).Degrees(), b.Sensitivity
	}
	return out
}

func cautionOut(c setup.Caution) *arrisv1.Caution {
	return &arrisv1.Caution{Code: c.Code, Severity: arrisv1.Severity(c.Severity), Text: c.Text, Source: c.Source}
}

func basisOut(b setup.Basis) *arrisv1.Basis {
	out := &arrisv1.Basis{
		RecipeRevision: b.Recipe, WheelDiameterMm: float64(b.WheelDiameter), EngineVersion: EngineVersion,
		Station: b.Station, Wheel: b.Wheel, Holder: b.Holder, Tool: b.Tool, Support: b.Support, StaleByDeg: b.Stale.Degrees(),
	}
	if !b.WheelMeasured.IsZero() {
		out.WheelMeasureTime = timestamppb.New(b.WheelMeasured)
	}
	return out
}

func refusalOut(r *setup.Refusal) *arrisv1.GrindRefusal {
	return &arrisv1.GrindRefusal{
		Field: r.Field, Unit: r.Unit, Value: opt(r.Value, 1), Least: opt(r.Least, 1), Most: opt(r.Most, 1), Ways: each(r.Ways, wayOut),
	}
}

func wayOut(w setup.Way) *arrisv1.Way {
	out := &arrisv1.Way{Text: w.Text}
	if w.Edge.Known {
		out.Edge = edgeShapeOut(w.Edge.Value)
		return out
	}
	if w.Bevel.Known {
		out.FirstBevel = bevelOut(w.Bevel.Value)
		return out
	}
	out.Settings = settingsOut(w.Settings)
	return out
}

func bevelOut(b shop.Bevel) *arrisv1.Bevel {
	out, d := &arrisv1.Bevel{WidthMm: optMM(b.Width)}, b.Angle.Degrees()
	if b.Given != (shop.Settings{}) {
		out.Given = settingsOut(b.Given)
	}
	switch b.Of {
	case shop.FrontAngle:
		out.Angle = &arrisv1.Bevel_FrontAngleDeg{FrontAngleDeg: d}
	case shop.Reading:
		out.Angle = &arrisv1.Bevel_ReadingDeg{ReadingDeg: d}
	case shop.IncludedFrontAngle:
		out.Angle = &arrisv1.Bevel_IncludedFrontAngleDeg{IncludedFrontAngleDeg: d}
	case shop.IncludedReading:
		out.Angle = &arrisv1.Bevel_IncludedReadingDeg{IncludedReadingDeg: d}
	}
	return out
}

func settingsOut(s shop.Settings) *arrisv1.Settings {
	out := &arrisv1.Settings{StickOutMm: optMM(s.StickOut)}
	if s.Position != "" {
		out.Leg = &arrisv1.Settings_LegPosition{LegPosition: s.Position}
	} else if s.Leg.Known {
		out.Leg = &arrisv1.Settings_LegAngleDeg{LegAngleDeg: s.Leg.Value.Degrees()}
	}
	v := float64(s.Support)
	switch s.Datum {
	case shop.DatumSlide:
		out.Support = &arrisv1.Settings_SlideMm{SlideMm: v}
	case shop.DatumWheelGap:
		out.Support = &arrisv1.Settings_WheelGapMm{WheelGapMm: v}
	case shop.DatumWheelGapFar:
		out.Support = &arrisv1.Settings_WheelGapFarMm{WheelGapFarMm: v}
	case shop.DatumPivotToAxle:
		out.Support = &arrisv1.Settings_PivotToAxleMm{PivotToAxleMm: v}
	case shop.DatumFaceDistance:
		out.Support = &arrisv1.Settings_FaceDistanceMm{FaceDistanceMm: v}
	case shop.DatumHeight:
		out.Support = &arrisv1.Settings_HeightMm{HeightMm: v}
	case shop.DatumTilt:
		out.Support = &arrisv1.Settings_PlatformTiltDeg{PlatformTiltDeg: s.Tilt.Degrees()}
	case shop.DatumPlatformToAxle:
		out.Support = &arrisv1.Settings_PlatformToAxleMm{PlatformToAxleMm: v}
	}
	return out
}

// figureOut is the drawing, when there is one.
func figureOut(f *drawing.Figure) *arrisv1.Figure {
	if f == nil {
		return nil
	}
	return &arrisv1.Figure{Least: pointOut(f.Least), Most: pointOut(f.Most), Description: f.Description, Items: each(f.Items, itemOut)}
}
