package figure

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"arris.example/geometry/drawing"
	arrisv1 "arris.example/proto/arris/v1"
)

// Options of an SVG. The zero value is black on white, 160 mm wide.
type Options struct {
	WidthMM   float64 // as printed; 0: 160
	Title     string  // empty: "Set-up"
	Highlight string  // the part to draw boldly, its label framed
	Dark      bool    // white on black
}

const (
	usualWidth = 160 // mm
	usualTitle = "Set-up"
)

// SVG writes the figure as a standalone SVG 1.1 document whose user unit is a millimetre of the real thing: x is out, y is down. The
// same figure and options give the same bytes. A figure that cannot be drawn is an error that names the item, and nothing is
// written.
func SVG(w io.Writer, f *arrisv1.Figure, o Options) error {
	s, err := laidOut(f, o)
	if err != nil {
		return err
	}
	s.write(f.GetDescription())
	_, err = w.Write(s.out.Bytes())
	return err
}

// laidOut is a figure with its letters in their places, for a width in print.
func laidOut(f *arrisv1.Figure, o Options) (*svg, error) {
	if err := o.complete(); err != nil {
		return nil, err
	}
	d, err := taken(f, func(frame drawing.Rect) float64 {
		return max(frame.Width()/lettersAcross, frame.Height()/lettersAcross, frame.Width()/o.WidthMM*leastPrinted, 0.01)
	})
	if err != nil {
		return nil, err
	}
	s := &svg{d: d, Options: o, ink: inks[o.Dark]}
	l := drawing.Layout{Drawing: d, Size: s.size}
	l.Arrange()
	return s, nil
}

// complete puts in the usual width and title, and refuses a width that is none.
func (o *Options) complete() error {
	if o.WidthMM == 0 {
		o.WidthMM = usualWidth
	}
	if o.Title == "" {
		o.Title = usualTitle
	}
	if !(o.WidthMM > 0 && o.WidthMM <= farthest) {
		return fmt.Errorf("figure width %v mm; it must be above 0 and at most %g", o.WidthMM, farthest)
	}
	return nil
}

// lettersAcross is how many letter heights the longer side of a drawing takes: letters of 3.5 mm in a print 160 mm wide.
const lettersAcross = 46

// leastPrinted is the height of letters that can still be read, mm.
const leastPrinted = 2.2

// size of a label, bold letters being wider.
func (s *svg) size(l *drawing.Label) (width, height float64) {
	width = s.d.Em * letters(l.Text)
	if s.highlighted(l.Part) {
		width *= boldWidth
	}
	return width, s.d.Em
}

// letters estimates a text's width in letter heights, on the wide side of the usual sans-serif faces.
func letters(text string) float64 {
	width := 0.0
	for _, r := range text {
		switch {
		case strings.ContainsRune("fijlrtI.,:;'|!()[]/ ", r):
			width += 0.36
		case r == 'm' || r == 'w' || r == 'M' || r == 'W':
			width += 0.95
		case unicode.IsUpper(r):
			width += 0.74
		case wide(r):
			width++
		default:
			width += 0.62
		}
	}
	return width
}

// ink is a set of shades. None carries a meaning: outlines and words do.
type ink struct{ line, paper, wheel, steel, support string }

var inks = map[bool]ink{
	false: {line: "#000", paper: "#fff", wheel: "#f2f2f2", steel: "#c4c4c4", support: "#dedede"},
	true:  {line: "#fff", paper: "#000", wheel: "#1c1c1c", steel: "#6a6a6a", support: "#3c3c3c"},
}

// svg is a document in the making.
type svg struct {
	Options
	ink ink
	d   *drawing.Drawing
	out bytes.Buffer
}

// mm writes a number to a hundredth of a millimetre, without a negative zero.
func mm(v float64) string {
	text := strconv.FormatFloat(v, 'f', 2, 64)
	if text == "-0.00" {
		return "0.00"
	}
	return text
}

