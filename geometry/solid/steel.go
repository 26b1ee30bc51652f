package solid

import "math"

// Removed is the steel that grinding a tool takes from its bar, cut square at the foremost place of its edge, mm³: from a mesh of so many
// triangles, which is too small a body by a few parts in ten thousand. A tool that does not build is [Build]'s error.
func Removed(t Tool, triangles int) (float64, error) {
	m, err := Build(t, triangles)
	if err != nil {
		return 0, err
	}
	return t.Bar.Area(t.Edge.Section)*(t.Behind-t.foremost()) - m.Volume(), nil
}

// foremost is how far behind the nose the foremost place of the edge lies: not above 0.
func (t Tool) foremost() float64 {
	const places = 257
	least := 0.0
	for _, along := range t.Edge.Places(places) {
		least = math.Min(least, t.Edge.At(along).At.Back)
	}
	return least
}
