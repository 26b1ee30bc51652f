package paper

import (
	"math"
	"slices"
	"strconv"

	"github.com/go-text/typesetting/font/opentype"
)

// ink writes pages in the language of PDF, in millimetres, and keeps which shapes of which faces they show.
type ink struct {
	faces [2]usedFace // upright, heavy
	out   []byte
	set   []glyph
	high  float64 // of the page
	state state
}

// state is what was set last on a page, and holds until it is set again.
type state struct {
	width  float64
	dashes []float64
	fill   Shade
}

// usedFace is a face with the glyphs that were set in it: the first has code 1.
type usedFace struct {
	face   *face
	glyphs []glyph
	codes  map[coded]int
}

// coded is what has a code of its own: a shape, and the text that a reader takes it for.
type coded struct {
	shape opentype.GID
	text  string
}

func (u *usedFace) code(g glyph) int {
	key := coded{g.shape, g.text}
	code, known := u.codes[key]
	if !known {
		if u.codes == nil {
			u.codes = map[coded]int{}
		}
		u.glyphs = append(u.glyphs, g)
		code = len(u.glyphs)
		u.codes[key] = code
	}
	return code
}

// page is a page's content. It is good until the next one.
func (k *ink) page(p Page) []byte {
	k.out, k.high, k.state = k.out[:0], p.Height, state{width: 1, fill: 1}
	k.numbers(6, pointsPerMM, 0, 0, pointsPerMM, 0, 0)
	k.write("cm 1 j\n") // round corners
	for _, m := range p.Marks {
		switch m := m.(type) {
		case Line:
			k.line(m)
		case Words:
			k.words(m)
		case Tiles:
			k.tiles(m)
		}
	}
	return k.out
}

func (k *ink) write(text string) { k.out = append(k.out, text...) }

// decimal appends a number, rounded to up to six places, without zeros at its end. Numbers on paper are far below a billion.
func decimal(to []byte, v float64, places int) []byte {
	one := [...]int64{1, 10, 100, 1e3, 1e4, 1e5, 1e6}[places]
	n := int64(math.Round(math.Abs(v) * float64(one)))
	if v < 0 && n > 0 {
		to = append(to, '-')
	}
	to = strconv.AppendInt(to, n/one, 10)
	if n %= one; n > 0 {
		to = append(to, '.')
	}
	for n > 0 {
		one /= 10
		to = append(to, byte('0'+n/one))
		n %= one
	}
	return to
}

func (k *ink) numbers(places int, all ...float64) {
	for _, v := range all {
		k.out = append(decimal(k.out, v, places), ' ')
	}
}

// point writes a place, from the page's lower left corner.
func (k *ink) point(p Point) { k.numbers(3, p.X, k.high-p.Y) }

func (k *ink) line(l Line) {
	var paint string
	switch {
	case l.Fill != nil && l.Width > 0:
		paint = "B\n"
	case l.Fill != nil:
		paint = "f\n"
	case l.Width > 0:
		paint = "S\n"
	default:
		return
	}
	if l.Fill != nil {
		k.fill(*l.Fill)
	}
	if l.Width > 0 {
		k.stroke(l.Width, l.Dashes)
	}
	if l.Arc != nil {
		k.arc(*l.Arc)
	} else {
		k.path(l.Points)
	}
	if l.Closed {
		k.write("h ")
	}
	k.write(paint)
}

// tiles writes corners, so that rounding leaves no gap, as one area.
func (k *ink) tiles(all Tiles) {
	k.fill(1)
	for _, t := range all {
		right, low := t.At.X+t.Width, t.At.Y+t.Height
		k.path([]Point{t.At, {right, t.At.Y}, {right, low}, {t.At.X, low}})
		k.write("h ")
	}
	k.write("f\n")
}

// fill sets how dark areas and letters are.
func (k *ink) fill(s Shade) {
	if s != k.state.fill {
		k.numbers(3, 1-float64(s))
		k.write("g\n")
		k.state.fill = s
	}
}

