package sheet

import (
	"context"
	"fmt"
	"math"

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
		beside: append(besideSide(lower), besideSide(upper)...),
		which:  whichSteps(found, b.Steps...),
		says:   bevelSays(b, p),
		use:    bevelUse(b),
		cutIt:  "Cut it from something stiff, along the middle of the line, the notch last: its two sides measure, and they must be straight and meet in a sharp corner.",
	}
	lines := []string{"reads " + degrees(b.Reading), p.ground(b.Edge, b.Bevel) + " within " + degrees(b.Tolerance), p.wheels(b.Diameter, b.From, b.To)}
	if b.Both() {
		lines[0] += ", both faces"
	}
	const clear = 3.0
	c.write(append(lines, revisionWords(found.Basis)...), paper.Point{X: left + clear, Y: top + clear}, paper.Point{X: min(0, low.X, high.X) - clear, Y: bottom - clear})
	if !b.Both() {
		c.write([]string{faceWords(b.Kind)}, paper.Point{X: clear, Y: top + 2}, paper.Point{X: high.X - clear, Y: -clear})
	}
	return c
}

// besideSide is the tool in the notch: its back from the heel on, and what lies before a bevel that does not begin at the edge.
func besideSide(n notchSide) (marks []paper.Mark) {
	const further = 14.0
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
	if kind.Flat() {
		return "top face"
	}
	return "flute floor"
}

// bevelSays says both numbers, and which of them the card has.
func bevelSays(b setup.BevelCard, p printer) string {
	edge := "the edge is"
	switch {
	case b.Both():
		edge = "the two faces make"
	case b.Bevel > 0:
		edge = "the wheel's tangent at its front end is"
	}
	if b.Diameter == 0 {
		return fmt.Sprintf("Notch %s: what a protractor laid on the bevel reads, and %s %s too, for a flat abrasive grinds no hollow.", degrees(b.Reading), edge, degrees(b.Edge))
	}
	return fmt.Sprintf("Notch %s: what a protractor laid on the bevel reads. On the hollow behind it %s %s; where the bevel fits, that is so within %s with %s.",
		degrees(b.Reading), edge, degrees(b.Edge), degrees(b.Tolerance), p.goodWith(b.Diameter, b.From, b.To))
}

// bevelUse says how to hold the card, and what light means.
func bevelUse(b setup.BevelCard) string {
	text := fmt.Sprintf("Lay the upper side of the notch on the %s, in its middle, and push the tool in until the other side touches the bevel.", faceWords(b.Kind))
	if b.Both() {
		text = "Push the tool into the notch until both faces touch."
	}
	if b.Across {
		text += " Hold the card square to the edge."
	}
	switch light := float64(b.Lower.Chord) * math.Sin(float64(b.Tolerance)); {
	case b.Bevel > 0:
		text += fmt.Sprintf(" The edge stays %s short of the corner. The bevel's two ends touch, what is between them is hollow. Light at its heel: keener than wanted; light at its front end: blunter.", setup.PrintLength(b.Clear, setup.Millimetres, 1))
	case b.Diameter == 0 || light == 0:
		text += " Light at the heel: keener than wanted; light at the edge: blunter."
	default:
		text += fmt.Sprintf(" Edge and heel touch, what is between them is hollow. Light at the heel: keener than wanted, and %s keener is %.2f mm of light; light at the edge: blunter.", degrees(b.Tolerance), light)
	}
	return text
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
