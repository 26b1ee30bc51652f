package figure

import (
	"fmt"
	"io"

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
	d, err := newDrawing(f, func(frame rect) float64 { return dotsDown / scaleFor(frame, o) })
	if err != nil {
		return err
	}
	g := newGrid(d.frame, scaleFor(d.frame, o), o.Columns)
	for _, s := range d.strokes {
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
func scaleFor(frame rect, o TerminalOptions) float64 {
	rows := o.Rows
	if rows == 0 {
		rows = max(o.Columns/2, fewestRows) // a square: higher drawings shrink
	}
	across := float64(o.Columns*dotsAcross-1) / max(frame.width(), 1)
	down := float64(rows*dotsDown-1) / max(frame.height(), 1)
	return min(across, down)
}

// letter puts the labels over the dots and gives back the texts that have no place.
func (g *grid) letter(d *drawing, ascii bool) (below []string) {
	cell := point{dotsAcross / g.scale, dotsDown / g.scale}
	top := point{g.origin.x - 0.5/g.scale, g.origin.y + 0.5/g.scale} // the upper left corner of all
	l := layout{
		d:      d,
		inside: &rect{point{top.x, top.y - cell.y*float64(g.rows)}, point{top.x + cell.x*float64(g.columns), top.y}},
		size: func(l *label) (float64, float64) {
			return cell.x * float64(columnsOf(plain(l.text, ascii))+2), cell.y * 0.98 // a blank on either side
		},
	}
	l.snap = func(p point, width float64) point {
		column, row := round((p.x-width/2-top.x)/cell.x), round((top.y-p.y)/cell.y-0.5)
		return point{top.x + cell.x*column + width/2, top.y - cell.y*(row+0.5)}
	}
	l.arrange()
	for _, label := range d.labels {
		text := plain(label.text, ascii)
		if !label.placed {
			below = append(below, text)
			continue
		}
		if leader := label.place.leader; len(leader) > 0 {
			g.stroke(stroke{points: leader, role: arrisv1.FigureRole_FIGURE_ROLE_DIMENSION})
		}
	}
	for _, label := range d.labels { // after the leaders, so that none runs over letters
		if label.placed {
			s := label.place.slab
			g.write(int(round((s.centre.x-s.halfW-top.x)/cell.x)), int(round((top.y-s.centre.y)/cell.y-0.5)), plain(label.text, ascii))
		}
	}
	return below
}
