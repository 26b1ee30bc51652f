package api

import (
	"arris.example/geometry"
	"arris.example/geometry/drawing"
	arrisv1 "arris.example/proto/arris/v1"
)

func pointOut(p geometry.Point) *arrisv1.FigurePoint {
	return &arrisv1.FigurePoint{OutMm: float64(p.Out), UpMm: float64(p.Up)}
}

func itemOut(i drawing.Item) *arrisv1.FigureItem {
	out := &arrisv1.FigureItem{Part: i.Part, Role: arrisv1.FigureRole(i.Role)}
	switch s := i.Shape.(type) {
	case drawing.Path:
		out.Shape = &arrisv1.FigureItem_Path{Path: &arrisv1.FigurePath{Points: each(s.Points, pointOut), Closed: s.Closed}}
	case drawing.Arc:
		out.Shape = &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{
			Centre: pointOut(s.Centre), RadiusMm: float64(s.Radius), StartDeg: s.Start.Degrees(), SweepDeg: s.Sweep.Degrees(),
		}}
	case drawing.Text:
		out.Shape = &arrisv1.FigureItem_Text{Text: &arrisv1.FigureText{At: pointOut(s.At), Text: s.Text}}
	case drawing.Dimension:
		out.Shape = &arrisv1.FigureItem_Dimension{Dimension: &arrisv1.FigureDimension{
			From: pointOut(s.From), To: pointOut(s.To), OffsetMm: float64(s.Offset), Text: s.Text,
		}}
	case drawing.Angle:
		out.Shape = &arrisv1.FigureItem_Angle{Angle: &arrisv1.FigureAngle{
			Apex: pointOut(s.Apex), RadiusMm: float64(s.Radius), StartDeg: s.Start.Degrees(), SweepDeg: s.Sweep.Degrees(), Text: s.Text,
		}}
	}
	return out
}
