package setup

import (
	"math"
	"slices"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// tellable is wear that is worth a number.
const tellable = 0.05 * unit.Millimetre

// wheelDiameter is the budget's item of that name.
const wheelDiameter = "wheel_diameter"

// stale is how far off angles may be for want of knowing the wheel's diameter, where that is more than a shop can put up with: it was dressed
// and not measured since, or wear is forecast to have taken it out of the tolerance. Otherwise 0.
func (x *search) stale(p plan) unit.Angle {
	var most unit.Angle
	for _, s := range p {
		y := x.at(s.bevel)
		if angle := y.diameterDoubt(s); y.belief.Dressed || y.belief.Aged && angle > y.tolerance() {
			most = max(most, angle)
		}
	}
	return most
}

// diameterDoubt is what the diameter's doubt does to a bevel's angle.
func (x *search) diameterDoubt(s stand) unit.Angle {
	for _, item := range x.inputs(&s) {
		if item.Quantity == wheelDiameter {
			return unit.Angle(math.Abs(item.Sensitivity * item.HalfWidth))
		}
	}
	return 0
}

// staleCaution asks for a measurement.
func (x *search) staleCaution(p plan) (c shop.Maybe[Caution]) {
	angle := x.stale(p)
	if angle == 0 {
		return c
	}
	stale := x.caution("WHEEL_STALE", Warning, "",
		"The diameter is stale, ±%s: the wheel was measured on %s and has worn since, by its log about %s of its diameter. Measure it, and solve again.",
		x.degrees(angle), x.in.Day(x.wheel.Measured), x.length(x.belief.Worn))
	switch {
	case !x.belief.Dressed && x.belief.Worn < tellable:
		stale = x.caution("WHEEL_STALE", Warning, "",
			"The diameter is stale, ±%s: the wheel was measured on %s, and its log does not tell by how much it has worn since. Measure it, and solve again.",
			x.degrees(angle), x.in.Day(x.wheel.Measured))
	case x.belief.Dressed:
		stale = x.caution("WHEEL_STALE", Warning, "", "The diameter is stale, ±%s: the wheel was dressed on %s and has not been measured since. Measure it, and solve again.",
			x.degrees(angle), x.in.Day(x.wheel.Dressed))
	}
	return shop.Some(stale.by(x.wheel.Name))
}

// keptCautions are what the shop's records say against a machine: that it is locked, was found unfit, or is to be inspected.
func (r *rig) keptCautions() []Caution {
	return slices.Concat(r.lockedCautions(), r.unsafeCautions(), r.dueCautions())
}

// dueCautions ask for inspections that are overdue. Numbers are given meanwhile: who looks after the shop locks what must not be used.
func (r *rig) dueCautions() (list []Caution) {
	add := func(i shop.Inspecting, text words.Text) {
		if !i.Due.IsZero() && i.Due.Before(r.on) {
			list = append(list, r.caution("INSPECTION_DUE", Warning, "", text, r.in.Day(i.Due)))
		}
	}
	add(r.station.Inspecting, "The inspection of this station has been due since %s. Inspect it before you grind.")
	add(r.wheel.Inspecting, "The inspection of this wheel has been due since %s. Inspect it before you grind.")
	add(r.holder.Inspecting, "The inspection of this holder has been due since %s. Inspect it before you grind.")
	return list
}

// unsafeCautions say what was found not fit for use. Numbers are given all the same: a lock is what takes them away.
func (r *rig) unsafeCautions() (list []Caution) {
	add := func(i shop.Inspecting, name, display string, nameless, text words.Text) {
		if i.Finding != shop.Unsafe {
			return
		}
		said := r.say(nameless)
		if name != "" || display != "" {
			said = called(name, display)
		}
		list = append(list, r.caution("INSPECTION_UNSAFE", Warning, "", text, said, r.in.Day(i.Last)).by(name))
	}
	add(r.station.Inspecting, r.station.Name, r.station.DisplayName, "This station", "%s was found not fit for use on %s: lock it, or put it right and inspect it again.")
	add(r.wheel.Inspecting, r.wheel.Name, r.wheel.DisplayName, "This wheel", "%s was found not fit for use on %s: take it off, or put it right and inspect it again.")
	add(r.holder.Inspecting, r.holder.Name, r.holder.DisplayName, "This holder", "%s was found not fit for use on %s: put it away, or put it right and inspect it again.")
	return list
}

// lockedCautions stop whoever would grind on a station that is out of service.
func (r *rig) lockedCautions() []Caution {
	if r.station.State != shop.Locked {
		return nil
	}
	c := r.caution("STATION_LOCKED", Stop, "", "%s is locked: %s. Do not grind there until it is put back into service.", called(r.station.Name, r.station.DisplayName), r.station.StateReason)
	return []Caution{c.by(r.station.Name)}
}
