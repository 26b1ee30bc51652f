package paper

import "math"

// Moved is the same mark at another place.
func Moved(m Mark, by Point) Mark {
	to := func(p Point) Point { return Point{p.X + by.X, p.Y + by.Y} }
	switch m := m.(type) {
	case Line:
		points := make([]Point, len(m.Points))
		for i, p := range m.Points {
			points[i] = to(p)
		}
		m.Points = points
		if m.Arc != nil {
			arc := *m.Arc
			arc.Centre = to(arc.Centre)
			m.Arc = &arc
		}
		return m
	case Words:
		m.At = to(m.At)
		return m
	}
	return m
}

// Bounds are the corners of the rectangle that a mark takes, without the width of its lines.
func Bounds(m Mark) (least, most Point) {
	least, most = Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, p := range extremes(m) {
		least = Point{min(least.X, p.X), min(least.Y, p.Y)}
		most = Point{max(most.X, p.X), max(most.Y, p.Y)}
	}
	return least, most
}

// extremes are points beyond which a mark does not go in any of the page's directions.
func extremes(m Mark) []Point {
	switch m := m.(type) {
	case Line:
		points := m.Points
		if m.Arc != nil {
			points = m.Arc.extremes()
		}
		return points
	case Words:
		return m.Corners()
	}
	return nil
}

// extremes are its ends, and where it goes furthest between them.
func (a Arc) extremes() []Point {
	points := []Point{a.At(a.Start), a.At(a.Start + a.Sweep)}
	const quarter = math.Pi / 2
	for n := math.Ceil(a.Start / quarter); n*quarter <= a.Start+a.Sweep; n++ {
		points = append(points, a.At(n*quarter))
	}
	return points
}

// Corners are those of the rectangle that words take: their width, and from what hangs below the line to the height of their em.
func (t Words) Corners() []Point {
	const below, above = 0.25, 0.8 // of the em
	sin, cos := math.Sincos(t.Turn)
	at := func(along, up float64) Point { return Point{t.At.X + along*cos - up*sin, t.At.Y - along*sin - up*cos} }
	wide := Width(t.Text, t.Size, t.Bold)
	return []Point{at(0, -below*t.Size), at(wide, -below*t.Size), at(wide, above*t.Size), at(0, above*t.Size)}
}
