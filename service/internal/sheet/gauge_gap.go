package sheet

import (
	"context"
	"math"

	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// gapCards set wheel gaps.
func (m Maker) gapCards(ctx context.Context, q setup.Question) (cardSet, setup.Setup, error) {
	gauges, found, err := m.Solver.Gauges(ctx, q)
	set := cardSet{title: "Gauge: %s"}
	for _, g := range gauges {
		set.cards = append(set.cards, gapCard(gapGauge{g, speechOf(q)}, found))
	}
	return set, found, err
}

// gapGauge is a gauge along x from the rim's nearest point, at 0, to the support, at the gap.
type gapGauge struct {
	setup.Gauge
	speech
}

func (g gapGauge) half() float64 { return float64(g.HalfArc) }

func (g gapGauge) radius() float64 { return float64(g.Diameter) / 2 }

// lead is how far its corners reach past the rim's nearest point: the arc's depth.
func (g gapGauge) lead() float64 {
	if g.Diameter == 0 {
		return 0
	}
	return depth(g.radius(), g.half())
}

// seat is how far the corners beside a bar reach past its nearest point.
func (g gapGauge) seat() float64 {
	if g.SeatOf == 0 {
		return 0
	}
	return depth(float64(g.SeatOf), g.seatHalf())
}

// seatHalf is half the chord of a seat: short of the bar's widest, so that the card comes off.
func (g gapGauge) seatHalf() float64 { return min(0.8*float64(g.SeatOf), g.half()) }

func depth(radius, half float64) float64 { return radius - math.Sqrt(radius*radius-half*half) }

// tip is how long a pointed end is.
const tip = 14.0

func gapCard(g gapGauge, found setup.Setup) card {
	lines := []string{g.say("gap %s", g.length(g.Gap)), g.ground(g.Edge, g.Bevel), g.say("wheel %s", g.wheels(g.Diameter, g.From, g.To))}
	half, room := g.half(), float64(g.Gap)-2*inset
	if g.Pointed {
		room -= tip
	}
	c := card{
		cut: g.outline(), beside: append(g.held(), dimensioned(paper.Point{Y: half}, paper.Point{X: float64(g.Gap), Y: half}, 1.3*half+3, g.length(g.Gap))...),
		which: g.whichStep(found, g.Step),
		says:  g.say("Wheel gap %s. It grinds %s within %s %s.", g.length(g.Gap), g.Degrees(g.Edge), g.Degrees(g.Tolerance), g.with(g.Diameter, g.From, g.To)),
		use:   g.say("Stop the wheel. Hold the round end on the rim and move the support until it touches the other end, both on the line from the axle to the support."),
		cutIt: g.say("Cut it from something stiff, along the middle of the line: both ends measure."),
	}
	c.write(append(lines, g.revisionWords(found.Basis)...), paper.Point{X: inset, Y: -half + inset/2}, paper.Point{X: inset + room, Y: half - inset/2})
	return c
}

// outline is the card's.
func (g gapGauge) outline() (all []paper.Line) {
	half, gap := g.half(), float64(g.Gap)
	line := func(points ...paper.Point) { all = append(all, paper.Line{Points: points, Width: cutWidth}) }
	arc := func(centre, radius, start, sweep float64) {
		all = append(all, paper.Line{Arc: &paper.Arc{Centre: paper.Point{X: centre}, Radius: radius, Start: start, Sweep: sweep}, Width: cutWidth})
	}
	corner := -g.lead()
	if g.Diameter > 0 {
		angle := math.Asin(half / g.radius())
		arc(-g.radius(), g.radius(), -angle, 2*angle)
	} else {
		line(paper.Point{Y: -half}, paper.Point{Y: half})
	}
	switch {
	case g.Pointed:
		line(paper.Point{X: corner, Y: -half}, paper.Point{X: gap - tip, Y: -half}, paper.Point{X: gap}, paper.Point{X: gap - tip, Y: half}, paper.Point{X: corner, Y: half})
	case g.SeatOf > 0:
		r, seat, end := float64(g.SeatOf), g.seatHalf(), gap+g.seat()
		angle := math.Asin(seat / r)
		line(paper.Point{X: corner, Y: -half}, paper.Point{X: end, Y: -half}, paper.Point{X: end, Y: -seat})
		arc(gap+r, r, math.Pi-angle, 2*angle)
		line(paper.Point{X: end, Y: seat}, paper.Point{X: end, Y: half}, paper.Point{X: corner, Y: half})
	default:
		line(paper.Point{X: corner, Y: -half}, paper.Point{X: gap, Y: -half}, paper.Point{X: gap, Y: half}, paper.Point{X: corner, Y: half})
	}
	return all
}

// held is what the card is held between: a stretch of the rim, and the support.
func (g gapGauge) held() []paper.Mark {
	const more, gone = 1.8, 1.5 // how much further than the card, and how far away words are
	half := more * g.half()
	rim := dashed(paper.Point{Y: -half}, paper.Point{Y: half})
	if g.Diameter > 0 {
		angle := math.Asin(min(half/g.radius(), 1))
		rim = dashed()
		rim.Arc = &paper.Arc{Centre: paper.Point{X: -g.radius()}, Radius: g.radius(), Start: -angle, Sweep: 2 * angle}
	}
	level, wheel := -1.3*g.half(), g.say("wheel") // beside nothing that is measured
	marks := []paper.Mark{rim, paper.Words{At: paper.Point{X: -g.lead() - 2*gone - paper.Width(wheel, textSize, false), Y: level}, Size: textSize, Text: wheel}}
	end := float64(g.Gap)
	if r := float64(g.SeatOf); r > 0 {
		bar := dashed()
		bar.Arc, bar.Closed = &paper.Arc{Centre: paper.Point{X: end + r}, Radius: r, Sweep: 2 * math.Pi}, true
		marks = append(marks, bar)
	}
	return append(marks, paper.Words{At: paper.Point{X: end + gone, Y: level}, Size: textSize, Text: g.SupportWords})
}
