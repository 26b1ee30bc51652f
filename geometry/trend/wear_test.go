package trend_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/trend"
	"arris.example/geometry/unit"
)

// runs are the measurements between dressings, as use and diameter, and the sums about their own means over all of them: the common slope
// of parallel lines (analysis of covariance). It is the way to the same rate, steps and ranges that takes no matrix.
type parallel struct {
	n             []float64
	use, diameter []float64 // the means of each run
	rate, sxx     float64
	sd            float64
	left          int
}

func parallelLines(log []trend.Measurement) parallel {
	var runs [][]trend.Measurement
	for i, m := range log {
		if i == 0 || m.Dressed {
			runs = append(runs, nil)
		}
		runs[len(runs)-1] = append(runs[len(runs)-1], m)
	}
	p := parallel{left: len(log) - len(runs) - 1}
	var sxy, syy float64
	for _, run := range runs {
		var x, y []float64
		for _, m := range run {
			x, y = append(x, m.Use), append(y, float64(m.Diameter))
		}
		xm, ym := mean(x), mean(y)
		for i := range x {
			p.sxx += (x[i] - xm) * (x[i] - xm)
			sxy += (x[i] - xm) * (y[i] - ym)
			syy += (y[i] - ym) * (y[i] - ym)
		}
		p.n, p.use, p.diameter = append(p.n, float64(len(run))), append(p.use, xm), append(p.diameter, ym)
	}
	p.rate = -sxy / p.sxx
	p.sd = math.Sqrt((syy - sxy*sxy/p.sxx) / float64(p.left))
	return p
}

// level is a run's line at no use.
func (p parallel) level(run int) float64 { return p.diameter[run] + p.rate*p.use[run] }

func (p parallel) forecast(use float64) float64 { return p.level(len(p.n)-1) - p.rate*use }

// spread is a new measurement's standard error over the scatter.
func (p parallel) spread(use float64) float64 {
	last := len(p.n) - 1
	return math.Sqrt(1 + 1/p.n[last] + (use-p.use[last])*(use-p.use[last])/p.sxx)
}

// An invented scenario: a wheel measured on six days. Half-widths are not known; t(97.5 %, 4) = 2.776445 is from any table.
func TestScenarioWheelMeasuredOnSixDays(t *testing.T) {
	l := log(0, []float64{0, 31, 60, 92, 123, 150}, []float64{200.0, 198.2, 196.7, 194.6, 193.0, 191.2})
	w := must[trend.Wear](t)(trend.FitWear(l))
	const t4 = 2.776445105
	p := parallelLines(l)
	near(t, "rate, mm a day", w.Rate, p.rate, 1e-14)
	near(t, "its half-width", w.RateHalfWidth, t4*p.sd/math.Sqrt(p.sxx), 1e-10)
	near(t, "scatter, mm", float64(w.Scatter), p.sd, 1e-12)
	reads(t, "rate, mm a day", w.Rate, "0.0583")
	reads(t, "its half-width", w.RateHalfWidth, "0.0027")
	if w.Left != 4 || len(w.Cautions) != 0 || w.Outlier != -1 || len(w.Steps) != 0 {
		t.Errorf("left %d, cautions %v, outlier %d, steps %v; want 4, none, −1, none", w.Left, w.Cautions, w.Outlier, w.Steps)
	}
	for _, day := range []float64{150, 200, 365} {
		f := must[trend.Forecast](t)(w.Forecast(day))
		near(t, "forecast, mm", float64(f.Diameter), p.forecast(day), 1e-11)
		near(t, "its half-width, mm", float64(f.HalfWidth), t4*p.sd*p.spread(day), 1e-9)
	}

	day, ok := w.KnownWithin(0.6)
	if !ok {
		t.Fatal("the diameter is not even known within 0.6 mm at the last measurement")
	}
	near(t, "half-width there, mm", t4*p.sd*p.spread(day), 0.6, 1e-9)
	reached := w.Reaches(170)
	near(t, "expected, mm", p.forecast(reached.Expected), 170, 1e-9)
	near(t, "lower bound, mm", p.forecast(reached.Earliest)-t4*p.sd*p.spread(reached.Earliest), 170, 1e-8)
	near(t, "upper bound, mm", p.forecast(reached.Latest)+t4*p.sd*p.spread(reached.Latest), 170, 1e-8)
	if !(150 < reached.Earliest && reached.Earliest < reached.Expected && reached.Expected < reached.Latest) {
		t.Errorf("170 mm is reached at %+v", reached)
	}
	t.Logf("known within 0.6 mm up to day %.1f; 170 mm reached on day %.1f to %.1f, expected %.1f", day, reached.Earliest, reached.Latest, reached.Expected)
}

