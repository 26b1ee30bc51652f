// Package figure renders the drawings that the service answers with, as SVG and for a terminal. The service decides what is drawn
// and where; this package decides how lines look.
package figure

import (
	"fmt"
	"math"

	arrisv1 "arris.example/proto/arris/v1"
)

// Limits on what can be drawn, far beyond any workshop: no sum overflows and nothing takes for ever.
const (
	farthest   = 1e5 // mm
	mostItems  = 200
	mostPoints = 3000 // of all paths together
	mostTexts  = 30
	mostText   = 200 // bytes of one text
)

// check refuses what cannot be drawn and names the item.
func check(f *arrisv1.Figure) error {
	if n := len(f.GetItems()); n > mostItems {
		return fmt.Errorf("figure has %d items; at most %d can be drawn", n, mostItems)
	}
	points, texts := 0, 0
	for i, item := range f.GetItems() {
		points += len(item.GetPath().GetPoints())
		if points > mostPoints {
			return fmt.Errorf("figure has more than %d points", mostPoints)
		}
		if texts += textsIn(item); texts > mostTexts {
			return fmt.Errorf("figure has more than %d texts", mostTexts)
		}
		if err := checkItem(item); err != nil {
			return fmt.Errorf("figure item %d (%q): %w", i, item.GetPart(), err)
		}
	}
	if f.GetLeast() == nil || f.GetMost() == nil {
		return nil
	}
	if err := checkPoints(f.GetLeast(), f.GetMost()); err != nil {
		return fmt.Errorf("figure's box: %w", err)
	}
	return nil
}

func textsIn(item *arrisv1.FigureItem) int {
	if item.GetText().GetText()+item.GetDimension().GetText()+item.GetAngle().GetText() == "" {
		return 0
	}
	return 1
}

func checkItem(item *arrisv1.FigureItem) error {
	switch shape := item.GetShape().(type) {
	case *arrisv1.FigureItem_Path:
		if len(shape.Path.GetPoints()) == 0 {
			return fmt.Errorf("a path without points")
		}
		return checkPoints(shape.Path.GetPoints()...)
	case *arrisv1.FigureItem_Arc:
		a := shape.Arc
		return first(checkPoints(a.GetCentre()), checkArc(a.GetRadiusMm(), a.GetStartDeg(), a.GetSweepDeg()))
	case *arrisv1.FigureItem_Text:
		return first(checkPoints(shape.Text.GetAt()), checkText(shape.Text.GetText()))
	case *arrisv1.FigureItem_Dimension:
		d := shape.Dimension
		return first(checkPoints(d.GetFrom(), d.GetTo()), checkNumber("offset_mm", d.GetOffsetMm(), farthest), checkText(d.GetText()))
	case *arrisv1.FigureItem_Angle:
		a := shape.Angle
		return first(checkPoints(a.GetApex()), checkArc(a.GetRadiusMm(), a.GetStartDeg(), a.GetSweepDeg()), checkText(a.GetText()))
	}
	return nil
}

// first is the first error that is one.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func checkPoints(points ...*arrisv1.FigurePoint) error {
	for _, p := range points {
		if err := first(checkNumber("out_mm", p.GetOutMm(), farthest), checkNumber("up_mm", p.GetUpMm(), farthest)); err != nil {
			return err
		}
	}
	return nil
}

func checkArc(radius, startDeg, sweepDeg float64) error {
	if radius < 0 || sweepDeg < 0 {
		return fmt.Errorf("radius_mm %v and sweep_deg %v must not be negative", radius, sweepDeg)
	}
	return first(checkNumber("radius_mm", radius, farthest), checkNumber("start_deg", startDeg, 1e6),
		checkNumber("sweep_deg", sweepDeg, 360+1e-9))
}

func checkNumber(field string, v, most float64) error {
	if !(math.Abs(v) <= most) { // NaN too
		return fmt.Errorf("%s is %v; drawn are −%g to %g", field, v, most, most)
	}
	return nil
}

func checkText(text string) error {
	if len(text) > mostText {
		return fmt.Errorf("text of %d bytes; at most %d", len(text), mostText)
	}
	return nil
}
