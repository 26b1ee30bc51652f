package trend_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/trend"
)

// anyData are observations of two columns and a constant, with weights.
func anyData(r *rand.Rand, n int) trend.Data {
	var d trend.Data
	for range n {
		a, b := uniform(r, -5, 20), uniform(r, 0, 3)
		d.Rows = append(d.Rows, []float64{a, b})
		d.Y = append(d.Y, 40-2*a+7*b+r.NormFloat64())
		d.Weights = append(d.Weights, uniform(r, 0.2, 5))
	}
	return d
}

// without is the data less one observation.
func without(d trend.Data, i int) trend.Data {
	return trend.Data{
		Rows: slices.Delete(slices.Clone(d.Rows), i, i+1), Y: slices.Delete(slices.Clone(d.Y), i, i+1),
		Weights: slices.Delete(slices.Clone(d.Weights), i, i+1), Origin: d.Origin,
	}
}

// The units in which columns and observations are counted, and where from, change nothing but the units.
func TestShiftAndScaleChangeUnitsOnly(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		d := anyData(r, 4+r.IntN(20))
		was := must[trend.Model](t)(trend.Fit(d))
		before := must[trend.Prediction](t)(was.Predict([]float64{2, 1}, 0.9))
		byX, fromX, byY, fromY := math.Exp(uniform(r, -12, 12)), uniform(r, -1e3, 1e3), math.Exp(uniform(r, -12, 12)), uniform(r, -1e3, 1e3)
		moved := trend.Data{Weights: d.Weights}
		for i, row := range d.Rows {
			moved.Rows = append(moved.Rows, []float64{byX * (row[0] + fromX), row[1]})
			moved.Y = append(moved.Y, byY*(d.Y[i]+fromY))
		}
		is := must[trend.Model](t)(trend.Fit(moved))
		after := must[trend.Prediction](t)(is.Predict([]float64{byX * (2 + fromX), 1}, 0.9))
		near(t, "slope", is.Coefficients[1]*byX/byY, was.Coefficients[1], 1e-9)
		near(t, "its error", is.Errors[1]*byX/byY, was.Errors[1], 1e-9)
		near(t, "prediction", after.Value/byY-fromY, before.Value, 1e-8)
		near(t, "half-width", after.HalfWidth/byY, before.HalfWidth, 1e-8*before.HalfWidth)
		near(t, "R²", is.RSquared, was.RSquared, 1e-9)
	}
}

// A weight of w is w observations in one place: coefficients and the sum of squares are the same, only fewer are left.
func TestWeightIsRepetition(t *testing.T) {
	r := chance.New(t)
	for _, origin := range []bool{false, true} {
		d := anyData(r, 9)
		d.Origin = origin
		var repeated trend.Data
		for i, row := range d.Rows {
			times := 1 + r.IntN(4)
			d.Weights[i] = float64(times)
			for range times {
				repeated.Rows, repeated.Y, repeated.Origin = append(repeated.Rows, row), append(repeated.Y, d.Y[i]), origin
			}
		}
		weighted, plain := must[trend.Model](t)(trend.Fit(d)), must[trend.Model](t)(trend.Fit(repeated))
		for i := range plain.Coefficients {
			near(t, "coefficient", weighted.Coefficients[i], plain.Coefficients[i], 1e-11)
			near(t, "error over sd", weighted.Errors[i]/weighted.ResidualSD, plain.Errors[i]/plain.ResidualSD, 1e-11)
		}
		near(t, "R²", weighted.RSquared, plain.RSquared, 1e-12)
		near(t, "sum of squares", float64(weighted.Left)*weighted.ResidualSD*weighted.ResidualSD,
			float64(plain.Left)*plain.ResidualSD*plain.ResidualSD, 1e-10)
		near(t, "first residual", weighted.Residuals[0], plain.Residuals[0], 1e-11)
	}
}

