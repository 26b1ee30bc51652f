package sheet

import (
	"context"
	"fmt"
	"math"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/words"
)

// Kind is what a gauge sets or checks.
type Kind int

// The kinds of gauge.
const (
	WheelGap Kind = iota
	StickOut
	Spacers
	Bevel
	Leg
)

// Gauges solves a question and draws, at 1:1, the cards of a kind that set or check it, each on a page of its own; spacers share pages.
func (m Maker) Gauges(ctx context.Context, kind Kind, q setup.Question, size paper.Size) (paper.Document, setup.Setup, error) {
	set, found, err := m.cards(ctx, kind, q)
	if err != nil {
		return paper.Document{}, found, err
	}
	_, title, err := m.facts(ctx, q, found.Basis)
	if err != nil {
		return paper.Document{}, found, err
	}
	in := speechOf(q)
	s := &sheet{speech: in, size: size, engine: m.Engine, title: in.say(set.title, title)}
	if set.list != nil {
		err = s.blocks(set)
	}
	for _, c := range set.cards {
		if set.list != nil || err != nil {
			break
		}
		err = s.card(c)
	}
	s.footers()
	return paper.Document{Title: s.title, Pages: s.pages}, found, err
}

// Cards are the same cards to cut, each with nothing around it.
func (m Maker) Cards(ctx context.Context, kind Kind, q setup.Question) ([]paper.Page, setup.Setup, error) {
	set, found, err := m.cards(ctx, kind, q)
	if err != nil {
		return nil, found, err
	}
	if len(set.cards) == 0 {
		return nil, found, &fault.Fault{Kind: fault.Impossible, Reason: setup.NoGauge, Message: "there is nothing to cut: every block is on hand or a shim; the cutting list (PDF) says which"}
	}
	var all []paper.Page
	for _, c := range set.cards {
		const edge = 2.0
		least, most := c.bounds(false)
		page := paper.Page{Size: paper.Size{Width: most.X - least.X + 2*edge, Height: most.Y - least.Y + 2*edge}}
		c.draw(&page, paper.Point{X: edge - least.X, Y: edge - least.Y}, false)
		all = append(all, page)
	}
	return all, found, nil
}

func (m Maker) cards(ctx context.Context, kind Kind, q setup.Question) (cardSet, setup.Setup, error) {
	switch kind {
	case StickOut:
		return m.stickOutCards(ctx, q)
	case Spacers:
		return m.spacerCards(ctx, q)
	case Bevel:
		return m.bevelCards(ctx, q)
	case Leg:
		return m.legCards(ctx, q)
	default:
		return m.gapCards(ctx, q)
	}
}

// cardSet is what is drawn for a question.
type cardSet struct {
	title words.Text // with what is set up
	cards []card
	list  *cuttingList // of blocks, which share pages
}

// card is a piece to cut, in millimetres of its own, x to the right and y down.
type card struct {
	cut    []paper.Line // its outline, closed
	words  []paper.Words
	beside []paper.Mark // what it is held against; printed only
	which  string       // grind it is for; empty for the only one
	says   string       // what it sets or checks, and what it is good for
	use    string
	cutIt  string // what has to be stiff and true
}

// cutWidth is how wide a line to cut along is printed.
const cutWidth = 0.2

// dashed is a line of what a card is held against.
func dashed(points ...paper.Point) paper.Line {
	return paper.Line{Points: points, Width: 0.15, Dashes: []float64{2, 1.2}}
}

// outlined is a closed outline through points.
func outlined(points ...paper.Point) []paper.Line {
	return []paper.Line{{Points: points, Closed: true, Width: cutWidth}}
}

