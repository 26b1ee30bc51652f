package sheet

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// spacerCards are the blocks to cut, with the list of all that are needed.
func (m Maker) spacerCards(ctx context.Context, q setup.Question) (cardSet, setup.Setup, error) {
	spacings, found, err := m.Solver.Spacers(ctx, q)
	p := printer{q.Unit}
	set := cardSet{what: "Blocks", list: &cuttingList{}}
	number := 0
	for _, s := range spacings {
		set.list.how = append(set.list.how, spacingWords(s, p, found, number))
		for _, b := range s.Blocks {
			number++
			from, to := p.lengths(b.From, b.To)
			row := []string{fmt.Sprint(number), p.length(b.Length), from + " to " + to, "cut one", forWords(s, b, found)}
			switch {
			case b.OnHand && b.Name == "":
				row[3] = "on hand"
			case b.OnHand:
				row[3] = "on hand: " + shortened(b.Name)
			case b.Shim:
				row[3] = "shims: too thin to cut"
			default:
				set.cards = append(set.cards, blockCard(number, b, p, found))
			}
			set.list.rows = append(set.list.rows, row)
		}
		set.list.good = fmt.Sprintf("Between the lengths told, every edge stays within %s on %s, all else being as it is set.", degrees(s.Tolerance), p.on(s.Diameter))
	}
	return set, found, err
}

// shortened is a name as long as a cell of a table takes.
func shortened(name string) string {
	const most = 60
	if letters := []rune(name); len(letters) > most {
		return string(letters[:most-1]) + "…"
	}
	return name
}

// cuttingList is of the blocks that are needed.
type cuttingList struct {
	how  []string // they are used
	good string
	rows [][]string // number, length, good from and to, how to get it, what for
}

// A block's parts.
const (
	blockHigh  = 22.0
	shortBlock = 34.0 // below it a block is a tongue that hangs from a tab, to hold and to write on
	tongue     = 16.0
	tabLong    = 46.0
)

// blockCard is as long along x as it spaces.
func blockCard(number int, b setup.Spacer, p printer, found setup.Setup) card {
	long, left, right, low := float64(b.Length), 0.0, float64(b.Length), blockHigh
	c := card{cut: outlined(paper.Point{}, paper.Point{X: long}, paper.Point{X: long, Y: low}, paper.Point{Y: low})}
	if long < shortBlock {
		left, right = (long-tabLong)/2, (long+tabLong)/2
		c.cut = outlined(paper.Point{X: left}, paper.Point{X: right}, paper.Point{X: right, Y: low}, paper.Point{X: long, Y: low},
			paper.Point{X: long, Y: low + tongue}, paper.Point{Y: low + tongue}, paper.Point{Y: low}, paper.Point{X: left, Y: low})
	}
	from, to := p.lengths(b.From, b.To)
	lines := append([]string{fmt.Sprintf("block %d: %s", number, p.length(b.Length)), "good " + from + " to " + to}, revisionWords(found.Basis)...)
	c.write(lines, paper.Point{X: left + inset, Y: inset}, paper.Point{X: right - inset, Y: low - inset})
	return c
}

// spacingWords say how blocks are used, where the stop is and who needs none.
func spacingWords(s setup.Spacing, p printer, found setup.Setup, before int) string {
	what, at, without := s.Support, p.length(s.At), stepsWords(s.Without, found)
	switch now := nowBlock(s); {
	case s.What == setup.SpacedStickOut:
		return fmt.Sprintf("Stick-out: clamp a stop where the nose touches it at %s, for %s. For the others put the block between nose and stop: the tool then stands out by so much less.", at, without)
	case s.What == setup.SpacedGap:
		return fmt.Sprintf("Wheel gap: it is %s for %s. For the others put the block between the far end of that gap's gauge and the %s.", at, without, what)
	case now >= 0:
		text := fmt.Sprintf("Slide: before the %s is moved, clamp a stop on the slide, on the side of its smaller readings, with block %d between stop and %s. Without a block the %s then stands right for %s.",
			what, before+now+1, what, what, without)
		if len(s.Blocks) > 1 {
			text += " For the others put their block between."
		}
		return text
	case slices.Equal(s.Without, []int{setup.NowStanding}):
		return fmt.Sprintf("Slide: before the %s is moved, clamp a stop on the slide, on the side of its smaller readings, touching the %s. Then put the block between stop and %s.", what, what, what)
	default:
		return fmt.Sprintf("Slide: set it to %s, for %s, and clamp a stop on it, on the side of its smaller readings, touching the %s. For the others put the block between stop and %s.", at, without, what, what)
	}
}

// nowBlock is the block that fits where the machine stands now; -1: none.
func nowBlock(s setup.Spacing) int {
	for i, b := range s.Blocks {
		for _, step := range b.Steps {
			if step == setup.NowStanding {
				return i
			}
		}
	}
	return -1
}

// forWords say what a block is for.
func forWords(s setup.Spacing, b setup.Spacer, found setup.Setup) string {
	return [...]string{"slide", "wheel gap", "stick-out"}[s.What] + ": " + stepsWords(b.Steps, found)
}

// stepsWords name grinds, or where the machine stands now.
func stepsWords(steps []int, found setup.Setup) string {
	var all []string
	for _, i := range steps {
		if i == setup.NowStanding {
			all = append(all, "as it stands now")
			continue
		}
		step := found.Steps[i]
		all = append(all, fmt.Sprintf("grind %d (bevel %d, %s)", i+1, step.Bevel+1, degrees(step.Predicted.Edge)))
	}
	return strings.Join(all, ", ")
}

// blocks lays the list and the blocks out, as many to a page as there is room for.
func (s *sheet) blocks(set cardSet) error {
	s.page()
	s.gaugeHeading()
	for _, text := range set.list.how {
		s.lines(border, s.width(), stepSize, true, text)
	}
	s.lines(border, s.width(), textSize, false, "Each block is used by itself, so that errors do not add up. "+set.list.good)
	s.table([]float64{0, 15, 43, 88, 124}, append([][]string{{"Block", "Length", "Good from and to", "How", "For"}}, set.list.rows...))
	if len(set.cards) > 0 {
		s.lines(border, s.width(), textSize, true, trueIf+" Cut blocks from something stiff, along the middle of the line: the two ends of a block, or the two sides of its tongue, measure.")
	}
	s.y += 6
	x, row := border, 0.0
	for _, c := range set.cards {
		const apart = 6.0
		least, most := c.bounds(false)
		wide, high := most.X-least.X, most.Y-least.Y
		if wide > s.width() {
			return tooLarge(wide, high, s.width(), s.size.Height-2*border-footer)
		}
		if x+wide > s.right() {
			x, s.y, row = border, s.y+row+apart, 0
		}
		pages := len(s.pages)
		if s.room(high); len(s.pages) > pages {
			x, row = border, 0
		}
		c.draw(s.here(), paper.Point{X: x - least.X, Y: s.y - least.Y}, false)
		x, row = x+wide+apart, max(row, high)
	}
	return nil
}

// table writes rows of cells, each broken into lines in its column; the first row is the heading.
func (s *sheet) table(columns []float64, rows [][]string) {
	for i, cells := range rows {
		s.room(3 * leading * textSize)
		s.y += 1.5
		top, low := s.y, s.y
		for n, cell := range cells {
			right := s.width()
			if n+1 < len(columns) {
				right = columns[n+1] - 2
			}
			s.y = top
			s.lines(border+columns[n], right-columns[n], textSize, i == 0 || n < 2, cell)
			low = max(low, s.y)
		}
		s.y = low + 1.5
		s.rule(0.15)
	}
	s.y += 1
}
