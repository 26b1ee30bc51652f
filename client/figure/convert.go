package figure

import (
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// taken takes a figure of the API apart, with letters as high as its frame asks for. Shapes that this client does not know are left out;
// what cannot be drawn is an error.
func taken(f *arrisv1.Figure, letterHeight func(frame drawing.Rect) float64) (*drawing.Drawing, error) {
	if err := check(f); err != nil {
		return nil, err
	}
	return drawing.Take(figureOf(f), letterHeight), nil
}

func figureOf(f *arrisv1.Figure) *drawing.Figure {
	var items []drawing.Item
	for _, item := range f.GetItems() {
		if shape := shapeOf(item); shape != nil {
			items = append(items, drawing.Item{Part: item.GetPart(), Role: drawing.Role(item.GetRole()), Shape: shape})
		}
	}
	out := drawing.Boxed(items, f.GetDescription())
	if f.GetLeast() != nil && f.GetMost() != nil {
		out.Least, out.Most = pointOf(f.GetLeast()), pointOf(f.GetMost())
	}
	return out
}

func shapeOf(item *arrisv1.FigureItem) drawing.Shape {
	switch shape := item.GetShape().(type) {
	case *arrisv1.FigureItem_Path:
		path := drawing.Path{Closed: shape.Path.GetClosed()}
		for _, p := range shape.Path.GetPoints() {
			path.Points = append(path.Points, pointOf(p))
		}
		return path
	case *arrisv1.FigureItem_Arc:
		a := shape.Arc
		return drawing.Arc{Centre: pointOf(a.GetCentre()), Radius: unit.Length(a.GetRadiusMm()), Start: unit.Degrees(a.GetStartDeg()), Sweep: unit.Degrees(a.GetSweepDeg())}
	case *arrisv1.FigureItem_Text:
		return drawing.Text{At: pointOf(shape.Text.GetAt()), Text: shape.Text.GetText()}
	case *arrisv1.FigureItem_Dimension:
		d := shape.Dimension
		return drawing.Dimension{From: pointOf(d.GetFrom()), To: pointOf(d.GetTo()), Offset: unit.Length(d.GetOffsetMm()), Text: d.GetText()}
	case *arrisv1.FigureItem_Angle:
		a := shape.Angle
		return drawing.Angle{Apex: pointOf(a.GetApex()), Radius: unit.Length(a.GetRadiusMm()), Start: unit.Degrees(a.GetStartDeg()),
			Sweep: unit.Degrees(a.GetSweepDeg()), Text: a.GetText()}
	}
	return nil
}

func pointOf(p *arrisv1.FigurePoint) drawing.Place {
	return drawing.Place{Out: unit.Length(p.GetOutMm()), Up: unit.Length(p.GetUpMm())}
}
