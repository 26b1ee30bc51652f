package trend_test

import (
	"math"
	"testing"

	"arris.example/geometry/trend"
)

// Values others printed or certified, each with its source. Data marked as from memory are proved by what is printed of their fit: no other
// data would give all of it.

// nine is how many digits of a certified value must come out.
const nine = 9

const (
	norrisX = `0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1 995.8 887.6
		120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5`
	norrisY = `0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3 998.0 888.8
		119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2`
)

// NIST Statistical Reference Datasets, linear regression: Norris, lower level of difficulty.
func TestNISTNorris(t *testing.T) {
	line := must[trend.Line](t)(trend.FitLine(points(numbers(t, norrisX), numbers(t, norrisY))))
	digits(t, "intercept", line.Intercept, -0.262323073774029, nine)
	digits(t, "slope", line.Slope, 1.00211681802045, nine)
	digits(t, "intercept's error", line.InterceptError, 0.232818234301152, nine)
	digits(t, "slope's error", line.SlopeError, 0.000429796848199937, nine)
	digits(t, "residual sd", line.ResidualSD, 0.884796396144373, nine)
	digits(t, "R²", line.RSquared, 0.999993745883712, nine)

	// Computed apart in exact rationals, not certified.
	p := must[trend.Prediction](t)(line.Predict(500, 0.95))
	reads(t, "y at 500", p.Value, "500.796085936")
	reads(t, "error of the line at 500", p.LineError, "0.151502176")
	reads(t, "error of a new point at 500", p.NewError, "0.897673422")
	reads(t, "lower bound at 500", p.Value-p.HalfWidth, "498.971794")
	reads(t, "upper bound at 500", p.Value+p.HalfWidth, "502.620378")
}

// NIST Statistical Reference Datasets, linear regression: Pontius, a load cell's quadratic.
func TestNISTPontius(t *testing.T) {
	y := numbers(t, `.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599 1.52399 1.63194 1.73947
		1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474 .98300 1.09150 1.20004 1.30818 1.41613
		1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829`)
	var rows [][]float64
	for i := range y {
		x := 150_000 * float64(i%20+1)
		rows = append(rows, []float64{x, x * x})
	}
	certify(t, trend.Data{Rows: rows, Y: y},
		[]float64{0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14},
		[]float64{0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16}, 0.205177424076185e-03, 0.999999900178537)
}

// NIST Statistical Reference Datasets, linear regression: NoInt1 and NoInt2, through the origin. R² is about 0, not about the mean.
func TestNISTNoIntercept(t *testing.T) {
	var x, y []float64
	for i := range 11 {
		x, y = append(x, float64(60+i)), append(y, float64(130+i))
	}
	certify(t, trend.Data{Rows: column(x), Y: y, Origin: true},
		[]float64{2.07438016528926}, []float64{0.0165289256198347}, 3.56753034006338, 0.999365492298663)
	certify(t, trend.Data{Rows: column([]float64{4, 5, 6}), Y: []float64{3, 4, 4}, Origin: true},
		[]float64{0.727272727272727}, []float64{0.0420827318078432}, math.Sqrt(0.272727272727273/2), 1-0.272727272727273/41)
}

// NIST Statistical Reference Datasets, linear regression: Longley, six columns that nearly follow from one another.
func TestNISTLongley(t *testing.T) {
	rows := [][]float64{
		{83.0, 234289, 2356, 1590, 107608, 1947},
		{88.5, 259426, 2325, 1456, 108632, 1948},
		{88.2, 258054, 3682, 1616, 109773, 1949},
		{89.5, 284599, 3351, 1650, 110929, 1950},
		{96.2, 328975, 2099, 3099, 112075, 1951},
		{98.1, 346999, 1932, 3594, 113270, 1952},
		{99.0, 365385, 1870, 3547, 115094, 1953},
		{100.0, 363112, 3578, 3350, 116219, 1954},
		{101.2, 397469, 2904, 3048, 117388, 1955},
		{104.6, 419180, 2822, 2857, 118734, 1956},
		{108.4, 442769, 2936, 2798, 120445, 1957},
		{110.8, 444546, 4681, 2637, 121950, 1958},
		{112.6, 482704, 3813, 2552, 123366, 1959},
		{114.2, 502601, 3931, 2514, 125368, 1960},
		{115.7, 518173, 4806, 2572, 127852, 1961},
		{116.9, 554894, 4007, 2827, 130081, 1962},
	}
	y := numbers(t, `60323 61122 60171 61187 63221 63639 64989 63761 66019 67857 68169 66513 68655 69564 69331 70551`)
	certify(t, trend.Data{Rows: rows, Y: y},
		[]float64{
			-3482258.63459582, 15.0618722713733, -0.358191792925910e-01, -2.02022980381683, -1.03322686717359, -0.511041056535807e-01,
			1829.15146461355,
		},
		[]float64{
			890420.383607373, 84.9149257747669, 0.334910077722432e-01, 0.488399681651699, 0.214274163161675, 0.226073200069370,
			455.478499142212,
		}, 304.854073561965, 0.995479004577296)
}

