package flute

import (
	"cmp"
	"math"
	"slices"
)

// Fit is the flute of one shape that comes nearest to what was measured.
type Fit struct {
	Shape   Shape
	Section Section
	Radius  Estimate // at the floor, mm
	Wall    Estimate // of a V, radians
	Turn    Estimate // of the photograph, radians, towards +side; 0 without one

	// Residuals are in standard uncertainties, in the order mouth, pins, points; positive: above the fitted wall. Beyond 2 is seldom.
	Residuals []float64
	ChiSquare float64 // the sum of their squares, with the prior knowledge of turn and scale
	Left      int     // how many measurements there are beyond the unknowns: with 0, nothing tests the shape
	Within    bool    // whether the measurements' doubts explain the residuals, at 95 %; always with 0 left

	Err error // a [*MeasureError] or [*SizeError] where the measurements allow no such flute or do not tell it; all else is then 0
}

// FitShapes fits each of the shapes, or without any parabola, U and V, by least squares weighted with the doubts: points and mouth by their
// distance square to the wall, pins by their height. Best is first: those within their doubts before others, among them a V, which with
// steep walls is a U too, after the shapes with one number; then by the residuals' sum per measurement left; refused ones last. The
// error is a [*MeasureError] for measurements that contradict one another whatever the shape. A flat face is not fitted.
func FitShapes(m Measurements, shapes ...Shape) ([]Fit, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	if len(shapes) == 0 {
		shapes = []Shape{ShapeParabola, ShapeRound, ShapeVee}
	}
	fits := make([]Fit, len(shapes))
	for i, shape := range shapes {
		if err := taken("shape", float64(shape), float64(ShapeParabola), float64(ShapeVee)); err != nil {
			return nil, err
		}
		fits[i] = newProblem(m, shape).fit()
	}
	slices.SortStableFunc(fits, worse)
	return fits, nil
}

// worse orders fits, the best first.
func worse(a, b Fit) int {
	rank := func(f Fit) int {
		switch {
		case f.Err != nil:
			return 3
		case !f.Within:
			return 2
		case f.Shape == ShapeVee:
			return 1
		}
		return 0
	}
	if d := rank(a) - rank(b); d != 0 {
		return d
	}
	perLeft := func(f Fit) float64 { return f.ChiSquare / float64(max(1, f.Left)) }
	return cmp.Compare(perLeft(a), perLeft(b))
}

// Untold is what measurements leave open.
type Untold int

// What can be left open.
const (
	UntoldTest  Untold = iota // nothing is left over to test any shape with
	UntoldShape               // more than one shape agrees within the doubts
	UntoldMatch               // none does: a doubt is too small, a measurement wrong, or the flute another shape
)

// Tells what the measurements leave open, of fits from [FitShapes].
func Tells(fits []Fit) []Untold {
	var open []Untold
	agree, tested := 0, false
	for _, f := range fits {
		if f.Err != nil {
			continue
		}
		tested = tested || f.Left > 0
		if f.Within {
			agree++
		}
	}
	if !tested {
		open = append(open, UntoldTest)
	}
	switch {
	case agree > 1:
		open = append(open, UntoldShape)
	case agree == 0:
		open = append(open, UntoldMatch)
	}
	return open
}

// problem is the least squares of one shape. Its parameters are ln of the radius over a typical length; a V's wall; with a photograph the
// floor's place on it over that length and its turn; with a doubtful scale, ln of its error.
type problem struct {
	Measurements
	shape  Shape
	points []Point // mm about their middle
	length float64 // typical, mm
	turn   float64 // standard uncertainty of the photograph's
}

func newProblem(m Measurements, shape Shape) problem {
	p := problem{Measurements: m, shape: shape, length: m.Mouth.Width}
	for _, pin := range m.Pins {
		p.length = max(p.length, pin.Diameter)
	}
	if len(m.Photograph.Points) > 0 {
		p.points = m.Photograph.millimetres()
		_, size := spread(p.points)
		p.length = max(p.length, 2*size)
		p.turn = m.Photograph.TurnDoubt / 2
		if p.turn == 0 {
			p.turn = usualTurn / 2
		}
	}
	return p
}

// unknowns of the shape, and the floor's place on a photograph. Its turn and scale are known beforehand as well as they are.
func (p problem) unknowns() int {
	n := 1
	if p.shape == ShapeVee {
		n = 2
	}
	if p.points != nil {
		n += 2
	}
	return n
}

func (p problem) measured() int {
	n := len(p.Pins) + len(p.points)
	if p.Mouth != (Mouth{}) {
		n++
	}
	return n
}

func (p problem) parameters() int {
	n := p.unknowns()
	if p.points != nil {
		n++
	}
	if p.scaleDoubtful() {
		n++
	}
	return n
}

func (p problem) scaleDoubtful() bool { return p.points != nil && p.Photograph.ScaleDoubt > 0 }

// guess is what the parameters mean.
type guess struct {
	section     Section
	floor       Point
	turn, scale float64
}

func (p problem) read(x []float64) guess {
	g := guess{scale: 1}
	radius, rest := p.length*math.Exp(x[0]), x[1:]
	switch p.shape {
	case ShapeVee:
		g.section, rest = Vee(radius, rest[0]), rest[1:]
	case ShapeRound:
		g.section = Round(radius)
	default:
		g.section = Parabola(radius)
	}
	if p.points != nil {
		g.floor, g.turn, rest = Point{rest[0] * p.length, rest[1] * p.length}, rest[2], rest[3:]
	}
	if p.scaleDoubtful() {
		g.scale = math.Exp(rest[0])
	}
	return g
}

