package sheet

import (
	"fmt"
	"math"
	"path"
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
func whichStep(found setup.Setup, step int) string {
	if len(found.Steps) == 1 {
		return ""
	}
	return speech{}.bevelWords(found.Steps, step) + "."
}

// whichSteps says for which of several grinds a card is, that is for more than one; for all it need not be said.
func whichSteps(found setup.Setup, steps ...int) string {
	switch {
	case len(steps) == len(found.Steps):
		return ""
	case len(steps) == 1:
		return whichStep(found, steps[0])
	}
	return fmt.Sprintf("Grinds %s of %d.", numbered(steps), len(found.Steps))
}

// whatIsGround says what is ground within the tolerance: an edge, or several.
func whatIsGround(found setup.Setup, steps []int) string {
	if len(steps) > 1 {
		return "every bevel"
	}
	return degrees(found.Steps[steps[0]].Predicted.Edge)
}

// numbered are steps as people count them.
func numbered(steps []int) string {
	var all []string
	for _, s := range steps {
		all = append(all, fmt.Sprint(s+1))
	}
	return strings.Join(all, ", ")
}

// revisionWords are a recipe's id and the number of its revision, where there is one.
func revisionWords(b setup.Basis) []string {
	if b.Recipe == "" {
		return nil
	}
	return []string{path.Base(path.Dir(path.Dir(b.Recipe))) + ", revision " + path.Base(b.Recipe)}
}

// printer prints lengths in the unit asked for.
type printer struct{ unit setup.LengthUnit }

// length keeps number and unit on one line.
func (p printer) length(l unit.Length) string {
	return strings.NewReplacer(" (", " (", " ", "\u00a0").Replace(setup.PrintLength(l, p.unit, 1))
}

// fine is a length too small for a rule.
func (p printer) fine(mm float64) string {
	if p.unit == setup.Inches {
		return unit.FormatFixed(mm/float64(unit.Inch), 3) + "\u00a0in"
	}
	return unit.FormatFixed(mm, 2) + "\u00a0mm"
}

// lengths prints two lengths, rounded to the narrower side.
func (p printer) lengths(from, to unit.Length) (least, most string) {
	step := unit.Length(0.1)
	if p.unit == setup.Inches {
		step = unit.Inch / 64
	}
	return p.length(unit.Length(math.Ceil(float64(from/step)-1e-9)) * step), p.length(unit.Length(math.Floor(float64(to/step)+1e-9)) * step)
}

// ground says what is ground with a card: the edge, or which bevel.
func (p printer) ground(edge unit.Angle, bevel int) string {
	if bevel > 0 {
		return fmt.Sprintf("bevel %d, %s", bevel+1, degrees(edge))
	}
	return "edge " + degrees(edge)
}

// wheels are the diameters that a card is good for.
func (p printer) wheels(diameter, least, most unit.Length) string {
	from, to := p.lengths(least, min(most, 1e6))
	switch open := math.IsInf(float64(most), 1); {
	case diameter == 0:
		return "flat"
	case open && least == 0:
		return "of any size"
	case open:
		return "⌀\u00a0from " + from
	case least == 0:
		return "⌀\u00a0up to " + to
	}
	return "⌀\u00a0" + from + " to " + to
}

// goodWith says with which wheels.
func (p printer) goodWith(diameter, least, most unit.Length) string {
	if diameter == 0 {
		return "a flat abrasive"
	}
	return "wheels of " + p.wheels(diameter, least, most)
}

// wheel is a wheel's diameter on a card.
func (p printer) wheel(diameter unit.Length) string {
	if diameter == 0 {
		return "flat abrasive"
	}
	return "⌀\u00a0" + p.length(diameter)
}

// on says which wheel a card was reckoned for.
func (p printer) on(diameter unit.Length) string {
	if diameter == 0 {
		return "a flat abrasive"
	}
	return "a wheel of " + p.wheel(diameter)
}

func degrees(a unit.Angle) string { return unit.FormatFixed(a.Degrees(), 1) + "°" }
