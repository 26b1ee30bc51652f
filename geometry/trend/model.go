package trend

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Data is what a linear model is fitted to.
type Data struct {
	Rows    [][]float64 // one for each observation, with a number for each column of the model
	Y       []float64   // what was observed
	Weights []float64   // of each observation: one over its variance, to a common factor; nil: all 1
	Origin  bool        // whether the model passes through the origin: then it has no constant
}

// Model is a model that is linear in its coefficients, fitted by weighted least squares.
type Model struct {
	Coefficients []float64 // the constant first if there is one, then one for each column
	Errors       []float64 // their standard errors; 0 with none left
	Residuals    []float64 // observed less fitted
	ResidualSD   float64   // the standard deviation of an observation of weight 1; 0 with none left
	RSquared     float64   // the part of y's sum of squares that is explained: about its mean, or 0 if through the origin
	Left         int       // how many observations there are beyond the unknowns: with 0, nothing tells how far off the model is

	// Studentised are the residuals in the standard errors that they would have if their own observation had been left out of the fit
	// (externally studentised: Cook and Weisberg, Residuals and Influence in Regression, 1982, 2.2.1). 0 for an observation that alone
	// tells a coefficient, and for all with fewer than two left: these cannot be tested.
	Studentised []float64

	frame  frame
	scaled []float64   // coefficients of the frame's columns
	root   [][]float64 // R of the frame's columns, so that RᵀR is their normal matrix
}

// leastOwn is how much of a column must be its own beside its size, which does not follow from the columns before it. With less its
// coefficient would have fewer than six digits.
const leastOwn = 1e-10

// leastSpread is the least size of a column, about its mean where there is a constant.
const leastSpread = 1e-40

// Fit fits a model by Householder's QR, columns centred where there is a constant and scaled to one size. Refused are numbers that are
// none, with a [*ValueError], fewer observations than unknowns, with a [*FewError], and columns that nothing tells apart, with a
// [*DependentError].
func Fit(d Data) (Model, error) {
	if err := d.check(); err != nil {
		return Model{}, err
	}
	if need := d.unknowns(); len(d.Rows) < need {
		return Model{}, &FewError{Have: len(d.Rows), Need: need}
	}
	f, err := newFrame(d)
	if err != nil {
		return Model{}, err
	}
	x, y := f.standard(d)
	m := Model{frame: f, Left: len(y) - d.unknowns()}
	if err := m.solve(x, y); err != nil {
		return Model{}, err
	}
	m.judge(x, y)
	m.unscale(d)
	return m, nil
}

func (d Data) check() error {
	if err := d.sameLengths(); err != nil {
		return err
	}
	for i, row := range d.Rows {
		for j, v := range row {
			if !isTaken(v) {
				return notTaken(v, "rows[%d][%d]", i, j)
			}
		}
		if !isTaken(d.Y[i]) {
			return notTaken(d.Y[i], "y[%d]", i)
		}
		if w := d.weight(i); !(w >= 1/mostSize && w <= mostSize) {
			return outside(w, 1/mostSize, mostSize, "weights[%d]", i)
		}
	}
	return nil
}

func (d Data) sameLengths() error {
	n := len(d.Rows)
	if n == 0 {
		return &FewError{Have: 0, Need: 1}
	}
	if len(d.Y) != n {
		return &ValueError{"length of y", float64(len(d.Y)), fmt.Sprintf("%d, as many as there are rows", n)}
	}
	if d.Weights != nil && len(d.Weights) != n {
		return &ValueError{"length of weights", float64(len(d.Weights)), fmt.Sprintf("%d, as many as there are rows, or 0", n)}
	}
	if d.Origin && len(d.Rows[0]) == 0 {
		return &ValueError{"length of rows[0]", 0, "1 or more: without a constant there is nothing else to fit"}
	}
	for i, row := range d.Rows {
		if len(row) != len(d.Rows[0]) {
			return &ValueError{fmt.Sprintf("length of rows[%d]", i), float64(len(row)), fmt.Sprintf("%d, as that of the first", len(d.Rows[0]))}
		}
	}
	return nil
}

func (d Data) unknowns() int {
	if d.Origin {
		return len(d.Rows[0])
	}
	return len(d.Rows[0]) + 1
}

func (d Data) weight(i int) float64 {
	if d.Weights == nil {
		return 1
	}
	return d.Weights[i]
}

func (d Data) column(j int) []float64 {
	column := make([]float64, len(d.Rows))
	for i, row := range d.Rows {
		column[i] = row[j]
	}
	return column
}