// dressedLog wears by a rate with noise, and is dressed before the measurements named.
func dressedLog(r *rand.Rand, rate, noise, halfWidth float64, runs ...int) []trend.Measurement {
	var out []trend.Measurement
	use, diameter := uniform(r, 0, 100), uniform(r, 180, 250)
	for i, n := range runs {
		for j := range n {
			out = append(out, trend.Measurement{
				Use: use, Diameter: unit.Length(diameter + noise*r.NormFloat64()), HalfWidth: unit.Length(halfWidth), Dressed: i > 0 && j == 0,
			})
			grown := uniform(r, 5, 40)
			use, diameter = use+grown, diameter-rate*grown
		}
		diameter -= uniform(r, 0.2, 2)
	}
	return out
}

func TestDressingIsAStep(t *testing.T) {
	r := chance.New(t)
	for range 200 {
		l := dressedLog(r, 0.05, 0.1, 0, 2+r.IntN(4), 1+r.IntN(4), 1, 2+r.IntN(4))
		w := must[trend.Wear](t)(trend.FitWear(l))
		p := parallelLines(l)
		near(t, "rate", w.Rate, p.rate, 1e-12)
		if len(w.Steps) != 3 || w.Left != p.left {
			t.Fatalf("steps %+v and %d left, want 3 and %d", w.Steps, w.Left, p.left)
		}
		for i, s := range w.Steps {
			near(t, "step", float64(s.Taken), p.level(i)-p.level(i+1), 1e-9)
			if !l[s.Before].Dressed {
				t.Errorf("a step before measurement %d, before which nothing was dressed", s.Before)
			}
		}
		day := l[len(l)-1].Use + uniform(r, 0, 300)
		f := must[trend.Forecast](t)(w.Forecast(day))
		near(t, "forecast", float64(f.Diameter), p.forecast(day), 1e-9)
		near(t, "half-width over the rate's", float64(f.HalfWidth)/w.RateHalfWidth, p.spread(day)*math.Sqrt(p.sxx), 1e-6)
		near(t, "scatter", float64(w.Scatter), p.sd, 1e-9)
		at := (l[0].Diameter - w.Residuals[0]) - (l[1].Diameter - w.Residuals[1])
		near(t, "fitted fall", float64(at), w.Rate*(l[1].Use-l[0].Use), 1e-10)
	}
}

// A new measurement lies in the forecast's range as often as is said, whether the doubts are known or not.
func TestForecastCoverage(t *testing.T) {
	r := chance.New(t)
	for _, c := range []struct {
		what            string
		halfWidth       float64
		noise           float64
		runs            []int
		atLeast, atMost float64
	}{
		{"doubts not known", 0, 0.1, []int{3, 2, 3}, 0.94, 0.96},
		{"doubts not known, one left", 0, 0.1, []int{4}, 0.94, 0.96},
		{"doubts known", 0.2, 0.1, []int{3, 2, 3}, 0.94, 0.985},
		{"doubts known, none left", 0.2, 0.1, []int{2, 2}, 0.945, 0.965},
		{"doubts believed too small", 0.1, 0.1, []int{9, 9}, 0.92, 0.96},
	} {
		const sets = 4000
		var held int
		for range sets {
			l := dressedLog(r, 0.05, c.noise, c.halfWidth, c.runs...)
			n := len(l) - 1
			f := must[trend.Forecast](t)(must[trend.Wear](t)(trend.FitWear(l[:n:n])).Forecast(l[n].Use))
			if math.Abs(float64(f.Diameter-l[n].Diameter)) <= float64(f.HalfWidth) {
				held++
			}
		}
		if share := float64(held) / sets; share < c.atLeast || share > c.atMost {
			t.Errorf("%s: %.3f of the forecasts hold, want %g to %g", c.what, share, c.atLeast, c.atMost)
		}
	}
}

