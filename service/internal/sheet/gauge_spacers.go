package sheet

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/words"
)

// spacerCards are the blocks to cut, with the list of all that are needed.
func (m Maker) spacerCards(ctx context.Context, q setup.Question) (cardSet, setup.Setup, error) {
	spacings, found, err := m.Solver.Spacers(ctx, q)
	in := speechOf(q)
	set := cardSet{title: "Blocks: %s", list: &cuttingList{}}
	number := 0
	for _, s := range spacings {
		set.list.how = append(set.list.how, in.spacingWords(s, found, number))
		for _, b := range s.Blocks {
			number++
			from, to := in.lengths(b.From, b.To)
			row := []string{strconv.Itoa(number), in.length(b.Length), in.say("%s to %s", from, to), in.say("cut one"), in.forWords(s, b, found)}
			switch {
			case b.OnHand && b.Name == "":
				row[3] = in.say("on hand")
			case b.OnHand:
				row[3] = in.say("on hand: %s", paper.Isolate(shortened(b.Name)))
			case b.Shim:
				row[3] = in.say("shims: too thin to cut")
			default:
				set.cards = append(set.cards, in.blockCard(number, b, found))
			}
			set.list.rows = append(set.list.rows, row)
		}
		set.list.good = in.say("Between the lengths told, every edge stays within %s %s, all else being as it is set.", in.Degrees(s.Tolerance), in.on(s.Diameter))
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
func (in speech) blockCard(number int, b setup.Spacer, found setup.Setup) card {
	long, left, right, low := float64(b.Length), 0.0, float64(b.Length), blockHigh
	c := card{cut: outlined(paper.Point{}, paper.Point{X: long}, paper.Point{X: long, Y: low}, paper.Point{Y: low})}
	if long < shortBlock {
		left, right = (long-tabLong)/2, (long+tabLong)/2
		c.cut = outlined(paper.Point{X: left}, paper.Point{X: right}, paper.Point{X: right, Y: low}, paper.Point{X: long, Y: low},
			paper.Point{X: long, Y: low + tongue}, paper.Point{Y: low + tongue}, paper.Point{Y: low}, paper.Point{X: left, Y: low})
	}
	from, to := in.lengths(b.From, b.To)
	lines := []string{in.say("block %s: %s", strconv.Itoa(number), in.length(b.Length)), in.say("good %s to %s", from, to)}
	c.write(append(lines, in.revisionWords(found.Basis)...), paper.Point{X: left + inset, Y: inset}, paper.Point{X: right - inset, Y: low - inset})
	return c
}

// spacingWords say how blocks are used, where the stop is and who needs none.
func (in speech) spacingWords(s setup.Spacing, found setup.Setup, before int) string {
	what, at, without := s.Support, in.length(s.At), in.stepsWords(s.Without, found)
	switch now := nowBlock(s); {
	case s.What == setup.SpacedStickOut:
		return in.say("Stick-out: clamp a stop where the nose touches it at %s, for %s. For the others put the block between nose and stop: the tool then stands out by so much less.", at, without)
	case s.What == setup.SpacedGap:
		return in.say("Wheel gap: it is %s for %s. For the others put the block between the far end of that gap's gauge and %s.", at, without, what)
	case now >= 0:
		text := in.say("Slide: before %s is moved, clamp a stop on the slide, on the side of its smaller readings, with block %s between stop and %s. Without a block %s then stands right for %s.",
			what, strconv.Itoa(before+now+1), what, what, without)
		if len(s.Blocks) > 1 {
			text += " " + in.say("For the others put their block between.")
		}
		return text
	case slices.Equal(s.Without, []int{setup.NowStanding}):
		return in.say("Slide: before %s is moved, clamp a stop on the slide, on the side of its smaller readings, touching %s. Then put the block between stop and %s.", what, what, what)
	default:
		return in.say("Slide: set it to %s, for %s, and clamp a stop on it, on the side of its smaller readings, touching %s. For the others put the block between stop and %s.", at, without, what, what)
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
func (in speech) forWords(s setup.Spacing, b setup.Spacer, found setup.Setup) string {
	return in.say([...]words.Text{"slide: %s", "wheel gap: %s", "stick-out: %s"}[s.What], in.stepsWords(b.Steps, found))
}

// stepsWords name grinds, or where the machine stands now.
func (in speech) stepsWords(steps []int, found setup.Setup) string {
	var all []string
	for _, i := range steps {
		if i == setup.NowStanding {
			all = append(all, in.say("as it stands now"))
			continue
		}
		step := found.Steps[i]
		all = append(all, in.say("grind %s (bevel %s, %s)", strconv.Itoa(i+1), strconv.Itoa(step.Bevel+1), in.Degrees(step.Predicted.Edge)))
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
	s.lines(border, s.width(), textSize, false, s.say("Each block is used by itself, so that errors do not add up.")+" "+set.list.good)
	s.table([]float64{0, 15, 43, 88, 124}, append([][]string{{s.say("Block"), s.say("Length"), s.say("Good from and to"), s.say("How"), s.say("For")}}, set.list.rows...))
	if len(set.cards) > 0 {
		s.lines(border, s.width(), textSize, true, s.trueIf()+" "+s.say("Cut blocks from something stiff, along the middle of the line: the two ends of a block, or the two sides of its tongue, measure."))
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
