package sheet

import (
	"math"
	"path"
	"strconv"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// inset is how far words stay from a card's outline.
const inset = 3.0

// readable is the size of letters on a card below which lines are left out, as long as there are others.
const readable = 2.0

// write puts lines into a rectangle on the card, as large as it takes. They are broken, or run on, where that makes them clearly larger. The
// first says most: where the rectangle is too small for all, the last are left out.
func (c *card) write(lines []string, least, most paper.Point) {
	wide, high := most.X-least.X, most.Y-least.Y
	var best []string
	size := 0.0
	for ; size < readable && len(lines) > 0; lines = lines[:len(lines)-1] {
		best, size = lines, largest(lines, wide, high, false)
		for _, other := range [][]string{lines, {strings.Join(lines, ", ")}} {
			if larger := largest(other, wide, high, true); larger > 1.2*size {
				best, size = broken(other, wide, larger), larger
			}
		}
	}
	y := least.Y + (high-leading*size*float64(len(best)))/2
	for _, l := range best {
		y += leading * size
		c.words = append(c.words, paper.Words{At: paper.Point{X: least.X, Y: y - 0.3*size}, Size: size, Text: l})
	}
}

// largest is how large lines can stand in a rectangle, whole or broken between words.
func largest(lines []string, wide, high float64, breaking bool) (size float64) {
	whole := lines // what stays on one line
	if breaking {
		whole = strings.Split(strings.Join(lines, " "), " ")
	}
	widest := 0.0
	for _, w := range whole {
		widest = max(widest, paper.Width(w, 1, false))
	}
	const step, least = 0.05, 0.3
	for size = min(textSize, wide/widest); size > least; size -= step {
		stand := lines
		if breaking {
			stand = broken(lines, wide, size)
		}
		if leading*size*float64(len(stand)) <= high {
			break
		}
	}
	return size
}

// broken are lines broken between words.
func broken(lines []string, wide, size float64) (all []string) {
	for _, l := range lines {
		all = append(all, paper.Wrap(l, wide, size, false)...)
	}
	return all
}

// whichStep says for which of several grinds a card is.
func (in speech) whichStep(found setup.Setup, step int) string {
	if len(found.Steps) == 1 {
		return ""
	}
	return in.bevelWords(found.Steps, step) + "."
}

// whichSteps says for which of several grinds a card is, that is for more than one; for all it need not be said.
func (in speech) whichSteps(found setup.Setup, steps ...int) string {
	switch {
	case len(steps) == len(found.Steps):
		return ""
	case len(steps) == 1:
		return in.whichStep(found, steps[0])
	}
	return in.say("Grinds %s of %s.", numbered(steps), strconv.Itoa(len(found.Steps)))
}

// numbered are steps as people count them.
func numbered(steps []int) string {
	var all []string
	for _, s := range steps {
		all = append(all, strconv.Itoa(s+1))
	}
	return strings.Join(all, ", ")
}

// goodBetween says between what a setting may be, all else being as it is set, and what is ground so: an edge, or several.
func (in speech) goodBetween(from, to string, found setup.Setup, steps []int, tolerance unit.Angle, wheel unit.Length) string {
	if len(steps) > 1 {
		return in.say("From %s to %s, all else as it is set, it grinds every bevel within %s %s.", from, to, in.Degrees(tolerance), in.on(wheel))
	}
	edge := found.Steps[steps[0]].Predicted.Edge
	return in.say("From %s to %s, all else as it is set, it grinds %s within %s %s.", from, to, in.Degrees(edge), in.Degrees(tolerance), in.on(wheel))
}

// revisionWords are a recipe's id and the number of its revision, where there is one.
func (in speech) revisionWords(b setup.Basis) []string {
	if b.Recipe == "" {
		return nil
	}
	return []string{in.say("%s, revision %s", path.Base(path.Dir(path.Dir(b.Recipe))), path.Base(b.Recipe))}
}

// length keeps number and unit on one line.
func (in speech) length(l unit.Length) string { return together(in.Length(l, 1)) }

// setLength is what somebody sets, all of it.
func (in speech) setLength(l unit.Length) string { return together(in.Setting(l, 1)) }

func together(length string) string {
	return strings.NewReplacer(" (", " (", " ", "\u00a0").Replace(length)
}

// fine is a length too small for a rule.
func (in speech) fine(mm float64) string {
	if in.Unit == setup.Inches {
		return in.Number(mm/float64(unit.Inch), 3) + "\u00a0in"
	}
	return in.Number(mm, 2) + "\u00a0mm"
}

// lengths prints two lengths, rounded to the narrower side.
func (in speech) lengths(from, to unit.Length) (least, most string) {
	step := unit.Length(0.1)
	if in.Unit == setup.Inches {
		step = unit.Inch / 64
	}
	return in.length(unit.Length(math.Ceil(float64(from/step)-1e-9)) * step), in.length(unit.Length(math.Floor(float64(to/step)+1e-9)) * step)
}

// ground says what is ground with a card: the edge, or which bevel.
func (in speech) ground(edge unit.Angle, bevel int) string {
	if bevel > 0 {
		return in.say("bevel %s, %s", strconv.Itoa(bevel+1), in.Degrees(edge))
	}
	return in.say("edge %s", in.Degrees(edge))
}

// wheels are the diameters that a card is good for.
func (in speech) wheels(diameter, least, most unit.Length) string {
	from, to := in.lengths(least, min(most, 1e6))
	switch open := math.IsInf(float64(most), 1); {
	case diameter == 0:
		return in.say("flat")
	case open && least == 0:
		return in.say("of any size")
	case open:
		return in.say("⌀\u00a0from %s", from)
	case least == 0:
		return in.say("⌀\u00a0up to %s", to)
	}
	return in.say("⌀\u00a0%s to %s", from, to)
}

// with says with which wheels a card is good.
func (in speech) with(diameter, least, most unit.Length) string {
	if diameter == 0 {
		return in.say("with a flat abrasive")
	}
	return in.say("with wheels %s", in.wheels(diameter, least, most))
}

// wheel is a wheel's diameter on a card.
func (in speech) wheel(diameter unit.Length) string {
	if diameter == 0 {
		return in.say("flat abrasive")
	}
	return "⌀\u00a0" + in.length(diameter)
}

// on says on which wheel a card was reckoned to be good.
func (in speech) on(diameter unit.Length) string {
	if diameter == 0 {
		return in.say("on a flat abrasive")
	}
	return in.say("on a wheel of %s", in.wheel(diameter))
}

// rangeLines are what a card that sets something has on it: what it sets, from where to where it is good, and how good that is.
func (in speech) rangeLines(sets, from, to string, tolerance unit.Angle, wheel unit.Length) []string {
	return []string{sets, in.say("good %s to %s", from, to), in.say("within %s, %s", in.Degrees(tolerance), in.wheel(wheel))}
}