// A measurement counts by its half-width: with one hardly known, the rate is that of the others.
func TestHalfWidthsWeigh(t *testing.T) {
	l := log(0.1, []float64{0, 10, 20, 30}, []float64{200, 199, 190, 197})
	l[2].HalfWidth = 100
	w := must[trend.Wear](t)(trend.FitWear(l))
	near(t, "rate", w.Rate, 0.1, 1e-4)
	near(t, "what is off", float64(w.Residuals[2]), -8, 1e-3)
	l[0].HalfWidth, l[2].HalfWidth = 0, 0.1
	as := must[trend.Wear](t)(trend.FitWear(l))
	all := must[trend.Wear](t)(trend.FitWear(log(0.1, []float64{0, 10, 20, 30}, []float64{200, 199, 190, 197})))
	near(t, "rate, one half-width not known and all others alike", as.Rate, all.Rate, 1e-15)
}

// Two measurements tell a rate. How well it is known follows from their half-widths, or from nothing.
func TestTwoMeasurements(t *testing.T) {
	uses, diameters := []float64{0, 40}, []float64{200, 198}
	w := must[trend.Wear](t)(trend.FitWear(log(0.2, uses, diameters)))
	near(t, "rate", w.Rate, 0.05, 1e-14)
	near(t, "its half-width", w.RateHalfWidth, 0.2*math.Sqrt2/40, 1e-14)
	f := must[trend.Forecast](t)(w.Forecast(80))
	near(t, "diameter", float64(f.Diameter), 196, 1e-10)
	near(t, "its half-width", float64(f.HalfWidth), 0.2*math.Sqrt(1+0.5+60*60/800.0), 1e-10)
	if len(w.Cautions) != 0 {
		t.Errorf("cautions %v", w.Cautions)
	}

	w = must[trend.Wear](t)(trend.FitWear(log(0, uses, diameters)))
	near(t, "rate", w.Rate, 0.05, 1e-14)
	f = must[trend.Forecast](t)(w.Forecast(80))
	_, known := w.KnownWithin(1000)
	reached := w.Reaches(196)
	near(t, "expected", reached.Expected, 80, 1e-9)
	if !slices.Equal(w.Cautions, []trend.Caution{trend.CautionUntested}) || !math.IsInf(w.RateHalfWidth, 1) ||
		!math.IsInf(float64(f.HalfWidth), 1) || known || reached.Earliest != 40 || !math.IsInf(reached.Latest, 1) {
		t.Errorf("nothing tells the range, yet %+v, %+v, %v, %+v", w, f, known, reached)
	}
}

// Good logs are cautioned about seldom: 1 in 20 for each caution at most, and a little by chance.
func TestGoodLogsAreSeldomCautionedAbout(t *testing.T) {
	r := chance.New(t)
	const sets = 3000
	said := map[trend.Caution]int{}
	for i := range sets {
		halfWidth := 0.2 * float64(i%2)
		for _, c := range must[trend.Wear](t)(trend.FitWear(dressedLog(r, 0.05, 0.1, halfWidth, 6, 2, 5))).Cautions {
			said[c]++
		}
	}
	for caution, times := range said {
		if share := float64(times) / sets; share > 0.06 {
			t.Errorf("caution %d is given of %.3f of good logs", caution, share)
		}
	}
}

