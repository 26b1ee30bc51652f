package sheet

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// bevelCards check what was ground.
func (m Maker) bevelCards(ctx context.Context, q setup.Question) (cardSet, setup.Setup, error) {
	cards, found, err := m.Solver.BevelCards(ctx, q)
	set := cardSet{what: "Bevel card"}
	for _, c := range cards {
		set.cards = append(set.cards, bevelCard(c, printer{q.Unit}, found))
	}
	return set, found, err
}

// A bevel card's parts.
const (
	onFace      = 26.0 // how far it lies on the tool's own face
	pastHeel    = 6.0
	leastBevel  = 14.0 // how far it lies on a bevel at least
	armThick    = 10.0
	cardWritten = 48.0 // beside the notch
)

// notchSide is a side of the notch from its corner, at the origin, and its end.
type notchSide struct {
	setup.NotchSide
	down float64 // 1 for the lower side, -1 for the upper one
	long float64
}

func sideOf(n setup.NotchSide, down float64) notchSide {
	long := max(leastBevel, float64(n.Start+n.Chord)+pastHeel)
	if n.Reading == 0 {
		long = onFace
	}
	return notchSide{n, down, long}
}

// at is a place along the side.
func (n notchSide) at(along float64) paper.Point {
	sin, cos := math.Sincos(float64(n.Reading))
	return paper.Point{X: along * cos, Y: n.down * along * sin}
}

// bevelCard has the tool's reference line along y = 0, the tool to the right.
func bevelCard(b setup.BevelCard, p printer, found setup.Setup) card {
	lower, upper := sideOf(b.Lower, 1), sideOf(b.Upper, -1)
	low, high := lower.at(lower.long), upper.at(upper.long)
	left := min(0, low.X, high.X) - cardWritten
	top, bottom := high.Y-armThick, low.Y+armThick
	c := card{
		cut: outlined(paper.Point{}, high, paper.Point{X: high.X, Y: top}, paper.Point{X: left, Y: top}, paper.Point{X: left, Y: bottom},
			paper.Point{X: low.X, Y: bottom}, low),
		beside: slices.Concat(besideSide(lower, float64(b.Clear)), besideSide(upper, float64(b.Clear))),
		which:  whichSteps(found, b.Steps...),
		says:   bevelSays(b, p),
		use:    bevelUse(b, p),
		cutIt:  "Cut it from something stiff, along the middle of the line, the notch last: its two sides measure, and they must be straight and meet in a sharp corner.",
	}
	lines := []string{"reads " + degrees(b.Reading), p.ground(b.Edge, b.Bevel) + " within " + degrees(b.Tolerance), p.wheels(b.Diameter, b.From, b.To)}
	if b.Both() {
		lines[0] += ", both faces"
	}
	c.write(append(lines, revisionWords(found.Basis)...), paper.Point{X: left + inset, Y: top + inset}, paper.Point{X: min(0, low.X, high.X) - inset, Y: bottom - inset})
	if !b.Both() {
		label := faceWords(b.Kind)
		if b.Kind == shop.AnyTool {
			label = "tool"
		}
		c.write([]string{label}, paper.Point{X: inset, Y: top + 2}, paper.Point{X: high.X - inset, Y: -inset})
	}
	return c
}

// besideSide is the tool in the notch: its back from the heel on, and what lies between the edge and a bevel further back.
func besideSide(n notchSide, edge float64) (marks []paper.Mark) {
	const further = 14.0
	if n.Start > 0 {
		marks = append(marks, dashed(paper.Point{X: edge}, n.at(float64(n.Start))))
	}
	if n.Reading == 0 {
		return []paper.Mark{dashed(paper.Point{X: n.long}, paper.Point{X: n.long + further})}
	}
	if n.Chord > 0 {
		heel := n.at(float64(n.Start + n.Chord))
		marks = append(marks, dashed(heel, paper.Point{X: max(heel.X, onFace) + further, Y: heel.Y}))
	}
	return marks
}

// faceWords are what the upper side of the notch lies on.
func faceWords(kind shop.ToolKind) string {
	switch {
	case kind == shop.AnyTool:
		return "flute floor or top face"
	case kind.Flat():
		return "top face"
	}
	return "flute floor"
}

// bevelSays says both numbers, and which of them the card has.
func bevelSays(b setup.BevelCard, p printer) string {
	with := p.goodWith(b.Diameter, b.From, b.To)
	reading, edge, tolerance := degrees(b.Reading), degrees(b.Edge), degrees(b.Tolerance)
	switch {
	case b.Diameter == 0 && b.Both():
		return fmt.Sprintf("Notch %s, as the two bevels read together, and that is what the faces make at the edge: a flat abrasive grinds no hollow.", reading)
	case b.Diameter == 0:
		return fmt.Sprintf("Notch %s, as a protractor laid on the bevel reads, and that is its front angle: a flat abrasive grinds no hollow.", reading)
	case b.Both():
		return fmt.Sprintf("Notch %s, as the two bevels read together. At the edge the faces make %s, for the bevels are hollow: those that fit do so within %s on %s.", reading, edge, tolerance, with)
	case b.Bevel > 0:
		return fmt.Sprintf("Notch %s, as a protractor laid on bevel %d reads. Its front angle is %s, for the bevel is hollow: one that fits has it within %s on %s.", reading, b.Bevel+1, edge, tolerance, with)
	}
	return fmt.Sprintf("Notch %s, as a protractor laid on the bevel reads. The edge is %s, for the bevel is hollow: one that fits has it within %s on %s.", reading, edge, tolerance, with)
}

// bevelUse says how to hold the card, and what light means.
func bevelUse(b setup.BevelCard, p printer) string {
	var say []string
	if b.Both() {
		say = append(say, "Push the tool into the notch until both bevels touch.")
	} else {
		say = append(say, fmt.Sprintf("Lay the upper side of the notch on the %s, in its middle, and push the tool in until the other side touches the bevel.", faceWords(b.Kind)))
	}
	if b.Across {
		say = append(say, "Hold the card square to the edge.")
	}
	if b.Bevel > 0 {
		say = append(say, fmt.Sprintf("The edge stays %s short of the corner.", p.length(b.Clear)))
	}
	if b.Diameter > 0 {
		say = append(say, "A bevel touches at its two ends, what is between them is hollow.")
	}
	say = append(say, "Light at the heel: keener than wanted; light at the front: blunter.")
	if light := float64(b.Lower.Chord) * math.Sin(float64(b.Tolerance)); light > 0 && !b.Both() {
		say = append(say, fmt.Sprintf("At the heel %s of light mean %s keener.", p.fine(light), degrees(b.Tolerance)))
	}
	return strings.Join(say, " ")
}

// angleWords is an angle as fine as it is set.
func angleWords(a unit.Angle) string {
	if text := unit.FormatFixed(a.Degrees(), 2); text[len(text)-1] != '0' {
		return text + "°"
	}
	return degrees(a)
}

// narrower are two angles, rounded to the narrower side.
func narrower(from, to unit.Angle) (least, most string) {
	const tenth = 0.1
	return degrees(unit.Degrees(math.Ceil(from.Degrees()/tenth-1e-9) * tenth)), degrees(unit.Degrees(math.Floor(to.Degrees()/tenth+1e-9) * tenth))
}