// The definition: an observation less what the model fitted without it predicts there, in that difference's standard error.
func TestStudentisedIsLeavingOut(t *testing.T) {
	r := chance.New(t)
	d := anyData(r, 12)
	m := must[trend.Model](t)(trend.Fit(d))
	for i := range d.Rows {
		rest := must[trend.Model](t)(trend.Fit(without(d, i)))
		p := must[trend.Prediction](t)(rest.Predict(d.Rows[i], 0.95))
		own := rest.ResidualSD / math.Sqrt(d.Weights[i])
		near(t, "studentised", m.Studentised[i], (d.Y[i]-p.Value)/math.Hypot(own, p.LineError), 1e-9)
	}
}

// Without noise, 1 in 20 such sets of good observations would be said to hold an outlier.
func TestOutlierIsRareAmongGoodOnes(t *testing.T) {
	r := chance.New(t)
	const sets = 4000
	var said, missed int
	for range sets {
		d := anyData(r, 10)
		for i, row := range d.Rows {
			d.Y[i] = 3 - row[0] + r.NormFloat64()/math.Sqrt(d.Weights[i])
		}
		if _, found := must[trend.Model](t)(trend.Fit(d)).Outlier(0.95); found {
			said++
		}
		d.Y[4] += 30
		if row, found := must[trend.Model](t)(trend.Fit(d)).Outlier(0.95); !found || row != 4 {
			missed++
		}
	}
	if share := float64(said) / sets; share < 0.035 || share > 0.06 {
		t.Errorf("%.3f of good sets are said to hold an outlier, want just under 0.05", share)
	}
	if missed > sets/100 {
		t.Errorf("an outlier of at least 13 standard deviations was missed in %d of %d sets", missed, sets)
	}
}

// What is left when nothing is: a model through all its observations, of which nothing tells how far off it is.
func TestNoneLeft(t *testing.T) {
	line := must[trend.Line](t)(trend.FitLine(points([]float64{1, 3}, []float64{5, 9})))
	near(t, "slope", line.Slope, 2, 1e-15)
	near(t, "intercept", line.Intercept, 3, 1e-14)
	near(t, "R²", line.RSquared, 1, 0)
	p := must[trend.Prediction](t)(line.Predict(4, 0.95))
	near(t, "value", p.Value, 11, 1e-14)
	if line.SlopeError != 0 || line.ResidualSD != 0 || !math.IsInf(p.HalfWidth, 1) {
		t.Errorf("errors %v, %v and half-width %v; want 0, 0 and infinite", line.SlopeError, line.ResidualSD, p.HalfWidth)
	}
	band := must[trend.Band](t)(line.Band(0.95))
	if x, ok := band.Until(1e9, 2); ok {
		t.Errorf("an unbounded band stays within a limit until %v", x)
	}
	if at := band.Passes(11, 2); !math.IsInf(at.Lower, 1) || !math.IsInf(at.Upper, 1) || math.Abs(at.Line-4) > 1e-12 {
		t.Errorf("an unbounded band passes 11 at %+v", at)
	}
}

// Where the bounds are at a value and how far a limit of half-width reaches, against a scan of the band in small steps.
func TestBandAgainstAScan(t *testing.T) {
	r := chance.New(t)
	for range 300 {
		steepness := []float64{0, 0.01, 0.3, -1, 5}[r.IntN(5)]
		var data []trend.Point
		for range 3 + r.IntN(8) {
			x := uniform(r, 0, 10)
			data = append(data, trend.Point{X: x, Y: steepness*x + 0.2*r.NormFloat64()})
		}
		band := must[trend.Band](t)(must[trend.Line](t)(trend.FitLine(data)).Band(0.9))
		from, value := uniform(r, -10, 20), uniform(r, -8, 8)
		_, narrow := band.At(from)
		limit := narrow * uniform(r, 0.9, 3)

		const step, end = 0.003, 60.0
		scan := func(off func(x float64) float64) float64 {
			for x := from; x < end; x += step {
				if off(x)*off(x+step) <= 0 {
					return x
				}
			}
			return math.Inf(1)
		}
		bound := func(side float64) func(float64) float64 {
			return func(x float64) float64 {
				v, half := band.At(x)
				return v + side*half - value
			}
		}
		passed := band.Passes(value, from)
		sameCrossing(t, "lower", passed.Lower, scan(bound(-1)), step, end)
		sameCrossing(t, "line", passed.Line, scan(bound(0)), step, end)
		sameCrossing(t, "upper", passed.Upper, scan(bound(1)), step, end)

		until, ok := band.Until(limit, from)
		if want := limit >= narrow; ok != want {
			t.Fatalf("a half-width of %g is within %g: %v", narrow, limit, ok)
		}
		if !ok {
			continue
		}
		sameCrossing(t, "limit", until, scan(func(x float64) float64 {
			_, half := band.At(x)
			if x == from {
				half = min(half, limit*(1-1e-12))
			}
			return half - limit
		}), step, end)
	}
}

