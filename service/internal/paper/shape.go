package paper

import (
	"bytes"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-text/typesetting/bidi"
	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
	"github.com/go-text/typesetting/shaping"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// missing stands for letters that the faces do not have.
const missing = '□'

// mostMarks is how many marks a letter carries: more would reach into other lines.
const mostMarks = 3

// settable is a text as a face can set it: composed, without marks of direction but those of isolates, and with □ for letters that it lacks.
func (f *openedFace) settable(text string) string {
	before, marks := rune(-1), 0
	return strings.Map(func(r rune) rune {
		marks++
		switch {
		case r < 0x300 && r >= ' ' && f.common[r].shape != 0 && r != '\u00a0' && r != '\u00ad':
			marks = 0 // nothing else can be the matter with it
		case unicode.IsSpace(r):
			r, marks = ' ', 0
		case r == '\u200c' || r == '\u200d': // joiners, where letters join
			if !unicode.In(before, unicode.Arabic, unicode.Nko) {
				return -1
			}
		case r == leftwardsIsolate || r == rightwardsIsolate || r == endOfIsolate:
			return r
		case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Variation_Selector):
			return -1
		case unicode.Is(unicode.M, r):
			if marks > mostMarks || f.shape(r) == 0 {
				return -1
			}
		case f.shape(r) == 0:
			r, marks = missing, 0
		default:
			marks = 0
		}
		before = r
		return r
	}, norm.NFC.String(text))
}

// simple tells whether letters stand one after the other as they are written: neither joined, nor from right to left, nor with marks on them.
func simple(text string) bool {
	for _, r := range text {
		switch {
		case r < 0x300, r >= 0x370 && r < 0x483, r >= 0x48a && r < 0x530, r >= 0x1e00 && r < 0x2000,
			r >= 0x2010 && r < 0x2028, r >= 0x2030 && r < 0x2060, r >= 0x2070 && r < 0x20d0, r >= 0x2100 && r < endOfCommon:
		default:
			return false
		}
	}
	return true
}

// set puts a text on a line: glyphs from left to right, in the room of an old line.
func (f *openedFace) set(line []glyph, text string) []glyph {
	text = f.settable(text)
	if !simple(text) {
		return append(line[:0], f.shaped([]rune(text), false)...) // as sheets do
	}
	line = line[:0]
	for i, r := range text {
		c := f.common[r]
		line = append(line, glyph{shape: c.shape, text: text[i : i+utf8.RuneLen(r)], own: float64(c.advance), advance: float64(c.advance)})
	}
	return line
}

// joiningFace is what a face says of letters that join.
type joiningFace struct {
	shapers sync.Pool
	single  map[opentype.GID]rune // letters of Unicode's that stand for several, of Hebrew and Arabic
}

// shaper joins letters, puts marks on them and tells directions, for one goroutine at a time.
type shaper struct {
	face  *font.Face
	order bidi.Paragraph
	split shaping.Segmenter
	shape shaping.HarfbuzzShaper
}

func joiningOf(f *openedFace, file []byte) *joiningFace {
	read, err := font.ParseTTF(bytes.NewReader(file))
	if err != nil {
		panic(err) // the fonts are part of the program
	}
	j := &joiningFace{single: map[opentype.GID]rune{}}
	j.shapers.New = func() any { return &shaper{face: font.NewFace(read.Font)} }
	for _, block := range [][2]rune{{0xfb1d, 0xfdff}, {0xfe70, 0xfefc}} {
		for r := block[0]; r <= block[1]; r++ {
			if shape := f.shape(r); shape != 0 && len([]rune(norm.NFKC.String(string(r)))) > 1 {
				j.single[shape] = r
			}
		}
	}
	return j
}

// unkerned letters are as far apart as they are in simple lines.
var unkerned = []shaping.FontFeature{{Tag: opentype.MustNewTag("kern")}}

// shaped sets a text in which letters join, have marks or run from right to left, on a line that runs one way as a whole.
func (f *openedFace) shaped(text []rune, leftwards bool) (line []glyph) {
	joining := f.joining()
	s := joining.shapers.Get().(*shaper) //nolint:errcheck,forcetypeassert // nothing else is kept
	defer joining.shapers.Put(s)
	text, isolates := lift(text)
	for _, r := range runs(&s.order, text, leftwards) {
		if within, is := isolates[r.start]; is {
			line = append(line, f.shaped(within.text, within.leftwards)...)
			continue
		}
		in := shaping.Input{Text: text, RunStart: r.start, RunEnd: r.end, Face: s.face, FontFeatures: unkerned, Size: fixed.I(int(f.perEm))}
		if r.level%2 == 1 {
			in.Direction = di.DirectionRTL
		}
		parts := slices.Clone(s.split.Split(in, only{s.face})) // by scripts
		if in.Direction == di.DirectionRTL {
			slices.Reverse(parts)
		}
		for _, part := range parts {
			line = append(line, f.glyphs(text, s.shape.ShapeNoExtents(part))...)
		}
	}
	return line
}

// only is the one face that there is.
type only struct{ face *font.Face }

// ResolveFace is it.
func (o only) ResolveFace(rune) *font.Face { return o.face }

// glyphs are what the shaper has put on the line.
func (f *openedFace) glyphs(text []rune, out shaping.Output) (line []glyph) {
	em := func(v fixed.Int26_6) float64 { return float64(v) / 64 / f.perEm }
	var joiner []rune // behind the letters whose glyphs follow: joining scripts run leftwards
	for from := 0; from < len(out.Glyphs); {
		first := out.Glyphs[from]
		letters := text[first.TextIndex() : first.TextIndex()+first.RunesCount()]
		to := from + first.GlyphsCount()
		if len(letters) == 1 && unicode.Is(unicode.Cf, letters[0]) {
			joiner, from = letters, to // which shows nothing
			continue
		}
		start := len(line)
		for _, g := range out.Glyphs[from:to] {
			line = append(line, glyph{shape: g.GlyphID, own: f.advance(g.GlyphID), advance: em(g.Advance), over: em(g.XOffset), up: em(g.YOffset)})
		}
		f.name(line[start:], slices.Concat(letters, joiner))
		joiner, from = nil, to
	}
	return line
}

// name tells glyphs what they stand for together: the widest says it for its marks. Readers turn around what runs from right to left, some of
// them even what a single glyph stands for: one for two letters goes by a letter of its own, as Unicode has for those that our faces join.
func (f *openedFace) name(glyphs []glyph, letters []rune) {
	widest := 0
	for i, g := range glyphs {
		if g.advance > glyphs[widest].advance {
			widest = i
		}
	}
	glyphs[widest].text = string(letters)
	if single, known := f.joining().single[glyphs[widest].shape]; known && len(glyphs) == 1 && len(letters) > 1 {
		glyphs[widest].text = string(single)
	}
}
