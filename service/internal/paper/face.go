package paper

import (
	"bytes"
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
	name   string             // PostScript's
	opened func() *openedFace // at its first use
}

type openedFace struct {
	*font.Font
	outlines
	common [endOfCommon]common
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
		read, err := font.ParseTTF(bytes.NewReader(file))
		if err != nil {
			panic(err) // the fonts are part of the program
		}
		f := &openedFace{Font: read.Font, outlines: outlinesOf(file)}
		for r := range rune(endOfCommon) {
			shape, _ := f.Cmap.Lookup(r)
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
	shape, _ := f.Cmap.Lookup(r)
	return shape
}

// glyph is a shape of a face, set on a line. Lengths are in em.
type glyph struct {
	shape    opentype.GID
	text     string  // what it stands for; where several stand for something together, only one says so
	own      float64 // advance that the face gives it
	advance  float64 // to the next one
	over, up float64 // how far it is moved from its place
}