func sameCrossing(t *testing.T, what string, got, scanned, step, end float64) {
	t.Helper()
	if math.IsInf(scanned, 1) && got >= end-step {
		return
	}
	near(t, what, got, scanned+step/2, step)
}

// A band of no width passes everywhere with its line.
func TestBandOfPerfectLine(t *testing.T) {
	line := must[trend.Line](t)(trend.FitLine(points([]float64{0, 1, 2, 3}, []float64{8, 6, 4, 2})))
	band := must[trend.Band](t)(line.Band(0.95))
	at := band.Passes(-2, 3)
	for _, x := range []float64{at.Lower, at.Line, at.Upper} {
		near(t, "passes −2 at", x, 5, 1e-12)
	}
	if at := band.Passes(9, 3); !math.IsInf(at.Lower, 1) || !math.IsInf(at.Line, 1) || !math.IsInf(at.Upper, 1) {
		t.Errorf("it passed 9 before, and does again at %+v", at)
	}
}

func TestRefusedData(t *testing.T) {
	var value *trend.ValueError
	var few *trend.FewError
	var dependent *trend.DependentError
	for _, c := range []struct {
		d    trend.Data
		kind any
		want string
	}{
		{trend.Data{}, &few, "too few different observations: 0, for 1 unknowns"},
		{trend.Data{Rows: column([]float64{1})}, &value, "length of y is 0; it must be 1, as many as there are rows"},
		{trend.Data{Rows: column([]float64{1}), Y: []float64{1}}, &few, "too few different observations: 1, for 2 unknowns"},
		{
			trend.Data{Rows: column([]float64{1}), Y: []float64{1}, Weights: []float64{1, 2}}, &value,
			"length of weights is 2; it must be 1, as many as there are rows, or 0",
		},
		{trend.Data{Rows: [][]float64{{}}, Y: []float64{1}, Origin: true}, &value, "length of rows[0] is 0; it must be 1 or more: without a " +
			"constant there is nothing else to fit"},
		{trend.Data{Rows: [][]float64{{1}, {1, 2}}, Y: []float64{1, 2}}, &value, "length of rows[1] is 2; it must be 1, as that of the first"},
		{trend.Data{Rows: column([]float64{1, math.NaN()}), Y: []float64{1, 2}}, &value, "rows[1][0] is NaN; it must be a number of up to 1e+30 in size"},
		{trend.Data{Rows: column([]float64{1, 2}), Y: []float64{math.Inf(1), 2}}, &value, "y[0] is +Inf; it must be a number of up to 1e+30 in size"},
		{
			trend.Data{Rows: column([]float64{1, 2}), Y: []float64{1, 2}, Weights: []float64{1, 0}}, &value,
			"weights[1] is 0; it must be from 1e-30 to 1e+30",
		},
		{
			trend.Data{Rows: column([]float64{2e9, 2e9, 2e9}), Y: []float64{1, 2, 3}}, &dependent,
			"column 0 of the rows follows from what stands before it: leave it out, or observe where it differs",
		},
		{
			trend.Data{Rows: [][]float64{{1, 3}, {2, 5}, {4, 9}, {7, 15}}, Y: []float64{1, 2, 3, 5}}, &dependent,
			"column 1 of the rows follows from what stands before it: leave it out, or observe where it differs",
		},
		{
			trend.Data{Rows: [][]float64{{1, 0}, {2, 0}, {4, 0}}, Y: []float64{1, 2, 3}, Origin: true}, &dependent,
			"column 1 of the rows follows from what stands before it: leave it out, or observe where it differs",
		},
	} {
		_, err := trend.Fit(c.d)
		if err == nil || err.Error() != c.want || !errors.As(err, c.kind) {
			t.Errorf("%+v is refused with %T %v, want %s", c.d, err, err, c.want)
		}
	}
}