// size is √Σ w v².
func (d Data) size(values []float64) float64 {
	weighted := make([]float64, len(values))
	for i, v := range values {
		weighted[i] = v * math.Sqrt(d.weight(i))
	}
	return floats.Norm(weighted, 2)
}

// solve finds the coefficients of standard rows.
func (m *Model) solve(x *mat.Dense, y []float64) error {
	var qr mat.QR
	qr.Factorize(x) //nolint:misspell // its name
	var r mat.Dense
	qr.RTo(&r)
	_, p := x.Dims()
	for i := range p {
		if own := math.Abs(r.At(i, i)); !(own > leastOwn) {
			return &DependentError{Column: i - m.frame.first()}
		}
		m.root = append(m.root, mat.Row(nil, i, &r))
	}
	var solution mat.VecDense
	if err := qr.SolveVecTo(&solution, false, mat.NewVecDense(len(y), y)); err != nil {
		return err
	}
	m.scaled = solution.RawVector().Data
	return nil
}

// judge measures how well the fitted model describes its rows.
func (m *Model) judge(x *mat.Dense, y []float64) {
	m.Residuals = make([]float64, len(y))
	for i := range y {
		m.Residuals[i] = y[i] - floats.Dot(x.RawRowView(i), m.scaled)
	}
	sum := squared(m.Residuals)
	if m.Left > 0 {
		m.ResidualSD = math.Sqrt(sum / float64(m.Left))
	}
	if total := m.total(x, y); total > 0 {
		m.RSquared = max(0, 1-sum/total)
	}
	m.Studentised = make([]float64, len(y))
	if m.Left < 2 {
		return
	}
	noise := 1e-13 * m.frame.ySize
	for i, e := range m.Residuals {
		own := 1 - squared(m.forward(x.RawRowView(i)))
		if own > 1e-9 && math.Abs(e) > noise {
			others := max(sum-e*e/own, noise*noise) / float64(m.Left-1)
			m.Studentised[i] = e / math.Sqrt(others*own)
		}
	}
}

// total is the sum of squares that a model could explain: with a constant what is left of y beside it.
func (m *Model) total(x *mat.Dense, y []float64) float64 {
	if !m.frame.constant {
		return squared(y)
	}
	constant := mat.Col(nil, 0, x)
	return squared(y) - math.Pow(floats.Dot(constant, y), 2)/squared(constant)
}

// unscale gives coefficients and residuals in the data's own units.
func (m *Model) unscale(d Data) {
	if m.frame.constant {
		none := m.frame.row(make([]float64, len(m.frame.scale)))
		m.Coefficients = append(m.Coefficients, m.value(none))
		m.Errors = append(m.Errors, m.ResidualSD*math.Sqrt(squared(m.forward(none))))
	}
	for j := range m.frame.scale {
		step := m.frame.step(j)
		m.Coefficients = append(m.Coefficients, floats.Dot(step, m.scaled))
		m.Errors = append(m.Errors, m.ResidualSD*math.Sqrt(squared(m.forward(step))))
	}
	for i := range m.Residuals {
		m.Residuals[i] /= math.Sqrt(d.weight(i))
	}
}

// value of a row of the frame.
func (m *Model) value(row []float64) float64 { return floats.Dot(row, m.scaled) + m.frame.yCentre }

// forward solves Rᵀ g = row: the variance of a fitted value is g·g times that of an observation.
func (m *Model) forward(row []float64) []float64 {
	g := make([]float64, len(row))
	for i := range g {
		rest := row[i]
		for k := range i {
			rest -= m.root[k][i] * g[k]
		}
		g[i] = rest / m.root[i][i]
	}
	return g
}

func squared(v []float64) float64 { return floats.Dot(v, v) }

// Prediction is what a model says of a row.
type Prediction struct {
	Value     float64
	LineError float64 // standard error of the fitted value, which is where the line itself lies
	NewError  float64 // standard error of a new observation of weight 1 about it
	HalfWidth float64 // of the interval in which such an observation lies with the probability; infinite with none left
}

