package api

import (
	"slices"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

// The other way of in.go: plain records as the schema has them, so that in(out(record)) is the record. A doubt comes out as its half-width,
// and what has a usual value says it.

func mmOut(l unit.Length) *float64 { return proto.Float64(float64(l)) }

func degOut(a unit.Angle) *float64 { return proto.Float64(a.Degrees()) }

func timeOut(t time.Time) *timestamppb.Timestamp {
	if t.IsZero() {
		return nil
	}
	return timestamppb.New(t)
}

func daysOut(m shop.Maybe[int]) *int32 {
	if !m.Known {
		return nil
	}
	return proto.Int32(int32(m.Value)) //nolint:gosec // the schema takes few days
}

func lengthDoubtOut(d shop.LengthDoubt) *arrisv1.LengthDoubt {
	if !d.Known {
		return nil
	}
	return &arrisv1.LengthDoubt{Source: &arrisv1.LengthDoubt_HalfWidthMm{HalfWidthMm: float64(d.Value)}}
}

func shopOut(s shop.Shop) *arrisv1.Shop {
	return &arrisv1.Shop{Name: s.Name, DisplayName: s.DisplayName, TimeZone: s.TimeZone}
}

func stationOut(s shop.Station) *arrisv1.Station {
	out := &arrisv1.Station{
		Name: s.Name, DisplayName: s.DisplayName, SpindleSpeedRpm: opt(s.SpindleRPM, 1), SmallestWheelDiameterMm: optMM(s.SmallestWheel),
		LargestRestGapMm: optMM(s.LargestRestGap), Supports: each(s.Supports, keptSupportOut),
		State: arrisv1.StationState(s.State), StateReason: s.StateReason, StateTime: timeOut(s.StateTime),
		InspectionIntervalDays: daysOut(s.Inspecting.Every), InspectTime: timeOut(s.Inspecting.Last), InspectionDueTime: timeOut(s.Inspecting.Due),
		InspectFinding: arrisv1.InspectionFinding(s.Inspecting.Finding),
	}
	if g := s.Guard; g.Known {
		out.GuardOpening = &arrisv1.GuardOpening{LeastDeg: degOut(g.Value.Least), MostDeg: degOut(g.Value.Most)}
	}
	if e := s.EdgeAngles; e.Known {
		out.EdgeAngles = &arrisv1.EdgeAngleRange{LeastDeg: degOut(e.Value.Least), MostDeg: degOut(e.Value.Most)}
	}
	return out
}

func keptSupportOut(s shop.Support) *arrisv1.Support {
	out := &arrisv1.Support{SupportId: s.ID, Datum: arrisv1.Datum(s.Datum), ReferenceUpMm: optMM(s.Reference)}
	switch s.Kind {
	case shop.AnySupport: // a bare distance is never kept
	case shop.Bar:
		out.Kind = &arrisv1.Support_Bar{Bar: &arrisv1.Bar{DiameterMm: mmOut(2 * s.Near)}}
	case shop.Pocket:
		out.Kind = &arrisv1.Support_Pocket{Pocket: &arrisv1.Pocket{GaugedSurfaceNearerMm: mmOut(s.Near)}}
	case shop.Platform:
		out.Kind = &arrisv1.Support_Platform{Platform: tableOut(s.Table)}
	}
	if slide := s.Slide; slide.Known {
		out.Slide = slideOut(slide.Value)
	}
	if a := s.Adjuster; a.Known {
		out.Adjuster = &arrisv1.Adjuster{LeadMmPerTurn: mmOut(a.Value.Lead), Clockwise: arrisv1.ClockwiseTurn_CLOCKWISE_TURN_LOWERS_READING, BacklashMm: mmOut(a.Value.Backlash)}
		if a.Value.ClockwiseRaises {
			out.Adjuster.Clockwise = arrisv1.ClockwiseTurn_CLOCKWISE_TURN_RAISES_READING
		}
	}
	return out
}

func slideOut(s shop.Slide) *arrisv1.Slide {
	return &arrisv1.Slide{
		OriginOutMm: mmOut(s.Origin.Out), OriginUpMm: mmOut(s.Origin.Up), DirectionDeg: degOut(s.Direction),
		LeastMm: mmOut(s.Travel.Least), MostMm: mmOut(s.Travel.Most), OriginDoubt: lengthDoubtOut(s.Doubt),
	}
}

func tableOut(t shop.Table) *arrisv1.Platform {
	out := &arrisv1.Platform{
		SurfaceAboveHingeMm: mmOut(t.Surface), TiltDeg: optDeg(t.Tilt), FrontBeforeHingeMm: optMM(t.Front),
		LeastTiltDeg: degOut(t.Tilts.Least), MostTiltDeg: degOut(t.Tilts.Most),
	}
	if t.Hinge.Known {
		out.HingeOutMm, out.HingeUpMm = mmOut(t.Hinge.Value.Out), mmOut(t.Hinge.Value.Up)
	}
	return out
}

func wheelOut(w shop.Wheel) *arrisv1.Wheel {
	out := &arrisv1.Wheel{
		Name: w.Name, DisplayName: w.DisplayName, DiameterDoubt: lengthDoubtOut(w.Doubt), MeasureTime: timeOut(w.Measured),
		NewDiameterMm: optMM(w.NewDiameter), SmallestDiameterMm: optMM(w.Smallest), WidthMm: optMM(w.Width), Abrasive: arrisv1.AbrasiveKind(w.Abrasive),
		Grit: w.Grit, MarkedSpeedMps: opt(w.MarkedMPS, 1), MarkedSpeedRpm: opt(w.MarkedRPM, 1), Station: w.Station, DressTime: timeOut(w.Dressed),
		Steels: each(w.AllowedSteels, func(s shop.Steel) arrisv1.SteelClass { return arrisv1.SteelClass(s) }),
		Shape:  &arrisv1.Wheel_DiameterMm{DiameterMm: float64(w.Diameter)},

		InspectionIntervalDays: daysOut(w.Inspecting.Every), InspectTime: timeOut(w.Inspecting.Last), InspectionDueTime: timeOut(w.Inspecting.Due),
		InspectFinding: arrisv1.InspectionFinding(w.Inspecting.Finding),
	}
	if w.Flat {
		flat := &arrisv1.FlatAbrasive{}
		if w.Diameter > 0 {
			flat.SpeedDiameterMm = mmOut(w.Diameter)
		}
		out.Shape = &arrisv1.Wheel_Flat{Flat: flat}
	}
	return out
}

func holderOut(h shop.Holder) *arrisv1.Holder {
	out := &arrisv1.Holder{
		Name: h.Name, DisplayName: h.DisplayName, FaceDepthMm: optMM(h.FaceDepth), Doubt: lengthDoubtOut(h.Doubt),
		InspectionIntervalDays: daysOut(h.Inspecting.Every), InspectTime: timeOut(h.Inspecting.Last), InspectionDueTime: timeOut(h.Inspecting.Due),
		InspectFinding: arrisv1.InspectionFinding(h.Inspecting.Finding),
	}
	switch h.Kind {
	case shop.NoHolder:
		out.Kind = &arrisv1.Holder_None{None: &arrisv1.NoHolder{}}
	case shop.Clamp:
		out.Kind = &arrisv1.Holder_Clamp{Clamp: clampOut(h)}
	case shop.Swing:
		out.Kind = &arrisv1.Holder_Swing{Swing: swingOut(h)}
	case shop.Butted:
		out.Kind = &arrisv1.Holder_Butted{Butted: &arrisv1.ButtedHandle{SeatBelowMm: mmOut(h.Below)}}
	case shop.BarePivot:
		out.Kind = &arrisv1.Holder_Pivot{Pivot: &arrisv1.BarePivot{BehindMm: mmOut(h.Behind), BelowMm: mmOut(h.Below)}}
	}
	return out
}

func clampOut(h shop.Holder) *arrisv1.ClampHolder {
	out := &arrisv1.ClampHolder{
		BarBehindFaceMm: mmOut(h.Behind), BarBelowMm: mmOut(h.Below), BelowFrom: arrisv1.BelowFrom_BELOW_FROM_REFERENCE_LINE,
		TurningOver: arrisv1.TurningOver_TURNING_OVER_LAID_AGAIN, YawedWithBlade: h.Yawed,
	}
	if h.FromBed {
		out.BelowFrom = arrisv1.BelowFrom_BELOW_FROM_BED
	}
	if h.TurnsOver {
		out.TurningOver = arrisv1.TurningOver_TURNING_OVER_WITH_CLAMP
	}
	return out
}

func swingOut(h shop.Holder) *arrisv1.SwingHolder {
	return &arrisv1.SwingHolder{
		JointBehindFaceMm: mmOut(h.Arm.JointBehindFace), JointBelowAxisMm: mmOut(h.Arm.JointBelowAxis), LegLengthMm: mmOut(h.Arm.Leg),
		LeastLegAngleDeg: degOut(h.Leg.Least), MostLegAngleDeg: degOut(h.Leg.Most), MostLeanDeg: optDeg(h.MostLean),
		LegPositions: each(h.Positions, func(p shop.LegPosition) *arrisv1.LegPosition {
			return &arrisv1.LegPosition{PositionId: p.ID, LegAngleDeg: degOut(p.Angle)}
		}),
	}
}

func toolOut(t shop.Tool) *arrisv1.Tool {
	out := &arrisv1.Tool{
		Name: t.Name, DisplayName: t.DisplayName, Kind: arrisv1.ToolKind(t.Kind), Steel: arrisv1.SteelClass(t.Steel),
		SteelUnderFluteMm: optMM(t.SteelUnderFlute), BladeThicknessMm: optMM(t.Thickness), EdgeToSideDeg: optDeg(t.EdgeToSide),
		FluteRadiusMm: optMM(t.FluteRadius), FluteHalfAngleDeg: optDeg(t.FluteHalfAngle), EdgeBelowTopMm: optMM(t.EdgeBelowTop),
		OverallLengthMm: optMM(t.OverallLength), FreeBladeMm: optMM(t.FreeBlade), SmallestGripMm: optMM(t.SmallestGrip), Recipe: t.Recipe,
		UsableLengthMm: optMM(t.UsableLength), Location: t.Location, State: arrisv1.ToolState(t.State),
	}
	if t.Flute.Known {
		out.Flute = fluteOut(t.Flute.Value)
		out.Flute.RadiusDoubt = lengthDoubtOut(t.Flute.Value.Doubt)
	}
	if t.Bar.Known {
		out.Bar = barOut(t.Bar.Value)
	}
	if t.Edge.Known {
		out.Edge = edgeShapeOut(t.Edge.Value)
	}
	return out
}

func barOut(b shop.BarSection) *arrisv1.BarSection {
	if b.Diameter > 0 {
		return &arrisv1.BarSection{Shape: &arrisv1.BarSection_DiameterMm{DiameterMm: float64(b.Diameter)}}
	}
	flat := &arrisv1.RectangularBar{WidthMm: mmOut(b.Width), ThicknessMm: mmOut(b.Thickness)}
	return &arrisv1.BarSection{Shape: &arrisv1.BarSection_Rectangular{Rectangular: flat}}
}

// recipeOut is a recipe by its own name: its published revision, or where none is its newest.
func recipeOut(h store.RecipeHead) *arrisv1.Recipe {
	out := revisionOf(h, h.Published.Or(h.Newest))
	out.Name = h.Newest.Name
	return out
}

// newestOut is a recipe's newest revision, which an update starts from.
func newestOut(h store.RecipeHead) *arrisv1.Recipe {
	out := revisionOf(h, h.Newest)
	out.Name = h.Newest.Name
	return out
}

// revisionOf is one revision beside its recipe's head.
func revisionOf(h store.RecipeHead, r shop.Recipe) *arrisv1.Recipe {
	out := &arrisv1.Recipe{
		Name: r.RevisionName(), DisplayName: r.DisplayName, Revision: int32(r.Revision), //nolint:gosec // revisions are counted one by one
		NewestRevision: int32(h.Newest.Revision), PublishedRevision: int32(h.Published.Value.Revision), //nolint:gosec // as above
		Tools: each(r.Tools, func(k shop.ToolKind) arrisv1.ToolKind { return arrisv1.ToolKind(k) }),
		Grind: grindOut(r.Grind), Holder: r.Holder, SteelMm: optMM(r.Steel), ToleranceDeg: optDeg(r.Tolerance), Notes: r.Notes,
		State: arrisv1.RecipeState_RECIPE_STATE_DRAFT,
	}
	if r.Settings != (shop.Settings{}) {
		out.Settings = settingsOut(r.Settings)
	}
	switch published := h.Published; {
	case published.Known && published.Value.Revision == r.Revision:
		out.State = arrisv1.RecipeState_RECIPE_STATE_PUBLISHED
	case slices.Contains(h.Superseded, r.Revision):
		out.State = arrisv1.RecipeState_RECIPE_STATE_SUPERSEDED
	}
	return out
}

func measurementOut(m shop.Measurement) *arrisv1.WheelMeasurement {
	out := &arrisv1.WheelMeasurement{Name: m.Name, Doubt: lengthDoubtOut(m.Doubt), Dressed: m.Dressed, Notes: m.Notes, OccurTime: timeOut(m.Occurred)}
	switch {
	case m.Diameter.Known:
		out.Size = &arrisv1.WheelMeasurement_DiameterMm{DiameterMm: float64(m.Diameter.Value)}
	case m.Around.Known:
		out.Size = &arrisv1.WheelMeasurement_AroundMm{AroundMm: float64(m.Around.Value)}
	}
	if m.Tape > 0 {
		out.TapeThicknessMm = mmOut(m.Tape)
	}
	return out
}

func sharpeningOut(s shop.Sharpening) *arrisv1.Sharpening {
	out := &arrisv1.Sharpening{
		Name: s.Name, Kind: arrisv1.SharpeningKind(s.Kind), Tool: s.Tool, Recipe: s.Recipe, Station: s.Station, Wheel: s.Wheel,
		WheelDiameterMm: optMM(s.WheelDiameter), EdgeAngleDeg: optDeg(s.EdgeAngle), BevelReadingDeg: optDeg(s.Reading),
		OverallLengthMm: optMM(s.OverallLength), GrindingMinutes: opt(s.Minutes, 1), Notes: s.Notes, OccurTime: timeOut(s.Occurred),
		Corrects: s.Corrects, EngineVersion: s.Engine,
	}
	if s.Settings != (shop.Settings{}) {
		out.Settings = settingsOut(s.Settings)
	}
	return out
}

func inspectionOut(i shop.Inspection) *arrisv1.Inspection {
	return &arrisv1.Inspection{Name: i.Name, Subject: i.Subject, Finding: arrisv1.InspectionFinding(i.Finding), Notes: i.Notes, OccurTime: timeOut(i.Occurred)}
}

func gaugeOut(g shop.Gauge) *arrisv1.Gauge {
	return &arrisv1.Gauge{Name: g.Name, DisplayName: g.DisplayName, LengthMm: mmOut(g.Length), Doubt: lengthDoubtOut(g.Doubt), Location: g.Location}
}
