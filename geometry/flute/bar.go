package flute

import "math"

// Bar is the outside of the steel in the tool frame's section, the flute's floor at side 0, up 0. [Bar.Check] says whether it is one and
// takes a flute.
type Bar struct {
	round             bool
	halfWidth, height float64 // of a round bar both are the circle's
	under             float64 // steel under the flute's floor
}

// RoundBar is a round bar, with the steel left under the flute's floor.
func RoundBar(diameter, steelUnderFlute float64) Bar {
	return Bar{round: true, halfWidth: diameter / 2, height: diameter, under: steelUnderFlute}
}

// RectangularBar is a rectangular bar. A flat blade has all its thickness under its face.
func RectangularBar(width, thickness, steelUnderFlute float64) Bar {
	return Bar{halfWidth: width / 2, height: thickness, under: steelUnderFlute}
}

// Centre is the height of the bar's middle over the flute's floor: the axis about which a tool rolls in its holder. It is below 0 where
// the flute goes less than half through.
func (b Bar) Centre() (up float64) { return b.height/2 - b.under }

// Inside is how far a point lies within the bar's outside, whatever the flute takes: below 0 outside.
func (b Bar) Inside(side, up float64) float64 {
	fromCentre := up - b.Centre()
	if b.round {
		return b.halfWidth - math.Hypot(side, fromCentre)
	}
	x, y := b.halfWidth-math.Abs(side), min(up+b.under, b.height-b.under-up)
	if x < 0 && y < 0 {
		return -math.Hypot(x, y)
	}
	return min(x, y)
}

// Rim is where the flute's wall meets the bar's outside, as an arc length from the floor: the flute's mouth. False where [Bar.Check]
// refuses.
//
// The wall leaves the bar once only: a flute is convex and turns no sharper than a bar it has left to the side.
func (b Bar) Rim(s Section) (along float64, ok bool) {
	if b.Check(s) != nil {
		return 0, false
	}
	inside, outside := 0.0, 2*(2*b.halfWidth+b.height) // a wall is no longer than it goes to the side and up
	for {
		middle := (inside + outside) / 2
		if middle <= inside || middle >= outside {
			return inside, true
		}
		if p := s.at(middle); b.Inside(p.Side, p.Up) >= 0 {
			inside = middle
		} else {
			outside = middle
		}
	}
}

// Area is the area of the steel's section, mm²: what lies within the bar and under the flute, exactly. It is 0 where [Bar.Check] refuses.
func (b Bar) Area(s Section) float64 {
	rim, ok := b.Rim(s)
	if !ok {
		return 0
	}
	mouth := s.at(rim)
	return 2 * (b.areaBeside(mouth) - s.areaBeside(rim))
}

// areaBeside is the area between the tool's plane and one side of the outside, from the bar's underside to a place on it: ∫ side d(up).
func (b Bar) areaBeside(to Place) float64 {
	if b.round {
		around := math.Atan2(to.Side, b.Centre()-to.Up)
		return b.halfWidth * b.halfWidth * halfSegment(around)
	}
	return b.halfWidth * (to.Up + b.under)
}

// Girth is the length around the bar's outside.
func (b Bar) Girth() float64 {
	if b.round {
		return 2 * math.Pi * b.halfWidth
	}
	return 2 * (2*b.halfWidth + b.height)
}

// Spot is a place on the bar's outside. At a corner the outside has two normals: Before is that of the piece between the underside's middle
// and the corner, Normal that of the piece beyond it. Elsewhere they are one.
type Spot struct {
	Side, Up       float64 // mm
	Normal, Before Direction
}

// Direction is a unit vector.
type Direction struct{ Side, Up float64 }

// Corner tells whether the outside has a corner there, which a mesh keeps as a crease.
func (s Spot) Corner() bool { return s.Normal != s.Before }

// Outline is the place on the outside at a length around from the middle of the underside, towards +side: half a girth, either way, is the
// middle of the top. The outside of the steel is what lies between the mouth's two places, −m and m, with m from [Bar.AroundAt].
func (b Bar) Outline(around float64) Spot {
	l := math.Abs(math.Remainder(around, b.Girth()))
	spot := b.outline(l)
	if math.Remainder(around, b.Girth()) < 0 {
		spot.Side, spot.Normal.Side, spot.Before.Side = -spot.Side, -spot.Normal.Side, -spot.Before.Side
	}
	return spot
}

func (b Bar) outline(l float64) Spot {
	if b.round {
		sin, cos := math.Sincos(l / b.halfWidth)
		out := Direction{sin, -cos}
		return Spot{b.halfWidth * sin, b.Centre() - b.halfWidth*cos, out, out}
	}
	down, right, top := Direction{0, -1}, Direction{1, 0}, Direction{0, 1}
	w, h := b.halfWidth, b.height
	switch {
	case near(l, w):
		return Spot{w, -b.under, right, down}
	case near(l, w+h):
		return Spot{w, h - b.under, top, right}
	case l < w:
		return Spot{l, -b.under, down, down}
	case l < w+h:
		return Spot{w, l - w - b.under, right, right}
	}
	return Spot{2*w + h - l, h - b.under, top, top}
}

// near tells whether two lengths are one but for rounding.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*b }

// Corners are the lengths around at which the outside has corners, between −girth/2 and girth/2, ascending: four or none.
func (b Bar) Corners() []float64 {
	if b.round {
		return nil
	}
	w, h := b.halfWidth, b.height
	return []float64{-w - h, -w, w, w + h}
}

// AroundAt is the length around, between −girth/2 and girth/2, of the place on the outside that lies in the direction of a point: at a
// point of the outside, such as the flute's mouth, its own.
func (b Bar) AroundAt(side, up float64) float64 {
	if b.round {
		return b.halfWidth * math.Atan2(side, b.Centre()-up)
	}
	return math.Copysign(b.aroundAt(math.Abs(side), up), side)
}

// aroundAt takes the face that a point of a rectangular bar's right half is nearest to.
func (b Bar) aroundAt(side, up float64) float64 {
	w, h := b.halfWidth, b.height
	under, beside, over := up+b.under, w-side, h-b.under-up
	switch {
	case under <= beside && under <= over:
		return min(side, w)
	case beside <= over:
		return w + min(max(under, 0), h)
	}
	return w + h + max(beside, 0)
}