// xy writes a point as SVG sees it, with y downwards.
func xy(p drawing.Point) string { return mm(p.X) + " " + mm(-p.Y) }

func (s *svg) printf(format string, args ...any) { fmt.Fprintf(&s.out, format, args...) }

// escaped is text that XML takes as text.
func escaped(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a strings.Builder never fails
	return b.String()
}

func (s *svg) write(description string) {
	view := s.view()
	s.out.WriteString(document(s.WidthMM, s.WidthMM*view.Height()/view.Width(), view))
	s.content(view, s.Title, description)
	s.printf("</svg>\n")
}

// document begins a document of a size in print.
func document(width, height float64, view drawing.Rect) string {
	return fmt.Sprintf(`<?xml version="1.0" encoding="UTF-8"?>`+"\n"+
		`<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="%smm" height="%smm" viewBox="%s" `+
		`font-family="Arial, Helvetica, 'DejaVu Sans', sans-serif">`+"\n", mm(width), mm(height), viewBox(view))
}

func viewBox(view drawing.Rect) string {
	return fmt.Sprintf("%s %s %s %s", mm(view.Least.X), mm(-view.Most.Y), mm(view.Width()), mm(view.Height()))
}

// content is all that is drawn, after the words that say what it is.
func (s *svg) content(view drawing.Rect, title, description string) {
	s.printf("<title>%s</title>\n", escaped(title))
	if description != "" {
		s.printf("<desc>%s</desc>\n", escaped(description))
	}
	s.printf(`<rect x="%s" y="%s" width="%s" height="%s" fill="%s"/>`+"\n",
		mm(view.Least.X), mm(-view.Most.Y), mm(view.Width()), mm(view.Height()), s.ink.paper)
	for _, st := range s.d.Strokes {
		s.stroke(st)
	}
	for _, l := range s.d.Labels {
		s.label(l)
	}
}

// view is the frame with all labels and a margin.
func (s *svg) view() drawing.Rect {
	view := s.d.Frame
	for _, l := range s.d.Labels {
		view.Include(l.Place.Slab.Corners()...)
	}
	return view.Widened(0.8 * s.d.Em)
}

// Widths of lines in letter heights.
const (
	outlineWidth   = 0.08
	bevelWidth     = 0.16
	dimensionWidth = 0.045
	axisWidth      = 0.035
	boldly         = 2.2
)

// look is how a stroke is drawn.
func (s *svg) look(st drawing.Stroke) (fill string, width float64, dashed bool) {
	fill, width = "none", outlineWidth
	switch st.Role {
	case drawing.RoleWheel:
		fill = s.ink.wheel
	case drawing.RoleSteel:
		fill = s.ink.steel
		if !st.Closed {
			width = bevelWidth
		}
	case drawing.RoleHolder:
		fill = s.ink.paper
	case drawing.RoleSupport:
		fill = s.ink.support
	case drawing.RoleConstruction:
		width, dashed = axisWidth, true
	default:
		width = dimensionWidth
	}
	if !st.Closed || dashed {
		fill = "none"
	}
	if s.highlighted(st.Part) {
		width *= boldly
	}
	return fill, width * s.d.Em, dashed
}

func (s *svg) highlighted(part string) bool { return s.Highlight != "" && part == s.Highlight }

func (s *svg) stroke(st drawing.Stroke) {
	fill, width, dashed := s.look(st)
	if st.Head {
		s.printf(`<path class="%s" d="%s" fill="%s"/>`+"\n", class(st), pathOf(st), s.ink.line)
		return
	}
	dash := ""
	if dashed {
		dash = fmt.Sprintf(` stroke-dasharray="%s %s %s %s"`, mm(1.1*s.d.Em), mm(0.3*s.d.Em), mm(0.15*s.d.Em), mm(0.3*s.d.Em))
	}
	style := fmt.Sprintf(`fill=%q stroke=%q stroke-width=%q stroke-linejoin="round"%s`, fill, s.ink.line, mm(max(width, 0.01)), dash)
	if st.Arc != nil && st.Arc.Full() {
		s.printf(`<circle class="%s" cx="%s" cy="%s" r="%s" %s/>`+"\n",
			class(st), mm(st.Arc.Centre.X), mm(-st.Arc.Centre.Y), mm(st.Arc.Radius), style)
		return
	}
	s.printf(`<path class="%s" d="%s" %s/>`+"\n", class(st), pathOf(st), style)
}

