package swung

import (
	"fmt"
	"math"

	"arris.example/geometry/flute"
)

// Spot is a point of an edge as it was measured: how far behind the nose it lies at a length along the flute's section, mm.
type Spot struct{ Along, Back float64 }

// How many spots make a plan, and how far apart along the flute they have to lie, mm. A spot nearer to the nose than that is the nose.
const (
	LeastSpots = 4
	MostSpots  = 500
	LeastStep  = 0.001
)

// Measured is a plan from spots, smoothed as far as their doubt allows: of all curves whose spots miss the measured ones by the doubt on
// average the one that bends least, a natural cubic spline (C. H. Reinsch, Smoothing by Spline Functions, Numer. Math. 10, 1967). It goes
// straight on beyond its ends, and through the nose, which is where it is measured from.
type Measured struct {
	along, back, bend []float64 // at the knots
}

// SpotsAcross are spots that were measured over the width: Along is to +side. A [*SpotError] tells which lies off the flute.
func SpotsAcross(section flute.Section, across []Spot) ([]Spot, error) {
	spots := make([]Spot, len(across))
	for i, s := range across {
		along, ok := section.AlongAt(s.Along)
		if !ok { // only a U's upright walls end at a width
			return nil, &SpotError{Index: i, Value: s.Along, Limit: math.Copysign(section.FloorRadius(), s.Along), Why: SpotOffFlute}
		}
		spots[i] = Spot{along, s.Back}
	}
	return spots, nil
}

// NewMeasured is the plan through spots, which ascend along the section and have the nose among or between them. doubt is the standard
// uncertainty of their backs, mm; at 0 the plan goes through all of them. The wings are as they were measured. A [*SpotError] tells what is
// wrong.
func NewMeasured(spots []Spot, doubt float64) (Measured, error) {
	if err := check(spots, doubt); err != nil {
		return Measured{}, err
	}
	if err := checkNose(spots); err != nil {
		return Measured{}, err
	}
	m, free := knots(spots, doubt)
	m.smooth(free, doubt)
	return m, nil
}

// NewMeasuredEven is the plan whose wings are as each other: the spots, which ascend from the nose on, are one wing's.
func NewMeasuredEven(spots []Spot, doubt float64) (Measured, error) {
	if err := check(spots, doubt); err != nil {
		return Measured{}, err
	}
	if spots[0].Along <= -LeastStep {
		return Measured{}, &SpotError{Index: 0, Value: spots[0].Along, Why: SpotOnOtherWing}
	}
	both := make([]Spot, 0, 2*len(spots))
	for i := len(spots) - 1; i >= 0; i-- {
		if !spots[i].atNose() {
			both = append(both, Spot{-spots[i].Along, spots[i].Back})
		}
	}
	m, free := knots(append(both, spots...), doubt)
	m.smooth(free, doubt)
	return m, nil
}

func (s Spot) atNose() bool { return math.Abs(s.Along) < LeastStep }

// knots are the spots with the nose among them; free tells which may miss.
func knots(spots []Spot, doubt float64) (m Measured, free []float64) {
	add := func(s Spot, doubt float64) {
		m.along, m.back, free = append(m.along, s.Along), append(m.back, s.Back), append(free, doubt)
	}
	passed := false
	for _, s := range spots {
		if s.Along > -LeastStep && !passed {
			add(Spot{}, 0)
			passed = true
		}
		if !s.atNose() {
			add(s, doubt)
		}
	}
	return m, free
}

// smooth finds the spline. With v the unknowns and Q taking second differences over the spacings, the knots move by −D²Qv and the spline
// bends by μv, where (μR + QᵀD²Q)v = Qᵀy: the larger μ, the nearer to the spots.
func (m *Measured) smooth(doubts []float64, doubt float64) {
	b := newBands(m.along, doubts)
	right := b.secondDifferences(m.back)
	if doubt == 0 {
		m.bend = spread(b.solve(0, 1, right), 1)
		return
	}
	allowed := float64(len(doubts) - 1) // one square of the doubt for each spot
	miss := func(mu float64) (v []float64, sum float64) {
		v = b.solve(1, mu, right)
		for i, f := range b.moves(v) {
			sum += f * f * doubts[i] * doubts[i]
		}
		return v, sum
	}
	// From straight to through every spot: the scale of μ is that of doubt²/length³.
	length := m.along[len(m.along)-1] - m.along[0]
	middle := math.Log(doubt * doubt / (length * length * length))
	low, high := middle-40, middle+60
	mu := 0.0
	if _, sum := miss(0); sum > allowed {
		for range 60 {
			half := (low + high) / 2
			if _, sum := miss(math.Exp(half)); sum > allowed {
				low = half
			} else {
				high = half
			}
		}
		mu = math.Exp(high)
	}
	v, _ := miss(mu)
	for i, f := range b.moves(v) {
		m.back[i] -= f * doubts[i] * doubts[i]
	}
	m.bend = spread(v, mu)
}

