package setup

import (
	"time"

	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// Setup is how to set up a grind.
type Setup struct {
	Steps             []Step // in the order to do them; the edge last
	Cautions          []Caution
	Basis             Basis
	Figure            *drawing.Figure
	TouchFirstOffset  unit.Angle
	TouchFirstApplied unit.Angle
	Proof             []Proof
	Edge              *WholeEdge
}

// Prediction is what settings grind.
type Prediction struct {
	Steps        []Step
	Cautions     []Caution
	Basis        Basis
	Figure       *drawing.Figure
	Explanations []Explanation
	Edge         *WholeEdge
}

// Side is which face of a tool a step is for.
type Side int

// The sides.
const (
	OnlySide Side = iota
	FirstSide
	SecondSide
	UpperSide
)

// Step is one bevel on one face.
type Step struct {
	Bevel       int
	Side        Side
	Wanted      unit.Angle
	StickOut    *LengthSetting
	Leg         *AngleSetting
	Position    string
	Support     SupportSetting
	Predicted   Angles
	PocketAside unit.Length
	Budget      []BudgetItem
	Improve     *Improvement
	Text        string
	FigurePart  string
	Basis       *Basis          // where this bevel is ground, when not where the others are
	Figure      *drawing.Figure // when every step's was asked for
}

// LengthSetting is a length to set.
type LengthSetting struct {
	Exact, Set unit.Length
	PerMM      float64 // radians of edge angle per millimetre
	What       string  // is set: "the stick-out", "the bar's height"
	To         string  // where it ends: "to the middle of the ball"
	Measured   bool    // it is as it is: a tool's length
	Text       string
}

// AngleSetting is an angle to set.
type AngleSetting struct {
	Exact, Set unit.Angle
	PerAngle   float64 // of edge angle per angle
	What       string
	Text       string
}

// SupportSetting is every datum the machine has.
type SupportSetting struct {
	Lengths [shop.DatumPlatformToAxle + 1]*LengthSetting // by datum
	Line    *LengthSetting                               // reference line to axle
	Tilt    *AngleSetting
	SetBy   shop.Datum
	Move    *Move
}

// Move is from where the machine stands to where it should.
type Move struct {
	Slide shop.Maybe[unit.Length]
	Gap   shop.Maybe[unit.Length]
	Tilt  shop.Maybe[unit.Angle]
	Turns shop.Maybe[float64]
	Text  string
}

// Angles is what a setting grinds.
type Angles struct {
	Edge            unit.Angle
	Reading         shop.Maybe[unit.Angle]
	Expanded        unit.Angle
	Width           shop.Maybe[unit.Length]
	Hollow          shop.Maybe[unit.Length]
	ContactHeight   shop.Maybe[unit.Length]
	ContactAngle    shop.Maybe[unit.Angle]
	Pitch           shop.Maybe[unit.Angle]
	IncludedEdge    shop.Maybe[unit.Angle]
	IncludedReading shop.Maybe[unit.Angle]
	Axial           shop.Maybe[unit.Angle]
	RestGap         shop.Maybe[unit.Length]
	WearPerMM       shop.Maybe[float64] // radians per millimetre of diameter lost
	Corner          shop.Maybe[unit.Angle]
	SurfaceSpeed    shop.Maybe[float64]
}

// BudgetItem is one contribution to the uncertainty. Lengths are in millimetres, angles in radians.
type BudgetItem struct {
	Quantity    string
	Words       words.Text
	IsAngle     bool
	HalfWidth   float64
	Sensitivity float64 // radians per millimetre or radian
	Setting     bool    // made anew at every set-up, so part of repeatability
	Text        string
}

// Improvement is the measurement that would help most.
type Improvement struct {
	Quantity string
	Expanded unit.Angle // if it were known exactly
	Text     string
}

// Severity is how serious a caution is.
type Severity int

// The severities.
const (
	Note Severity = iota + 1
	Warning
	Stop
)

// Caution is a warning that belongs to a set-up.
type Caution struct {
	Code     string
	Severity Severity
	Text     string
	Source   string
}

// Basis is what the numbers rest on.
type Basis struct {
	Recipe        string // with its revision
	Station       string
	Wheel         string
	Holder        string
	Tool          string
	Support       string
	WheelDiameter unit.Length // 0 for a flat abrasive
	WheelMeasured time.Time
	Stale         unit.Angle // how far off angles may be because the diameter is no longer known well enough; 0: it is
	ToolKind      shop.ToolKind
	SupportKind   shop.SupportKind
}

// Explanation is what one setting, put as it was meant, would change.
type Explanation struct {
	Quantity  string
	Effect    unit.Angle
	Remaining unit.Angle
	Text      string
}
