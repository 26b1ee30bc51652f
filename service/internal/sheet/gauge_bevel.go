package sheet

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// bevelCards check what was ground.
func (m Maker) bevelCards(ctx context.Context, q setup.Question) (cardSet, setup.Setup, error) {
	cards, found, err := m.Solver.BevelCards(ctx, q)
	set := cardSet{title: "Bevel card: %s"}
	for _, c := range cards {
		set.cards = append(set.cards, speechOf(q).bevelCard(c, found))
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
func (in speech) bevelCard(b setup.BevelCard, found setup.Setup) card {
	lower, upper := sideOf(b.Lower, 1), sideOf(b.Upper, -1)
	low, high := lower.at(lower.long), upper.at(upper.long)
	left := min(0, low.X, high.X) - cardWritten
	top, bottom := high.Y-armThick, low.Y+armThick
	c := card{
		cut: outlined(paper.Point{}, high, paper.Point{X: high.X, Y: top}, paper.Point{X: left, Y: top}, paper.Point{X: left, Y: bottom},
			paper.Point{X: low.X, Y: bottom}, low),
		beside: slices.Concat(besideSide(lower, float64(b.Clear)), besideSide(upper, float64(b.Clear))),
		which:  in.whichSteps(found, b.Steps...),
		says:   in.bevelSays(b),
		use:    in.bevelUse(b),
		cutIt:  in.say("Cut it from something stiff, along the middle of the line, the notch last: its two sides measure, and they must be straight and meet in a sharp corner."),
	}
	reads := words.Text("reads %s")
	if b.Both() {
		reads = "reads %s, both faces"
	}
	lines := []string{
		in.say(reads, in.Degrees(b.Reading)), in.say("%s within %s", in.ground(b.Edge, b.Bevel), in.Degrees(b.Tolerance)), in.wheels(b.Diameter, b.From, b.To),
	}
	c.write(append(lines, in.revisionWords(found.Basis)...), paper.Point{X: left + inset, Y: top + inset}, paper.Point{X: min(0, low.X, high.X) - inset, Y: bottom - inset})
	if !b.Both() {
		label := faceOf(b.Kind).name
		if b.Kind == shop.AnyTool {
			label = "tool"
		}
		c.write([]string{in.say(label)}, paper.Point{X: inset, Y: top + 2}, paper.Point{X: high.X - inset, Y: -inset})
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

// face is what the upper side of the notch lies on.
type face struct{ name, use words.Text }

func faceOf(kind shop.ToolKind) face {
	switch {
	case kind == shop.AnyTool:
		return face{"tool", "Lay the upper side of the notch on the flute floor or top face, in its middle, and push the tool in until the other side touches the bevel."}
	case kind.Flat():
		return face{"top face", "Lay the upper side of the notch on the top face, in its middle, and push the tool in until the other side touches the bevel."}
	}
	return face{"flute floor", "Lay the upper side of the notch on the flute floor, in its middle, and push the tool in until the other side touches the bevel."}
}

// bevelSays says both numbers, and which of them the card has.
func (in speech) bevelSays(b setup.BevelCard) string {
	with := in.with(b.Diameter, b.From, b.To)
	reading, edge, tolerance := in.Degrees(b.Reading), in.Degrees(b.Edge), in.Degrees(b.Tolerance)
	switch {
	case b.Diameter == 0 && b.Both():
		return in.say("Notch %s, as the two bevels read together, and that is what the faces make at the edge: a flat abrasive grinds no hollow.", reading)
	case b.Diameter == 0:
		return in.say("Notch %s, as a protractor laid on the bevel reads, and that is its front angle: a flat abrasive grinds no hollow.", reading)
	case b.Both():
		return in.say("Notch %s, as the two bevels read together. At the edge the faces make %s, for the bevels are hollow: those that fit do so within %s %s.", reading, edge, tolerance, with)
	case b.Bevel > 0:
		return in.say("Notch %s, as a protractor laid on bevel %s reads. Its front angle is %s, for the bevel is hollow: one that fits has it within %s %s.", reading, strconv.Itoa(b.Bevel+1), edge, tolerance, with)
	}
	return in.say("Notch %s, as a protractor laid on the bevel reads. The edge is %s, for the bevel is hollow: one that fits has it within %s %s.", reading, edge, tolerance, with)
}

// bevelUse says how to hold the card, and what light means.
func (in speech) bevelUse(b setup.BevelCard) string {
	var all []string
	add := func(t words.Text, args ...string) { all = append(all, in.say(t, args...)) }
	if b.Both() {
		add("Push the tool into the notch until both bevels touch.")
	} else {
		add(faceOf(b.Kind).use)
	}
	if b.Across {
		add("Hold the card square to the edge.")
	}
	if b.Bevel > 0 {
		add("The edge stays %s short of the corner.", in.length(b.Clear))
	}
	if b.Diameter > 0 {
		add("A bevel touches at its two ends, what is between them is hollow.")
	}
	add("Light at the heel: keener than wanted; light at the front: blunter.")
	if light := float64(b.Lower.Chord) * math.Sin(float64(b.Tolerance)); light > 0 && !b.Both() {
		add("At the heel %s of light mean %s keener.", in.fine(light), in.Degrees(b.Tolerance))
	}
	return strings.Join(all, " ")
}

// exactly is an angle as fine as it is set.
func (in speech) exactly(a unit.Angle) string {
	if text := unit.FormatFixed(a.Degrees(), 2); text[len(text)-1] != '0' {
		return in.Marked(text) + "°"
	}
	return in.Degrees(a)
}

// narrower are two angles, rounded to the narrower side.
func (in speech) narrower(from, to unit.Angle) (least, most string) {
	const tenth = 0.1
	return in.Degrees(unit.Degrees(math.Ceil(from.Degrees()/tenth-1e-9) * tenth)), in.Degrees(unit.Degrees(math.Floor(to.Degrees()/tenth+1e-9) * tenth))
}
