package figure

import (
	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/words"
)

// View is a solved set-up as the drawing needs it. What is not known is drawn in a size that looks right; what is known is drawn
// where it is.
type View struct {
	Wheel     geometry.Wheel
	Pose      geometry.Pose
	EdgeAngle unit.Angle
	Supposed  bool // nothing but a gap is known of the support, and its place was picked: the description does not state it

	Bevel      geometry.Hollow   // what this setting grinds, from the edge; Chord 0: not known
	Behind     []geometry.Hollow // the bevels behind it, each from the heel of the one before; usually none
	SteelDepth unit.Length       // steel below the reference line: under the flute, of a scraper all, of a skew half; 0: not known
	SteelAbove unit.Length       // steel above it: half a two-bevel tool's thickness, what a negative rake slopes down; else 0
	UpperBevel geometry.Hollow   // the bevel above the reference line; Chord 0 with SteelAbove: as the lower one

	Holder          HolderKind
	Pivot           geometry.Pivot
	StickOut        unit.Length // butted: seat to nose; 0: not known
	FaceDepth       unit.Length // how far the holder's front face reaches below the reference line; 0: not known
	JointBehindFace unit.Length // swing
	JointBelowAxis  unit.Length // swing
	LegAngle        unit.Angle  // swing

	Support  Support
	Labels   Labels
	Language words.Language // of the description; labels are worded already
}

// HolderKind is how the tool is held.
type HolderKind int

// The kinds of holder.
const (
	NoHolder  HolderKind = iota // the tool lies on a platform
	Clamp                       // swings on a bar
	Swing                       // leg and ball
	Butted                      // the handle's end in a pocket
	BarePivot                   // nothing is known but the pivot
)

// SupportKind is what the tool or its holder stands on.
type SupportKind int

// The kinds of support.
const (
	AnySupport SupportKind = iota // nothing is known but its place
	Bar
	Pocket
	Platform
)

// Support is a bar, pocket or platform in its place.
type Support struct {
	Kind SupportKind

	At        geometry.Point // centre of bar or ball; of a platform not used
	Near, Far unit.Length    // gauged surfaces before and beyond the centre on the line of centres; Near is negative for a V's bottom
	Diameter  unit.Length    // of a bar; 0: not known
	Top       unit.Length    // what heights are measured to, above the centre
	Floor     unit.Length    // where heights are measured from, above the axle; read with Labels.Height
	Slide     *geometry.Slide

	// A platform's surface runs along the tool's underside.
	Front *geometry.Point // its edge next to the wheel; nil: not known
	Hinge *geometry.Point // nil: not known
}

// Labels are the dimensions to show, each already worded with its name and number ("wheel gap 108.49 mm"). An empty one is left
// out. Beside each stands the part its items carry.
type Labels struct {
	Wheel        string // wheel
	StickOut     string // stick_out
	LegAngle     string // leg_angle
	EdgeAngle    string // edge_angle
	BevelReading string // bevel_reading

	Slide        string // slide
	WheelGap     string // wheel_gap
	WheelGapFar  string // wheel_gap_far
	PivotToAxle  string // pivot_to_axle
	FaceDistance string // face_distance
	Height       string // height

	PlatformTilt   string // platform_tilt
	PlatformToAxle string // platform_to_axle
	LineToAxle     string // reference_line_to_axle
	RestGap        string // rest_gap
}

// PlaceSupport picks a place for a support of which only the gap from the wheel is known: one where the edge meets the wheel 30°
// above the axle, or as near to that as leaves the handle 5° to 40° below the horizontal.
func PlaceSupport(w geometry.Wheel, p geometry.Pivot, edge unit.Angle, gap unit.Length) geometry.Point {
	sin, cos := edge.SinCos()
	along := p.Behind*unit.Length(cos) + p.Below*unit.Length(sin) // from nose to pivot along the tangent, downwards
	if w.Flat() {
		return geometry.Point{Out: gap, Up: -along}
	}
	level := quarter - edge // the contact's elevation with a level tool
	contact := min(max(30*unit.Degree, level-40*unit.Degree), level-5*unit.Degree)
	radial := w.Radius() + p.Behind*unit.Length(sin) - p.Below*unit.Length(cos)
	turn := geometry.Point{Out: radial, Up: along}.Elevation()
	return geometry.Point{}.Along(contact-turn, w.Radius()+gap)
}
