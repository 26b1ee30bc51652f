package setup_test

import (
	"math"
	"math/cmplx"

	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// A scene is a grinder seen from the side, built point by point, in which things are moved until they touch and then measured. It
// knows no relation between settings and angles. A place is a complex number: out is real, up imaginary, the axle at 0. A place of
// the tool is one too: behind the edge is real, above it imaginary; the tool is put into the scene by turning and shifting it.
//
// The wheel's rim passes through 0 of the scene `shifted` when there is no axle: a flat abrasive's face is the up axis.
type scene struct{ radius float64 } // 0: a flat abrasive

func sceneOf(w shop.Wheel) scene {
	if w.Flat {
		return scene{}
	}
	return scene{float64(w.Diameter) / 2}
}

// clearance is how far a place is from the abrasive, negative inside.
func (s scene) clearance(p complex128) float64 {
	if s.radius == 0 {
		return real(p)
	}
	return cmplx.Abs(p) - s.radius
}

// downhill is the direction of the abrasive's surface at a place on it, downwards as seen from the operator's side.
func (s scene) downhill(p complex128) complex128 {
	if s.radius == 0 {
		return -1i
	}
	return -1i * p / complex(cmplx.Abs(p), 0)
}

// bisect finds where a function that changes its sign once between two places is zero.
func bisect(low, high float64, f func(float64) float64) float64 {
	sign := f(low) < 0
	for range 200 {
		middle := (low + high) / 2
		if (f(middle) < 0) == sign {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

func turned(angle float64) complex128 { return cmplx.Rect(1, angle) }

// angleFrom is the angle from one direction anticlockwise to another.
func angleFrom(a, b complex128) float64 { return cmplx.Phase(b * cmplx.Conj(a)) }

// swingTo swings a tool about its pivot, which stands at a place, until a point of the tool touches the abrasive from outside, and
// measures the angle between the tool's axis and the surface there. pivot and point are places of the tool. Of two such poses it is
// the upper one.
func (s scene) swingTo(support, pivot, point complex128) (front float64, contact complex128, pitch float64, ok bool) {
	arm := point - pivot
	place := func(pitch float64) complex128 { return support + arm*turned(pitch) }
	const steps = 720
	best := math.Inf(-1)
	for i := range steps {
		from, to := 2*math.Pi*float64(i)/steps, 2*math.Pi*float64(i+1)/steps
		if (s.clearance(place(from)) < 0) == (s.clearance(place(to)) < 0) {
			continue
		}
		p := bisect(from, to, func(p float64) float64 { return s.clearance(place(p)) })
		above := imag(place(p) * cmplx.Conj(support)) // over the line from axle to support
		if s.radius == 0 {
			above = imag(place(p) - support)
		}
		if above > best {
			best, contact, pitch, ok = above, place(p), p, true
		}
	}
	front = angleFrom(s.downhill(contact), turned(pitch))
	return front, contact, math.Atan2(imag(turned(pitch)), real(turned(pitch))), ok
}

// pushTo pushes a tool along a table that slopes at a tilt until a point of the tool touches the abrasive. The line of pushing passes
// the origin at a distance.
func (s scene) pushTo(line, tilt float64) (front float64, contact complex128, ok bool) {
	along := turned(tilt)
	place := func(back float64) complex128 { return along*1i*complex(line, 0) + along*complex(back, 0) }
	const far = 1e4
	start := 0.0 // half-way through the wheel, where the line is nearest to the axle
	if s.radius == 0 {
		start = -far
	}
	if s.clearance(place(start)) >= 0 {
		return 0, 0, false
	}
	back := bisect(start, far, func(b float64) float64 { return s.clearance(place(b)) })
	contact = place(back)
	return angleFrom(s.downhill(contact), along), contact, true
}

// landEnds rolls the abrasive along a bevel, in the tool's own frame, and gives the ends of each land and the wheel's tangent there:
// from a front end with an angle, until the chord is as long as wanted.
func (s scene) landEnd(from complex128, front, chord float64) (end complex128, tangent float64) {
	along := turned(-front) // the bevel runs back and down
	if s.radius == 0 {
		return from + along*complex(chord, 0), front
	}
	axle := from - along*1i*complex(s.radius, 0)
	at := func(turn float64) complex128 { return axle + (from-axle)*turned(-turn) }
	turn := bisect(0, math.Pi, func(turn float64) float64 { return cmplx.Abs(at(turn)-from) - chord })
	return at(turn), front + turn
}

// fronts are the front ends of the bevels of a face, in the tool's frame.
func (s scene) fronts(bevels []shop.Bevel) []complex128 {
	ends := make([]complex128, len(bevels))
	for i := 1; i < len(bevels); i++ {
		ends[i], _ = s.landEnd(ends[i-1], float64(bevels[i-1].Angle), float64(bevels[i-1].Width.Value))
	}
	return ends
}

// tangentAt measures the abrasive's tangent at a point of a tool whose pivot stands at a place: the point is put on the abrasive.
func (s scene) tangentAt(support, pivot, point complex128) (float64, bool) {
	front, _, _, ok := s.swingTo(support, pivot, point)
	return front, ok
}

// pivotOf is where a tool's pivot lies in the tool's frame, put together from what the holder is made of, for a face of a blade whose
// edge lies `bed` above what it is laid on.
func pivotOf(h shop.Holder, tool shop.Tool, s shop.Settings, side setup.Side, bed float64) complex128 {
	stick := float64(s.StickOut.Value)
	var p complex128
	switch h.Kind {
	case shop.Clamp:
		p = complex(stick+float64(h.Behind), -float64(h.Below))
		if h.FromBed {
			p -= complex(0, bed)
		}
		if side == setup.SecondSide && h.TurnsOver {
			// The clamp's other hole, as far from the registered face on the other side; then everything is turned over.
			face := -bed
			hole := face + (face - imag(p))
			p = complex(real(p), -hole)
		}
	case shop.Swing:
		joint := complex(stick+float64(h.Arm.JointBehindFace), -float64(h.Arm.JointBelowAxis))
		p = joint + complex(float64(h.Arm.Leg), 0)*turned(-float64(s.Leg.Value))
	case shop.Butted:
		p = complex(stick, -float64(h.Below))
		if side == setup.SecondSide {
			p = cmplx.Conj(p)
		}
	default:
		p = complex(float64(h.Behind), -float64(h.Below))
		if side == setup.SecondSide {
			p = cmplx.Conj(p)
		}
	}
	if sigma := tool.EdgeToSide; sigma.Known { // square to the edge
		sin := math.Sin(float64(sigma.Value))
		if h.Kind == shop.Clamp && !h.Yawed {
			p -= complex(stick*(1-sin), 0)
		} else {
			p = complex(real(p)*sin, imag(p))
		}
	}
	return p
}

// measure reads a datum off a support whose centre stands at a place, as a person with a rule would.
func (s scene) measure(d shop.Datum, support shop.Support, centre complex128) float64 {
	toWheel := -centre / complex(cmplx.Abs(centre), 0)
	if s.radius == 0 {
		toWheel = -1
	}
	nearSide := centre + toWheel*complex(float64(support.Near), 0)
	farSide := centre - toWheel*complex(float64(support.Far), 0)
	switch d {
	case shop.DatumSlide:
		o := support.Slide.Value.Origin
		return real((centre - complex(float64(o.Out), float64(o.Up))) * cmplx.Conj(turned(float64(support.Slide.Value.Direction))))
	case shop.DatumWheelGap:
		return s.clearance(nearSide)
	case shop.DatumWheelGapFar:
		return s.clearance(farSide)
	case shop.DatumPivotToAxle:
		return cmplx.Abs(centre)
	case shop.DatumFaceDistance:
		return real(centre) - float64(support.Near) - s.radius
	case shop.DatumHeight:
		return imag(centre) + float64(support.Top) - float64(support.Reference.Value)
	}
	return math.NaN()
}
