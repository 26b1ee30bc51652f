package api

import (
	"google.golang.org/protobuf/types/known/timestamppb"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/store"
)

func shopIn(s *arrisv1.Shop) shop.Shop {
	return shop.Shop{Name: s.GetName(), DisplayName: s.GetDisplayName(), TimeZone: s.GetTimeZone()}
}

// recipeIn is a recipe as its newest revision; its number and what is published are the rule's.
func recipeIn(r *arrisv1.Recipe) store.RecipeHead {
	return store.RecipeHead{Newest: shop.Recipe{
		Name: r.GetName(), DisplayName: r.GetDisplayName(), Tools: each(r.GetTools(), func(k arrisv1.ToolKind) shop.ToolKind { return shop.ToolKind(k) }),
		Grind: grindIn(r.GetGrind()), Holder: r.GetHolder(), Settings: settingsIn(r.GetSettings()), Steel: maybeMM(r.SteelMm),
		Tolerance: maybeDeg(r.ToleranceDeg), Notes: r.GetNotes(),
	}}
}

func measurementIn(m *arrisv1.WheelMeasurement) shop.Measurement {
	out := shop.Measurement{
		Name: m.GetName(), Tape: mm(m.GetTapeThicknessMm()), Doubt: lengthDoubtIn(m.GetDoubt()), Dressed: m.GetDressed(), Notes: m.GetNotes(),
		Occurred: timeIn(m.GetOccurTime()),
	}
	switch size := m.GetSize().(type) {
	case *arrisv1.WheelMeasurement_DiameterMm:
		out.Diameter = shop.Some(mm(size.DiameterMm))
	case *arrisv1.WheelMeasurement_AroundMm:
		out.Around = shop.Some(mm(size.AroundMm))
	}
	return out
}

func sharpeningIn(s *arrisv1.Sharpening) shop.Sharpening {
	return shop.Sharpening{
		Name: s.GetName(), Kind: shop.SharpeningKind(s.GetKind()), Tool: s.GetTool(), Recipe: s.GetRecipe(), Station: s.GetStation(), Wheel: s.GetWheel(),
		WheelDiameter: maybeMM(s.WheelDiameterMm), Settings: settingsIn(s.GetSettings()), EdgeAngle: maybeDeg(s.EdgeAngleDeg),
		Reading: maybeDeg(s.BevelReadingDeg), OverallLength: maybeMM(s.OverallLengthMm), Minutes: maybe(s.GrindingMinutes), Notes: s.GetNotes(),
		Occurred: timeIn(s.GetOccurTime()), Corrects: s.GetCorrects(), Engine: EngineVersion,
	}
}

// inspecting is what a record says of its inspections.
type inspecting interface {
	GetInspectTime() *timestamppb.Timestamp
	GetInspectionDueTime() *timestamppb.Timestamp
	GetInspectFinding() arrisv1.InspectionFinding
}

func inspectingIn(m inspecting, days *int32) shop.Inspecting {
	out := shop.Inspecting{Last: timeIn(m.GetInspectTime()), Due: timeIn(m.GetInspectionDueTime()), Finding: shop.Finding(m.GetInspectFinding())}
	if days != nil {
		out.Every = shop.Some(int(*days))
	}
	return out
}

func inspectionIn(i *arrisv1.Inspection) shop.Inspection {
	return shop.Inspection{
		Name: i.GetName(), Subject: i.GetSubject(), Finding: shop.Finding(i.GetFinding()), Notes: i.GetNotes(), Occurred: timeIn(i.GetOccurTime()),
	}
}

func gaugeIn(g *arrisv1.Gauge) shop.Gauge {
	return shop.Gauge{Name: g.GetName(), DisplayName: g.GetDisplayName(), Length: mm(g.GetLengthMm()), Doubt: lengthDoubtIn(g.GetDoubt()), Location: g.GetLocation()}
}
