package sheet

import (
	"fmt"
	"math"
	"path"
	"strings"

	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// Sizes on a sheet, millimetres. The number to set is the largest thing on its step.
const (
	border     = 12.0
	titleSize  = 6.5
	textSize   = 3.6
	smallSize  = 3.0
	stepSize   = 4.6
	numberSize = 11.0
	leading    = 1.35 // of lines, in letter heights
	drawnHigh  = 48.0 // at most
	leastDrawn = 40.0
	footer     = 16.0
	checkBar   = 100.0
)

// sheet is a document in the making.
type sheet struct {
	speech
	size   paper.Size
	title  string
	engine string
	pages  []paper.Page
	y      float64 // how far down the page is full
	number int     // of the settings so far
	known  map[drawn]paper.Arranged
	code   corner // in the heading
	head   head   // of every further page
}

func (s *sheet) here() *paper.Page { return &s.pages[len(s.pages)-1] }

func (s *sheet) right() float64 { return s.size.Width - border }

func (s *sheet) width() float64 { return s.size.Width - 2*border }

// page begins a new one.
func (s *sheet) page() {
	s.pages = append(s.pages, paper.Page{Size: s.size})
	s.y = border
	if len(s.pages) > 1 {
		s.y += s.head.high()
	}
}

// room begins a new page where there is not so much left on this one.
func (s *sheet) room(height float64) {
	if s.y+height > s.size.Height-border-footer {
		s.page()
	}
}

// lines writes a text from a place on, broken into lines, and moves down; what has no room goes to a new page.
func (s *sheet) lines(x, width, size float64, bold bool, text string) {
	for _, line := range paper.Wrap(text, width, size, bold) {
		s.room(leading * size)
		s.y += leading * size
		s.here().Write(x, s.y, size, bold, line)
	}
}

func (s *sheet) rule(width float64) {
	s.here().Draw(width, paper.Point{X: border, Y: s.y}, paper.Point{X: s.right(), Y: s.y})
}

// heading is what the sheet is for, and what it rests on.
func (s *sheet) heading(facts []fact) {
	wide := s.width() - s.code.width
	s.lines(border, wide, titleSize, true, s.title)
	s.y += 2
	s.here().Draw(0.6, paper.Point{X: border, Y: s.y}, paper.Point{X: border + wide, Y: s.y})
	half, label := wide/2, 17.0
	for _, f := range facts {
		label = max(label, paper.Width(f.what, textSize, false)+2)
	}
	for i := 0; i < len(facts); i += 2 {
		top, low := s.y, s.y
		for column, f := range facts[i:min(i+2, len(facts))] {
			x := border + float64(column)*half
			s.y = top
			s.here().Write(x, s.y+leading*textSize, textSize, false, f.what)
			s.lines(x+label, half-label-3, textSize, true, f.is)
			low = max(low, s.y)
		}
		s.y = low
	}
	if s.code.width > 0 && len(s.pages) == 1 {
		s.y = max(s.y, border+s.code.height-2)
	}
	s.y += 3
	s.rule(0.3)
}

// stops are the cautions that nobody may overlook, in a frame above all numbers.
func (s *sheet) stops(all []setup.Caution) {
	for _, c := range all {
		if c.Severity != setup.Stop {
			continue
		}
		s.y += 3
		top := s.y
		s.lines(border+4, s.width()-8, stepSize, true, s.say("STOP. %s", c.Text))
		s.y += 3
		s.here().Add(paper.Line{Points: []paper.Point{{X: border, Y: top}, {X: s.right(), Y: top}, {X: s.right(), Y: s.y}, {X: border, Y: s.y}}, Closed: true, Width: 1})
	}
}

// step is one bevel: its settings, each with its number and its drawing, and what they grind.
func (s *sheet) step(all setup.Setup, i int) {
	step, todo := all.Steps[i], s.settings(all.Steps[i])
	if len(all.Steps) > 1 {
		s.room(leastDrawn + 10)
		s.y += 4
		s.lines(border, s.width(), stepSize, true, s.bevelWords(all.Steps, i))
	}
	s.lines(border, s.width(), textSize, false, step.Text+".")
	if there := step.Basis; there != nil {
		s.lines(border, s.width(), textSize, true, s.say("The wheel there: %s.", s.believed(*there)))
	}
	if i > 0 && sameMachine(step, all.Steps[i-1]) {
		var same string
		same, todo = s.kept(todo, s.settings(all.Steps[i-1]))
		s.lines(border, s.width(), stepSize, false, same)
	}
	for _, set := range todo {
		s.setting(set, step)
	}
	s.room(3 * leading * stepSize)
	s.y += 1.5
	s.lines(border, s.width(), stepSize, true, s.result(step))
	if step.Improve != nil {
		s.lines(border, s.width(), textSize, false, step.Improve.Text+".")
	}
	for _, p := range all.Proof {
		if p.Step == i {
			s.lines(border, s.width(), textSize, false, s.proved(p))
		}
	}
	s.y += 2
}

// setting is a row: number and words on the left, the drawing with that dimension on the right.
func (s *sheet) setting(set setting, step setup.Step) {
	high := drawnHigh
	if left := s.size.Height - border - footer - s.y; left < high+3 && left >= leastDrawn+3 {
		high = left - 3
	}
	s.room(high + 3)
	s.number++
	const words = 72.0
	top := s.y + 3
	s.disc(paper.Point{X: border + 4, Y: top + 5}, fmt.Sprint(s.number))
	s.y = top + 0.5
	s.lines(border+11, words-11, stepSize, false, set.lead)
	size := numberSize
	for paper.Width(set.text, size, true) > words && size > stepSize {
		size *= 0.95
	}
	s.y += 3 + size
	s.here().Write(border, s.y, size, true, set.text)
	if set.means != "" {
		s.y += 2
		s.lines(border, words, textSize, false, set.means)
	}
	if step.Figure != nil {
		least, most := paper.Point{X: border + words + 4, Y: top}, paper.Point{X: s.right(), Y: top + high - 2}
		s.here().Place(s.arranged(step.Figure, most.X-least.X, most.Y-least.Y), least, most, set.part)
	}
	s.y = top + high
	s.rule(0.15)
}

// arranged is a figure with its letters in their places, which are the same in all its drawings.
func (s *sheet) arranged(f *drawing.Figure, wide, high float64) paper.Arranged {
	key := drawn{f, wide, high}
	a, known := s.known[key]
	if !known {
		a = paper.Arrange(f, wide, high)
		s.known[key] = a
	}
	return a
}

// drawn is a figure in a box.
type drawn struct {
	figure     *drawing.Figure
	wide, high float64
}

// disc is a number in a black circle.
func (s *sheet) disc(centre paper.Point, text string) {
	const radius = 4.0
	s.here().Add(paper.Line{Arc: &paper.Arc{Centre: centre, Radius: radius, Sweep: 2 * math.Pi}, Closed: true, Width: 0.6})
	s.here().Write(centre.X-paper.Width(text, stepSize, true)/2, centre.Y+0.36*stepSize, stepSize, true, text)
}

func (s *sheet) cautions(all []setup.Caution) {
	s.y += 2
	for _, c := range all {
		if c.Severity == setup.Stop {
			continue
		}
		s.room(3 * leading * smallSize)
		s.here().Write(border, s.y+leading*smallSize, smallSize, true, "•")
		s.lines(border+4, s.width()-4, smallSize, false, strings.TrimSuffix(c.Text+" ("+sourceOf(c)+")", " ()"))
		s.y += 0.4
	}
}

// sourceOf is where a caution comes from. A record is told by its short name: the paths of addresses are for programs.
func sourceOf(c setup.Caution) string {
	if strings.HasPrefix(c.Source, "shops/") {
		return path.Base(c.Source)
	}
	return c.Source
}

// signed is where somebody writes that the set-up was proved.
func (s *sheet) signed() {
	s.room(9) // and a little of the footer's air
	s.y += 11
	s.here().Write(border, s.y, textSize, false, s.say("Proved on"))
	on := border + paper.Width(s.say("Proved on")+" ", textSize, false)
	by := border + s.width()/2
	s.here().Draw(0.2, paper.Point{X: on, Y: s.y + 0.5}, paper.Point{X: by - 4, Y: s.y + 0.5})
	s.here().Write(by, s.y, textSize, false, s.say("by"))
	s.here().Draw(0.2, paper.Point{X: by + paper.Width(s.say("by")+" ", textSize, false), Y: s.y + 0.5}, paper.Point{X: s.right(), Y: s.y + 0.5})
}

// checkLength is how long the check bar is, with so many places, and for whoever has a rule in inches on that.
func (in speech) checkLength(places int) string {
	metric := in.Number(checkBar, places) + " mm"
	if f, err := unit.InchFraction(checkBar, 64); err == nil && in.Unit != setup.Millimetres {
		return metric + " = " + f.String()
	}
	return metric
}

// footers put the check bar and the page's number on every page.
func (s *sheet) footers() {
	for i := range s.pages {
		p := &s.pages[i]
		y := s.size.Height - border
		p.Draw(0.4, paper.Point{X: border, Y: y - 3}, paper.Point{X: border + checkBar, Y: y - 3})
		for tick := range 11 {
			x, high := border+checkBar*float64(tick)/10, 1.5
			if tick%5 == 0 {
				high = 3
			}
			p.Draw(0.3, paper.Point{X: x, Y: y - 3 - high}, paper.Point{X: x, Y: y - 3})
		}
		p.Write(border, y+1, smallSize, false, s.say("%s. Measure it: where it is off, so is the print.", s.checkLength(0)))
		text := "arris " + s.engine + " · " + s.pageNumber(i)
		p.Write(s.right()-paper.Width(text, smallSize, false), y+1, smallSize, false, text)
	}
}
