package paper

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode"
)

// The layers of a DXF: what is cut, and what is written on it.
const (
	layerCut   = "CUT"
	layerWords = "WORDS"
)

// DXF writes a page's lines and words for machines that cut, as a release 12 drawing (AC1009) in millimetres, y upwards from the page's
// lower left corner. Arcs stay arcs. Shades are left out: there is nothing to cut in them.
func DXF(w io.Writer, p Page) error {
	d := &dxf{high: p.Height}
	d.pair(0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, "AC1009", 9, "$INSUNITS", 70, "4",
		9, "$EXTMIN", 10, "0.0", 20, "0.0", 9, "$EXTMAX", 10, number(p.Width), 20, number(p.Height), 0, "ENDSEC")
	d.pair(0, "SECTION", 2, "TABLES", 0, "TABLE", 2, "LAYER", 70, "2")
	for _, layer := range []struct{ name, colour string }{{layerCut, "1"}, {layerWords, "5"}} {
		d.pair(0, "LAYER", 2, layer.name, 70, "0", 62, layer.colour, 6, "CONTINUOUS")
	}
	d.pair(0, "ENDTAB", 0, "ENDSEC", 0, "SECTION", 2, "ENTITIES")
	for _, m := range p.Marks {
		switch m := m.(type) {
		case Line:
			d.line(m)
		case Words:
			d.words(m)
		}
	}
	d.pair(0, "ENDSEC", 0, "EOF")
	_, err := w.Write(d.out.Bytes())
	return err
}

type dxf struct {
	out  bytes.Buffer
	high float64
}

// pair writes group codes and their values, one below the other.
func (d *dxf) pair(of ...any) {
	for i := 0; i < len(of); i += 2 {
		fmt.Fprintf(&d.out, "%3d\n%v\n", of[i], of[i+1])
	}
}

// number is a length to a hundred-thousandth of a millimetre.
func number(v float64) string {
	if v = math.Round(v*1e5) / 1e5; v == 0 {
		v = 0 // no negative zero
	}
	return fmt.Sprintf("%.5f", v)
}

func (d *dxf) at(p Point) []any { return []any{10, number(p.X), 20, number(d.high - p.Y), 30, "0.0"} }

func (d *dxf) line(l Line) {
	switch {
	case l.Width == 0:
	case l.Arc != nil && l.Arc.Full():
		d.pair(append([]any{0, "CIRCLE", 8, layerCut}, append(d.at(l.Arc.Centre), 40, number(l.Arc.Radius))...)...)
	case l.Arc != nil:
		from := math.Mod(l.Arc.Start+2*math.Pi, 2*math.Pi)
		to := math.Mod(l.Arc.Start+l.Arc.Sweep+4*math.Pi, 2*math.Pi)
		d.pair(append([]any{0, "ARC", 8, layerCut}, append(d.at(l.Arc.Centre), 40, number(l.Arc.Radius), 50, number(from*180/math.Pi), 51, number(to*180/math.Pi))...)...)
	default:
		points := l.Points
		if l.Closed {
			points = append(points[:len(points):len(points)], points[0])
		}
		for i := 1; i < len(points); i++ {
			to := points[i]
			d.pair(append([]any{0, "LINE", 8, layerCut}, append(d.at(points[i-1]), 11, number(to.X), 21, number(d.high-to.Y), 31, "0.0")...)...)
		}
	}
}

func (d *dxf) words(t Words) {
	const capitals = 0.729 // of the em, in our faces: text is measured by its capitals
	d.pair(append([]any{0, "TEXT", 8, layerWords}, append(d.at(t.At), 40, number(t.Size*capitals), 1, plainDXF(t.Text), 50, number(t.Turn*180/math.Pi))...)...)
}

// plainDXF is a text in ASCII, with the signs that every reader of DXF knows.
func plainDXF(text string) string {
	signs := strings.NewReplacer("⌀", "%%c", "°", "%%d", "±", "%%p", "–", "-", "−", "-", "·", "-", "…", "...", "\u00a0", " ", "%", "%%%")
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Cf, r) {
			return -1
		}
		if r < ' ' || r > '~' {
			return '?'
		}
		return r
	}, signs.Replace(text))
}