// spread are the bends at all knots: the ends of a natural spline are straight.
func spread(inner []float64, scale float64) []float64 {
	bend := make([]float64, len(inner)+2)
	for i, v := range inner {
		bend[i+1] = scale * v
	}
	return bend
}

// bands are the matrices R (3 bands) and QᵀD²Q (5 bands) by their lower halves.
type bands struct {
	step   []float64
	r, qdq [3][]float64 // the diagonal, then one and two below
}

func newBands(along, doubts []float64) *bands {
	n := len(along) - 2
	b := &bands{step: make([]float64, n+1)}
	for i := range b.step {
		b.step[i] = along[i+1] - along[i]
	}
	for i := range b.r {
		b.r[i], b.qdq[i] = make([]float64, n), make([]float64, n)
	}
	for j := range n {
		b.r[0][j], b.r[1][j] = (b.step[j]+b.step[j+1])/3, b.step[j+1]/6
		for i := 0; i < 3 && j+i < n; i++ {
			one, other := b.column(j), b.column(j+i)
			for k := i; k < 3; k++ { // knots that both columns touch
				b.qdq[i][j] += one[k] * other[k-i] * doubts[j+k] * doubts[j+k]
			}
		}
	}
	return b
}

// column of Q: what knots j, j+1 and j+2 add to the second difference at j+1.
func (b *bands) column(j int) [3]float64 {
	before, after := 1/b.step[j], 1/b.step[j+1]
	return [3]float64{before, -before - after, after}
}

// secondDifferences is Qᵀy.
func (b *bands) secondDifferences(y []float64) []float64 {
	d := make([]float64, len(y)-2)
	for j := range d {
		d[j] = (y[j+2]-y[j+1])/b.step[j+1] - (y[j+1]-y[j])/b.step[j]
	}
	return d
}

// moves is Qv.
func (b *bands) moves(v []float64) []float64 {
	f := make([]float64, len(v)+2)
	for j := range v {
		for k, q := range b.column(j) {
			f[j+k] += q * v[j]
		}
	}
	return f
}

// solve is (qdq·QᵀD²Q + r·R)⁻¹ right, by Cholesky's way without roots: the matrix is symmetric and positive.
func (b *bands) solve(qdq, r float64, right []float64) []float64 {
	n := len(right)
	var d, one, two = make([]float64, n), make([]float64, n), make([]float64, n)
	x := append([]float64(nil), right...)
	at := func(band, j int) float64 { return qdq*b.qdq[band][j] + r*b.r[band][j] }
	for j := range n {
		d[j] = at(0, j)
		one[j], two[j] = at(1, j), at(2, j)
		if j > 0 {
			d[j] -= d[j-1] * one[j-1] * one[j-1]
			one[j] -= d[j-1] * one[j-1] * two[j-1]
			x[j] -= one[j-1] * x[j-1]
		}
		if j > 1 {
			d[j] -= d[j-2] * two[j-2] * two[j-2]
			x[j] -= two[j-2] * x[j-2]
		}
		one[j], two[j] = one[j]/d[j], two[j]/d[j]
	}
	for j := n - 1; j >= 0; j-- {
		x[j] /= d[j]
		if j+1 < n {
			x[j] -= one[j] * x[j+1]
		}
		if j+2 < n {
			x[j] -= two[j] * x[j+2]
		}
	}
	return x
}

// At follows the spline.
func (m Measured) At(along float64) (back, slope, bend float64) {
	last := len(m.along) - 2
	if last < 0 {
		return 0, 0, 0
	}
	i, end := 0, last
	for i < end { // the last piece that begins at or before it
		if middle := (i + end + 1) / 2; m.along[middle] <= along {
			i = middle
		} else {
			end = middle - 1
		}
	}
	step := m.along[i+1] - m.along[i]
	u, b0, b1 := (along-m.along[i])/step, m.bend[i], m.bend[i+1]
	inside := min(max(u, 0), 1)
	v, s := 1-inside, step*step/6
	back = v*m.back[i] + inside*m.back[i+1] - s*v*inside*((1+v)*b0+(1+inside)*b1)
	slope = (m.back[i+1]-m.back[i])/step + step/6*((1-3*v*v)*b0+(3*inside*inside-1)*b1)
	if inside != u {
		return back + slope*(u-inside)*step, slope, 0
	}
	return back, slope, v*b0 + inside*b1
}

// SpotReason classifies a [SpotError].
type SpotReason int