// dimensioned are the marks of a level dimension between two places, which measure below them, with its text under its middle.
func dimensioned(from, to paper.Point, level float64, text string) []paper.Mark {
	const thin, beyond, head, sharp = 0.12, 1.0, 2.0, 0.3
	left, right := paper.Point{X: from.X, Y: level}, paper.Point{X: to.X, Y: level}
	arrow := func(tip paper.Point, back float64) paper.Line {
		return paper.Line{Points: []paper.Point{tip, {X: tip.X + back, Y: tip.Y - sharp}, {X: tip.X + back, Y: tip.Y + sharp}}, Closed: true, Fill: new(paper.Shade(1))}
	}
	return []paper.Mark{
		paper.Line{Points: []paper.Point{{X: from.X, Y: from.Y + beyond}, {X: from.X, Y: level + beyond}}, Width: thin},
		paper.Line{Points: []paper.Point{{X: to.X, Y: to.Y + beyond}, {X: to.X, Y: level + beyond}}, Width: thin},
		paper.Line{Points: []paper.Point{left, right}, Width: thin}, arrow(left, head), arrow(right, -head),
		paper.Words{At: paper.Point{X: (from.X + to.X - paper.Width(text, stepSize, true)) / 2, Y: level + 1.3*stepSize}, Size: stepSize, Bold: true, Text: text},
	}
}

// draw puts the card on a page, its origin at a place, with what is beside it or without.
func (c card) draw(p *paper.Page, at paper.Point, beside bool) {
	if beside {
		for _, m := range c.beside {
			p.Add(paper.Moved(m, at))
		}
	}
	for _, l := range c.cut {
		p.Add(paper.Moved(l, at))
	}
	for _, w := range c.words {
		p.Add(paper.Moved(w, at))
	}
}

// bounds are the corners of the rectangle that a card takes, with what is beside it or without.
func (c card) bounds(beside bool) (least, most paper.Point) {
	least, most = paper.Point{X: math.Inf(1), Y: math.Inf(1)}, paper.Point{X: math.Inf(-1), Y: math.Inf(-1)}
	include := func(m paper.Mark) {
		from, to := paper.Bounds(m)
		least.X, least.Y = min(least.X, from.X), min(least.Y, from.Y)
		most.X, most.Y = max(most.X, to.X), max(most.Y, to.Y)
	}
	for _, l := range c.cut {
		include(l)
	}
	for _, m := range c.beside {
		if beside {
			include(m)
		}
	}
	return least, most
}

// TooLarge is the reason where something does not fit on its paper.
const TooLarge fault.Reason = "TOO_LARGE_FOR_PAPER"

// card lays a card out on a page of its own, with what there is to know of it.
func (s *sheet) card(c card) error {
	s.page()
	s.gaugeHeading()
	if c.which != "" {
		s.lines(border, s.width(), stepSize, false, c.which)
	}
	s.lines(border, s.width(), stepSize, true, c.says)
	s.lines(border, s.width(), textSize, false, c.use)
	s.lines(border, s.width(), textSize, true, s.trueIf()+" "+c.cutIt)
	s.y += 8
	least, most := c.bounds(true)
	cutLeast, cutMost := c.bounds(false)
	wide, high := most.X-least.X, most.Y-least.Y
	if roomHigh := s.size.Height - border - footer - s.y; wide > s.width() || high > roomHigh {
		return tooLarge(cutMost.X-cutLeast.X, cutMost.Y-cutLeast.Y, s.width()-wide+cutMost.X-cutLeast.X, roomHigh-high+cutMost.Y-cutLeast.Y)
	}
	c.draw(s.here(), paper.Point{X: border + (s.width()-wide)/2 - least.X, Y: s.y - least.Y}, true)
	return nil
}

func tooLarge(wide, high, roomWide, roomHigh float64) error {
	return &fault.Fault{Kind: fault.Impossible, Reason: TooLarge,
		Message: fmt.Sprintf("the gauge is %.1f by %.1f mm large and the paper has room for %.1f by %.1f mm: ask for a drawing to cut (DXF)", wide, high, roomWide, roomHigh)}
}

// trueIf is what every printed gauge depends on.
func (s *sheet) trueIf() string {
	return s.say("Printed, it is a gauge only if the bar below measures %s; otherwise it is invalid: print it without scaling.", s.checkLength(1))
}

func (s *sheet) gaugeHeading() {
	s.lines(border, s.width(), titleSize, true, s.title)
	s.y += 2
	s.rule(0.6)
	s.y++
}
