package sheet

import (
	"context"
	"fmt"
	"math"
	"path"
	"strconv"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/words"
)

// Gauges solves a question and draws, at 1:1, the cards that set its wheel gaps, each on a page of its own.
func (m Maker) Gauges(ctx context.Context, q setup.Question, size paper.Size) (paper.Document, setup.Setup, error) {
	cards, found, title, err := m.cards(ctx, q)
	if err != nil {
		return paper.Document{}, found, err
	}
	d := paper.Document{Title: speechOf(q).say("Gauge: %s", title)}
	for _, c := range cards {
		page, err := c.page(size, title, m.Engine)
		if err != nil {
			return paper.Document{}, found, err
		}
		d.Pages = append(d.Pages, page)
	}
	return d, found, nil
}

// Cards are the same cards to cut, each with nothing around it.
func (m Maker) Cards(ctx context.Context, q setup.Question) ([]paper.Page, setup.Setup, error) {
	cards, found, _, err := m.cards(ctx, q)
	var all []paper.Page
	for _, c := range cards {
		const edge = 2.0
		page := paper.Page{Size: paper.Size{Width: c.length() + c.lead() + 2*edge, Height: 2*c.half() + 2*edge}}
		c.draw(&page, paper.Point{X: edge + c.lead(), Y: page.Height / 2})
		all = append(all, page)
	}
	return all, found, err
}

func (m Maker) cards(ctx context.Context, q setup.Question) ([]card, setup.Setup, string, error) {
	gauges, found, err := m.Solver.Gauges(ctx, q)
	if err != nil {
		return nil, found, "", err
	}
	_, title, err := m.facts(ctx, q, found.Basis)
	cards := make([]card, len(gauges))
	for i, g := range gauges {
		cards[i] = card{g, found.Basis, len(gauges), speechOf(q)}
	}
	return cards, found, title, err
}

// card is a gauge as it is cut: along x from the rim's nearest point, at 0, to the support, at the gap.
type card struct {
	setup.Gauge
	basis setup.Basis
	of    int
	in    speech
}

func (c card) length() float64 { return float64(c.Gap) + c.seat() }

func (c card) half() float64 { return float64(c.HalfArc) }

func (c card) radius() float64 { return float64(c.Diameter) / 2 }

// lead is how far its corners reach past the rim's nearest point: the arc's depth.
func (c card) lead() float64 {
	if c.Diameter == 0 {
		return 0
	}
	return depth(c.radius(), c.half())
}

// seat is how far the corners beside a bar reach past its nearest point.
func (c card) seat() float64 {
	if c.SeatOf == 0 {
		return 0
	}
	return depth(float64(c.SeatOf), c.seatHalf())
}

// seatHalf is half the chord of a seat: short of the bar's widest, so that the card comes off.
func (c card) seatHalf() float64 { return min(0.8*float64(c.SeatOf), c.half()) }

func depth(radius, half float64) float64 { return radius - math.Sqrt(radius*radius-half*half) }

// tip is how long a pointed end is.
const tip = 14.0

// draw puts the card on a page, the rim's nearest point at a place, the support to its right.
func (c card) draw(p *paper.Page, at paper.Point) {
	const width = 0.2
	half, gap := c.half(), float64(c.Gap)
	to := func(x, y float64) paper.Point { return paper.Point{X: at.X + x, Y: at.Y + y} }
	line := func(points ...paper.Point) { p.Add(paper.Line{Points: points, Width: width}) }
	corner := -c.lead()
	if c.Diameter > 0 {
		angle := math.Asin(half / c.radius())
		p.Add(paper.Line{Arc: &paper.Arc{Centre: to(-c.radius(), 0), Radius: c.radius(), Start: -angle, Sweep: 2 * angle}, Width: width})
	} else {
		line(to(0, -half), to(0, half))
	}
	switch {
	case c.Pointed:
		line(to(corner, -half), to(gap-tip, -half), to(gap, 0), to(gap-tip, half), to(corner, half))
	case c.SeatOf > 0:
		r, seat, end := float64(c.SeatOf), c.seatHalf(), gap+c.seat()
		angle := math.Asin(seat / r)
		line(to(corner, -half), to(end, -half), to(end, -seat))
		p.Add(paper.Line{Arc: &paper.Arc{Centre: to(gap+r, 0), Radius: r, Start: math.Pi - angle, Sweep: 2 * angle}, Width: width})
		line(to(end, seat), to(end, half), to(corner, half))
	default:
		line(to(corner, -half), to(gap, -half), to(gap, half), to(corner, half))
	}
	c.words(p, to)
}

// beside draws what the card is held between, dashed: a stretch of the rim, and the support.
func (c card) beside(p *paper.Page, at paper.Point) {
	const width, more, gone = 0.15, 1.8, 1.5 // how much further than the card, and how far away words are
	dashes := []float64{2, 1.2}
	half := more * c.half()
	if c.Diameter > 0 {
		angle := math.Asin(min(half/c.radius(), 1))
		p.Add(paper.Line{Arc: &paper.Arc{Centre: paper.Point{X: at.X - c.radius(), Y: at.Y}, Radius: c.radius(), Start: -angle, Sweep: 2 * angle}, Width: width, Dashes: dashes})
	} else {
		p.Add(paper.Line{Points: []paper.Point{{X: at.X, Y: at.Y - half}, {X: at.X, Y: at.Y + half}}, Width: width, Dashes: dashes})
	}
	level := at.Y - 1.3*c.half() // beside nothing that is measured
	wheel := c.in.say("wheel")
	p.Write(at.X-c.lead()-2*gone-paper.Width(wheel, textSize, false), level, textSize, false, wheel)
	end, word := at.X+float64(c.Gap), c.SupportWords
	if r := float64(c.SeatOf); r > 0 {
		p.Add(paper.Line{Arc: &paper.Arc{Centre: paper.Point{X: end + r, Y: at.Y}, Radius: r, Sweep: 2 * math.Pi}, Closed: true, Width: width, Dashes: dashes})
	}
	p.Write(end+gone, level, textSize, false, word)
}