func TestRefusedQuestions(t *testing.T) {
	line := must[trend.Line](t)(trend.FitLine(points([]float64{1, 2, 3}, []float64{5, 9, 2})))
	_, atNaN := line.Predict(math.NaN(), 0.95)
	_, certain := line.Predict(1, 1)
	_, band := line.Band(0)
	_, sen := trend.TheilSen(math.NaN(), nil)
	_, empty := trend.TheilSen(0.95, nil)
	_, tied := trend.TheilSen(0.95, points([]float64{1, 1}, []float64{2, 3}), points([]float64{4}, []float64{2}))
	_, point := trend.TheilSen(0.95, points([]float64{1, math.Inf(1)}, []float64{2, 3}))
	_, lone := trend.FitLine(points([]float64{1}, []float64{2}))
	for _, c := range []struct {
		err  error
		want string
	}{
		{atNaN, "row[0] is NaN; it must be a number of up to 1e+30 in size"},
		{certain, "probability is 1; it must be more than 0, and 0.999999 at most"},
		{band, "probability is 0; it must be more than 0, and 0.999999 at most"},
		{sen, "probability is NaN; it must be more than 0, and 0.999999 at most"},
		{empty, "length of runs[0] is 0; it must be 1 or more"},
		{tied, "too few different observations: 1, for 2 unknowns"},
		{point, "runs[0][1].x is +Inf; it must be a number of up to 1e+30 in size"},
		{lone, "too few different observations: 1, for 2 unknowns"},
	} {
		if c.err == nil || c.err.Error() != c.want {
			t.Errorf("refused with %v, want %s", c.err, c.want)
		}
	}
}

// One point of many that is far off does not move the median of the slopes.
func TestTheilSenDoesNotFollowOnePoint(t *testing.T) {
	var data []trend.Point
	for i := range 15 {
		data = append(data, trend.Point{X: float64(i), Y: 200 - 0.5*float64(i)})
	}
	data[9].Y -= 40
	r := must[trend.Robust](t)(trend.TheilSen(0.95, data))
	near(t, "robust slope", r.Slope, -0.5, 1e-12)
	if line := must[trend.Line](t)(trend.FitLine(data)); line.Slope > -0.6 {
		t.Errorf("least squares follow it to %g only: the point proves nothing", line.Slope)
	}
}

// Sen's interval holds the slope as often as it says, runs apart included.
func TestTheilSenCoverage(t *testing.T) {
	r := chance.New(t)
	const sets = 2000
	var held int
	for range sets {
		var runs [3][]trend.Point
		for i := range runs {
			level := uniform(r, -50, 50)
			for x := range 8 {
				runs[i] = append(runs[i], trend.Point{X: float64(x), Y: level - 3*float64(x) + r.ExpFloat64()})
			}
		}
		if got := must[trend.Robust](t)(trend.TheilSen(0.95, runs[:]...)); got.Low <= -3 && -3 <= got.High {
			held++
		}
	}
	if share := float64(held) / sets; share < 0.935 || share > 0.97 {
		t.Errorf("the interval holds the slope in %.3f of the sets, want 0.95", share)
	}
}
