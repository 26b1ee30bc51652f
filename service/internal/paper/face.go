package paper

import (
	"bytes"
	"strings"
	"sync"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
)

// The faces that everything is set in. They have the signs of the trade: ⌀, °, ±, ″, ½, ↻.
var (
	upright = newFace("DejaVuSans", dejavusans.TTF)
	heavy   = newFace("DejaVuSans-Bold", dejavusansbold.TTF)
)

func faceOf(bold bool) *face {
	if bold {
		return heavy
	}
	return upright
}

// face measures letters and says what they look like.
type face struct {
	name    string // PostScript's
	file    []byte
	opened  func() *font.Font // read once, at its first use
	letters sync.Map          // rune → letter
	outline func() outlines
}

func newFace(name string, file []byte) *face {
	f := &face{name: name, file: file}
	f.opened = sync.OnceValue(func() *font.Font {
		read, err := font.ParseTTF(bytes.NewReader(file))
		if err != nil {
			panic(err) // the fonts are part of the program
		}
		return read.Font
	})
	f.outline = sync.OnceValue(func() outlines { return outlinesOf(file) })
	return f
}

// glyph is a shape of a face, set on a line. Lengths are in em.
type glyph struct {
	shape    opentype.GID
	text     string  // what it stands for; the further ones of several that stand for something together have none
	advance  float64 // to the next one
	own      float64 // advance that the face gives it
	up, over float64 // how far it is moved from the line
}

// letter is the glyph of a letter by itself; false where the face has no such letter.
func (f *face) letter(r rune) (glyph, bool) {
	if known, ok := f.letters.Load(r); ok {
		g := known.(glyph) //nolint:errcheck,forcetypeassert // nothing else is kept
		return g, g.shape != 0
	}
	g := glyph{text: string(r)}
	if shape, ok := f.opened().Cmap.Lookup(r); ok {
		g.shape = shape
		g.own = f.outline().advance(shape)
		g.advance = g.own
	}
	f.letters.Store(r, g)
	return g, g.shape != 0
}

// missing stands for letters that the faces do not have.
const missing = '□'

// set sets a text on a line from left to right.
func (f *face) set(text string) []glyph {
	all := make([]glyph, 0, len(text))
	for _, r := range f.settable(text) {
		g, _ := f.letter(r)
		all = append(all, g)
	}
	return all
}

// settable is a text as the face can set it.
func (f *face) settable(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0' || r == '\t' || r == '\n':
			return ' '
		case r < ' ' || r >= 0x200b && r <= 0x200f || r >= 0x202a && r <= 0x202e || r >= 0x2060 && r <= 0x2069 || r == 0xfeff:
			return -1 // directions and joiners: letters are set one after the other
		}
		if _, ok := f.letter(r); !ok {
			return missing
		}
		return r
	}, text)
}
