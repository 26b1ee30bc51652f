package flute

import "math"

// leastSquares finds the parameters with the least sum of squares of n residuals, from a start, by the method of Levenberg and Marquardt.
// Parameters are scaled so that 1 is a large change of any.
type leastSquares struct {
	residuals func(p, out []float64)
	n         int
}

// mostSteps bounds the time; a fit takes about ten.
const mostSteps = 60

func (l leastSquares) from(start []float64) (p []float64, sum float64) {
	p, sum = append([]float64(nil), start...), l.sum(start)
	damping := 1e-3
	for range mostSteps {
		a, g := l.normal(p)
		next, nextSum := l.step(p, a, g, damping)
		for nextSum > sum && damping < 1e12 {
			damping *= 10
			next, nextSum = l.step(p, a, g, damping)
		}
		if !(nextSum <= sum) {
			break
		}
		done := sum-nextSum <= 1e-15*sum && distance(p, next) <= 1e-9
		p, sum, damping = next, nextSum, damping/10
		if done {
			break
		}
	}
	return p, sum
}

// sum of squares; infinite where a residual is no number.
func (l leastSquares) sum(p []float64) float64 {
	out := make([]float64, l.n)
	l.residuals(p, out)
	var sum float64
	for _, r := range out {
		sum += r * r
	}
	if math.IsNaN(sum) {
		return math.Inf(1)
	}
	return sum
}

func (l leastSquares) step(p []float64, a matrix, g []float64, damping float64) ([]float64, float64) {
	damped := newMatrix(len(p))
	for i := range a {
		copy(damped[i], a[i])
		damped[i][i] += damping*a[i][i] + 1e-12
	}
	inverse, ok := damped.inverse()
	if !ok {
		return p, math.Inf(1)
	}
	next := append([]float64(nil), p...)
	for i := range p {
		for j := range p {
			next[i] -= inverse[i][j] * g[j]
		}
	}
	return next, l.sum(next)
}

// normal is the matrix of the normal equations and the gradient, from differences on both sides.
func (l leastSquares) normal(p []float64) (matrix, []float64) {
	const h = 1e-6
	at := make([]float64, l.n)
	l.residuals(p, at)
	slopes := make([][]float64, len(p))
	for i := range p {
		q := append([]float64(nil), p...)
		over, under := make([]float64, l.n), make([]float64, l.n)
		q[i] = p[i] + h
		l.residuals(q, over)
		q[i] = p[i] - h
		l.residuals(q, under)
		for k := range over {
			over[k] = finite((over[k] - under[k]) / (2 * h))
		}
		slopes[i] = over
	}
	a, g := newMatrix(len(p)), make([]float64, len(p))
	for i := range p {
		g[i] = dot(slopes[i], at)
		for j := range p {
			a[i][j] = dot(slopes[i], slopes[j])
		}
	}
	return a, g
}

func finite(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

func dot(a, b []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

func distance(a, b []float64) (far float64) {
	for i := range a {
		far = max(far, math.Abs(a[i]-b[i]))
	}
	return far
}

// matrix is symmetrical and positive definite, or refused by inverse.
type matrix [][]float64

func newMatrix(n int) matrix {
	m := make(matrix, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}

// inverse by Cholesky's method, rows and columns scaled to a diagonal of 1 first. False where what a row has of its own is less than 1e-11
// of it: then the rest determines it, and the data do not.
func (m matrix) inverse() (matrix, bool) {
	n := len(m)
	scale, l, out := make([]float64, n), newMatrix(n), newMatrix(n)
	for i := range n {
		if !(m[i][i] > 0) || math.IsInf(m[i][i], 1) {
			return nil, false
		}
		scale[i] = 1 / math.Sqrt(m[i][i])
	}
	for i := range n {
		for j := range i + 1 {
			rest := m[i][j]*scale[i]*scale[j] - dot(l[i][:j], l[j][:j])
			if i != j {
				l[i][j] = rest / l[j][j]
			} else if l[i][i] = math.Sqrt(rest); !(rest > 1e-11) {
				return nil, false
			}
		}
	}
	for column := range n {
		x := l.solve(column)
		for i := range n {
			out[i][column] = x[i] * scale[i] * scale[column]
		}
	}
	return out, true
}

// solve gives a column of (L Lᵀ)⁻¹.
func (m matrix) solve(column int) []float64 {
	n := len(m)
	x := make([]float64, n)
	x[column] = 1
	for i := range n {
		x[i] = (x[i] - dot(m[i][:i], x[:i])) / m[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= m[j][i] * x[j]
		}
		x[i] /= m[i][i]
	}
	return x
}

// chiSquare95 is what a sum of squares of so many standard normal errors stays under 95 times in 100, by the approximation of Wilson and
// Hilferty (1931): 2.5 % too small with one error, 1 % with two, better with more.
func chiSquare95(n int) float64 {
	k := 2 / (9 * float64(n))
	root := 1 - k + 1.6449*math.Sqrt(k)
	return float64(n) * root * root * root
}
