package setup

import (
	"time"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// Source is a thing by its name or written out; neither is "not said".
type Source[T any] struct {
	Name   string
	Inline *T
}

// RigSource is where the tool is ground, as the question puts it.
type RigSource struct {
	Station Source[shop.Station]
	Wheel   Source[shop.Wheel]
	Support string
	Holder  Source[shop.Holder]
	Tool    Source[shop.Tool]
	Asides  Asides
}

// Asides is how pivot, tool and wheel lie beside one another, to +side. They count on the wings only.
type Asides struct {
	Pivot   unit.Length // of the tool's plane
	Roll    unit.Angle  // of the tool in its holder
	Contact unit.Length // beyond the pivot's plane
}

// Common is what every question says.
type Common struct {
	Shop   string
	Rig    RigSource
	Recipe string
	Grind  *shop.Grind
	Places []RigSource // of the grind's bevels, by index: where one is ground that is not ground where the others are
	AsOf   time.Time
	Doubts Doubts
	Unit   LengthUnit
	// Language is a tag (BCP 47) of what texts are to be in; empty: English.
	Language string
	Budget   bool // take the uncertainty apart
	Figure   bool // draw the side view
	// Figures draws that of every step.
	Figures bool
	Brief   bool // numbers only: what to set and what it grinds
	Proof   bool // check the rounded numbers by another route
	Edge    bool // along the whole edge
	Mesh    bool // the finished tool as a solid
	Unheld  bool // only wheel, tool and recipe count: no holder, no support
}

// Question asks for the settings that grind an edge.
type Question struct {
	Common
	Given      shop.Settings
	Free       []Free
	Now        *shop.Settings
	Rounding   Rounding
	TouchFirst unit.Angle
	TouchSized bool
}

// Forecast asks what settings grind.
type Forecast struct {
	Common
	Settings  shop.Settings
	Triangles int // of a solid, at most
}

// Free is a setting that may be chosen.
type Free int

// The free settings.
const (
	FreeSupport Free = iota + 1
	FreeStickOut
	FreeLeg
)

// LengthUnit is how texts print lengths.
type LengthUnit int

// The units of texts.
const (
	Millimetres LengthUnit = iota
	Inches
	BothUnits
)

// Rounding is what settings can be made in. Zero steps are the defaults, 0.1 mm and 0.5°.
type Rounding struct {
	LengthStep unit.Length
	AngleStep  unit.Angle
	Blocks     []unit.Length
}

// in is the rounding of people who read a unit: inches are set to 1/64, so that what is printed is what is set.
func (r Rounding) in(u LengthUnit) Rounding {
	if r.LengthStep == 0 && u == Inches {
		r.LengthStep = unit.Inch / 64
	}
	return r
}

func (r Rounding) lengthStep() unit.Length {
	if r.LengthStep > 0 {
		return r.LengthStep
	}
	return 0.1
}

func (r Rounding) angleStep() unit.Angle {
	if r.AngleStep > 0 {
		return r.AngleStep
	}
	return 0.5 * unit.Degree
}