// words on the card itself, as large as it takes.
func (c card) words(p *paper.Page, to func(x, y float64) paper.Point) {
	room := float64(c.Gap) - 6
	if c.Pointed {
		room -= tip
	}
	lines := []string{c.in.say("gap %s", c.print(c.Gap)), c.in.say("edge %s", c.in.Degrees(c.Edge)), c.in.say("wheel %s", c.wheels())}
	if c.Bevel > 0 {
		lines[1] = c.in.say("bevel %s, %s", strconv.Itoa(c.Bevel+1), c.in.Degrees(c.Edge))
	}
	if c.basis.Recipe != "" {
		lines = append(lines, c.in.recipeWords(c.basis.Recipe))
	}
	size := 0.8 * 2 * c.half() / (leading * float64(len(lines)))
	for _, l := range lines {
		size = min(size, room/max(paper.Width(l, 1, false), 1))
	}
	size = min(size, textSize)
	y := -leading * size * (float64(len(lines))/2 - 0.8)
	for _, l := range lines {
		p.Add(paper.Words{At: to(3, y), Size: size, Text: l})
		y += leading * size
	}
}

// recipeWords are a revision's id and number.
func (in speech) recipeWords(name string) string {
	revision := path.Base(name)
	return in.say("%s, revision %s", path.Base(path.Dir(path.Dir(name))), revision)
}

// wheels are the diameters that the card is good for, rounded to the narrower side.
func (c card) wheels() string {
	step := unit.Length(0.1)
	if c.in.Unit == setup.Inches {
		step = unit.Inch / 64
	}
	from := c.print(unit.Length(math.Ceil(float64(c.From/step))) * step)
	to := c.print(unit.Length(math.Floor(float64(min(c.To, 1e6)/step))) * step)
	text := c.in.say("⌀ %s to %s", from, to)
	switch open := math.IsInf(float64(c.To), 1); {
	case c.Diameter == 0:
		text = c.in.say("flat")
	case open && c.From == 0:
		text = c.in.say("of any size")
	case open:
		text = c.in.say("⌀ from %s", from)
	case c.From == 0:
		text = c.in.say("⌀ up to %s", to)
	}
	return strings.ReplaceAll(text, " ", "\u00a0")
}

func (c card) print(l unit.Length) string { return c.in.Length(l, 1) }

// TooLarge is the reason where something does not fit on its paper.
const TooLarge fault.Reason = "TOO_LARGE_FOR_PAPER"

// page is a card at 1:1 with what there is to know of it.
func (c card) page(size paper.Size, title, engine string) (paper.Page, error) {
	s := &sheet{speech: c.in, size: size, engine: engine}
	s.page()
	long := c.length() + c.lead()
	const beside = 30.0 // for what it is held between
	if long > s.width()-beside {
		return paper.Page{}, &fault.Fault{Kind: fault.Impossible, Reason: TooLarge,
			Message: fmt.Sprintf("the gauge is %.1f mm long and the paper has room for %.1f mm: ask for a drawing to cut (DXF)", long, s.width()-beside)}
	}
	s.lines(border, s.width(), titleSize, true, s.say("Gauge: %s", title))
	s.y += 2
	s.rule(0.6)
	s.y += 1
	if c.of > 1 {
		s.lines(border, s.width(), stepSize, false, s.say("Grind %s of %s, bevel %s from the edge.", strconv.Itoa(c.Step+1), strconv.Itoa(c.of), strconv.Itoa(c.Bevel+1)))
	}
	s.lines(border, s.width(), stepSize, true, s.say(c.goodFor(), c.print(c.Gap), s.Degrees(c.Edge), s.Degrees(c.Tolerance), c.wheels()))
	s.lines(border, s.width(), textSize, false, s.say("Stop the wheel. Hold the round end on the rim and move the support until it touches the other end, both on the line from the axle to the support."))
	s.lines(border, s.width(), textSize, true, s.say("Printed, it is a gauge only if the bar below measures %s mm; otherwise it is invalid: print it without scaling. Cut it from something stiff, along the outer side of the line.", s.Number(checkBar, 1)))
	s.y += 20 + c.half()
	at := paper.Point{X: border + (s.width()-long)/2 + c.lead(), Y: s.y}
	c.beside(s.here(), at)
	c.draw(s.here(), at)
	s.footers()
	return s.pages[0], nil
}

// goodFor says with which wheels.
func (c card) goodFor() words.Text {
	if c.Diameter == 0 {
		return "Wheel gap %s. It grinds %s within %s with a flat abrasive."
	}
	return "Wheel gap %s. It grinds %s within %s with wheels of %s."
}