// Reasons for refusing spots.
const (
	SpotsTooFew     SpotReason = iota + 1 // fewer than [LeastSpots]
	SpotsTooMany                          // more than [MostSpots]
	SpotTooFar                            // no finite number, or beyond any tool's size
	SpotTwice                             // at the same place as the one before
	SpotUnsorted                          // before the one before it: the edge would cross itself
	SpotOffFlute                          // wider than the flute ever is
	SpotOnOtherWing                       // one wing is asked for
	SpotNoNose                            // all spots lie on one side of the nose
	SpotAtNose                            // the nose is measured from, and lies behind itself by more than the doubt
	SpotDoubt                             // the doubt is below 0, no finite number, or beyond any tool's size
)

// SpotError tells why spots make no plan. Index is the spot's from 0, Value what is wrong and Limit what it has to keep to: counts or mm.
type SpotError struct {
	Index        int
	Value, Limit float64
	Why          SpotReason
}

func (e *SpotError) Error() string {
	n, v, l := e.Index+1, e.Value, e.Limit
	switch e.Why {
	case SpotsTooFew:
		return fmt.Sprintf("%g spots are too few for an edge: measure at least %g", v, l)
	case SpotsTooMany:
		return fmt.Sprintf("%g spots are too many: %g are taken, and every second one would do", v, l)
	case SpotTooFar:
		return fmt.Sprintf("spot %d lies %.4g mm away: it must be a number up to %.4g mm either way; leave it out or measure it again", n, v, l)
	case SpotTwice:
		return fmt.Sprintf("spot %d lies %.4g mm along the flute like the one before it: leave one of them out", n, v)
	case SpotUnsorted:
		return fmt.Sprintf("spot %d lies %.4g mm along the flute, before the last one at %.4g mm: give them from the −side wing's end to the +side's",
			n, v, l)
	case SpotOffFlute:
		return fmt.Sprintf("spot %d lies %.4g mm to the side, off the flute, which goes to %.4g mm", n, v, l)
	case SpotOnOtherWing:
		return fmt.Sprintf("spot %d lies %.4g mm along the flute: for even wings give those of the +side wing only, from %.4g mm on", n, v, l)
	case SpotNoNose:
		return fmt.Sprintf("the nose is not among the spots, which end %.4g mm from it: measure both wings, or say that they are even", v)
	case SpotAtNose:
		return fmt.Sprintf("spot %d is the nose and lies %.4g mm behind itself, more than %.4g mm: measure all from the nose", n, v, l)
	case SpotDoubt:
		return fmt.Sprintf("the spots' doubt is %.4g mm: it must be from 0 to %.4g mm", v, l)
	}
	return "the spots make no plan"
}

// check refuses what makes no plan for one edge; even wings are checked as one.
func check(spots []Spot, doubt float64) error {
	switch n := len(spots); {
	case n < LeastSpots:
		return &SpotError{Index: n - 1, Value: float64(n), Limit: LeastSpots, Why: SpotsTooFew}
	case n > MostSpots:
		return &SpotError{Index: MostSpots, Value: float64(n), Limit: MostSpots, Why: SpotsTooMany}
	case !(doubt >= 0 && doubt <= flute.MostSize):
		return &SpotError{Value: doubt, Limit: flute.MostSize, Why: SpotDoubt}
	}
	for i, s := range spots {
		switch {
		case !(math.Abs(s.Along) <= flute.MostSize):
			return &SpotError{Index: i, Value: s.Along, Limit: flute.MostSize, Why: SpotTooFar}
		case !(math.Abs(s.Back) <= flute.MostSize):
			return &SpotError{Index: i, Value: s.Back, Limit: flute.MostSize, Why: SpotTooFar}
		case s.atNose() && math.Abs(s.Back) > 3*doubt:
			return &SpotError{Index: i, Value: s.Back, Limit: 3 * doubt, Why: SpotAtNose}
		case i > 0 && math.Abs(s.Along-spots[i-1].Along) < LeastStep:
			return &SpotError{Index: i, Value: s.Along, Limit: spots[i-1].Along + LeastStep, Why: SpotTwice}
		case i > 0 && s.Along < spots[i-1].Along:
			return &SpotError{Index: i, Value: s.Along, Limit: spots[i-1].Along, Why: SpotUnsorted}
		}
	}
	return nil
}

// checkNose refuses spots that do not have the nose among or between them.
func checkNose(spots []Spot) error {
	first, last := spots[0].Along, spots[len(spots)-1].Along
	if first > 0 {
		return &SpotError{Index: 0, Value: first, Why: SpotNoNose}
	}
	if last < 0 {
		return &SpotError{Index: len(spots) - 1, Value: last, Why: SpotNoNose}
	}
	return nil
}
