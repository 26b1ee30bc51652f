package sheet

import (
	"context"
	"path"
	"regexp"
	"slices"
	"strings"
	"time"

	"arris.example/service/internal/code"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/store"
	"arris.example/service/internal/words"
)

// Stock is what labels are printed on: pages of so many labels in rows and columns. A label by itself is a page.
type Stock struct {
	Page          paper.Size
	Label         paper.Size
	Columns, Rows int
	Left, Top     float64 // of the first label, millimetres
	Across, Down  float64 // from a label to the next
	Inset         float64 // what stays white around its words: printers miss their mark, and the outermost millimetres
}

// single is a label that is a page.
func single(width, height float64) Stock {
	size := paper.Size{Width: width, Height: height}
	return Stock{Page: size, Label: size, Columns: 1, Rows: 1, Inset: 1.5}
}

// What labels come on, by their sizes in millimetres.
var (
	Label62x29 = single(62, 29)
	Label89x28 = single(89, 28)
	Label50x30 = single(50, 30)
	A4x24      = Stock{Page: paper.A4, Label: paper.Size{Width: 70, Height: 37}, Columns: 3, Rows: 8, Top: 0.5, Across: 70, Down: 37, Inset: 4.5}
	Letterx30  = Stock{Page: paper.Letter, Label: paper.Size{Width: 66.7, Height: 25.4}, Columns: 3, Rows: 10, Left: 4.75, Top: 12.7, Across: 69.85, Down: 25.4, Inset: 1.5}
)

// places is how many labels a page has.
func (s Stock) places() int { return s.Columns * s.Rows }

// at is the upper left corner of a place, counted from 0 to the right and down.
func (s Stock) at(place int) paper.Point {
	return paper.Point{X: s.Left + float64(place%s.Columns)*s.Across, Y: s.Top + float64(place/s.Columns)*s.Down}
}

// Labels asks for labels.
type Labels struct {
	Names    []string // full; a label for each, in this order
	Stock    Stock
	Start    int // the place of the first one, from 1; 0 is 1
	AsOf     time.Time
	Language string // its tag; empty: English
	Unit     setup.LengthUnit
}

// Labels draws labels.
func (m Maker) Labels(ctx context.Context, q Labels) (paper.Document, error) {
	start, stock := max(q.Start, 1), q.Stock
	if start > stock.places() {
		return paper.Document{}, fault.Field("start", fault.OutOfRange, "is %d; this size has %d on a page", start, stock.places())
	}
	spoken, err := setup.SpeechIn(q.Language, q.Unit)
	if err != nil {
		return paper.Document{}, err
	}
	l := labelling{m, speech{spoken}, q.AsOf}
	d := paper.Document{Title: l.say("Labels")}
	known := map[string]tag{}
	for i, name := range q.Names {
		t, ok := known[name]
		if !ok {
			if t, err = l.tag(ctx, name); err != nil {
				return d, err
			}
			known[name] = t
		}
		place := start - 1 + i
		if i == 0 || place%stock.places() == 0 {
			d.Pages = append(d.Pages, paper.Page{Size: stock.Page})
		}
		if err := m.draw(&d.Pages[len(d.Pages)-1], stock, stock.at(place%stock.places()), t); err != nil {
			return d, err
		}
	}
	if len(known) == 1 {
		d.Title = l.say("Label: %s", known[q.Names[0]].title)
	}
	return d, nil
}

// labelling is how labels are made: by whom, in which words and of which time.
type labelling struct {
	Maker
	speech
	asOf time.Time
}

// tag is what stands on a label.
type tag struct{ name, title, line, short string }

// Sizes on labels, millimetres.
const (
	leastModule = 0.4 // of a code: what phones read at arm's length
	mostModule  = 0.8
	mostCode    = 25.0 // with what stays white around it
	mostOfWidth = 0.52 // of a label, for its code
	mostTitle   = 5.2
	leastTitle  = 2.3
	mostLine    = 3.2
	leastLine   = 2.0
	mostShort   = 3.6
	leastShort  = 1.9
	codeEdge    = 0.5 // around what stays white around a code

	mostForShort = 0.6  // of a label's height: room for the longest one, whole
	mostForTitle = 0.56 // of what the short id leaves
	between      = 0.8  // of lines of different sizes
)

// labelCode is a label's code and how wide its modules are: the address, or where that is unknown or has no room, the short id.
func (m Maker) labelCode(size paper.Size, t tag) (c paper.Code, module float64, err error) {
	texts := []string{t.short}
	if m.Public != "" {
		texts = []string{code.LabelAddress(m.Public, t.name), t.short}
	}
	for _, text := range texts {
		if c, err = paper.NewCode(text); err != nil {
			return c, 0, err
		}
		room := min(size.Height-2*codeEdge, mostOfWidth*size.Width, mostCode)
		if module = min(room/float64(c.Across()), mostModule); module >= leastModule {
			break
		}
	}
	return c, module, nil
}

