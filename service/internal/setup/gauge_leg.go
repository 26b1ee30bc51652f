package setup

import (
	"context"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// LegTemplate is a wedge that is pushed between a tool and its swing holder's leg: both lie flush where the leg has its angle.
type LegTemplate struct {
	Steps     []int // of the set-up that are ground with it
	Leg       unit.Angle
	Position  string      // the leg's mark, where it stands at one
	Length    unit.Length // of the leg
	Tolerance unit.Angle
	From, To  unit.Angle  // of the leg, with which all of them are ground within the tolerance, all else being as it is set
	Diameter  unit.Length // of the wheel; 0: a flat abrasive
}

// A leg has a template between these angles: below, the wedge is a sliver; beyond, tool and leg no longer hold it.
const (
	leastTemplate = 10 * unit.Degree
	mostTemplate  = 150 * unit.Degree
)

// Legs solves a question and gives the templates that set its leg, one for each angle, in the order of the steps.
func (s Solver) Legs(ctx context.Context, q Question) ([]LegTemplate, Setup, error) {
	return gauged(ctx, s, q, (*search).legTemplates)
}

func (x *search) legTemplates(p plan) (all []LegTemplate, err error) {
	for _, of := range x.alike(p, func(s stand) any { return s.choice.leg }) {
		y, s := x.at(p[of[0]].bevel), p[of[0]]
		if y.holder.Kind != shop.Swing {
			err = noGauge("only a swing holder has a leg to set; what holds this tool has none")
			continue
		}
		t := LegTemplate{Steps: of, Leg: s.choice.leg, Position: s.choice.position, Length: y.holder.Arm.Leg, Tolerance: y.tolerance(), Diameter: y.diameter()}
		if t.Leg < leastTemplate || t.Leg > mostTemplate {
			err = noGauge("with the leg at %s no wedge holds between it and the tool: a template goes from %s to %s; set this one by its scale or mark", degrees(t.Leg), degrees(leastTemplate), degrees(mostTemplate))
			continue
		}
		strays := func(leg unit.Angle) (most float64) {
			for _, i := range of {
				c := p[i].choice
				c.leg = leg
				edge, err := y.groundWith(p[i], c)
				most = max(most, y.strays(p[i], edge, err))
			}
			return most
		}
		t.From = border(t.Leg, min(t.Leg, y.holder.Leg.Least), strays)
		t.To = border(t.Leg, max(t.Leg, y.holder.Leg.Most), strays)
		all = append(all, t)
	}
	if len(all) == 0 {
		return nil, err
	}
	return all, nil
}