func TestCautions(t *testing.T) {
	uses, longer := []float64{0, 10, 20, 30, 40, 50, 60, 70}, []float64{0, 10, 20, 30, 40, 50, 60, 70, 80, 90}
	for _, c := range []struct {
		what      string
		halfWidth float64
		uses      []float64
		diameters []float64
		want      []trend.Caution
		outlier   int
	}{
		{"a superabrasive wheel", 0, uses, []float64{200.01, 200, 199.99, 200.01, 200, 199.99, 200, 200.01}, []trend.Caution{trend.CautionBarely}, -1},
		{"one that is always the same", 0.1, uses, []float64{200.1, 200.1, 200.1, 200.1, 200.1, 200.1, 200.1, 200.1}, []trend.Caution{trend.CautionBarely}, -1},
		{"a wheel that grows", 0, uses, []float64{190, 191.1, 192, 193, 193.9, 195, 196.1, 197}, []trend.Caution{trend.CautionGrows}, -1},
		{"as good as was said", 0.3, uses, []float64{200, 199.1, 197.9, 197, 196.1, 195, 193.9, 193.1}, nil, -1},
		{"perfect", 0, uses, []float64{200.3, 199.2, 198.1, 197, 195.9, 194.8, 193.7, 192.6}, nil, -1},
		{
			"worse than was said", 0.1, uses, []float64{200, 199.5, 197.5, 197.2, 195.7, 195.3, 193.6, 193.4},
			[]trend.Caution{trend.CautionScatter}, -1,
		},
		{
			"one read wrong", 0, uses, []float64{200, 199.1, 197.9, 193, 196.1, 195, 193.9, 193.1},
			[]trend.Caution{trend.CautionOutlier}, 3,
		},
		{
			"the last read wrong: it pulls the rate", 0.2, longer, []float64{200, 199.02, 198, 197, 195.98, 195, 194.01, 193, 192, 186},
			[]trend.Caution{trend.CautionScatter, trend.CautionOutlier, trend.CautionRobust}, 9,
		},
		{
			"off, but within its doubt", 6, longer, []float64{200, 199.02, 198, 197, 195.98, 195, 194.01, 193, 192, 186},
			[]trend.Caution{trend.CautionRobust}, -1,
		},
		{
			"dressed twice, once unwritten", 0.05, []float64{0, 10, 20, -30, 40, 50, 60, 70},
			[]float64{200, 199.5, 199, 196.5, 196, 195.5, 193, 192.5}, []trend.Caution{trend.CautionScatter}, -1,
		},
	} {
		w := must[trend.Wear](t)(trend.FitWear(log(c.halfWidth, c.uses, c.diameters)))
		if !slices.Equal(w.Cautions, c.want) || w.Outlier != c.outlier {
			t.Errorf("%s: cautions %v and outlier %d, want %v and %d (%+v)", c.what, w.Cautions, w.Outlier, c.want, c.outlier, w)
		}
	}
}

// A barely wearing wheel may still reach a diameter, one day.
func TestBarelyWearingWheel(t *testing.T) {
	w := must[trend.Wear](t)(trend.FitWear(log(0.02, []float64{0, 100, 200, 300}, []float64{150.01, 150, 150.01, 150})))
	at := w.Reaches(149.9)
	if !(at.Earliest > 300 && at.Earliest < at.Expected && math.IsInf(at.Latest, 1)) {
		t.Errorf("149.9 mm is reached at %+v", at)
	}
	f := must[trend.Forecast](t)(w.Forecast(at.Earliest))
	near(t, "lower bound there", float64(f.Diameter-f.HalfWidth), 149.9, 1e-9)
}

// What has been reached by the last measurement is reached there.
func TestReachedAlready(t *testing.T) {
	w := must[trend.Wear](t)(trend.FitWear(log(0.2, []float64{0, 10, 20}, []float64{200, 190, 180})))
	for _, c := range []struct {
		smallest        unit.Length
		early, on, late bool // already
	}{{170, false, false, false}, {179.9, true, false, false}, {180.1, true, true, false}, {185, true, true, true}} {
		at := w.Reaches(c.smallest)
		if (at.Earliest == 20) != c.early || (at.Expected == 20) != c.on || (at.Latest == 20) != c.late || at.Earliest < 20 {
			t.Errorf("%v is reached at %+v", c.smallest, at)
		}
	}
	if use, ok := w.KnownWithin(0.2); ok || use != 20 {
		t.Errorf("forecasts are within 0.2 mm until %v, %v; the measurements are no better", use, ok)
	}
}

