package solid

import (
	"errors"
	"math"
	"slices"

	"arris.example/geometry/space"
)

// Mesh is a closed body of triangles that face outwards. Patches share positions and have normals of their own, so that creases stay sharp.
type Mesh struct {
	Positions []space.Vec
	Patches   []Patch
}

// Patch is one surface of a body.
type Patch struct {
	Surface  Surface
	Bevel    int      // of a ground face
	Vertices []Vertex // its own
	Faces    [][3]int32
}

// Surface is what a patch belongs to.
type Surface int

// The surfaces of a tool.
const (
	Ground Surface = iota
	Outside
	Cut
	Flute
)

// Vertex is a place of a patch.
type Vertex struct {
	Position int32 // into the mesh's
	Normal   space.Dir
	Wedge    float64 // of the edge at the vertex's column, radians
	Along    float64 // of that column, along the flute from its floor
	Down     float64 // from the patch's front, 0, to its end, 1
}

// Build is the tool as a mesh of at most so many triangles. A [*BuildError], a [*swung.StackError] or a [*flute.SizeError] says why there is
// none.
func Build(t Tool, triangles int) (Mesh, error) {
	if triangles < LeastTriangles || triangles > MostTriangles {
		return Mesh{}, &BuildError{Why: Count, Value: float64(triangles)}
	}
	b, err := newBody(t)
	if err != nil {
		return Mesh{}, err
	}
	rows := max(min(max(int(math.Sqrt(float64(triangles))/9), 2), 48), len(t.Bevels))
	l := loft{body: b, rows: t.share(rows)}
	strip := 6
	for _, r := range l.rows {
		strip += 2 * r
	}
	// The bar's corners and the bevels' ends at the heel have columns of their own: two sheets may pass each of four.
	if err := l.walk(triangles/strip - 8 - 2*len(t.Bevels)); err != nil {
		return Mesh{}, err
	}
	return l.mesh(), nil
}

// share gives every bevel its rows: the last one, usually the longest, gets what is left.
func (t Tool) share(rows int) []int {
	n := len(t.Bevels)
	each := make([]int, n)
	for i := range each {
		each[i] = max(1, rows/(n+1))
	}
	each[n-1] = max(1, rows-(n-1)*each[0])
	return each
}

// loft is a mesh being made of columns.
type loft struct {
	*body
	rows      []int // of every bevel
	positions []space.Vec
	columns   []column
}

// column is a station's loop: positions from the edge down the ground arcs to the heel, then along the bar to the cut, over to the flute, and
// back to the edge.
type column struct {
	station
	ground   [][]int32 // of every bevel, from its front to its end
	bar, end int32     // at the cut: on the outside, in the flute
}

// walk lays about n columns: both rims, nose and wings' ends among them, and what the last wheels cut beyond the rims.
func (l *loft) walk(n int) error {
	stops, err := l.stops()
	if err != nil {
		return err
	}
	whole := stops[len(stops)-1] - stops[0]
	free := float64(n - len(stops))
	for i, from := range stops[:len(stops)-1] {
		to := stops[i+1]
		steps := 1 + int(free*(to-from)/whole)
		for j := range steps {
			u := ease(float64(j)/float64(steps), i == 0, i == len(stops)-2)
			if err := l.passTo(from+(to-from)*u, i+j == 0); err != nil {
				return err
			}
		}
	}
	return l.passTo(stops[len(stops)-1], true)
}

// stops are the places that have to have a column.
func (l *loft) stops() ([]float64, error) {
	stops := []float64{-l.rim, 0, l.rim}
	for _, end := range []float64{-l.Edge.Left, l.Edge.Right} {
		if math.Abs(end) < l.rim*(1-1e-6) && end != 0 {
			stops = append(stops, end)
		}
	}
	for _, side := range []float64{-1, 1} {
		last, err := l.last(side)
		if err != nil {
			return nil, err
		}
		if last > l.rim {
			stops = append(stops, side*last)
		}
		for _, c := range l.Bar.Corners() {
			if place := l.rim + l.mouth - c; place > l.rim && place < last {
				stops = append(stops, side*place)
			}
		}
	}
	slices.Sort(stops)
	return slices.Compact(stops), nil
}

