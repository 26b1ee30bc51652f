package paper

import "arris.example/geometry/drawing"

// Visual is what a line's glyphs stand for, from left to right.
func Visual(text string) (line string) {
	for _, g := range faceOf(false).opened().set(nil, text) {
		line += g.text
	}
	return line
}

// Drawing is what was arranged.
func (a Arranged) Drawing() *drawing.Drawing { return a.d }
