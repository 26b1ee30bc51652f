package sheet

import (
	"arris.example/geometry/drawing"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/words"
)

// Sizes of a whole edge on a sheet.
const (
	viewHigh = 52.0
	plotHigh = 40.0
	plotLeft = 14.0 // for the scale
)

// edge is the whole edge that is ground: seen from above and from the nose, and its wedge angle along it.
func (s *sheet) edge(e setup.WholeEdge) {
	s.room(viewHigh + plotHigh + 6*leading*stepSize)
	s.y += 4
	s.lines(border, s.width(), stepSize, true, s.say("The whole edge"))
	s.lines(border, s.width(), textSize, false, e.Summary.Text)
	if e.Plan != nil && e.End != nil {
		const between = 8.0
		half := (s.width() - between) / 2
		for i, view := range []struct {
			from   words.Text
			figure *drawing.Figure
		}{{"Seen from above", e.Plan}, {"Seen from the nose", e.End}} {
			x := border + float64(i)*(half+between)
			s.here().Write(x, s.y+leading*textSize, textSize, false, s.say(view.from))
			top := s.y + leading*textSize + 2
			s.here().Place(s.arranged(view.figure, half, viewHigh-6), paper.Point{X: x, Y: top}, paper.Point{X: x + half, Y: top + viewHigh - 6}, "")
		}
		s.y += viewHigh + 2
	}
	if e.Plot != nil {
		s.plot(*e.Plot, e.Places)
	}
}

// plot draws angles along the edge, from the left wing over the nose to the right one.
func (s *sheet) plot(p setup.EdgePlot, places []setup.EdgePlace) {
	s.y += leading * textSize
	s.here().Write(border, s.y, textSize, false, s.say("Wedge angle along the edge (line), and the bevel to the tool's axis (dashed)"))
	top := s.y + 3
	left, right := border+plotLeft, s.right()-2
	at := func(share, degrees float64) paper.Point {
		least, most := p.Least.Degrees(), p.Most.Degrees()
		return paper.Point{X: left + share*(right-left), Y: top + plotHigh*(1-(degrees-least)/(most-least))}
	}
	for _, tick := range p.Ticks {
		text := s.Number(tick.Degrees(), 0) + "°"
		y := at(0, tick.Degrees()).Y
		s.here().Draw(0.1, paper.Point{X: left, Y: y}, paper.Point{X: right, Y: y})
		s.here().Write(left-2-paper.Width(text, smallSize, false), y+0.36*smallSize, smallSize, false, text)
	}
	for i, series := range p.Series {
		var dashes []float64
		if i > 0 {
			dashes = []float64{2, 1.2}
		}
		var run []paper.Point
		for n, angle := range series.Angles {
			if angle != nil {
				run = append(run, at((1+places[n].Share)/2, angle.Degrees()))
			}
			if (angle == nil || n == len(series.Angles)-1) && len(run) > 1 {
				s.here().Add(paper.Line{Points: run, Width: 0.45 - 0.2*float64(min(i, 1)), Dashes: dashes})
			}
			if angle == nil {
				run = nil
			}
		}
	}
	s.y = top + plotHigh + leading*smallSize
	for i, text := range []string{s.say("left wing"), s.say("nose"), s.say("right wing")} {
		share := float64(i) / 2
		s.here().Write(at(share, 0).X-share*paper.Width(text, smallSize, false), s.y, smallSize, false, text)
	}
	s.y += 2
}
