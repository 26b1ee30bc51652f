package shop

import (
	"time"

	"arris.example/geometry/unit"
)

// Shop is a workshop: everything else is kept under its name.
type Shop struct {
	Name        string
	DisplayName string
	TimeZone    string // of the IANA database; empty: UTC
}

// Gauge is a block on hand.
type Gauge struct {
	Name        string
	DisplayName string
	Length      unit.Length
	Doubt       LengthDoubt
	Location    string
}

// Finding is what an inspection found.
type Finding int

// The findings.
const (
	NoFinding Finding = iota
	Sound
	Attention
	Unsafe
)

// Inspection is a look at a station, wheel, holder, tool or gauge.
type Inspection struct {
	Name     string
	Subject  string // its full name
	Finding  Finding
	Notes    string
	Occurred time.Time
}

// Inspecting is when something was inspected last and what was found then, how often that has to be, and when again.
type Inspecting struct {
	Every   Maybe[int] // days of 24 hours, so that no clock change lengthens or shortens one
	Last    time.Time  // zero: never
	Due     time.Time  // zero: nobody says how often
	Finding Finding    // of the last
}

// Looked takes an inspection over. One that is older than the last, as entries that come late are, changes nothing; of two at the same time the
// worse finding counts, whichever came first.
func (i *Inspecting) Looked(at time.Time, found Finding) {
	if at.After(i.Last) || at.Equal(i.Last) && found > i.Finding {
		i.Last, i.Finding = at, found
		i.Again()
	}
}

// Again reckons when it is to be inspected next, as far as the last time says.
func (i *Inspecting) Again() {
	switch {
	case !i.Every.Known:
		i.Due = time.Time{}
	case !i.Last.IsZero():
		i.Due = i.Last.Add(time.Duration(i.Every.Value) * 24 * time.Hour)
	}
}

// Measurement is a wheel measured, dressed, or both.
type Measurement struct {
	Name     string
	Diameter Maybe[unit.Length]
	Around   Maybe[unit.Length] // a strip's length around the rim, instead of the diameter
	Tape     unit.Length        // thickness of the strip
	Doubt    LengthDoubt        // of what was measured
	Dressed  bool               // since the measurement before
	Notes    string
	Occurred time.Time
}

// SharpeningKind is what was done to an edge.
type SharpeningKind int

// The kinds of sharpening.
const (
	AnySharpening SharpeningKind = iota
	Hone
	TouchUp
	Regrind
	GrindChange
)

// Sharpening is an edge that was ground, and how it came out.
type Sharpening struct {
	Name          string
	Kind          SharpeningKind
	Tool          string // full names of what it was ground with
	Recipe        string // the revision
	Station       string
	Wheel         string
	WheelDiameter Maybe[unit.Length] // believed
	Settings      Settings
	EdgeAngle     Maybe[unit.Angle] // measured afterwards
	Reading       Maybe[unit.Angle]
	OverallLength Maybe[unit.Length] // afterwards
	Minutes       Maybe[float64]     // at the wheel
	Notes         string
	Occurred      time.Time
	Corrects      string // the entry that this one corrects
	Engine        string // version
}