// draw puts a label on a page: the code on the left, what it is called, the line that matters and the short id beside it.
func (m Maker) draw(p *paper.Page, stock Stock, at paper.Point, t tag) error {
	size := stock.Label
	qr, module, err := m.labelCode(size, t)
	if err != nil {
		return err
	}
	wide := module * float64(qr.Across())
	left := max(codeEdge, stock.Inset-paper.QuietZone*module)
	p.Code(qr, paper.Point{X: at.X + left, Y: at.Y + (size.Height-wide)/2}, module)

	const gap = 0.3 // beyond what stays white
	b := box{x: at.X + left + wide + gap, y: at.Y + stock.Inset}
	b.width, b.height = at.X+size.Width-stock.Inset-b.x, size.Height-2*stock.Inset
	short := fitShort(t.short, b.width, mostForShort*b.height)
	rest := b.height - short.height() - between
	least := fit(t.line, b.width, b.height, leastLine, leastLine, false).height() // so much it needs
	title := fit(t.title, b.width, min(mostForTitle*rest, rest-least), mostTitle, leastTitle, true)
	line := fit(t.line, b.width, rest-title.height(), min(mostLine, title.size), leastLine, false)
	y := title.write(p, b.x, b.y)
	line.write(p, b.x, y+between/2)
	short.write(p, b.x, b.y+b.height-short.height())
	return nil
}

// box is an upright rectangle by its upper left corner.
type box struct{ x, y, width, height float64 }

// fitted is a text in lines of a size.
type fitted struct {
	lines []string
	size  float64
	bold  bool
}

const tight = 1.2 // between lines of a label, in letter heights

func (f fitted) height() float64 { return tight * f.size * float64(len(f.lines)) }

func (f fitted) write(p *paper.Page, x, y float64) float64 {
	const baseline = 0.93 // of a line, in letter heights below its top
	for i, l := range f.lines {
		p.Write(x, y+(tight*float64(i)+baseline)*f.size, f.size, f.bold, l)
	}
	return y + f.height()
}

// fit sets a text as large as a box takes it without breaking words; what is too long even at the least size ends in an ellipsis.
func fit(text string, width, height, most, least float64, bold bool) fitted {
	text = loosened(text, width, least, bold)
	for size := most; ; size = max(size*0.96, least) {
		f := fitted{paper.Wrap(text, width, size, bold), size, bold}
		if size > least && (f.height() > height || tooWide(text, width, size, bold)) {
			continue
		}
		if room := max(1, int(height/(tight*size))); len(f.lines) > room {
			f.lines = cut(f.lines[:room], width, size, bold)
		}
		return f
	}
}

// fitShort sets a short id whole: in a line, or where that is too small, in lines that end in its hyphens.
func fitShort(text string, width, height float64) fitted {
	if line := fit(text, width, height, mostShort, leastShort, true); len(line.lines) == 1 {
		return line
	}
	const most = 2.4
	lines := fit(strings.ReplaceAll(text, "-", "- "), width, height, most, leastShort, true)
	for i, l := range lines.lines {
		lines.lines[i] = strings.ReplaceAll(l, " ", "")
	}
	return lines
}

// loosened lets what is held together, and has no room on a line even at the least size, break between its words.
func loosened(text string, width, least float64, bold bool) string {
	all := strings.Split(text, " ")
	for i, held := range all {
		if paper.Width(held, least, bold) > width {
			all[i] = strings.ReplaceAll(held, "\u00a0", " ")
		}
	}
	return strings.Join(all, " ")
}

// tooWide tells whether a word is wider than a line.
func tooWide(text string, width, size float64, bold bool) bool {
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' }) {
		if paper.Width(word, size, bold) > width {
			return true
		}
	}
	return false
}

// cut ends the last of lines in an ellipsis.
func cut(lines []string, width, size float64, bold bool) []string {
	last := []rune(lines[len(lines)-1])
	for len(last) > 0 && paper.Width(string(last)+"…", size, bold) > width {
		last = last[:len(last)-1]
	}
	lines[len(lines)-1] = strings.TrimRight(string(last), " ,\u00a0") + "…"
	return lines
}

// tag reads what stands on a label.
func (l labelling) tag(ctx context.Context, name string) (t tag, err error) {
	t = tag{name: name, short: code.ShortID(name)}
	var display string
	switch store.KindOf(name) {
	case "tools":
		display, t.line, err = l.toolTag(ctx, name)
	case "stations":
		display, t.line, err = l.stationTag(ctx, name)
	case "wheels":
		display, t.line, err = l.wheelTag(ctx, name)
	case "holders":
		display, t.line, err = l.holderTag(ctx, name)
	default:
		return t, fault.Field("names", fault.UnknownValue, "has %s; there are labels for tools, stations, wheels and holders", name)
	}
	t.title = measured.ReplaceAllString(display, "$1\u00a0$2")
	if strings.TrimSpace(paper.Settable(display, true)) == "" {
		t.title = path.Base(name)
	}
	return t, err
}

// measured is a number and its unit, which stay together.
var measured = regexp.MustCompile(`(\d) (mm|cm|in)\b`)

// phrases are joined by commas, at which alone they break; they begin with a capital.
func phrases(all ...string) string {
	said := slices.DeleteFunc(all, func(p string) bool { return p == "" })
	return words.Upper(strings.ReplaceAll(strings.ReplaceAll(strings.Join(said, ", "), " ", "\u00a0"), ",\u00a0", ", "))
}