func TestRefusedLogs(t *testing.T) {
	var value *trend.ValueError
	var none *trend.NoRateError
	with := func(change func(l []trend.Measurement)) []trend.Measurement {
		l := log(0.2, []float64{0, 40, 80}, []float64{200, 198, 196})
		change(l)
		return l
	}
	noRate := func(measured, dressed int) string {
		return fmt.Sprintf("the log tells no rate of wear (measurements: %d, dressings between them: %d): it takes two measurements at different use with no dressing between them", measured, dressed)
	}
	for _, c := range []struct {
		log  []trend.Measurement
		kind any
		want string
	}{
		{nil, &none, noRate(0, 0)},
		{log(0.2, []float64{3}, []float64{200}), &none, noRate(1, 0)},
		{log(0.2, []float64{3, 3}, []float64{200, 199}), &none, noRate(2, 0)},
		{log(0.2, []float64{3, -5}, []float64{200, 199}), &none, noRate(2, 1)},
		{log(0.2, []float64{-3, -5, -8}, []float64{200, 199, 197}), &none, noRate(3, 2)},
		{log(0.2, []float64{3, 3, -5, 5}, []float64{200, 200, 199, 199}), &none, noRate(4, 1)},
		{make([]trend.Measurement, 1001), &value, "length of measurements is 1001; it must be 1000 at most: leave out the oldest"},
		{with(func(l []trend.Measurement) { l[2].Use = 30 }), &value, "measurements[2].use is 30; it must be from 40 to 1e+12"},
		{with(func(l []trend.Measurement) { l[0].Use = math.NaN() }), &value, "measurements[0].use is NaN; it must be from -1e+12 to 1e+12"},
		{with(func(l []trend.Measurement) { l[1].Diameter = -5 }), &value, "measurements[1].diameter is -5; it must be from 1 to 10000"},
		{with(func(l []trend.Measurement) { l[1].HalfWidth = -1 }), &value, "measurements[1].half_width is -1; it must be from 1e-06 to 198"},
		{
			with(func(l []trend.Measurement) { l[1].HalfWidth = unit.Length(math.NaN()) }), &value,
			"measurements[1].half_width is NaN; it must be from 1e-06 to 198",
		},
	} {
		_, err := trend.FitWear(c.log)
		if err == nil || err.Error() != c.want || !errors.As(err, c.kind) {
			t.Errorf("refused with %T %v, want %s", err, err, c.want)
		}
	}
	w := must[trend.Wear](t)(trend.FitWear(with(func([]trend.Measurement) {})))
	for _, use := range []float64{79, math.NaN(), math.Inf(1)} {
		if _, err := w.Forecast(use); err == nil || !errors.As(err, &value) {
			t.Errorf("a forecast at %v is refused with %v", use, err)
		}
	}
}

// Days counted from another day, and hours instead of days, change nothing but the count.
func TestUseIsCountedFromAnywhere(t *testing.T) {
	r := chance.New(t)
	for range 100 {
		l := dressedLog(r, 0.05, 0.1, 0.2, 4, 3)
		was := must[trend.Wear](t)(trend.FitWear(l))
		by, from := math.Exp(uniform(r, -7, 7)), uniform(r, -1000, 1000)
		moved := slices.Clone(l)
		for i := range moved {
			moved[i].Use = by * (moved[i].Use + from)
		}
		is := must[trend.Wear](t)(trend.FitWear(moved))
		near(t, "rate", is.Rate*by, was.Rate, 1e-10)
		near(t, "robust rate", is.RobustRate*by, was.RobustRate, 1e-9)
		near(t, "step", float64(is.Steps[0].Taken), float64(was.Steps[0].Taken), 1e-9)
		before, after := was.Reaches(150), is.Reaches(150)
		near(t, "earliest", after.Earliest/by-from, before.Earliest, 1e-6)
		near(t, "expected", after.Expected/by-from, before.Expected, 1e-6)
		near(t, "latest", after.Latest/by-from, before.Latest, 1e-5*math.Abs(before.Latest))
		if !slices.Equal(is.Cautions, was.Cautions) || is.Outlier != was.Outlier {
			t.Errorf("cautions %v became %v", was.Cautions, is.Cautions)
		}
	}
}