// last is the place of a side at which nothing is left to grind: the rim, or where round the bar the last wheel comes out of it.
func (l *loft) last(side float64) (float64, error) {
	s, err := l.station(side * l.rim)
	if err != nil || s.empty() {
		return l.rim, err
	}
	low, high := l.rim, l.rim+math.Abs(s.start-s.heel)
	for range 50 {
		middle := (low + high) / 2
		if s, err := l.station(side * middle); err == nil && !s.empty() {
			low = middle
		} else {
			high = middle
		}
	}
	for _, c := range l.Bar.Corners() { // a wheel that comes out beside a corner leaves it to the rounding
		if place := l.rim + l.mouth - c; math.Abs(place-high) < 1e-3 {
			high = place
		}
	}
	return high, nil
}

// ease spaces columns closer towards the first and the last: a face's length grows there like a square root.
func ease(u float64, first, last bool) float64 {
	switch {
	case first:
		return u * u
	case last:
		return u * (2 - u)
	}
	return u
}

// passTo adds the column of a place, and before it one wherever the heel passes a corner of the bar or a bevel begins or ends there. Where
// nothing is ground there is no column but the first and the last.
func (l *loft) passTo(place float64, keep bool) error {
	next, err := l.station(place)
	if err != nil || next.empty() && !keep {
		return err
	}
	if len(l.columns) > 0 && !next.empty() {
		from := l.columns[len(l.columns)-1].station
		for _, corner := range l.Bar.Corners() { // ascending, as heels do
			if corner > from.heel+1e-9 && corner < next.heel-1e-9 {
				err = errors.Join(err, l.addAt(from.place, place, corner, func(s *station) bool { return s.heel < corner }))
			}
		}
		if bevels := from.bevels(); bevels > 0 && bevels != next.bevels() {
			err = errors.Join(err, l.addAt(from.place, place, math.NaN(), func(s *station) bool { return s.bevels() == bevels }))
		}
	}
	return errors.Join(err, l.add(next))
}

// bevels is how many of them have steel at a station.
func (s *station) bevels() (n int) {
	for _, a := range s.arcs {
		if a.length > 0 {
			n++
		}
	}
	return n
}

// addAt adds the station up to which something holds; its heel is at a corner of the bar, if at any.
func (l *loft) addAt(low, high, corner float64, holds func(*station) bool) error {
	first := low
	for range 60 {
		middle := (low + high) / 2
		s, err := l.station(middle)
		if err != nil {
			return err
		}
		if holds(&s) {
			low = middle
		} else {
			high = middle
		}
	}
	if low == first {
		return nil
	}
	s, err := l.station(low)
	if err != nil {
		return err
	}
	if !math.IsNaN(corner) {
		s.heel = corner
	}
	return l.add(s)
}

// add makes a station's loop. What has no length has one position: so the body closes at both sides.
func (l *loft) add(s station) error {
	c := column{station: s, ground: make([][]int32, len(s.arcs))}
	start := s.arcs[0].face.At
	at := l.place(start)
	for i, a := range s.arcs {
		c.ground[i] = append(make([]int32, 0, l.rows[i]+1), at)
		for r := 1; r <= l.rows[i]; r++ {
			if a.length > 0 {
				at = l.place(a.face.Arc(a.length * float64(r) / float64(l.rows[i])))
			}
			c.ground[i] = append(c.ground[i], at)
		}
	}
	spot := l.Bar.Outline(s.heel)
	heel := &l.positions[at]
	heel.Up, heel.Side = spot.Up, spot.Side // but for rounding where it was
	if heel.Back >= l.Behind {
		return &BuildError{Why: TooShort, Along: s.place, Value: l.Behind, Least: heel.Back}
	}
	c.bar = l.place(space.Vec{Back: l.Behind, Up: spot.Up, Side: spot.Side})
	if c.end = c.bar; at != c.ground[0][0] {
		c.end = l.place(space.Vec{Back: l.Behind, Up: start.Up, Side: start.Side})
	}
	l.columns = append(l.columns, c)
	return nil
}

func (l *loft) place(p space.Vec) int32 {
	l.positions = append(l.positions, p)
	return int32(len(l.positions) - 1)
}