func certify(t *testing.T, d trend.Data, coefficients, errors []float64, sd, rSquared float64) {
	t.Helper()
	m := must[trend.Model](t)(trend.Fit(d))
	if len(m.Coefficients) != len(coefficients) {
		t.Fatalf("%d coefficients, want %d", len(m.Coefficients), len(coefficients))
	}
	for i := range coefficients {
		digits(t, "coefficient", m.Coefficients[i], coefficients[i], nine)
		digits(t, "its error", m.Errors[i], errors[i], nine)
	}
	digits(t, "residual sd", m.ResidualSD, sd, nine)
	digits(t, "R²", m.RSquared, rSquared, nine)
}

// Natrella, Experimental Statistics, NBS Handbook 91 (1963), 5-4.1, Worksheet 5-4.1 and p. 5-15.
func TestHandbook91(t *testing.T) {
	x := numbers(t, `30 100 200 300 400 500 600 700 800 900 1000 1100 1200 1300 1400 1500`)
	y := numbers(t, `4642 4612 4565 4513 4476 4433 4389 4347 4303 4251 4201 4140 4100 4073 4024 3999`)
	line := must[trend.Line](t)(trend.FitLine(points(x, y)))
	reads(t, "intercept", line.Intercept, "4654.9846")
	reads(t, "slope", line.Slope, "-0.44985482")
	// Worked by hand and cut off, not rounded: good to one of the last digit.
	near(t, "variance of the intercept", line.InterceptError*line.InterceptError, 19.879452, 1.1e-6)
	near(t, "variance of the slope", line.SlopeError*line.SlopeError, 0.000025649045, 1e-12)
	near(t, "residual sd", line.ResidualSD, 9.277617, 1e-6)
	at := must[trend.Prediction](t)(line.Predict(1200, 0.95))
	reads(t, "variance of the line at 1200", at.LineError*at.LineError, "10.53")
	at = must[trend.Prediction](t)(line.Predict(750, 0.95))
	reads(t, "variance of a new point at 750", at.NewError*at.NewError, "91.45")
}

// NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1 and 4.5.1.2: pressure against temperature. The 40 rows and the printed table are
// from memory; the fit was read.
func TestHandbookPressure(t *testing.T) {
	x := numbers(t, `54.749 23.323 58.775 25.854 68.297 37.481 49.542 34.101 33.901 29.242 39.506 43.004 53.226 54.467 57.549 61.204 31.489
		68.476 51.144 68.774 55.350 44.692 50.995 21.602 54.673 41.449 35.451 42.989 48.599 21.448 56.982 47.901 40.285 25.609 22.971 25.838
		49.127 54.936 50.917 41.976`)
	y := numbers(t, `225.066 100.331 230.863 106.160 277.502 148.314 197.562 138.537 137.969 117.410 164.442 181.044 222.179 227.010 232.496
		253.557 139.894 273.931 207.969 280.205 227.060 180.605 206.229 91.464 223.869 172.910 152.073 169.427 192.561 94.448 222.794
		199.003 168.668 109.387 98.445 110.987 202.662 224.773 216.058 171.469`)
	line := must[trend.Line](t)(trend.FitLine(points(x, y)))
	reads(t, "intercept", line.Intercept, "7.748997")
	reads(t, "slope", line.Slope, "3.930140")
	reads(t, "residual sd", line.ResidualSD, "4.299099")
	band := must[trend.Band](t)(line.Band(0.95))
	for _, c := range []struct {
		at                            float64
		value, line, fresh, low, high string
	}{
		{25, "106.0025", "1.1976162", "4.462795", "96.968", "115.037"},
		{45, "184.6053", "0.6803245", "4.352596", "175.794", "193.417"},
		{65, "263.2081", "1.2441620", "4.475510", "254.148", "272.268"},
	} {
		p := must[trend.Prediction](t)(line.Predict(c.at, 0.95))
		reads(t, "pressure", p.Value, c.value)
		reads(t, "error of the line", p.LineError, c.line)
		reads(t, "error of a new point", p.NewError, c.fresh)
		reads(t, "lower bound", p.Value-p.HalfWidth, c.low)
		reads(t, "upper bound", p.Value+p.HalfWidth, c.high)
		value, half := band.At(c.at)
		near(t, "band's value", value, p.Value, 1e-11)
		near(t, "band's half-width", half, p.HalfWidth, 1e-12)
	}
}

// Walpole and Myers, Probability and Statistics for Engineers and Scientists, solid waste: 33 points.
func TestWalpoleMyers(t *testing.T) {
	x := numbers(t, `3 7 11 15 18 27 29 30 30 31 31 32 33 33 34 36 36 36 37 38 39 39 39 40 41 42 42 43 44 45 46 47 50`)
	y := numbers(t, `5 11 21 16 16 28 27 25 35 30 40 32 34 32 34 37 38 34 36 38 37 36 45 39 41 40 44 37 44 46 46 49 51`)
	line := must[trend.Line](t)(trend.FitLine(points(x, y)))
	reads(t, "intercept", line.Intercept, "3.829633")
	reads(t, "slope", line.Slope, "0.903643")
	reads(t, "intercept's error", line.InterceptError, "1.768447")
	reads(t, "slope's error", line.SlopeError, "0.050119")
	p := must[trend.Prediction](t)(line.Predict(20, 0.95))
	reads(t, "y at 20", p.Value, "21.902497")
	reads(t, "error of the line", p.LineError, "0.877939")
	reads(t, "error of a new point", p.NewError, "3.346743")
	reads(t, "lower bound", p.Value-p.HalfWidth, "15.07677")
	reads(t, "upper bound", p.Value+p.HalfWidth, "28.728225")
}

