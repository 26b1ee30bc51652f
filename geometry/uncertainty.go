package geometry

import (
	"math"

	"arris.example/geometry/unit"
)

// Contribution is one input's part in the doubt about an angle: how the angle follows it and how well it is known.
type Contribution struct {
	Sensitivity float64 // radians per unit of the input
	HalfWidth   float64 // of the input at 95 % (k = 2), in its unit
}

// Angle is what the input's doubt alone does to the angle, at 95 %.
func (c Contribution) Angle() unit.Angle { return unit.Angle(math.Abs(c.Sensitivity * c.HalfWidth)) }

// Combined is the expanded uncertainty (k = 2) of an angle from independent contributions: the law of propagation of
// uncertainty, JCGM 100:2008, 5.1.2. Half-widths and result share the coverage factor, so it cancels.
func Combined(contributions []Contribution) unit.Angle {
	var sum float64
	for _, c := range contributions {
		sum += float64(c.Angle()) * float64(c.Angle())
	}
	return unit.Angle(math.Sqrt(sum))
}

// TouchFirst is the offset to the blunt side that makes the wheel touch the edge before the heel 95 times in 100, when the angle
// that is on the tool and the one being set each carry the expanded uncertainty: 1.645 is the one-sided 95 % point of the normal
// distribution, √2 is for the difference of two settings, and half the expanded uncertainty is the standard one.
func TouchFirst(expanded unit.Angle) unit.Angle { return 1.645 * math.Sqrt2 / 2 * expanded }
