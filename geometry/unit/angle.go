package unit

import "math"

// Angle is a plane angle in radians.
type Angle float64

// Unit angles: multiply by them, as in 50 * unit.Degree.
const (
	Radian Angle = 1
	Degree       = math.Pi / 180 * Radian
)

// Degrees returns the angle of d degrees.
func Degrees(d float64) Angle { return Angle(d) * Degree }

// Radians returns a in radians.
func (a Angle) Radians() float64 { return float64(a) }

// degreeDigits is the decimal grid on which [Angle.Degrees] finds typed values
// again: nine places, 4 pm at a radius of 250 mm.
const degreeDigits = 1e9

// Degrees returns a in degrees. Degrees(d).Degrees() == d, to the bit, for every
// decimal d of at most nine places and at most 1e5 degrees.
//
// The plain product of the two conversions can miss d by four roundings (two
// constants, two products), each of at most 2⁻⁵³ of the value. So a result that
// lies within 4·2⁻⁵³ of a nine-place decimal, too near to tell from it, is that
// decimal. Up to 1e5 degrees those roundings move the result by far less than half
// of the ninth place, so the decimal found is the one that was typed.
func (a Angle) Degrees() float64 {
	d := float64(float64(a) * (180 / math.Pi)) // converted so that no fused multiply-add changes it
	decimal := math.Round(d*degreeDigits) / degreeDigits
	if math.Abs(decimal-d) <= 0x1p-51*math.Abs(d) {
		return decimal
	}
	return d
}

// IsFinite reports whether a is neither NaN nor infinite.
func (a Angle) IsFinite() bool { return isFinite(float64(a)) }

// String prints a in degrees with as few decimals as are exact to 1e-6°, such
// as "50°". From 1e9° on it prints 13 significant digits. [ParseAngle] reads it
// back.
func (a Angle) String() string { return shortest(a.Degrees()) + "°" }

// RoundTo rounds in degrees: it returns the multiple of step nearest to a, ties
// going the way tie says, as the angle whose [Angle.Degrees] is the decimal
// multiple. Where [Length.RoundTo] would leave a length as it is, a is left too,
// up to its conversion to degrees and back.
func (a Angle) RoundTo(step Angle, tie Tie) Angle {
	return Degrees(roundTo(a.Degrees(), step.Degrees(), tie))
}

// SinCos returns the sine and the cosine of a.
func (a Angle) SinCos() (sin, cos float64) { return math.Sincos(float64(a)) }

// Sin returns the sine of a.
func (a Angle) Sin() float64 { return math.Sin(float64(a)) }

// Cos returns the cosine of a.
func (a Angle) Cos() float64 { return math.Cos(float64(a)) }

// Tan returns the tangent of a.
func (a Angle) Tan() float64 { return math.Tan(float64(a)) }
