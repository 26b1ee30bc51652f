// Package paper is what stands on a sheet of paper: lines, areas and words in millimetres. The same pages are written as PDF and as SVG.
package paper

import (
	"math"

	"arris.example/geometry/drawing"
)

// Size is a sheet's, upright, in millimetres.
type Size struct{ Width, Height float64 }

// The sizes: ISO 216, and ANSI/ASME Y14.1 size A, 8½ by 11 inches.
var (
	A4     = Size{210, 297}
	Letter = Size{215.9, 279.4}
)

// Point is a place on a page: x to the right and y down from its upper left corner, millimetres.
type Point struct{ X, Y float64 }

// Page is one side of a sheet. Later marks cover earlier ones.
type Page struct {
	Size
	Marks []Mark
}

// Mark is a [Line], [Words] or [Tiles].
type Mark interface{ mark() }

func (Line) mark()  {}
func (Words) mark() {}

// Shade is how dark an area is, from 0, white, to 1, black.
type Shade float64

// Line goes through points, or along an arc, and with Closed is an area's outline.
type Line struct {
	Points []Point
	Arc    *Arc
	Closed bool
	Width  float64 // 0: an area without an outline
	Dashes []float64
	Fill   *Shade // nil: none
}

// Arc is a circle's arc from Start counter-clockwise through Sweep, radians, as the page is looked at.
type Arc struct {
	Centre       Point
	Radius       float64
	Start, Sweep float64
}

// Full tells whether it is a whole circle.
func (a Arc) Full() bool { return a.Sweep >= 2*math.Pi-1e-9 }

// At is its circle's point in a direction.
func (a Arc) At(direction float64) Point {
	sin, cos := math.Sincos(direction)
	return Point{a.Centre.X + a.Radius*cos, a.Centre.Y - a.Radius*sin}
}

// Words stand on a line: At is the left end of their baseline, turned about it counter-clockwise.
type Words struct {
	At   Point
	Size float64 // of the letters: their em, millimetres
	Bold bool
	Turn float64 // radians
	Rim  bool    // of white around every letter, where lines run below
	Text string
}

// Add puts marks on the page.
func (p *Page) Add(marks ...Mark) { p.Marks = append(p.Marks, marks...) }

// Write puts words on the page.
func (p *Page) Write(x, y, size float64, bold bool, text string) {
	p.Add(Words{At: Point{x, y}, Size: size, Bold: bold, Text: text})
}

// Draw puts a straight line on the page.
func (p *Page) Draw(width float64, points ...Point) { p.Add(Line{Points: points, Width: width}) }

// Document is pages that belong together.
type Document struct {
	Title string
	Pages []Page
}

// How lines look, in letter heights. None carries a meaning alone: outlines and words do.
const (
	outlineWidth   = 0.08
	bevelWidth     = 0.16
	dimensionWidth = 0.045
	axisWidth      = 0.035
	boldly         = 2.2
	margin         = 0.8 // around a drawing
)

// leastLetters is the height of letters in a drawing that can be read at arm's length.
const leastLetters = 2.4

// lettersAcross is how many letter heights the longer side of a drawing takes at most.
const lettersAcross = 46

// Arranged is a figure with its letters in their places, for a box on a page.
type Arranged struct {
	d    *drawing.Drawing
	view drawing.Rect // all that is drawn, with a margin
}

// Arrange finds places for a figure's letters where it is to stand in a box as wide and high. They are the same whichever part is
// highlighted.
func Arrange(f *drawing.Figure, wide, high float64) Arranged {
	d := drawing.Take(f, func(frame drawing.Rect) float64 {
		shrink := max(frame.Width()/wide, frame.Height()/high)
		return max(max(frame.Width(), frame.Height())/lettersAcross, shrink*leastLetters*1.15)
	})
	l := drawing.Layout{Drawing: d, Size: func(l *drawing.Label) (width, height float64) { return Width(l.Text, d.Em, true), d.Em }}
	l.Arrange()
	view := d.Frame
	for _, label := range d.Labels {
		view.Include(label.Place.Slab.Corners()...)
	}
	return Arranged{d, view.Widened(margin * d.Em)}
}