func (k *ink) stroke(width float64, dashes []float64) {
	if width != k.state.width {
		k.numbers(3, width)
		k.write("w\n")
		k.state.width = width
	}
	if !slices.Equal(dashes, k.state.dashes) {
		k.write("[")
		k.numbers(3, dashes...)
		k.write("] 0 d\n")
		k.state.dashes = dashes
	}
}

func (k *ink) path(points []Point) {
	for i, p := range points {
		k.point(p)
		k.write([]string{"m ", "l "}[min(i, 1)])
	}
}

// arc goes along an arc by cubic curves of up to 45°, each within 4e-6 of the radius.
func (k *ink) arc(a Arc) {
	pieces := max(1, int(math.Ceil(a.Sweep/(math.Pi/4)-1e-9)))
	step := a.Sweep / float64(pieces)
	reach := a.Radius * 4 / 3 * math.Tan(step/4)
	k.point(a.At(a.Start))
	k.write("m ")
	for i := range pieces {
		begin, end := a.Start+float64(i)*step, a.Start+float64(i+1)*step
		p, q := a.At(begin), a.At(end)
		k.point(Point{p.X - reach*math.Sin(begin), p.Y - reach*math.Cos(begin)})
		k.point(Point{q.X + reach*math.Sin(end), q.Y + reach*math.Cos(end)})
		k.point(q)
		k.write("c ")
	}
}

func (k *ink) words(t Words) {
	used := &k.faces[0]
	name := "BT/F0 "
	if t.Bold {
		used, name = &k.faces[1], "BT/F1 "
	}
	used.face = faceOf(t.Bold)
	k.set = used.face.opened().set(k.set, t.Text)
	line := k.set
	if len(line) == 0 {
		return
	}
	sin, cos := math.Sincos(t.Turn)
	if t.Rim {
		k.rim(t, line, sin, cos)
	}
	k.fill(1)
	k.write(name)
	k.numbers(3, t.Size)
	k.write("Tf ")
	if t.Turn != 0 {
		k.numbers(6, cos, sin, -sin, cos)
		k.point(t.At)
		k.write("Tm")
	} else {
		k.point(t.At)
		k.write("Td")
	}
	k.glyphs(used, t.Size, line, true)
	if slices.ContainsFunc(line, func(g glyph) bool { return g.text == "" }) { // marks: readers would break words at them
		k.write("0 0 Td")
		k.glyphs(used, t.Size, line, false)
	}
	k.write("ET\n")
}

// glyphs shows those of a line that stand for something, or the others, each where it belongs: text moves on by the faces' own advances, in
// thousandths of the em, and is put right.
func (k *ink) glyphs(used *usedFace, size float64, line []glyph, named bool) {
	const digits = "0123456789ABCDEF"
	up, off := 0.0, 0.0 // how far the next glyph would stand from where it belongs
	k.write("[<")
	for _, g := range line {
		if (g.text != "") != named {
			off -= g.advance
			continue
		}
		if g.up != up {
			k.write(">]TJ ")
			k.numbers(4, g.up*size)
			k.write("Ts[<")
			up = g.up
		}
		if back := off - g.over; math.Abs(back) > 5e-5 {
			k.write(">")
			k.numbers(1, 1000*back)
			k.write("<")
			off -= back
		}
		code := used.code(g)
		k.out = append(k.out, digits[code>>12&15], digits[code>>8&15], digits[code>>4&15], digits[code&15])
		off += g.own - g.advance
	}
	k.write(">]TJ ")
	if up != 0 {
		k.write("0 Ts ")
	}
}

// rim clears a band below words, a little less high than they are.
func (k *ink) rim(t Words, line []glyph, sin, cos float64) {
	width := 0.0
	for _, g := range line {
		width += g.advance
	}
	at := func(along, up float64) Point {
		return Point{t.At.X + t.Size*(along*cos-up*sin), t.At.Y - t.Size*(along*sin+up*cos)}
	}
	const beside, below, above = 0.1, -0.18, 0.82
	k.line(Line{Points: []Point{at(-beside, below), at(width+beside, below), at(width+beside, above), at(-beside, above)}, Closed: true, Fill: new(Shade(0))})
}
