package paper

import (
	"fmt"
	"strings"

	qr "github.com/piglig/go-qr"
)

// Code is a QR code (ISO/IEC 18004) of a text, with error correction M or better: 15 % of it may be dirty.
type Code struct{ *qr.QrCode }

// QuietZone is how many modules around a code stay white.
const QuietZone = 4

// NewCode codes a text. Too long for a code are 2,331 letters and more.
func NewCode(text string) (Code, error) {
	c, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		return Code{}, fmt.Errorf("paper: %w", err)
	}
	return Code{c}, nil
}

// Across is how many modules a code has on a side, with what stays white around it.
func (c Code) Across() int { return c.Size() + 2*QuietZone }

// Code puts a code on the page, with modules so wide; at is the upper left corner of what stays white around it.
func (p *Page) Code(c Code, at Point, module float64) {
	var dark Tiles
	for y := range c.Size() {
		for x := 0; x < c.Size(); x++ {
			from := x
			for c.Module(x, y) { // beyond the last one is none
				x++
			}
			if x > from {
				dark = append(dark, Tile{
					At:    Point{at.X + float64(QuietZone+from)*module, at.Y + float64(QuietZone+y)*module},
					Width: float64(x-from) * module, Height: module,
				})
			}
		}
	}
	p.Add(dark)
}

// Tiles are black rectangles that make one area: nothing shows between those that touch.
type Tiles []Tile

// Tile is an upright rectangle by its upper left corner.
type Tile struct {
	At            Point
	Width, Height float64
}

func (Tiles) mark() {}

// svgTiles writes corners, not steps between them, so that rounding leaves no gap.
func svgTiles(all Tiles) string {
	var b strings.Builder
	for _, t := range all {
		fmt.Fprintf(&b, "M%sH%sV%sH%sZ", xy(t.At), mm(t.At.X+t.Width), mm(t.At.Y+t.Height), mm(t.At.X))
	}
	return fmt.Sprintf("<path d=%q fill=\"#000\" shape-rendering=\"crispEdges\"/>\n", b.String())
}
