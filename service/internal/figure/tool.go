package figure

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// Sizes drawn where nobody told the real ones, and of what has no size in the data.
const (
	usualSteel     = 8  // mm, below a gouge's flute
	usualTail      = 30 // mm of blade to be seen behind holder or platform
	usualBody      = 30 // mm, length of a holder along the tool
	usualWall      = 6  // mm of holder around the steel
	usualBall      = 5  // mm, its radius
	usualBar       = 12 // mm, a bar's diameter
	usualTable     = 70 // mm, a platform from front to back
	usualPlate     = 7  // mm, its thickness
	usualRestGap   = 2  // mm, front of a platform to wheel
	usualHandle    = 15 // mm, a handle's radius
	arcSteps       = 24 // straight pieces of a bevel's outline: less than 1 µm off for 20° on Ø200
	bladeOfButted  = 0.45
	handleNarrowed = 0.7
)

// steel is the depth to draw below the reference line.
func (b *bench) steel() unit.Length {
	if b.SteelDepth > 0 {
		return b.SteelDepth
	}
	if b.Bevel.Chord > 0 {
		_, below := b.Bevel.End()
		for _, behind := range b.Behind {
			_, more := behind.End()
			below += more
		}
		return below
	}
	return usualSteel
}

// bevel is the bevel to draw: the one known, else one that runs out at the underside, else a short one.
func (b *bench) bevel() geometry.Hollow {
	if b.Bevel.Chord > 0 {
		return b.Bevel
	}
	if through, err := b.Wheel.HollowOfDepth(b.EdgeAngle, b.depth); err == nil && through.Chord < 6*b.depth {
		return through
	}
	short, err := b.Wheel.HollowOfChord(b.EdgeAngle, b.depth)
	if err != nil { // the wheel is smaller than the steel is thick
		return geometry.Hollow{Front: b.EdgeAngle, Reading: b.EdgeAngle, Far: b.EdgeAngle, Chord: b.depth}
	}
	return short
}

// profile runs from the edge along bevels to the underside at a depth, in the tool frame. Behind the last bevel it goes on straight
// at that bevel's reading, which keeps clear of the wheel.
func profile(bevels []geometry.Hollow, depth unit.Length) []geometry.Point {
	points := []geometry.Point{{}}
	var from geometry.Point
	for _, bevel := range bevels {
		turn := bevel.Far - bevel.Front
		for step := 1; step <= arcSteps; step++ {
			part := unit.Angle(step) / arcSteps
			chord := bevel.Chord * unit.Length(chordShare(float64(part), float64(turn)))
			points = append(points, from.Along(-bevel.Front-part*turn/2, chord))
		}
		behind, below := bevel.End()
		from = geometry.Point{Out: from.Out + behind, Up: from.Up - below}
		points[len(points)-1] = from
	}
	last := bevels[len(bevels)-1]
	if left := depth + from.Up; left > 1e-6 && last.Reading > 0 {
		points = append(points, geometry.Point{Out: from.Out + left/unit.Length(last.Reading.Tan()), Up: -depth})
	}
	return points
}

// chordShare is the chord of part of an arc of a turn, as a share of the whole arc's chord.
func chordShare(part, turn float64) float64 {
	if turn < 1e-9 { // straight, or bent by less than 1 nm over a metre
		return part
	}
	return math.Sin(part*turn/2) / math.Sin(turn/2)
}

// upper is the profile above the reference line, from the edge to the top face.
func (b *bench) upper() []geometry.Point {
	if b.SteelAbove <= 0 {
		return nil
	}
	bevel := b.UpperBevel
	if bevel.Chord <= 0 {
		bevel = b.Bevel
	}
	points := profile([]geometry.Hollow{bevel}, b.SteelAbove)
	for i, p := range points {
		points[i].Up = min(-p.Up, b.SteelAbove)
	}
	return points[1:]
}

// place brings points from the tool frame (behind, above) to the wheel frame.
func (b *bench) place(points ...geometry.Point) []geometry.Point {
	placed := make([]geometry.Point, len(points))
	for i, p := range points {
		placed[i] = b.Pose.Place(p.Out, p.Up)
	}
	return placed
}

// bladeEnd is how far behind the nose the blade is cut off, or with a butted handle joins it.
func (b *bench) bladeEnd() unit.Length {
	switch b.Holder {
	case Butted:
		return bladeOfButted * b.Pivot.Behind
	case BarePivot:
		return max(b.Pivot.Behind, 60) + usualTail
	default:
		return b.body.back + usualTail
	}
}

// tool draws the blade: its outline, the bevel's arc on it, and a handle that is butted.
func (b *bench) tool() {
	end := b.bladeEnd()
	outline := append([]geometry.Point{{}}, b.upper()...)
	outline = append(outline, b.breakLine(end)...)
	for i := len(b.lower) - 1; i > 0; i-- {
		outline = append(outline, b.lower[i])
	}
	b.area(PartTool, drawing.RoleSteel, b.place(outline...)...)
	b.bevelArc()
	if b.Holder == Butted {
		b.handle(end)
	}
}

// breakLine is the blade's hind end from the top face to the underside: jagged where it is cut off, straight in a handle.
func (b *bench) breakLine(end unit.Length) []geometry.Point {
	top, bottom := b.SteelAbove, -b.depth
	if b.Holder == Butted {
		return []geometry.Point{{Out: end, Up: top}, {Out: end, Up: bottom}}
	}
	third, jag := (top-bottom)/3, b.em/2
	return []geometry.Point{
		{Out: end, Up: top}, {Out: end + jag, Up: top - third}, {Out: end - jag, Up: bottom + third}, {Out: end, Up: bottom},
	}
}

// bevelArc draws what the wheel grinds: an arc of the wheel itself, from the edge down to the heel.
func (b *bench) bevelArc() {
	if b.Wheel.Flat() {
		b.line(PartTool, drawing.RoleSteel, b.Pose.Contact, b.Pose.Place(b.heel()))
		return
	}
	turn := b.Bevel.Far - b.Bevel.Front
	b.add(PartTool, drawing.RoleSteel, drawing.Arc{Radius: b.Wheel.Radius(), Start: b.Pose.Elevation - turn, Sweep: turn})
}

// heel is the end of the ground bevel in the tool frame.
func (b *bench) heel() (behind, above unit.Length) {
	behind, below := b.Bevel.End()
	return behind, -below
}

// handle draws a turned handle from the blade's end to the seat, about the line from the middle of the steel there to the pivot.
func (b *bench) handle(from unit.Length) {
	start := b.Pose.Place(from, (b.SteelAbove-b.depth)/2)
	seat := b.Pose.Place(b.Pivot.Behind, -b.Pivot.Below)
	along, whole := direction(start, seat), apart(start, seat)
	radius := min(usualHandle, whole/6)
	shape := []struct{ at, radius unit.Length }{ // shares of length and radius
		{-0.06, handleNarrowed}, {0.02, handleNarrowed}, {0.12, 1}, {0.4, 0.85}, {0.8, 1}, {0.95, 0.8}, {1, 0.3},
	}
	var left, right []geometry.Point
	for _, s := range shape {
		at := start.Along(along, s.at*whole)
		left = append(left, at.Along(along+quarter, s.radius*radius))
		right = append([]geometry.Point{at.Along(along-quarter, s.radius*radius)}, right...)
	}
	b.area(PartTool, drawing.RoleHolder, append(left, right...)...)
}
