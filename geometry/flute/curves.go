package flute

import "math"

// Point is a measured place, in whatever unit it was measured.
type Point struct{ Side, Up float64 }

// Estimate is a fitted value with its standard error.
type Estimate struct{ Value, Standard float64 }

// Circle is one fitted to points.
type Circle struct {
	Side, Up, Radius Estimate
	Scatter          float64 // standard deviation of the points' distances from it; 0 with three
}

// AlgebraicCircle is the circle with the least sum of (distance² − radius²)², after Kåsa (1976). It needs no start, but is pulled by how
// the points lie; [GeometricCircle] starts from it. It has no standard errors. Fewer than three points, more than [MostPoints], one that
// is not finite or all on a line are a [*MeasureError].
func AlgebraicCircle(points []Point) (Circle, error) {
	if err := checkPoints(points, 3); err != nil {
		return Circle{}, err
	}
	c, size := spread(points)
	var xx, xy, yy, xz, yz, zz float64
	for _, p := range points {
		x, y := (p.Side-c.Side)/size, (p.Up-c.Up)/size
		z := x*x + y*y
		xx, xy, yy, xz, yz, zz = xx+x*x, xy+x*y, yy+y*y, xz+x*z, yz+y*z, zz+z
	}
	det := xx*yy - xy*xy
	if !(det > 1e-20*zz*zz) {
		return Circle{}, &MeasureError{Kind: OneLine, Need: 3}
	}
	x, y := (xz*yy-yz*xy)/(2*det), (yz*xx-xz*xy)/(2*det)
	r := math.Sqrt(x*x + y*y + zz/float64(len(points)))
	return Circle{Side: Estimate{Value: c.Side + size*x}, Up: Estimate{Value: c.Up + size*y}, Radius: Estimate{Value: size * r}}, nil
}

// GeometricCircle is the circle with the least sum of squares of the points' distances from it. Its standard errors are from the points'
// scatter, and 0 with three points. It refuses what [AlgebraicCircle] does.
func GeometricCircle(points []Point) (Circle, error) {
	start, err := AlgebraicCircle(points)
	if err != nil {
		return Circle{}, err
	}
	size := start.Radius.Value
	fit := leastSquares{n: len(points), residuals: func(p, out []float64) {
		for i, at := range points {
			out[i] = math.Hypot((at.Side-start.Side.Value)/size-p[0], (at.Up-start.Up.Value)/size-p[1]) - p[2]
		}
	}}
	p, sum := fit.from([]float64{0, 0, 1})
	a, _ := fit.normal(p)
	inverse, ok := a.inverse()
	if !ok {
		return Circle{}, &MeasureError{Kind: OneLine, Need: 3}
	}
	scatter := scatter(sum, len(points)-3)
	estimate := func(from float64, i int) Estimate {
		return Estimate{from + size*p[i], size * scatter * math.Sqrt(inverse[i][i])}
	}
	return Circle{estimate(start.Side.Value, 0), estimate(start.Up.Value, 1), estimate(0, 2), size * scatter}, nil
}

func scatter(sum float64, left int) float64 {
	if left <= 0 {
		return 0
	}
	return math.Sqrt(sum / float64(left))
}

// VertexForm is up = vertex's up + curvature·(side − vertex's side)²/2.
type VertexForm struct {
	Side, Up, Curvature Estimate // Curvature is 1/radius at the vertex, below 0 where it opens downwards
	Scatter             float64  // standard deviation of the points' heights from it; 0 with three
}

// UprightParabola is the parabola with an upright axis that has the least sum of squares of the points' heights from it. Standard errors are
// from the points' scatter. Fewer than three points, more than [MostPoints], one that is not finite, fewer than three different sides or
// no curvature are a [*MeasureError].
func UprightParabola(points []Point) (VertexForm, error) {
	if err := checkPoints(points, 3); err != nil {
		return VertexForm{}, err
	}
	c, size := spread(points)
	// With x scaled about the middle the three powers are far from alike, and the normal equations lose few digits.
	a, g := newMatrix(3), make([]float64, 3)
	each := func(do func(powers [3]float64, y float64)) {
		for _, p := range points {
			x := (p.Side - c.Side) / size
			do([3]float64{1, x, x * x}, (p.Up-c.Up)/size)
		}
	}
	each(func(powers [3]float64, y float64) {
		for i := range 3 {
			g[i] += powers[i] * y
			for j := range 3 {
				a[i][j] += powers[i] * powers[j]
			}
		}
	})
	inverse, ok := a.inverse()
	if !ok {
		return VertexForm{}, &MeasureError{Kind: OneLine, Need: 3}
	}
	var b [3]float64
	for i := range b {
		b[i] = dot(inverse[i], g)
	}
	var sum float64
	each(func(powers [3]float64, y float64) {
		e := y - dot(powers[:], b[:])
		sum += e * e
	})
	if !(math.Abs(b[2]) > 1e-13*(math.Abs(b[1])+1)) {
		return VertexForm{}, &MeasureError{Kind: OneLine, Need: 3}
	}
	s := scatter(sum, len(points)-3)
	// y = b₀ + b₁x + b₂x² has its vertex at x = −b₁/2b₂, y = b₀ + b₁x/2.
	x := -b[1] / (2 * b[2])
	estimate := func(from, value float64, d [3]float64) Estimate {
		return Estimate{from + value, s * size * math.Sqrt(inverse.form(d))}
	}
	v := VertexForm{
		Side:      estimate(c.Side, size*x, [3]float64{0, -1 / (2 * b[2]), -x / b[2]}),
		Up:        estimate(c.Up, size*(b[0]+b[1]*x/2), [3]float64{1, x, x * x}),
		Curvature: Estimate{2 * b[2] / size, s * 2 / size * math.Sqrt(inverse[2][2])},
		Scatter:   s * size,
	}
	return v, nil
}

// form is dᵀ M d: the variance of what follows the parameters by d.
func (m matrix) form(d [3]float64) (sum float64) {
	for i := range d {
		sum += d[i] * dot(m[i], d[:])
	}
	return max(0, sum)
}

// spread is the points' middle and their size about it.
func spread(points []Point) (middle Point, size float64) {
	n := float64(len(points))
	for _, p := range points {
		middle.Side += p.Side / n
		middle.Up += p.Up / n
	}
	for _, p := range points {
		size = max(size, math.Abs(p.Side-middle.Side), math.Abs(p.Up-middle.Up))
	}
	return middle, size
}
