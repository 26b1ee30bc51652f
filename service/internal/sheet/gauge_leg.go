package sheet

import (
	"context"
	"math"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// legCards set a swing holder's leg.
func (m Maker) legCards(ctx context.Context, q setup.Question) (cardSet, setup.Setup, error) {
	templates, found, err := m.Solver.Legs(ctx, q)
	set := cardSet{title: "Leg template: %s"}
	for _, t := range templates {
		set.cards = append(set.cards, speechOf(q).legCard(t, found))
	}
	return set, found, err
}

// A wedge's sides begin short of the corner where tool and leg meet, for there is the joint, and go along most of the leg. Beyond them is a
// handle, to hold and to write on, clear of tool and leg.
const (
	fromJoint            = 14.0
	leastSide, mostSide  = 40.0, 80.0
	alongLeg             = 0.9
	handleLong, fromTool = 52.0, 3.0
	handleHigh           = 24.0
)

// legCard lies below the tool, along y = 0, with the handle of the tool to the right; the corner of its two sides is the origin.
func (in speech) legCard(t setup.LegTemplate, found setup.Setup) card {
	end := min(max(alongLeg*float64(t.Length), leastSide), mostSide)
	sin, cos := math.Sincos(float64(t.Leg))
	on := func(along float64) paper.Point { return paper.Point{X: along * cos, Y: along * sin} }
	low := min(on(end).Y, fromTool+handleHigh)
	setting := in.exactly(t.Leg)
	from, to := in.narrower(t.From, t.To)
	c := card{
		cut: outlined(paper.Point{X: fromJoint}, paper.Point{X: end}, paper.Point{X: end, Y: fromTool}, paper.Point{X: end + handleLong, Y: fromTool},
			paper.Point{X: end + handleLong, Y: low}, paper.Point{X: end, Y: low}, on(end), on(fromJoint)),
		beside: in.besideLeg(t.Leg, end),
		which:  in.whichSteps(found, t.Steps...),
		says:   in.say("Leg %s from the tool's axis towards the handle.", setting) + " " + in.goodBetween(from, to, found, t.Steps, t.Tolerance, t.Diameter),
		use:    in.say("Push the wedge between the tool and the leg, from the handle's side, until both lie flush along it, then tighten the leg. Either side may lie on the tool."),
		cutIt:  in.say("Cut it from something stiff, along the middle of the line: the two long sides measure, and both must be straight."),
	}
	if t.Position != "" {
		c.says += " " + in.say("It is the holder's position %s.", paper.Isolate(t.Position))
	}
	lines := in.rangeLines(in.say("leg %s", setting), from, to, t.Tolerance, t.Diameter)
	c.write(append(lines, in.revisionWords(found.Basis)...), paper.Point{X: end + 2, Y: fromTool + 1}, paper.Point{X: end + handleLong - 2, Y: low - 1})
	return c
}

// besideLeg is the tool above the wedge and the leg below it.
func (in speech) besideLeg(leg unit.Angle, end float64) []paper.Mark {
	const thick, thin, further = 9.0, 7.0, 16.0
	sin, cos := math.Sincos(float64(leg))
	at := func(along, out float64) paper.Point {
		return paper.Point{X: along*cos - out*sin, Y: along*sin + out*cos}
	}
	left, handle := min(0, end*cos)-further, in.say("handle")
	tip := at(end+further/2, 0)
	return []paper.Mark{
		dashed(paper.Point{X: left}, paper.Point{X: end + further}),
		dashed(paper.Point{X: left, Y: -thick}, paper.Point{X: end + further, Y: -thick}),
		dashed(at(0, 0), tip, at(end+further/2, thin), at(0, thin)),
		paper.Words{At: paper.Point{X: left, Y: -thick / 2}, Size: textSize, Text: in.say("nose")},
		paper.Words{At: paper.Point{X: end + further - paper.Width(handle, textSize, false), Y: -thick / 2}, Size: textSize, Text: handle},
		paper.Words{At: paper.Point{X: tip.X + 3, Y: tip.Y + 4}, Size: textSize, Text: in.say("leg")},
	}
}
