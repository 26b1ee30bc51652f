package paper

import (
	"sync"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"github.com/go-text/typesetting/font/opentype"
	"golang.org/x/image/font/sfnt"
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
	name   string             // PostScript's
	opened func() *openedFace // at its first use
}

type openedFace struct {
	outlines
	codes   *sfnt.Font
	common  [endOfCommon]common
	joining func() *joiningFace // at its first use: few texts need it, and it takes long to read
}

// common is a letter's shape and advance, known without looking for them.
type common struct {
	shape   opentype.GID
	advance float32 // em; a face has whole numbers of 2048ths
}

// endOfCommon is behind the letters of European scripts, punctuation, arrows and signs.
const endOfCommon = 0x2c00

func newFace(name string, file []byte) *face {
	return &face{name, sync.OnceValue(func() *openedFace {
		codes, err := sfnt.Parse(file)
		if err != nil {
			panic(err) // the fonts are part of the program
		}
		f := &openedFace{outlines: outlinesOf(file), codes: codes}
		f.joining = sync.OnceValue(func() *joiningFace { return joiningOf(f, file) })
		var buffer sfnt.Buffer
		for r := range rune(endOfCommon) {
			shape := f.find(&buffer, r)
			f.common[r] = common{shape, float32(f.advance(shape))}
		}
		return f
	})}
}

// shape of a letter by itself; 0 where the face has no such letter.
func (f *openedFace) shape(r rune) opentype.GID {
	if r < endOfCommon {
		return f.common[r].shape
	}
	return f.find(new(sfnt.Buffer), r)
}

func (f *openedFace) find(buffer *sfnt.Buffer, r rune) opentype.GID {
	shape, err := f.codes.GlyphIndex(buffer, r)
	if err != nil {
		panic(err) // the fonts are part of the program
	}
	return opentype.GID(shape)
}

// glyph is a shape of a face, set on a line. Lengths are in em.
type glyph struct {
	shape    opentype.GID
	text     string  // what it stands for; where several stand for something together, only one says so
	own      float64 // advance that the face gives it
	advance  float64 // to the next one
	over, up float64 // how far it is moved from its place
}
