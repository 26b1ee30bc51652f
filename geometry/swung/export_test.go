package swung

// Sweep is how far a face's arc moves along the axle and how fast its normal turns towards it, per length of edge, at a length along the arc.
func (g Setting) Sweep(f Face, length float64) (speed, turn float64) {
	w := f.sweep(g.pivot())
	return w.speed(f.curve, length), w.turn(f.curve, length)
}
