package setup

import (
	"math"
	"strconv"

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
	s.Text = x.summaryText(s)
	return s
}

// summaryText says it.
func (x *search) summaryText(s EdgeSummary) string {
	if !s.Least.Known {
		return x.say("The wheel touches the edge nowhere.")
	}
	text := x.say("The nose gets %s", x.degrees(s.Nose.Value))
	switch {
	case !s.Nose.Known:
		text = x.say("The nose is not reached")
	case s.Left.Known && s.Right.Known && math.Abs(float64(s.Right.Value-s.Left.Value)) < float64(0.05*unit.Degree):
		text += x.say(", the wings' ends %s", x.degrees(s.Right.Value))
	case s.Left.Known && s.Right.Known:
		text += x.say(", the wings' ends %s (+side) and %s (−side)", x.degrees(s.Right.Value), x.degrees(s.Left.Value))
	}
	text += x.say("; the wedge is %s at least and %s at most.", x.degrees(s.Least.Value.Wedge), x.degrees(s.Most.Value.Wedge))
	if s.Reached < 1 {
		text += x.say(" %s %% of the edge is reached.", x.percent(s.Reached))
	}
	return text
}

// shapeText says an edge's shape.
func (x *search) shapeText(t shaped) string {
	wings := x.mm(unit.Length(math.Max(t.edge.Left, t.edge.Right)))
	switch t.shape.Plan {
	case shop.SetbackPlan:
		return x.say("Wings of %s along the flute that run back %s", wings, x.mm(t.shape.Setback))
	case shop.SweptPlan:
		return x.say("Wings of %s along the flute, swept back %s, nose radius %s", wings, x.mm(t.shape.Setback), x.mm(t.shape.NoseRadius))
	case shop.EvenSwingPlan:
		return x.say("The edge that a sphere about the pivot cuts, wings of %s along the flute: a reference, which no swing about one pivot grinds by itself", wings)
	case shop.PointsPlan:
		return x.say("An edge through %s measured points, smoothed, wings of %s along the flute", strconv.Itoa(len(t.shape.Points)), wings)
	}
	return x.say("Straight across, %s along the flute to either side", wings)
}
