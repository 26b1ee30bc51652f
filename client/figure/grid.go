package figure

import (
	"math"
	"math/bits"
	"strings"
	"unicode"

	"arris.example/geometry/drawing"
)

// Dots in a character cell. They are as far apart both ways where a cell is twice as high as wide.
const (
	dotsAcross = 2
	dotsDown   = 4
)

// grid is a drawing in dots, with letters over it.
type grid struct {
	scale         float64       // dots per mm
	origin        drawing.Point // the upper left dot
	columns, rows int
	cells         []uint8 // the dots of each cell: bit 2·row + column
	letters       []rune  // of each cell: 0 shows the dots, besideWide nothing
}

// besideWide stands in the second cell of a letter that takes two.
const besideWide = -1

func newGrid(frame drawing.Rect, scale float64, columns int) *grid {
	rows := (int(round(frame.Height()*scale)) + dotsDown) / dotsDown
	// What the drawing leaves of the width is shared out to both sides.
	spare := math.Floor((float64(columns*dotsAcross-1) - frame.Width()*scale) / 2)
	return &grid{
		scale: scale, columns: columns, rows: rows,
		origin:  drawing.Pt(frame.Least.X-max(spare, 0)/scale, frame.Most.Y),
		cells:   make([]uint8, columns*rows),
		letters: make([]rune, columns*rows),
	}
}

func round(v float64) float64 { return math.Floor(v + 0.5) }

// dot is a point's place in dots, counted from the upper left.
func (g *grid) dot(p drawing.Point) (x, y float64) {
	return (p.X - g.origin.X) * g.scale, (g.origin.Y - p.Y) * g.scale
}

func (g *grid) set(x, y int, on bool) {
	if x < 0 || y < 0 || x >= g.columns*dotsAcross || y >= g.rows*dotsDown {
		return
	}
	cell, bit := y/dotsDown*g.columns+x/dotsAcross, uint8(1)<<(y%dotsDown*dotsAcross+x%dotsAcross)
	if on {
		g.cells[cell] |= bit
	} else {
		g.cells[cell] &^= bit
	}
}

// stroke draws one: steel full of dots, other areas empty with an outline, centre lines broken.
func (g *grid) stroke(s drawing.Stroke) {
	if s.Head { // as small as a dot
		return
	}
	if s.Closed && s.Role != drawing.RoleConstruction {
		g.fill(s.Points, s.Role == drawing.RoleSteel)
	}
	step := 0
	for i := 1; i < len(s.Points); i++ {
		step = g.line(s.Points[i-1], s.Points[i], s.Role == drawing.RoleConstruction, step)
	}
}

// line sets the dots from a to b, of a broken line two of four, and counts them on.
func (g *grid) line(a, b drawing.Point, broken bool, step int) int {
	ax, ay := g.dot(a)
	bx, by := g.dot(b)
	steps := int(max(math.Abs(bx-ax), math.Abs(by-ay))) + 1
	for i := 0; i <= steps; i++ {
		if share := float64(i) / float64(steps); !broken || step%4 < 2 {
			g.set(int(round(ax+(bx-ax)*share)), int(round(ay+(by-ay)*share)), true)
		}
		step++
	}
	return step
}

// fill sets or clears the dots within an outline: in each row from where the outline comes in to where it goes out.
func (g *grid) fill(outline []drawing.Point, on bool) {
	for row := range g.rows * dotsDown {
		up := g.origin.Y - float64(row)/g.scale
		crossed := drawing.CrossedAt(outline, up)
		for i := 0; i+1 < len(crossed); i += 2 {
			first := math.Ceil((crossed[i] - g.origin.X) * g.scale)
			last := math.Floor((crossed[i+1] - g.origin.X) * g.scale)
			for x := int(first); x <= int(last); x++ {
				g.set(x, row, on)
			}
		}
	}
}

// write puts a text into a row with a blank on either side; the column is that of the first blank.
func (g *grid) write(column, row int, text string) {
	put := func(r rune) {
		if column >= 0 && column < g.columns && row >= 0 && row < g.rows {
			g.letters[row*g.columns+column] = r
		}
		column++
	}
	put(' ')
	for _, r := range text {
		put(r)
		if wide(r) {
			put(besideWide)
		}
	}
	put(' ')
}

// text is the drawing in characters, without blanks at the ends of lines and without blank lines above and below.
func (g *grid) text(ascii bool) string {
	return strings.Trim(strings.Join(g.lines(ascii), "\n"), "\n") + "\n"
}

