package solid

import (
	"math"
	"slices"

	"arris.example/geometry/space"
	"arris.example/geometry/swung"
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
}

// Build is the tool as a mesh of at most so many triangles. A [*BuildError] says why there is none.
func Build(t Tool, triangles int) (Mesh, error) {
	if triangles < LeastTriangles || triangles > MostTriangles {
		return Mesh{}, &BuildError{Why: TooMany, Value: float64(triangles)}
	}
	rim, ok := t.Bar.Rim(t.Edge.Section)
	if !ok {
		return Mesh{}, &BuildError{Why: NoRim}
	}
	if len(t.Bar.Corners()) > 0 {
		return Mesh{}, &BuildError{Why: NotRound}
	}
	rows := min(max(int(math.Sqrt(float64(triangles))/9), 2), 48)
	rows = max(rows, len(t.Bevels))
	l := loft{tool: t, rows: t.share(rows)}
	around := 0
	for _, r := range l.rows {
		around += 2 * r
	}
	for _, along := range t.columns(rim, triangles/(around+6)) {
		if err := l.add(along); err != nil {
			return Mesh{}, err
		}
	}
	return l.mesh(), nil
}

// columns are the places along the edge at which the body is cut into strips: both rims, nose and wings' ends among them, and between them
// nearer to one another where the steel runs out and the heel turns away fast.
func (t Tool) columns(rim float64, n int) []float64 {
	fixed := []float64{-rim, 0, rim}
	for _, end := range []float64{-t.Edge.Left, t.Edge.Right} {
		if math.Abs(end) < rim*(1-1e-6) {
			fixed = append(fixed, end)
		}
	}
	slices.Sort(fixed)
	columns := []float64{-rim}
	for i := 1; i < len(fixed); i++ {
		from, to := fixed[i-1], fixed[i]
		steps := max(1, int(float64(n)*(to-from)/(2*rim)))
		for j := 1; j < steps; j++ {
			columns = append(columns, from+(to-from)*ease(float64(j)/float64(steps), from == -rim, to == rim))
		}
		columns = append(columns, to)
	}
	return columns
}

// ease spaces columns closer towards a rim: a face's length grows there like a square root.
func ease(u float64, fromRim, toRim bool) float64 {
	switch {
	case fromRim && toRim:
		return (1 - math.Cos(math.Pi*u)) / 2
	case fromRim:
		return u * u
	case toRim:
		return u * (2 - u)
	}
	return u
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
	tool      Tool
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
	flute    swung.Point
}

// add makes the loop of a place. What has no length has one position: so the body closes at the rims.
func (l *loft) add(along float64) error {
	s, err := l.tool.station(along)
	if err != nil {
		return err
	}
	c := column{station: s, ground: make([][]int32, len(s.arcs)), flute: s.arcs[0].face.Point}
	at := l.place(s.arcs[0].face.At)
	for i, a := range s.arcs {
		c.ground[i] = append(make([]int32, 0, l.rows[i]+1), at)
		for r := 1; r <= l.rows[i]; r++ {
			if a.length > 0 {
				at = l.place(a.face.Arc(a.length * float64(r) / float64(l.rows[i])))
			}
			c.ground[i] = append(c.ground[i], at)
		}
	}
	if back := l.positions[at].Back; back >= l.tool.Behind {
		return &BuildError{Why: TooShort, Along: along, Value: l.tool.Behind, Least: back}
	}
	c.bar = l.place(space.Vec{Back: l.tool.Behind, Up: s.heel.Up, Side: s.heel.Side})
	if c.end = c.bar; at != c.ground[0][0] {
		c.end = l.place(space.Vec{Back: l.tool.Behind, Up: c.flute.At.Up, Side: c.flute.At.Side})
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
		m.add(l, Patch{Surface: Ground, Bevel: b}, rows+1, func(c *column, row int) (int32, space.Dir) {
			a := c.arcs[b]
			return c.ground[b][row], a.face.NormalAt(a.length * float64(row) / float64(rows))
		})
	}
	m.add(l, Patch{Surface: Outside}, 2, func(c *column, row int) (int32, space.Dir) {
		normal := space.Dir{Up: c.heel.Normal.Up, Side: c.heel.Normal.Side}
		if row == 1 {
			return c.bar, normal
		}
		last := c.ground[len(c.ground)-1]
		return last[len(last)-1], normal
	})
	m.add(l, Patch{Surface: Cut}, 2, func(c *column, row int) (int32, space.Dir) {
		return [2]int32{c.bar, c.end}[row], space.Back
	})
	m.add(l, Patch{Surface: Flute}, 2, func(c *column, row int) (int32, space.Dir) {
		return [2]int32{c.end, c.ground[0][0]}[row], c.flute.Flute
	})
	return m
}

// add lays one patch. Triangles without area, where a loop has closed, are left out.
func (m *Mesh) add(l *loft, p Patch, rows int, vertex func(*column, int) (int32, space.Dir)) {
	p.Vertices = make([]Vertex, 0, rows*len(l.columns))
	p.Faces = make([][3]int32, 0, 2*(rows-1)*(len(l.columns)-1))
	for i := range l.columns {
		for r := range rows {
			position, normal := vertex(&l.columns[i], r)
			p.Vertices = append(p.Vertices, Vertex{position, normal, l.columns[i].arcs[0].face.Wedge})
		}
	}
	for i := 1; i < len(l.columns); i++ {
		for r := range rows - 1 {
			a, b := int32((i-1)*rows+r), int32(i*rows+r)
			p.face(a, b+1, b)
			p.face(a, a+1, b+1)
		}
	}
	m.Patches = append(m.Patches, p)
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

// Volume is what the mesh encloses, mm³: the divergence theorem, a sixth of the triple product for every triangle, seen from the middle of
// the cut so that the terms stay small.
func (m Mesh) Volume() float64 {
	var six float64
	middle := m.Positions[len(m.Positions)/2]
	for _, p := range m.Patches {
		for _, f := range p.Faces {
			a := m.Positions[p.Vertices[f[0]].Position].Minus(middle)
			b := m.Positions[p.Vertices[f[1]].Position].Minus(middle)
			c := m.Positions[p.Vertices[f[2]].Position].Minus(middle)
			six += a.Dot(b.Cross(c))
		}
	}
	return six / 6
}