// Predict says what a new observation of weight 1 would be at a row, with the prediction interval of a probability, such as 0.95: Student's
// t times √(residual variance + variance of the fitted value). The error is a [*ValueError].
func (m Model) Predict(row []float64, probability float64) (Prediction, error) {
	if len(row) != len(m.frame.scale) {
		return Prediction{}, &ValueError{"length of row", float64(len(row)), fmt.Sprintf("%d, as those that were fitted", len(m.frame.scale))}
	}
	for j, v := range row {
		if !isTaken(v) {
			return Prediction{}, notTaken(v, "row[%d]", j)
		}
	}
	if err := isProbability(probability); err != nil {
		return Prediction{}, err
	}
	standard := m.frame.row(row)
	variance := squared(m.forward(standard))
	return Prediction{
		Value:     m.value(standard),
		LineError: m.ResidualSD * math.Sqrt(variance),
		NewError:  m.ResidualSD * math.Sqrt(1+variance),
		HalfWidth: m.reach(probability) * math.Sqrt(1+variance),
	}, nil
}

// reach is how far an observation of weight 1 lies from a known line with a probability.
func (m Model) reach(probability float64) float64 {
	if m.Left == 0 {
		return math.Inf(1)
	}
	return studentT(probability, m.Left) * m.ResidualSD
}

// studentT is what lies within ±t with a probability, with so many observations left.
func studentT(probability float64, left int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(left)}.Quantile((1 + probability) / 2)
}

// Outlier is the observation that fits worst, if that is further off than the worst of as many good ones would be with the probability:
// the test of Cook and Weisberg (1982, 2.2.2), Student's t with Bonferroni's bound.
func (m Model) Outlier(probability float64) (row int, found bool) {
	if m.Left < 2 || isProbability(probability) != nil {
		return 0, false
	}
	var worst float64
	for i, t := range m.Studentised {
		if math.Abs(t) > worst {
			row, worst = i, math.Abs(t)
		}
	}
	each := (1 - probability) / float64(len(m.Studentised))
	return row, worst > studentT(1-each, m.Left-1)
}

// along is the band of the model's line as one column runs and the others stay as in a row, for an observation's reach.
func (m Model) along(row []float64, column int, reach float64) Band {
	at := append([]float64(nil), row...)
	at[column] = m.frame.centre[column]
	start, step := m.frame.row(at), m.frame.step(column)
	level, tilt := m.forward(start), m.forward(step)
	spread := squared(tilt)
	narrowest := -floats.Dot(level, tilt) / spread // from the column's centre
	floats.AddScaled(level, narrowest, tilt)
	slope := floats.Dot(step, m.scaled)
	return Band{
		centre: at[column] + narrowest,
		value:  m.value(start) + slope*narrowest,
		slope:  slope,
		reach:  reach,
		base:   1 + squared(level),
		spread: spread,
	}
}

// frame is how columns and y are centred and scaled for the fit.
type frame struct {
	constant       bool
	centre, scale  []float64
	yCentre, ySize float64
}

func newFrame(d Data) (frame, error) {
	columns := len(d.Rows[0])
	f := frame{constant: !d.Origin, centre: make([]float64, columns), scale: make([]float64, columns), ySize: d.size(d.Y)}
	if f.constant {
		f.yCentre = stat.Mean(d.Y, d.Weights)
	}
	for j := range columns {
		column := d.column(j)
		whole := d.size(column)
		if f.constant {
			f.centre[j] = stat.Mean(column, d.Weights)
			floats.AddConst(-f.centre[j], column)
		}
		f.scale[j] = d.size(column)
		if !(f.scale[j] > max(leastSpread, leastOwn*whole)) {
			return frame{}, &DependentError{Column: j}
		}
	}
	return f, nil
}

// row of the data in the frame: the constant's 1 first, if there is one.
func (f frame) row(row []float64) []float64 {
	out := make([]float64, f.first()+len(row))
	f.put(out, row)
	return out
}

func (f frame) put(out, row []float64) {
	if f.constant {
		out[0] = 1
	}
	for j, v := range row {
		out[f.first()+j] = (v - f.centre[j]) / f.scale[j]
	}
}

// first is the place of the first column.
func (f frame) first() int {
	if f.constant {
		return 1
	}
	return 0
}

// step is what a row of the frame changes by as a column grows by 1.
func (f frame) step(column int) []float64 {
	out := make([]float64, f.first()+len(f.scale))
	out[f.first()+column] = 1 / f.scale[column]
	return out
}

// standard are the data in the frame, each observation times the root of its weight.
func (f frame) standard(d Data) (x *mat.Dense, y []float64) {
	x, y = mat.NewDense(len(d.Y), d.unknowns(), nil), make([]float64, len(d.Y))
	for i, row := range d.Rows {
		root, out := math.Sqrt(d.weight(i)), x.RawRowView(i)
		f.put(out, row)
		floats.Scale(root, out)
		y[i] = root * (d.Y[i] - f.yCentre)
	}
	return x, y
}