// lines are all rows in characters, without blanks at their ends.
func (g *grid) lines(ascii bool) []string {
	lines := make([]string, g.rows)
	for row := range lines {
		var b strings.Builder
		for i := row * g.columns; i < (row+1)*g.columns; i++ {
			switch {
			case g.letters[i] == besideWide:
			case g.letters[i] != 0:
				b.WriteRune(g.letters[i])
			case ascii:
				b.WriteByte(nearestGlyph(g.cells[i]))
			default:
				b.WriteRune(braille(g.cells[i]))
			}
		}
		lines[row] = strings.TrimRight(b.String(), " ")
	}
	return lines
}

// braille is the pattern of a cell's dots (Unicode 16, block 2800: dots 1–3 and 7 are the left column, 4–6 and 8 the right one).
func braille(dots uint8) rune {
	if dots == 0 {
		return ' '
	}
	var pattern rune
	for bit, value := range [8]rune{0x01, 0x08, 0x02, 0x10, 0x04, 0x20, 0x40, 0x80} {
		if dots>>bit&1 == 1 {
			pattern |= value
		}
	}
	return 0x2800 + pattern
}

// glyphs are what characters look like in dots, rows from the top.
var glyphs = []struct {
	char byte
	dots uint8
}{
	{' ', 0b00_00_00_00},
	{'-', 0b00_00_11_00}, {'-', 0b00_11_00_00}, {'_', 0b11_00_00_00}, {'"', 0b00_00_00_11},
	{'|', 0b01_01_01_01}, {'|', 0b10_10_10_10}, {'/', 0b01_01_10_10}, {'\\', 0b10_10_01_01},
	{'.', 0b01_00_00_00}, {'.', 0b10_00_00_00}, {',', 0b01_01_00_00}, {',', 0b10_10_00_00},
	{'\'', 0b00_00_00_01}, {'\'', 0b00_00_00_10}, {'\'', 0b00_00_01_01}, {'\'', 0b00_00_10_10},
	{'+', 0b01_01_11_01}, {'+', 0b10_11_10_10}, {'#', 0b11_11_11_11},
}

// nearestGlyph is the character that differs in the fewest dots.
func nearestGlyph(dots uint8) byte {
	best, least := byte(' '), 9
	for _, g := range glyphs {
		if off := bits.OnesCount8(g.dots ^ dots); off < least && (g.dots == 0) == (dots == 0) {
			best, least = g.char, off
		}
	}
	return best
}

// inASCII are words for signs that ASCII lacks.
var inASCII = strings.NewReplacer("°", " deg", "Ø", "dia. ", "×", "x", "−", "-", "–", "-", "±", "+/-", "½", "1/2", "¼", "1/4", "¾", "3/4",
	"″", "\"", "′", "'")

// plain is text that moves no cursor: whatever is not a letter, number or sign of a known width is replaced.
func plain(text string, ascii bool) string {
	if ascii {
		text = inASCII.Replace(text)
	}
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.Is(unicode.M, r): // marks stand over the letter before: they have no cell
			return -1
		case !unicode.IsPrint(r) || ascii && r > '~':
			return '?'
		}
		return r
	}, text)
}

// columnsOf is how many cells a plain text takes.
func columnsOf(text string) (columns int) {
	for _, r := range text {
		columns++
		if wide(r) {
			columns++
		}
	}
	return columns
}

// wide tells whether a letter takes two cells (Unicode Standard Annex 11, by blocks).
func wide(r rune) bool {
	for _, block := range [...][2]rune{
		{0x1100, 0x115f}, {0x2e80, 0xa4cf}, {0xac00, 0xd7a3}, {0xf900, 0xfaff}, {0xfe30, 0xfe6f}, {0xff00, 0xff60}, {0xffe0, 0xffe6},
		{0x1f300, 0x1faff}, {0x20000, 0x3fffd},
	} {
		if block[0] <= r && r <= block[1] {
			return true
		}
	}
	return false
}

// listed is one text below another, broken at the width.
func listed(texts []string, o TerminalOptions) string {
	var b strings.Builder
	for _, text := range texts {
		column := 0
		for _, r := range text {
			size := columnsOf(string(r))
			if column+size > o.Columns {
				b.WriteByte('\n')
				column = 0
			}
			b.WriteRune(r)
			column += size
		}
		b.WriteByte('\n')
	}
	return b.String()
}
