package trend_test

import (
	"math"
	"testing"

	"arris.example/geometry/trend"
	"arris.example/geometry/unit"
)

// Whatever is asked, an answer is a number, or infinite where that is promised, or a refusal that can be printed.
func FuzzNeverNaN(f *testing.F) {
	f.Add(0.0, 31.0, 60.0, 92.0, 200.0, 198.2, 196.7, 194.6, 0.2, 0.0, uint8(0))
	f.Add(0.0, 40.0, 40.0, 90.0, 200.0, 198.0, 197.0, 194.0, 0.0, 170.0, uint8(4))
	f.Add(0.0, 1e-9, 2e-9, 1e12, 200.0, 200.0, 200.0, 200.0, 1e-6, 200.0, uint8(2))
	f.Add(-1e12, 0.0, 1e12, 1e12, 1.0, 1e4, 1.0, 1e4, 1.0, -1.0, uint8(8))
	f.Add(1e30, -1e30, 1e-39, 2e-39, 1e30, -1e30, 1e30, 0.0, math.Inf(1), math.NaN(), uint8(15))
	f.Fuzz(func(t *testing.T, x1, x2, x3, x4, y1, y2, y3, y4, doubt, value float64, flags uint8) {
		x, y := []float64{x1, x2, x3, x4}, []float64{y1, y2, y3, y4}
		n := 1 + int(flags>>4)%4
		isNumber := func(what string, values ...float64) {
			for i, v := range values {
				if math.IsNaN(v) {
					t.Errorf("%s: number %d is NaN", what, i)
				}
			}
		}
		askWear(x[:n], y[:n], doubt, value, flags, isNumber)
		askLine(points(x[:n], y[:n]), doubt, value, isNumber)
		askModel(trend.Data{
			Rows: [][]float64{{x1, y2}, {x2, y1}, {x3, y4}, {x4, y3}}, Y: []float64{y1, x2, y3, x4}, Weights: []float64{1, doubt, 2, 3},
			Origin: flags&1 != 0,
		}, value, isNumber)
		if r, err := trend.TheilSen(0.9, points(x[:n], y[:n]), points(y[:n], x[:n])); err == nil {
			isNumber("Theil–Sen", append(r.Intercepts, r.Slope, r.Low, r.High)...)
		} else {
			_ = err.Error()
		}
	})
}

func askWear(x, y []float64, doubt, value float64, flags uint8, isNumber func(string, ...float64)) {
	var l []trend.Measurement
	for i := range x {
		l = append(l, trend.Measurement{Use: x[i], Diameter: unit.Length(y[i]), Dressed: flags>>i&1 != 0})
	}
	l[0].HalfWidth = unit.Length(doubt)
	w, err := trend.FitWear(l)
	if err != nil {
		_ = err.Error()
		return
	}
	isNumber("wear", w.Rate, w.RateHalfWidth, w.RobustRate, float64(w.Scatter))
	for _, s := range w.Steps {
		isNumber("step", float64(s.Taken), float64(s.HalfWidth))
	}
	for _, r := range w.Residuals {
		isNumber("residual", float64(r))
	}
	if f, err := w.Forecast(x[len(x)-1] + math.Abs(value)); err == nil {
		isNumber("forecast", float64(f.Diameter), float64(f.HalfWidth))
	}
	use, _ := w.KnownWithin(unit.Length(value))
	at := w.Reaches(unit.Length(value))
	isNumber("ahead", use, at.Earliest, at.Expected, at.Latest)
}

func askLine(data []trend.Point, limit, value float64, isNumber func(string, ...float64)) {
	line, err := trend.FitLine(data)
	if err != nil {
		_ = err.Error()
		return
	}
	isNumber("line", line.Intercept, line.Slope, line.InterceptError, line.SlopeError, line.ResidualSD, line.RSquared)
	p, err := line.Predict(value, 0.99)
	if err != nil {
		_ = err.Error()
		return
	}
	isNumber("prediction", p.Value, p.LineError, p.NewError, p.HalfWidth)
	band, err := line.Band(0.99)
	if err != nil {
		return
	}
	at, half := band.At(value)
	until, _ := band.Until(limit, value)
	isNumber("band", at, half, until)
	if math.Abs(limit) <= 1e30 {
		passed := band.Passes(limit, value)
		isNumber("passing", passed.Lower, passed.Line, passed.Upper)
	}
}

func askModel(d trend.Data, value float64, isNumber func(string, ...float64)) {
	m, err := trend.Fit(d)
	if err != nil {
		_ = err.Error()
		return
	}
	isNumber("model", append(m.Coefficients, m.ResidualSD, m.RSquared)...)
	isNumber("errors", m.Errors...)
	isNumber("residuals", m.Residuals...)
	isNumber("studentised", m.Studentised...)
	m.Outlier(0.95)
	if p, err := m.Predict([]float64{value, -value}, 0.5); err == nil {
		isNumber("prediction", p.Value, p.LineError, p.NewError, p.HalfWidth)
	}
}
