package api

import (
	"arris.example/geometry/unit"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/shop"
)

func fluteIn(f *arrisv1.Flute) shop.Flute {
	return shop.Flute{
		Shape: shop.FluteShape(f.GetShape()), Radius: mm(f.GetRadiusMm()), Wall: unit.Degrees(f.GetWallAngleDeg()), Doubt: lengthDoubtIn(f.GetRadiusDoubt()),
	}
}

// usualExponent is the power of the length along the flute by which an edge runs back, where nobody says another.
const usualExponent = 2

func edgeShapeIn(e *arrisv1.EdgeShape) (out shop.Maybe[shop.EdgeShape]) {
	if e == nil {
		return out
	}
	var s shop.EdgeShape
	switch end := e.GetWingEnd().(type) {
	case *arrisv1.EdgeShape_HalfWidthMm:
		s.HalfWidth = shop.Some(mm(end.HalfWidthMm))
	case *arrisv1.EdgeShape_AlongFluteMm:
		s.AlongFlute = shop.Some(mm(end.AlongFluteMm))
	}
	switch plan := e.GetPlan().(type) {
	case *arrisv1.EdgeShape_Setback:
		s.Plan, s.Setback = shop.SetbackPlan, mm(plan.Setback.GetSetbackMm())
		s.Exponent = maybe(plan.Setback.ExponentCount).Or(usualExponent)
	case *arrisv1.EdgeShape_Across:
		s.Plan = shop.AcrossPlan
	case *arrisv1.EdgeShape_Swept:
		s.Plan, s.Setback, s.NoseRadius = shop.SweptPlan, mm(plan.Swept.GetSetbackMm()), mm(plan.Swept.GetNoseRadiusMm())
	case *arrisv1.EdgeShape_EvenSwing:
		s.Plan = shop.EvenSwingPlan
	case *arrisv1.EdgeShape_Points:
		s.Plan, s.Doubt = shop.PointsPlan, lengthDoubtIn(plan.Points.GetDoubt())
		s.Points = each(plan.Points.GetPoints(), shapePointIn)
	}
	return shop.Some(s)
}

func shapePointIn(p *arrisv1.EdgeShapePoint) shop.ShapePoint {
	if along, ok := p.GetPlace().(*arrisv1.EdgeShapePoint_AlongFluteMm); ok {
		return shop.ShapePoint{Place: mm(along.AlongFluteMm), AlongFlute: true, Back: mm(p.GetBackMm())}
	}
	return shop.ShapePoint{Place: mm(p.GetSideMm()), Back: mm(p.GetBackMm())}
}

func edgeShapeOut(s shop.EdgeShape) *arrisv1.EdgeShape {
	out := &arrisv1.EdgeShape{}
	switch {
	case s.HalfWidth.Known:
		out.WingEnd = &arrisv1.EdgeShape_HalfWidthMm{HalfWidthMm: float64(s.HalfWidth.Value)}
	case s.AlongFlute.Known:
		out.WingEnd = &arrisv1.EdgeShape_AlongFluteMm{AlongFluteMm: float64(s.AlongFlute.Value)}
	}
	back := proto.Float64(float64(s.Setback))
	switch s.Plan {
	case shop.SetbackPlan:
		out.Plan = &arrisv1.EdgeShape_Setback{Setback: &arrisv1.SetbackPlan{SetbackMm: back, ExponentCount: proto.Float64(s.Exponent)}}
	case shop.AcrossPlan:
		out.Plan = &arrisv1.EdgeShape_Across{Across: &arrisv1.AcrossPlan{}}
	case shop.SweptPlan:
		out.Plan = &arrisv1.EdgeShape_Swept{Swept: &arrisv1.SweptPlan{SetbackMm: back, NoseRadiusMm: proto.Float64(float64(s.NoseRadius))}}
	case shop.EvenSwingPlan:
		out.Plan = &arrisv1.EdgeShape_EvenSwing{EvenSwing: &arrisv1.EvenSwingPlan{}}
	case shop.PointsPlan:
		plan := &arrisv1.PointsPlan{Points: each(s.Points, shapePointOut)}
		if s.Doubt.Known {
			plan.Doubt = &arrisv1.LengthDoubt{Source: &arrisv1.LengthDoubt_HalfWidthMm{HalfWidthMm: float64(s.Doubt.Value)}}
		}
		out.Plan = &arrisv1.EdgeShape_Points{Points: plan}
	}
	return out
}

func shapePointOut(p shop.ShapePoint) *arrisv1.EdgeShapePoint {
	out := &arrisv1.EdgeShapePoint{BackMm: proto.Float64(float64(p.Back)), Place: &arrisv1.EdgeShapePoint_SideMm{SideMm: float64(p.Place)}}
	if p.AlongFlute {
		out.Place = &arrisv1.EdgeShapePoint_AlongFluteMm{AlongFluteMm: float64(p.Place)}
	}
	return out
}