// JCGM 100:2008 (GUM), H.3: a thermometer's correction against its reading less 20 °C. The data are from memory, the results printed there.
func TestGUMThermometer(t *testing.T) {
	x := numbers(t, `1.521 2.012 2.512 3.003 3.507 3.999 4.513 5.002 5.503 6.010 6.511`)
	y := numbers(t, `-0.171 -0.169 -0.166 -0.159 -0.164 -0.165 -0.156 -0.157 -0.159 -0.161 -0.160`)
	line := must[trend.Line](t)(trend.FitLine(points(x, y)))
	reads(t, "y1", line.Intercept, "-0.1712")
	reads(t, "u(y1)", line.InterceptError, "0.0029")
	reads(t, "y2", line.Slope, "0.00218")
	reads(t, "u(y2)", line.SlopeError, "0.00067")
	reads(t, "s", line.ResidualSD, "0.0035")
	p := must[trend.Prediction](t)(line.Predict(10, 0.95))
	reads(t, "b(30 °C)", p.Value, "-0.1494")
	reads(t, "u(b(30 °C))", p.LineError, "0.0041")
}

// Student's t at 95 %, any table: what a prediction interval is over its standard error.
func TestStudentTable(t *testing.T) {
	for left, table := range map[int]float64{
		9: 2.2621571628, 14: 2.1447866879, 16: 2.1199052992, 31: 2.0395134464, 34: 2.0322445093, 38: 2.0243941639,
	} {
		var data []trend.Point
		for i := range left + 2 {
			data = append(data, trend.Point{X: float64(i), Y: float64(i * i)})
		}
		p := must[trend.Prediction](t)(must[trend.Line](t)(trend.FitLine(data)).Predict(3, 0.95))
		near(t, "t", p.HalfWidth/p.NewError, table, 1e-9)
	}
}

// Weisberg, Applied Linear Regression (3rd ed. 2005), 9.2: Forbes's boiling points, of which the twelfth does not fit. Data and
// the test's t are from memory, so that it is held to two digits alone.
func TestForbesOutlier(t *testing.T) {
	x := numbers(t, `194.5 194.3 197.9 198.4 199.4 199.9 200.9 201.1 201.4 201.3 203.6 204.6 209.5 208.6 210.7 211.9 212.2`)
	y := numbers(t, `20.79 20.79 22.40 22.67 23.15 23.35 23.89 23.99 24.02 24.01 25.14 26.57 28.49 27.76 29.04 29.88 30.06`)
	for i := range y {
		y[i] = math.Round(1e4*math.Log10(y[i])) / 100 // as the book tabulates it
	}
	m := must[trend.Model](t)(trend.Fit(trend.Data{Rows: column(x), Y: y}))
	near(t, "t of the twelfth", m.Studentised[11], 12.4, 0.05)
	if row, found := m.Outlier(0.95); !found || row != 11 {
		t.Errorf("the outlier is %d, %v; want 11", row, found)
	}
}

func TestTheilSenPublished(t *testing.T) {
	for _, c := range []struct {
		source      string
		x, y        string
		probability float64
		slope       float64
		low, high   string
		intercept   float64
	}{
		// Trap: with the median of the residuals, which others call the intercept, this would be 6.
		{"Sen, JASA 63 (1968)", `1 2 3 4 10 12 18`, `9 15 19 20 45 55 78`, 0.93, 4, "3.7143", "4.375", 4},
		{
			"Bonett, statpsych, ci.theil: ties in both", `67 28 30 28 52 40 25 37 44 10 14 20 28 40 51`,
			`21 4 9 12 35 18 10 22 24 1 6 8 13 16 19`, 0.95, 0.5, "0.3243243", "0.75", 13 - 0.5*30,
		},
		{
			"Hollander, Wolfe and Chicken (3rd ed.), example 9.1, cloud seeding", `1 2 3 4 5`, `1.26 1.27 1.12 1.16 1.03`,
			0.5, -0.05625, "", "", 1.32875,
		},
	} {
		t.Run(c.source, func(t *testing.T) {
			r := must[trend.Robust](t)(trend.TheilSen(c.probability, points(numbers(t, c.x), numbers(t, c.y))))
			near(t, "slope", r.Slope, c.slope, 1e-14)
			if len(r.Intercepts) != 1 {
				t.Fatalf("intercepts %v", r.Intercepts)
			}
			near(t, "intercept", r.Intercepts[0], c.intercept, 1e-13)
			if c.low != "" {
				reads(t, "low", r.Low, c.low)
				reads(t, "high", r.High, c.high)
			}
		})
	}
}
