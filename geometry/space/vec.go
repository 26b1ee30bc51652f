// Package space has vectors in the tool frame: back along the tool's axis towards the handle, up out of the flute, side completing a
// right-handed frame, from the nose of the edge. Lengths are millimetres.
package space

import "math"

// Vec is a vector, or a point by its vector from the nose.
type Vec struct{ Back, Up, Side float64 }

// Dir is a vector of length 1. What says Dir relies on it.
type Dir = Vec

// The frame's directions.
var (
	Back = Dir{Back: 1}
	Up   = Dir{Up: 1}
	Side = Dir{Side: 1}
)

// Plus is a + b.
func (a Vec) Plus(b Vec) Vec { return Vec{a.Back + b.Back, a.Up + b.Up, a.Side + b.Side} }

// Minus is a − b.
func (a Vec) Minus(b Vec) Vec { return Vec{a.Back - b.Back, a.Up - b.Up, a.Side - b.Side} }

// Times is f·a.
func (a Vec) Times(f float64) Vec { return Vec{a.Back * f, a.Up * f, a.Side * f} }

// Dot is the scalar product.
func (a Vec) Dot(b Vec) float64 { return a.Back*b.Back + a.Up*b.Up + a.Side*b.Side }

// Cross is the vector product.
func (a Vec) Cross(b Vec) Vec {
	return Vec{a.Up*b.Side - a.Side*b.Up, a.Side*b.Back - a.Back*b.Side, a.Back*b.Up - a.Up*b.Back}
}

// Length is |a|.
func (a Vec) Length() float64 { return math.Sqrt(a.Dot(a)) }

// Dir is the direction of a vector that is not 0.
func (a Vec) Dir() Dir { return a.Times(1 / a.Length()) }

// Across is the part of a that is square to a direction.
func (a Vec) Across(d Dir) Vec { return a.Minus(d.Times(a.Dot(d))) }

// AngleTo is the angle between two vectors, 0 to π, as good near 0 and π as in the middle.
func (a Vec) AngleTo(b Vec) float64 { return math.Atan2(a.Cross(b).Length(), a.Dot(b)) }

// Mirrored is the vector on the other side of the tool's plane.
func (a Vec) Mirrored() Vec { return Vec{a.Back, a.Up, -a.Side} }
