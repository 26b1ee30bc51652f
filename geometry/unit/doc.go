// Package unit holds the lengths and angles every other package speaks in, and
// the one way to read them from text and to print them.
//
// A [Length] is kept in millimetres and an [Angle] in radians, each as its own
// type, so that a slide reading can never be handed over as an edge angle. Both
// print with their unit ("45 mm", "50°") and both are read strictly: a number
// without a unit is refused, because 1.75 may be millimetres or inches and the
// wrong guess spoils a tool. Every refusal is a [ParseError] that names its
// [Reason] and says what would work.
//
// # What can be read
//
//	58mm  58 mm  5.8cm  1.75 inch  .5in  1.5e1mm        decimal numbers
//	3/4in  1 3/4 in  2-9/32"  ½ in  2¼"                 fractions, mixed with a space or a hyphen
//	50°  50deg  50 degrees  0.87rad  13°32.6'  13°32'15" angles
//
// Units are written in any case; no-break and thin spaces, the typographic
// minus, primes and curly quotes count as their plain forms. The number is
// carried exactly (as a ratio of integers) through the unit conversion and
// rounded once, so 1 3/4 in is the float64 nearest to 44.45 mm.
//
// # Rounding
//
// A tie (a value half-way between two steps) is recognised in spite of binary
// representation, and the caller names its direction: see [Tie]. Inch fractions
// go to the nearest graduation with ties to the even numerator ([InchFraction]),
// or down for a limit that must not be exceeded ([InchFractionDown]).
package unit