// mesh lays a strip of triangles over every surface from column to column.
func (l *loft) mesh() Mesh {
	m := Mesh{Positions: l.positions}
	for b, rows := range l.rows {
		m.add(l.columns, Patch{Surface: Ground, Bevel: b}, rows+1, func(c *column, row int) (int32, space.Dir) {
			a := c.arcs[b]
			return c.ground[b][row], a.face.NormalAt(a.length * float64(row) / float64(rows))
		})
	}
	m.add(l.columns, Patch{Surface: Cut}, 2, func(c *column, row int) (int32, space.Dir) {
		return [2]int32{c.bar, c.end}[row], space.Back
	})
	first := slices.IndexFunc(l.columns, func(c column) bool { return c.place >= -l.rim })
	last := slices.IndexFunc(l.columns, func(c column) bool { return c.place >= l.rim })
	m.add(l.columns[first:last+1], Patch{Surface: Flute}, 2, func(c *column, row int) (int32, space.Dir) {
		return [2]int32{c.end, c.ground[0][0]}[row], c.normal
	})
	l.outside(&m, l.columns, func(c *column) (float64, [2]int32) {
		last := c.ground[len(c.ground)-1]
		return c.heel, [2]int32{last[len(last)-1], c.bar}
	})
	for _, side := range [][]column{l.columns[:first+1], l.columns[last:]} {
		l.outside(&m, side, func(c *column) (float64, [2]int32) { return c.start, [2]int32{c.end, c.ground[0][0]} })
	}
	return m
}

// outside lays a sheet over the bar's outside, in a patch for every face of it.
func (l *loft) outside(m *Mesh, columns []column, at func(*column) (around float64, pair [2]int32)) {
	middle := func(i int) float64 { // of the strip that ends with a column
		from, _ := at(&columns[i-1])
		to, _ := at(&columns[i])
		return (from + to) / 2
	}
	for i := 1; i < len(columns); {
		first, face := i-1, l.face(middle(i))
		for i < len(columns) && l.face(middle(i)) == face {
			i++
		}
		flat := l.Bar.Outline(middle(first + 1)).Normal
		m.add(columns[first:i], Patch{Surface: Outside}, 2, func(c *column, row int) (int32, space.Dir) {
			around, pair := at(c)
			if len(l.Bar.Corners()) == 0 {
				flat = l.Bar.Outline(around).Normal
			}
			return pair[row], direction(flat)
		})
	}
}

// face counts the bar's corners up to a place around.
func (l *loft) face(around float64) (n int) {
	for _, c := range l.Bar.Corners() {
		if around > c {
			n++
		}
	}
	return n
}

// add lays one patch. Triangles without area, where a loop has closed, are left out.
func (m *Mesh) add(columns []column, p Patch, rows int, vertex func(*column, int) (int32, space.Dir)) {
	p.Vertices = make([]Vertex, 0, rows*len(columns))
	p.Faces = make([][3]int32, 0, max(0, 2*(rows-1)*(len(columns)-1)))
	for i := range columns {
		for r := range rows {
			position, normal := vertex(&columns[i], r)
			p.Vertices = append(p.Vertices, Vertex{position, normal, columns[i].arcs[0].face.Wedge, columns[i].place, float64(r) / float64(rows-1)})
		}
	}
	for i := 1; i < len(columns); i++ {
		for r := range rows - 1 {
			a, b := int32((i-1)*rows+r), int32(i*rows+r)
			p.face(a, b+1, b)
			p.face(a, a+1, b+1)
		}
	}
	if len(p.Faces) > 0 {
		m.Patches = append(m.Patches, p)
	}
}

func (p *Patch) face(a, b, c int32) {
	x, y, z := p.Vertices[a].Position, p.Vertices[b].Position, p.Vertices[c].Position
	if x != y && y != z && z != x {
		p.Faces = append(p.Faces, [3]int32{a, b, c})
	}
}

// Triangles is how many the mesh has.
func (m Mesh) Triangles() int {
	n := 0
	for _, p := range m.Patches {
		n += len(p.Faces)
	}
	return n
}

// Volume is what the mesh encloses, mm³: the divergence theorem, a sixth of the triple product for every triangle, seen from a place on it so
// that the terms stay small, and summed with the rounding carried along (Neumaier 1974).
func (m Mesh) Volume() float64 {
	var sum, lost float64
	for _, p := range m.Patches {
		for _, f := range p.Faces {
			a, b, c := m.at(p, f[0]), m.at(p, f[1]), m.at(p, f[2])
			term := a.Dot(b.Cross(c))
			next := sum + term
			if math.Abs(sum) >= math.Abs(term) {
				lost += (sum - next) + term
			} else {
				lost += (term - next) + sum
			}
			sum = next
		}
	}
	return (sum + lost) / 6
}

// at is a vertex seen from the middle position.
func (m Mesh) at(p Patch, vertex int32) space.Vec {
	return m.Positions[p.Vertices[vertex].Position].Minus(m.Positions[len(m.Positions)/2])
}
