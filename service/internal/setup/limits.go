package setup

import (
	"fmt"
	"slices"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// PrintedRounding is how far a speed printed on a wheel may be off what its diameter and the other printed speed give: makers
// round to 50 or 100 turns per minute (an observed table of 125 mm at 80 m/s prints 12 250 where 12 223 is meant).
const PrintedRounding = 0.003

// DefaultEdgeAngles is what a shop that does not say grinds.
var defaultEdgeAngles = shop.AngleRange{Least: 15 * unit.Degree, Most: 90 * unit.Degree}

// checkWheel refuses a wheel that must not run here. It gives no number to set: nothing about such a wheel is to be tried.
func checkWheel(r rig) *no {
	if n := checkDiameter(r); n != nil {
		return n
	}
	if n := checkSpeed(r); n != nil {
		return n
	}
	if len(r.wheel.AllowedSteels) > 0 && r.tool.Steel != shop.AnySteel && !slices.Contains(r.wheel.AllowedSteels, r.tool.Steel) {
		return refuse(NotForSteel, "rig.tool.steel", "this shop does not allow %s on this wheel; choose another wheel", steelWords[r.tool.Steel])
	}
	return nil
}

func checkDiameter(r rig) *no {
	if r.wheel.Flat {
		return nil
	}
	limits := []struct {
		least shop.Maybe[unit.Length]
		whose string
	}{{r.station.SmallestWheel, "the station's smallest"}, {r.wheel.Smallest, "the smallest it may be used to"}}
	for _, l := range limits {
		if l.least.Known && r.wheel.Diameter < l.least.Value {
			return refuse(WheelTooSmall, "rig.wheel.diameter_mm", "the wheel's diameter of %v is below %s, %v: it needs replacing", r.wheel.Diameter, l.whose, l.least.Value).
				length(r.wheel.Diameter).least(float64(l.least.Value))
		}
	}
	return nil
}

func checkSpeed(r rig) *no {
	if !r.station.SpindleRPM.Known {
		return nil
	}
	rpm := r.station.SpindleRPM.Value
	if marked := r.wheel.MarkedRPM; marked.Known && rpm > marked.Value {
		n := refuse(Overspeed, "rig.station.spindle_speed_rpm", "the spindle's %.0f rpm is above the %.0f rpm marked on the wheel: do not run it here", rpm, marked.Value)
		n.Unit, n.Value = "rpm", shop.Some(rpm)
		return n.most(marked.Value)
	}
	speed, marked := geometry.SurfaceSpeed(r.wheel.Diameter, rpm), r.wheel.MarkedMPS
	if marked.Known && speed > marked.Value*(1+PrintedRounding) {
		n := refuse(Overspeed, "rig.wheel.marked_speed_mps", "at %.0f rpm the rim runs at %.1f m/s, above the %.1f m/s marked on the wheel: do not run it here (a spindle of at most %.0f rpm would do)",
			rpm, speed, marked.Value, geometry.SpindleSpeed(r.wheel.Diameter, marked.Value))
		n.Unit, n.Value = "m/s", shop.Some(speed)
		return n.most(marked.Value)
	}
	return nil
}

// checkEdge holds the edge of the whole tool (both faces together, where there are two) against what the shop grinds.
func checkEdge(r rig, edge, whole unit.Angle) *no {
	limits := r.station.EdgeAngles.Or(defaultEdgeAngles)
	switch {
	case whole < limits.Least:
		return refuse(TooKeen, "grind.bevels[0]", "the edge would be %s, keener than the %s this shop grinds", degrees(whole), degrees(limits.Least)).
			angle(whole).least(limits.Least.Degrees()).most(limits.Most.Degrees())
	case whole > limits.Most, edge >= 90*unit.Degree:
		return refuse(TooBlunt, "grind.bevels[0]", "the edge would be %s, blunter than the %s this shop grinds", degrees(whole), degrees(limits.Most)).
			angle(whole).least(limits.Least.Degrees()).most(limits.Most.Degrees())
	}
	return nil
}

func degrees(a unit.Angle) string { return unit.FormatFixed(a.Degrees(), 1) + "°" }

func mm(l unit.Length) string { return fmt.Sprintf("%s mm", unit.FormatFixed(float64(l), 2)) }
