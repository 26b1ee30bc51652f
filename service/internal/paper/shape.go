package paper

import (
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-text/typesetting/bidi"
	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/language"
	"github.com/go-text/typesetting/shaping"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// missing stands for letters that the faces do not have.
const missing = '□'

// settable is a text as a face can set it: composed, without marks of direction, whose order would not be that of what is read, and with □
// for letters that it lacks.
func (f *openedFace) settable(text string) string {
	before := rune(-1)
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			r = ' '
		case r == '\u200c' || r == '\u200d': // joiners, where letters join
			if !unicode.In(before, unicode.Arabic, unicode.Nko) {
				return -1
			}
		case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Variation_Selector):
			return -1
		case f.shape(r) == 0:
			r = missing
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

// set sets a text on a line: glyphs from left to right.
func (f *openedFace) set(text string) []glyph {
	text = f.settable(text)
	if !simple(text) {
		return f.shaped([]rune(text))
	}
	line := make([]glyph, 0, len(text))
	for i, r := range text {
		c := f.common[r]
		line = append(line, glyph{shape: c.shape, text: text[i : i+utf8.RuneLen(r)], own: float64(c.advance), advance: float64(c.advance)})
	}
	return line
}

// shapers join letters, put marks on them and tell directions. Each is for one goroutine at a time.
var shapers = sync.Pool{New: func() any { return new(shaper) }}

type shaper struct {
	order bidi.Paragraph
	split shaping.Segmenter
	shape shaping.HarfbuzzShaper
}

// shaped sets a text in which letters join, have marks or run from right to left. Lines as such run from left to right, as sheets do.
func (f *openedFace) shaped(text []rune) (line []glyph) {
	s := shapers.Get().(*shaper) //nolint:errcheck,forcetypeassert // nothing else is kept
	defer shapers.Put(s)
	face := font.NewFace(f.Font)
	for _, run := range s.runs(text) {
		in := shaping.Input{Text: text, RunStart: run.Start, RunEnd: run.End, Face: face, Size: fixed.I(int(f.perEm)), Language: language.DefaultLanguage()}
		if !run.IsLeftToRight() {
			in.Direction = di.DirectionRTL
		}
		parts := slices.Clone(s.split.Split(in, only{face})) // by scripts
		if !run.IsLeftToRight() {
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

func (o only) ResolveFace(rune) *font.Face { return o.face }

// runs are a text's stretches of one direction, from left to right: rule L2 of the Unicode bidirectional algorithm (UAX 9).
func (s *shaper) runs(text []rune) []bidi.Run {
	const leftToRight = '\u200e' // or the first letter would decide it for the line
	found := s.order.Segment(append([]rune{leftToRight}, text...), bidi.LeftToRight)
	var runs []bidi.Run
	deepest := bidi.Level(0)
	for i := range found.NumRuns() {
		run := found.Run(i)
		run.Start, run.End = max(run.Start-1, 0), run.End-1
		if run.End > run.Start {
			runs = append(runs, run)
		}
		deepest = max(deepest, run.Level)
	}
	for level := deepest; level > 0; level-- {
		for from := 0; from < len(runs); from++ {
			to := from
			for to < len(runs) && runs[to].Level >= level {
				to++
			}
			slices.Reverse(runs[from:to])
			from = max(from, to-1)
		}
	}
	return runs
}

// glyphs are what the shaper has put on the line. Of several that stand for the same letters the widest says so.
func (f *openedFace) glyphs(text []rune, out shaping.Output) []glyph {
	em := func(v fixed.Int26_6) float64 { return float64(v) / 64 / f.perEm }
	line := make([]glyph, len(out.Glyphs))
	for i, g := range out.Glyphs {
		line[i] = glyph{shape: g.GlyphID, own: f.advance(g.GlyphID), advance: em(g.Advance), over: em(g.XOffset), up: em(g.YOffset)}
	}
	for from := 0; from < len(line); {
		cluster := out.Glyphs[from]
		to := from + 1
		widest := from
		for ; to < len(line) && out.Glyphs[to].TextIndex() == cluster.TextIndex(); to++ {
			if line[to].advance > line[widest].advance {
				widest = to
			}
		}
		line[widest].text = string(text[cluster.TextIndex() : cluster.TextIndex()+cluster.RunesCount()])
		from = to
	}
	return line
}
