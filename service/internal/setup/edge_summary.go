package setup

import (
	"fmt"
	"math"

	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// summary is an edge in a few numbers.
func (x *search) summary(e WholeEdge, t shaped, a *swung.Analysis) EdgeSummary {
	s := EdgeSummary{Wing: unit.Length(math.Max(t.edge.Left, t.edge.Right)), Differ: unit.Angle(a.Uneven.Wedge)}
	if a.Reached {
		extreme := func(f swung.Face) shop.Maybe[Extreme] {
			return shop.Some(Extreme{unit.Angle(f.Wedge), t.share(f.Along)})
		}
		s.Least, s.Most = extreme(a.Least), extreme(a.Most)
	}
	reached := 0
	for _, p := range e.Places {
		if p.Reached {
			reached++
			s.Lean = max(s.Lean, unit.Angle(p.Lean.Angle))
		}
	}
	s.Reached = float64(reached) / float64(len(e.Places))
	end := func(p EdgePlace) shop.Maybe[unit.Angle] {
		return shop.Maybe[unit.Angle]{Value: p.Wedge, Known: p.Reached}
	}
	s.Left, s.Right, s.Nose = end(e.Places[0]), end(e.Places[len(e.Places)-1]), end(e.Places[e.Nose])
	s.Text = s.words()
	return s
}

// words say it.
func (s EdgeSummary) words() string {
	if !s.Least.Known {
		return "The wheel touches the edge nowhere."
	}
	text := "The nose gets " + degrees(s.Nose.Value)
	switch {
	case !s.Nose.Known:
		text = "The nose is not reached"
	case s.Left.Known && s.Right.Known && math.Abs(float64(s.Right.Value-s.Left.Value)) < float64(0.05*unit.Degree):
		text += ", the wings' ends " + degrees(s.Right.Value)
	case s.Left.Known && s.Right.Known:
		text += fmt.Sprintf(", the wings' ends %s (+side) and %s (−side)", degrees(s.Right.Value), degrees(s.Left.Value))
	}
	text += fmt.Sprintf("; the wedge is %s at least and %s at most.", degrees(s.Least.Value.Wedge), degrees(s.Most.Value.Wedge))
	if s.Reached < 1 {
		text += fmt.Sprintf(" %s %% of the edge is reached.", unit.FormatFixed(100*s.Reached, 0))
	}
	return text
}

// words say an edge's shape.
func (t shaped) words() string {
	wings := mm(unit.Length(math.Max(t.edge.Left, t.edge.Right))) + " along the flute"
	switch t.shape.Plan {
	case shop.SetbackPlan:
		return fmt.Sprintf("Wings of %s that run back %s", wings, mm(t.shape.Setback))
	case shop.SweptPlan:
		return fmt.Sprintf("Wings of %s, swept back %s, nose radius %s", wings, mm(t.shape.Setback), mm(t.shape.NoseRadius))
	case shop.EvenSwingPlan:
		return "The edge that a sphere about the pivot cuts, wings of " + wings + ": a reference, which no swing about one pivot grinds by itself"
	case shop.PointsPlan:
		return fmt.Sprintf("An edge through %d measured points, smoothed, wings of %s", len(t.shape.Points), wings)
	}
	return "Straight across, " + wings + " to either side"
}