// class lets a page find what belongs together: the role, then the part.
func class(st drawing.Stroke) string {
	role := strings.ToLower(strings.TrimPrefix(arrisv1.FigureRole(st.Role).String(), "FIGURE_ROLE_"))
	return escaped(role + " " + st.Part)
}

func pathOf(st drawing.Stroke) string {
	if a := st.Arc; a != nil {
		large := 0
		if a.Sweep > math.Pi {
			large = 1
		}
		// Counter-clockwise here is SVG's sweep 0, whose y runs down.
		return fmt.Sprintf("M%s A%s %s 0 %d 0 %s", xy(a.At(a.Start)), mm(a.Radius), mm(a.Radius), large, xy(a.At(a.Start+a.Sweep)))
	}
	var b strings.Builder
	points := st.Points
	if st.Closed { // Z goes back to the first
		points = points[:len(points)-1]
	}
	for i, p := range points {
		if i == 0 {
			b.WriteString("M" + xy(p))
		} else {
			b.WriteString(" L" + xy(p))
		}
	}
	if st.Closed {
		b.WriteString(" Z")
	}
	return b.String()
}

// label writes a text, its leader, a frame where it is highlighted, and a rim of paper where lines run below it.
func (s *svg) label(l *drawing.Label) {
	place, em := l.Place, s.d.Em
	if len(place.Leader) > 0 {
		s.printf(`<path class="leader %s" d="M%s L%s" fill="none" stroke="%s" stroke-width="%s"/>`+"\n", escaped(l.Part),
			xy(place.Leader[0]), xy(place.Leader[1]), s.ink.line, mm(dimensionWidth*em))
	}
	c := place.Slab.Centre
	turn, weight := "", ""
	if t := -place.Slab.Turn * 180 / math.Pi; mm(t) != "0.00" {
		turn = fmt.Sprintf(` transform="rotate(%s %s)"`, mm(t), xy(c))
	}
	if s.highlighted(l.Part) {
		weight = ` font-weight="bold"`
		s.printf(`<rect x="%s" y="%s" width="%s" height="%s" fill="%s" stroke="%s" stroke-width="%s"%s/>`+"\n",
			mm(c.X-place.Slab.HalfW-0.2*em), mm(-c.Y-place.Slab.HalfH-0.2*em), mm(2*place.Slab.HalfW+0.4*em),
			mm(2*place.Slab.HalfH+0.4*em), s.ink.paper, s.ink.line, mm(dimensionWidth*boldly*em), turn)
	}
	at := fmt.Sprintf(`x=%q y=%q font-size=%q text-anchor="middle"%s%s`, mm(c.X), mm(-c.Y+0.36*em), mm(em), weight, turn)
	if s.covered(place.Slab) {
		s.printf(`<text %s fill="%s" stroke="%s" stroke-width="%s" stroke-linejoin="round">%s</text>`+"\n",
			at, s.ink.paper, s.ink.paper, mm(0.3*em), escaped(l.Text))
	}
	s.printf(`<text class="%s" %s fill="%s">%s</text>`+"\n", escaped(l.Part), at, s.ink.line, escaped(l.Text))
}

func (s *svg) covered(place drawing.Slab) bool {
	for _, st := range s.d.Strokes {
		if drawing.Crosses(place, st.Points) {
			return true
		}
	}
	return false
}
