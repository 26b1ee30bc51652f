package paper

// Visual is what a line's glyphs stand for, from left to right.
func Visual(text string) (line string) {
	for _, g := range faceOf(false).opened().set(nil, text) {
		line += g.text
	}
	return line
}