// residuals in standard uncertainties: mouth, pins, points, then what is known of turn and scale.
func (p problem) residuals(x, out []float64) {
	g := p.read(x)
	if p.shape == ShapeVee && !(x[1] > LeastWall && x[1] <= math.Pi/2) || math.Abs(g.turn) > mostTurn {
		out[0] = math.NaN() // out of bounds: no step goes there
		return
	}
	s := &g.section
	n := 0
	add := func(r float64) { out[n], n = r, n+1 }
	if p.Mouth != (Mouth{}) {
		add(p.Mouth.residual(s))
	}
	for _, pin := range p.Pins {
		if height, ok := s.PinHeight(pin.Diameter); ok {
			add(2 * (pin.Height - height) / pin.HeightDoubt)
		} else {
			add(math.NaN())
		}
	}
	if p.points == nil {
		return
	}
	sin, cos := math.Sincos(g.turn)
	for _, at := range p.points {
		dx, dy := at.Side*g.scale-g.floor.Side, at.Up*g.scale-g.floor.Up
		off, _ := s.off(dx*cos+dy*sin, dy*cos-dx*sin)
		add(2 * off / p.Photograph.PointDoubt)
	}
	add(g.turn / p.turn)
	if p.scaleDoubtful() {
		add(math.Log(g.scale) * 2 / p.Photograph.ScaleDoubt)
	}
}

// residual is how far the mouth's corner lies off the wall, over what its width's and depth's doubts come to in that direction.
func (m Mouth) residual(s *Section) float64 {
	off, slope := s.off(m.Width/2, m.Depth)
	sin, cos := math.Sincos(slope)
	return off / math.Hypot(sin*m.WidthDoubt/4, cos*m.DepthDoubt/2)
}

func (p problem) leastSquares() leastSquares {
	known := p.parameters() - p.unknowns() // beforehand: turn and scale
	return leastSquares{residuals: p.residuals, n: p.measured() + known}
}

// starts are the better of many guesses. A flute's radius lies between a fiftieth and ten times its width.
func (p problem) starts() [][]float64 {
	walls := []float64{0}
	if p.shape == ShapeVee {
		walls = []float64{0.2, 0.4, 0.6, 0.8, 1, 1.2, 1.4}
	}
	ls := p.leastSquares()
	type start struct {
		x   []float64
		sum float64
	}
	var all []start
	for radius := 0.02; radius < 12; radius *= 1.3 {
		for _, wall := range walls {
			x := append(make([]float64, 0, 6), math.Log(radius))
			if p.shape == ShapeVee {
				x = append(x, wall)
			}
			x = p.withPlace(x)
			all = append(all, start{x, ls.sum(x)})
		}
	}
	slices.SortFunc(all, func(a, b start) int { return cmp.Compare(a.sum, b.sum) })
	var best [][]float64
	for _, s := range all[:4] {
		best = append(best, s.x)
	}
	return best
}

// withPlace adds where the floor lies on the photograph to begin with: at the vertex of an upright parabola.
func (p problem) withPlace(x []float64) []float64 {
	if p.points != nil {
		v, _ := UprightParabola(p.points) // checked already
		x = append(x, v.Side.Value/p.length, v.Up.Value/p.length, 0)
	}
	if p.scaleDoubtful() {
		x = append(x, 0)
	}
	return x
}

func (p problem) fit() Fit {
	if err := p.refuse(); err != nil {
		return Fit{Shape: p.shape, Err: err}
	}
	ls := p.leastSquares()
	best, least := []float64(nil), math.Inf(1)
	for _, start := range p.starts() {
		if x, sum := ls.from(start); sum < least {
			best, least = x, sum
		}
	}
	if best == nil {
		return Fit{Shape: p.shape, Err: &MeasureError{Kind: Undetermined, Field: "the radius"}}
	}
	return p.describe(ls, best, least)
}

// refuse what this shape cannot have, or too few data for it.
func (p problem) refuse() error {
	if unknown := p.unknowns(); p.measured() < unknown {
		return &MeasureError{Kind: TooFew, Have: p.measured(), Need: unknown}
	}
	for i, pin := range p.Pins {
		if p.shape == ShapeRound && pin.Height > pin.HeightDoubt {
			return &MeasureError{Kind: PinInU, At: i}
		}
	}
	return nil
}

func (p problem) describe(ls leastSquares, x []float64, sum float64) Fit {
	g := p.read(x)
	if err := g.section.Check(); err != nil {
		return Fit{Shape: p.shape, Err: err}
	}
	a, _ := ls.normal(x)
	covariance, ok := a.inverse()
	if !ok {
		return Fit{Shape: p.shape, Err: &MeasureError{Kind: Undetermined, Field: p.open(a)}}
	}
	unknown := p.unknowns()
	f := Fit{Shape: p.shape, Section: g.section, ChiSquare: sum, Left: p.measured() - unknown, Within: true}
	standard := func(i int) float64 { return math.Sqrt(covariance[i][i]) }
	f.Radius = Estimate{g.section.radius, g.section.radius * standard(0)}
	if p.shape == ShapeVee {
		f.Wall = Estimate{x[1], standard(1)}
	}
	if p.points != nil {
		f.Turn = Estimate{g.turn, standard(unknown)}
	}
	if f.Left > 0 {
		f.Within = sum <= chiSquare95(f.Left)
	}
	f.Residuals = make([]float64, ls.n)
	ls.residuals(x, f.Residuals)
	f.Residuals = f.Residuals[:p.measured()]
	return f
}

// open names the unknown that the data leave open.
func (p problem) open(a matrix) string {
	if p.shape != ShapeVee {
		return "the radius"
	}
	if !(a[1][1] > 0) {
		return "the walls' angle"
	}
	return "radius and walls' angle apart"
}
