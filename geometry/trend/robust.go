package trend

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Robust is a slope that a few wrong points do not move.
type Robust struct {
	Slope      float64   // the median of the slopes of all pairs of points of a run with different x
	Low, High  float64   // its interval; infinite where there are too few points to bound it
	Intercepts []float64 // of each run: median(y) − slope · median(x)
}

// TheilSen is the median of pairwise slopes (Theil 1950; Sen, JASA 63, 1968, 1379–1389), with Sen's interval at a probability: the slopes
// whose ranks lie z·σ/2 on either side of the middle, σ² = Σ n(n−1)(2n+5)/18 less the same of ties in x and in y (Sen's equation 2.6).
// Points of different runs are not paired, as in the seasonal slope of Hirsch, Slack and Smith (Water Resources Research 18, 1982).
// The time grows with the square of the points. The error is a [*ValueError], or a [*FewError] where no two points of a run differ in x.
func TheilSen(probability float64, runs ...[]Point) (Robust, error) {
	if err := isProbability(probability); err != nil {
		return Robust{}, err
	}
	if err := arePoints(runs); err != nil {
		return Robust{}, err
	}
	slopes := pairSlopes(runs)
	if len(slopes) == 0 {
		return Robust{}, &FewError{Have: 1, Need: 2}
	}
	r := Robust{Slope: middle(slopes), Low: math.Inf(-1), High: math.Inf(1)}
	pairs := float64(len(slopes))
	aside := distuv.UnitNormal.Quantile((1+probability)/2) * math.Sqrt(kendallVariance(runs))
	if below := int(math.RoundToEven((pairs-aside)/2)) - 1; below >= 0 {
		r.Low = slopes[below]
	}
	if over := int(math.RoundToEven((pairs + aside) / 2)); over < len(slopes) {
		r.High = slopes[over]
	}
	for _, run := range runs {
		r.Intercepts = append(r.Intercepts, median(run, Point.y)-r.Slope*median(run, Point.x))
	}
	return r, nil
}

func (p Point) x() float64 { return p.X }
func (p Point) y() float64 { return p.Y }

func arePoints(runs [][]Point) error {
	for i, run := range runs {
		if len(run) == 0 {
			return &ValueError{fmt.Sprintf("length of runs[%d]", i), 0, "1 or more"}
		}
		for j, p := range run {
			if !isTaken(p.X) {
				return notTaken(p.X, "runs[%d][%d].x", i, j)
			}
			if !isTaken(p.Y) {
				return notTaken(p.Y, "runs[%d][%d].y", i, j)
			}
		}
	}
	return nil
}

// pairSlopes are the slopes within the runs, in order. Points closer in x than leastSpread are tied.
func pairSlopes(runs [][]Point) []float64 {
	var slopes []float64
	for _, run := range runs {
		for i, p := range run {
			for _, q := range run[:i] {
				if dx := p.X - q.X; math.Abs(dx) > leastSpread {
					slopes = append(slopes, (p.Y-q.Y)/dx)
				}
			}
		}
	}
	slices.Sort(slopes)
	return slopes
}

// kendallVariance is the variance of the number of rising less that of falling pairs where there is no slope.
func kendallVariance(runs [][]Point) float64 {
	var sum float64
	for _, run := range runs {
		sum += term(len(run)) - ties(run, Point.x) - ties(run, Point.y)
	}
	return max(0, sum) / 18
}

func term(n int) float64 { return float64(n) * float64(n-1) * float64(2*n+5) }

func ties(run []Point, of func(Point) float64) (sum float64) {
	count := map[float64]int{}
	for _, p := range run {
		count[of(p)]++
	}
	for _, n := range count {
		sum += term(n)
	}
	return sum
}

func median(run []Point, of func(Point) float64) float64 {
	values := make([]float64, len(run))
	for i, p := range run {
		values[i] = of(p)
	}
	slices.Sort(values)
	return middle(values)
}

// middle of values in order: of an even number the mean of the two.
func middle(values []float64) float64 {
	n := len(values)
	return values[(n-1)/2]/2 + values[n/2]/2
}
