// Package shop holds the plain records of a workshop: what the rules reason about and the store keeps. They carry no behaviour of
// storage or transport; lengths and angles are typed.
package shop

import (
	"strconv"
	"time"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// Maybe is a value that somebody may not have said. Absent is never zero.
type Maybe[T any] struct {
	Value T
	Known bool
}

// Some is a known value.
func Some[T any](v T) Maybe[T] { return Maybe[T]{v, true} }

// Or is the value, or another where it is not known.
func (m Maybe[T]) Or(other T) T {
	if m.Known {
		return m.Value
	}
	return other
}

// LengthDoubt is how far off a length may be, at 95 %.
type LengthDoubt = Maybe[unit.Length]

// AngleDoubt is how far off an angle may be, at 95 %.
type AngleDoubt = Maybe[unit.Angle]

// Station is one grinder position.
type Station struct {
	Name           string
	DisplayName    string
	SpindleRPM     Maybe[float64]
	Supports       []Support
	SmallestWheel  Maybe[unit.Length]
	Guard          Maybe[AngleRange]
	LargestRestGap Maybe[unit.Length]
	EdgeAngles     Maybe[AngleRange]
	State          StationState
	StateReason    string
	StateTime      time.Time
	Inspecting     Inspecting
}

// StationState is whether a station may be used.
type StationState int

// The states of a station. Nobody said otherwise: it is in service.
const (
	AnyStationState StationState = iota
	InService
	Locked
)

// AngleRange is from Least to Most.
type AngleRange struct{ Least, Most unit.Angle }

// LengthRange is from Least to Most.
type LengthRange struct{ Least, Most unit.Length }

// SupportKind is what a support offers.
type SupportKind int

// The kinds of support. AnySupport is a bare distance: nothing is known of the machine.
const (
	AnySupport SupportKind = iota
	Bar
	Pocket
	Platform
)

// Support is a bar, pocket or platform of a station.
type Support struct {
	ID        string
	Kind      SupportKind
	Near, Far unit.Length // the gauged surfaces before and beyond the centre, towards and away from the wheel
	Top       unit.Length // what heights are measured to, above the centre
	Slide     Maybe[Slide]
	Adjuster  Maybe[Adjuster]
	Datum     Datum
	Reference Maybe[unit.Length] // where heights are measured from, above the axle
	Table     Table              // of a platform
}

// Slide is a slide with its travel, as readings.
type Slide struct {
	geometry.Slide
	Travel LengthRange
	Doubt  LengthDoubt // of the origin
}

// Adjuster is the screw on a slide.
type Adjuster struct {
	Lead            unit.Length // per turn
	ClockwiseRaises bool        // the reading
	Backlash        unit.Length
}

// Table is a platform's own geometry.
type Table struct {
	Hinge   Maybe[geometry.Point] // where there is no slide
	Surface unit.Length
	Tilt    Maybe[unit.Angle] // fixed, where there is a slide
	Tilts   AngleRange
	Front   Maybe[unit.Length] // edge before the hinge
}

// Datum is what a support is set by.
type Datum int

// The data. Every support has those that its machine can show.
const (
	DatumUnset Datum = iota
	DatumSlide
	DatumWheelGap
	DatumWheelGapFar
	DatumPivotToAxle
	DatumFaceDistance
	DatumHeight
	DatumTilt
	DatumPlatformToAxle
)

// String is the datum's name in requests and answers.
func (d Datum) String() string {
	return [...]string{"", "slide", "wheel_gap", "wheel_gap_far", "pivot_to_axle", "face_distance", "height", "platform_tilt",
		"platform_to_axle"}[d]
}

// Wheel is a wheel or flat abrasive.
type Wheel struct {
	Name          string
	DisplayName   string
	Flat          bool
	Diameter      unit.Length // of a disc: where its speed counts, 0 unknown
	Doubt         LengthDoubt
	Measured      time.Time
	NewDiameter   Maybe[unit.Length]
	Smallest      Maybe[unit.Length]
	Width         Maybe[unit.Length]
	Abrasive      Abrasive
	Grit          string
	MarkedMPS     Maybe[float64]
	MarkedRPM     Maybe[float64]
	Station       string
	AllowedSteels []Steel   // empty: all
	Dressed       time.Time // since it was measured; zero: it was not
	Inspecting    Inspecting
}

// Surface is the wheel as the engine sees it.
func (w Wheel) Surface() geometry.Wheel {
	if w.Flat {
		return geometry.FlatAbrasive()
	}
	return geometry.RoundWheel(w.Diameter)
}

// Abrasive is what a wheel is made of.
type Abrasive int

// The abrasives.
const (
	AnyAbrasive Abrasive = iota
	Bonded
	Superabrasive
	Coated
	Stone
)

// Steel is a class of tool steel.
type Steel int

// The steels.
const (
	AnySteel Steel = iota
	CarbonSteel
	HighSpeedSteel
	PowderSteel
)

// HolderKind is how a holder holds.
type HolderKind int

// The kinds of holder.
const (
	NoHolder HolderKind = iota // the tool lies on a platform
	Clamp
	Swing
	Butted
	BarePivot
)

// Holder grips a tool. Which fields count depends on its kind.
type Holder struct {
	Name        string
	DisplayName string
	Kind        HolderKind
	Behind      unit.Length // clamp: bar behind the face; bare pivot: behind the nose
	Below       unit.Length // clamp: bar below; butted: seat below; bare pivot: below the reference line
	FromBed     bool        // clamp: Below counts from the bed the tool lies on
	TurnsOver   bool        // clamp: turned over together with a two-bevel tool
	Yawed       bool        // clamp: yawed as one with a skewed blade
	Arm         geometry.SwingHolder
	Positions   []LegPosition
	Leg         AngleRange
	MostLean    Maybe[unit.Angle] // from where it stands at the nose
	FaceDepth   Maybe[unit.Length]
	Doubt       LengthDoubt
	Inspecting  Inspecting
}

// LegPosition is a fixed place for a leg.
type LegPosition struct {
	ID    string
	Angle unit.Angle
}

// ToolKind is a kind of turning tool.
type ToolKind int

// The kinds of tool.
const (
	AnyTool ToolKind = iota
	BowlGouge
	SpindleGouge
	RoughingGouge
	HollowingGouge
	Skew
	PartingTool
	Scraper
	NegativeRakeScraper
)

// TwoBevels tells whether the tool has the same bevel on both faces, with the mid-plane as its reference line.
func (k ToolKind) TwoBevels() bool { return k == Skew || k == PartingTool }

// Flat tells whether the tool is a flat blade.
func (k ToolKind) Flat() bool { return k >= Skew }

// Tool is a turning tool.
type Tool struct {
	Name            string
	DisplayName     string
	Kind            ToolKind
	Steel           Steel
	SteelUnderFlute Maybe[unit.Length]
	Thickness       Maybe[unit.Length]
	EdgeToSide      Maybe[unit.Angle]
	FluteRadius     Maybe[unit.Length]
	FluteHalfAngle  Maybe[unit.Angle]
	EdgeBelowTop    Maybe[unit.Length]
	OverallLength   Maybe[unit.Length]
	FreeBlade       Maybe[unit.Length]
	SmallestGrip    Maybe[unit.Length]
	Recipe          string
	Flute           Maybe[Flute]
	Bar             Maybe[BarSection]
	Edge            Maybe[EdgeShape]
	UsableLength    Maybe[unit.Length] // of flute or blade left
	Location        string
	State           ToolState
}

// ToolState is where a tool is in its life.
type ToolState int

// The states of a tool.
const (
	AnyToolState ToolState = iota
	Ready
	Blunt
	Lent
	Retired
)

// FluteShape is what a flute's section looks like.
type FluteShape int

// The shapes.
const (
	AnyFlute FluteShape = iota
	ParabolaFlute
	RoundFlute
	VeeFlute
	FlatFlute
)

// Flute is a flute's section.
type Flute struct {
	Shape  FluteShape
	Radius unit.Length // at the floor
	Wall   unit.Angle  // of a V
	Doubt  LengthDoubt // of the radius
}

// BarSection is what a tool is made of: round with a diameter, otherwise rectangular.
type BarSection struct{ Diameter, Width, Thickness unit.Length }

// PlanKind is a kind of edge.
type PlanKind int

// The kinds of edge.
const (
	NoPlan PlanKind = iota
	SetbackPlan
	AcrossPlan
	SweptPlan
	EvenSwingPlan
	PointsPlan
)

// EdgeShape is an edge's plan on its flute. Which fields count depends on its kind; both ends unknown is the flute's rim.
type EdgeShape struct {
	Plan       PlanKind
	HalfWidth  Maybe[unit.Length]
	AlongFlute Maybe[unit.Length]
	Setback    unit.Length
	Exponent   float64 // of a setback
	NoseRadius unit.Length
	Points     []ShapePoint
	Doubt      LengthDoubt // of the points
}

// ShapePoint is a measured point of an edge: behind the nose at a place to the side, or along the flute's section.
type ShapePoint struct {
	Place      unit.Length
	AlongFlute bool
	Back       unit.Length
}

// Recipe is one revision of a recipe: a grind and the settings that go with it.
type Recipe struct {
	Name        string
	DisplayName string
	Revision    int
	Published   bool
	Tools       []ToolKind
	Grind       Grind
	Holder      string
	Settings    Settings
	Steel       Maybe[unit.Length] // depth under the flute, or blade thickness, that its readings assume where no tool is named
	Tolerance   Maybe[unit.Angle]
	Notes       string
}

// RevisionName is the name of this very revision.
func (r Recipe) RevisionName() string {
	return r.Name + "/revisions/" + strconv.Itoa(r.Revision)
}

// Grind is an ordered list of bevels, edge first.
type Grind struct {
	Bevels []Bevel
	Upper  Maybe[Bevel] // of a negative-rake tool
	Wing   Maybe[WingTarget]
}

// WingTarget is a wedge angle wanted on the wings, at a share of the wing's length, negative to −side.
type WingTarget struct {
	Wedge, Tolerance unit.Angle
	Along            float64
}

// AngleOf says which of a bevel's angles a number is.
type AngleOf int

// The angles of a bevel.
const (
	FrontAngle AngleOf = iota
	Reading
	IncludedFrontAngle
	IncludedReading
)

// Bevel is one bevel wanted.
type Bevel struct {
	Of    AngleOf
	Angle unit.Angle
	Width Maybe[unit.Length] // unknown: runs to the heel
	Given Settings           // decided for this bevel, in place of the grind's
}

// Settings is everything a person sets.
type Settings struct {
	StickOut Maybe[unit.Length]
	Leg      Maybe[unit.Angle]
	Position string // of the leg, by its mark
	Datum    Datum  // DatumUnset: the support is not said
	Support  unit.Length
	Tilt     unit.Angle // with DatumTilt
}

// Over is these settings where they say something and the others elsewhere.
func (s Settings) Over(other Settings) Settings {
	if !s.StickOut.Known {
		s.StickOut = other.StickOut
	}
	if !s.Leg.Known && s.Position == "" {
		s.Leg, s.Position = other.Leg, other.Position
	}
	if s.Datum == DatumUnset {
		s.Datum, s.Support, s.Tilt = other.Datum, other.Support, other.Tilt
	}
	return s
}