// Place draws a figure as large as a box on the page takes it, in its middle. The dimensions of the part that is highlighted stand out.
// It returns the scale: millimetres on paper for one of the real thing.
func (p *Page) Place(a Arranged, least, most Point, highlight string) (scale float64) {
	wide, high := most.X-least.X, most.Y-least.Y
	scale = min(wide/a.view.Width(), high/a.view.Height())
	at := placing{d: a.d, scale: scale, bold: func(part string) bool { return highlight != "" && part == highlight },
		left: least.X + (wide-scale*a.view.Width())/2 - scale*a.view.Least.X, top: least.Y + (high-scale*a.view.Height())/2 + scale*a.view.Most.Y}
	for _, s := range a.d.Strokes {
		p.Add(at.stroke(s))
	}
	for _, label := range a.d.Labels {
		p.Add(at.label(label)...)
	}
	return scale
}

// placing is a drawing on its way to the page.
type placing struct {
	d         *drawing.Drawing
	scale     float64
	left, top float64
	bold      func(part string) bool
}

func (at placing) point(p drawing.Point) Point {
	return Point{at.left + at.scale*p.X, at.top - at.scale*p.Y}
}

func (at placing) points(all []drawing.Point) []Point {
	out := make([]Point, len(all))
	for i, p := range all {
		out[i] = at.point(p)
	}
	return out
}

// shades of areas by what they are.
var shades = map[drawing.Role]Shade{drawing.RoleWheel: 0.05, drawing.RoleSteel: 0.23, drawing.RoleHolder: 0, drawing.RoleSupport: 0.13}

func (at placing) stroke(s drawing.Stroke) Line {
	em := at.scale * at.d.Em
	line := Line{Closed: s.Closed, Points: at.points(s.Points)}
	if s.Arc != nil {
		line.Points, line.Arc = nil, &Arc{at.point(s.Arc.Centre), at.scale * s.Arc.Radius, s.Arc.Start, s.Arc.Sweep}
	}
	if s.Head {
		line.Fill = new(Shade(1))
		return line
	}
	line.Width = outlineWidth * em
	switch {
	case s.Role == drawing.RoleConstruction:
		line.Width, line.Dashes = axisWidth*em, []float64{1.1 * em, 0.3 * em, 0.15 * em, 0.3 * em}
	case s.Role == drawing.RoleSteel && !s.Closed:
		line.Width = bevelWidth * em
	case s.Role == drawing.RoleDimension, s.Role == drawing.RoleUnset:
		line.Width = dimensionWidth * em
	}
	if shade, ok := shades[s.Role]; ok && s.Closed {
		line.Fill = &shade
	}
	if at.bold(s.Part) {
		line.Width *= boldly
	}
	return line
}

func (at placing) label(l *drawing.Label) (marks []Mark) {
	em, place := at.scale*at.d.Em, l.Place
	if len(place.Leader) > 0 {
		marks = append(marks, Line{Points: at.points(place.Leader), Width: dimensionWidth * em})
	}
	bold := at.bold(l.Part)
	if bold {
		framed := place.Slab.Grown(0.25 * at.d.Em)
		marks = append(marks, Line{Points: at.points(framed.Corners()), Closed: true, Fill: new(Shade(0)), Width: dimensionWidth * boldly * em})
	}
	covered := false
	for _, s := range at.d.Strokes {
		covered = covered || drawing.Crosses(place.Slab, s.Points)
	}
	// The baseline begins at the slab's left end, a little above its lower edge.
	half := Width(l.Text, at.d.Em, bold) / 2
	start := place.Slab.Centre.Along(place.Slab.Turn, -half).Along(place.Slab.Turn-math.Pi/2, 0.36*at.d.Em)
	return append(marks, Words{At: at.point(start), Size: em, Bold: bold, Turn: place.Slab.Turn, Rim: covered, Text: l.Text})
}
