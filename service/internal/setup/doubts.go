package setup

import (
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/wear"
)

// What lengths and angles are good to at 95 %, by what they were measured or set with. Common practice, not a standard; a request
// can say better.
const (
	ByRule     unit.Length = 1
	ByCalliper             = wear.ByCalliper
	ByBlock    unit.Length = 0.2
	Calibrated unit.Length = 0.05
	ByScale                = 1 * unit.Degree
	ByNotch                = 0.5 * unit.Degree
)

// Doubts is how well a person makes the settings; unknown ones take the usual instrument.
type Doubts struct {
	StickOut shop.LengthDoubt
	Support  shop.LengthDoubt
	Leg      shop.AngleDoubt
	Tilt     shop.AngleDoubt
}

func (d Doubts) stickOut(onBlock bool) unit.Length {
	return d.StickOut.Or(blockOr(onBlock, ByCalliper))
}

// support is the doubt of a support's datum: a scale reads better than a rule held to the wheel.
func (d Doubts) support(datum shop.Datum, onBlock bool) unit.Length {
	usual := ByRule
	if datum == shop.DatumSlide {
		usual = ByCalliper
	}
	return d.Support.Or(blockOr(onBlock, usual))
}

func (d Doubts) leg(position string) unit.Angle {
	if position != "" {
		return d.Leg.Or(ByNotch)
	}
	return d.Leg.Or(ByScale)
}

func (d Doubts) tilt() unit.Angle { return d.Tilt.Or(ByScale) }

func blockOr(onBlock bool, usual unit.Length) unit.Length {
	if onBlock {
		return ByBlock
	}
	return usual
}
