package figure

import (
	"fmt"
	"io"

	"arris.example/geometry/drawing"
	arrisv1 "arris.example/proto/arris/v1"
)

// TerminalOptions of a drawing in characters. The zero value is 80 columns of Braille dots, as many rows as that takes.
type TerminalOptions struct {
	Columns int  // 0: 80
	Rows    int  // at most, of the drawing; 0: what the width asks for
	ASCII   bool // for terminals without Unicode
}

// Limits on the size in characters.
const (
	usualColumns  = 80
	fewestColumns = 20
	fewestRows    = 5
	mostCells     = 400 // either way
)

// Terminal writes the figure in characters, to scale where a character is twice as high as wide, no line longer than the columns.
// Texts that find no place in the drawing follow below it. A figure that cannot be drawn is an error that names the item, and
// nothing is written.
func Terminal(w io.Writer, f *arrisv1.Figure, o TerminalOptions) error {
	if err := o.complete(); err != nil {
		return err
	}
	d, err := taken(f, func(frame drawing.Rect) float64 { return dotsDown / scaleFor(frame, o) })
	if err != nil {
		return err
	}
	g := newGrid(d.Frame, scaleFor(d.Frame, o), o.Columns)
	for _, s := range d.Strokes {
		g.stroke(s)
	}
	below := g.letter(d, o.ASCII)
	_, err = io.WriteString(w, g.text(o.ASCII)+listed(below, o))
	return err
}

// complete puts in the usual width, and refuses sizes that nothing fits in.
func (o *TerminalOptions) complete() error {
	if o.Columns == 0 {
		o.Columns = usualColumns
	}
	if o.Columns < fewestColumns || o.Columns > mostCells {
		return fmt.Errorf("figure of %d columns; it takes %d to %d", o.Columns, fewestColumns, mostCells)
	}
	if o.Rows != 0 && (o.Rows < fewestRows || o.Rows > mostCells) {
		return fmt.Errorf("figure of %d rows; it takes %d to %d", o.Rows, fewestRows, mostCells)
	}
	return nil
}

// scaleFor is how many dots a millimetre takes in a size.
func scaleFor(frame drawing.Rect, o TerminalOptions) float64 {
	rows := o.Rows
	if rows == 0 {
		rows = max(o.Columns/2, fewestRows) // a square: higher drawings shrink
	}
	across := float64(o.Columns*dotsAcross-1) / max(frame.Width(), 1)
	down := float64(rows*dotsDown-1) / max(frame.Height(), 1)
	return min(across, down)
}

// letter puts the labels over the dots and gives back the texts that have no place.
func (g *grid) letter(d *drawing.Drawing, ascii bool) (below []string) {
	cell := drawing.Pt(dotsAcross/g.scale, dotsDown/g.scale)
	top := drawing.Pt(g.origin.X-0.5/g.scale, g.origin.Y+0.5/g.scale) // the upper left corner of all
	l := drawing.Layout{
		Drawing: d,
		Inside:  &drawing.Rect{Least: drawing.Pt(top.X, top.Y-cell.Y*float64(g.rows)), Most: drawing.Pt(top.X+cell.X*float64(g.columns), top.Y)},
		Size: func(l *drawing.Label) (float64, float64) {
			return cell.X * float64(columnsOf(plain(l.Text, ascii))+2), cell.Y * 0.98 // a blank on either side
		},
	}
	l.Snap = func(p drawing.Point, width float64) drawing.Point {
		column, row := round((p.X-width/2-top.X)/cell.X), round((top.Y-p.Y)/cell.Y-0.5)
		return drawing.Pt(top.X+cell.X*column+width/2, top.Y-cell.Y*(row+0.5))
	}
	l.Arrange()
	for _, label := range d.Labels {
		text := plain(label.Text, ascii)
		if !label.Placed {
			below = append(below, text)
			continue
		}
		if leader := label.Place.Leader; len(leader) > 0 {
			g.stroke(drawing.Stroke{Points: leader, Role: drawing.RoleDimension})
		}
	}
	for _, label := range d.Labels { // after the leaders, so that none runs over letters
		if label.Placed {
			s := label.Place.Slab
			g.write(int(round((s.Centre.X-s.HalfW-top.X)/cell.X)), int(round((top.Y-s.Centre.Y)/cell.Y-0.5)), plain(label.Text, ascii))
		}
	}
	return below
}
