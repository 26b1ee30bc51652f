package trend

// Point is one observation of a line.
type Point struct{ X, Y float64 }

// Line is a straight line fitted by ordinary least squares of y on x.
type Line struct {
	N                          int // points
	Intercept, Slope           float64
	InterceptError, SlopeError float64 // standard errors; 0 with two points
	ResidualSD                 float64 // of the points about the line, with N − 2 left; 0 with two points
	RSquared                   float64 // the part of y's sum of squares about its mean that the line explains

	model Model
}

// FitLine fits a line. The error is a [*ValueError], a [*FewError] with fewer than two points, or a [*DependentError] where all x are one.
func FitLine(points []Point) (Line, error) {
	if len(points) < 2 {
		return Line{}, &FewError{Have: len(points), Need: 2}
	}
	var d Data
	for _, p := range points {
		d.Rows, d.Y = append(d.Rows, []float64{p.X}), append(d.Y, p.Y)
	}
	m, err := Fit(d)
	if err != nil {
		return Line{}, err
	}
	return Line{
		N: len(points), Intercept: m.Coefficients[0], Slope: m.Coefficients[1], InterceptError: m.Errors[0], SlopeError: m.Errors[1],
		ResidualSD: m.ResidualSD, RSquared: m.RSquared, model: m,
	}, nil
}

// Predict says what a new observation at x would be: [Model.Predict].
func (l Line) Predict(x, probability float64) (Prediction, error) {
	return l.model.Predict([]float64{x}, probability)
}

// Band is the line with its prediction interval at a probability. The error is a [*ValueError].
func (l Line) Band(probability float64) (Band, error) {
	if err := isProbability(probability); err != nil {
		return Band{}, err
	}
	return l.model.along([]float64{0}, 0, l.model.reach(probability)), nil
}
