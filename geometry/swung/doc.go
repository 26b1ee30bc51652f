// Package swung is the whole edge of a tool that swings on a pivot: what a setting grinds along a gouge's wings, or along a curved
// scraper's or skew's edge.
//
// The pivot turns freely, so the machine fixes only its distance from the wheel. At an edge point E with the edge's direction t, the
// ground face's normal n (out of the steel, towards the axle) is where three conditions meet: it has length 1, it is square to the edge,
// and it leans by κ against the line from pivot to E:
//
//	n·t = 0    n·q = sin κ = (g + k(g² − ρ² + c²)/2)/ρ
//
// with q the direction from the pivot to E, ρ their distance, g the pivot's gap from the wheel, k the wheel's curvature and c how far
// the contact lies from the pivot's plane along the axle. The second is the law of cosines on axle, pivot and contact. The nose is the
// point whose edge runs sideways: there it is the planar relation of package geometry.
//
// An [Edge] is a flute's section with a [Plan] laid on it. A [Setting] at an [Edge]'s [Point] gives a [Face]; the face is an arc of the
// wheel, and [Setting.Stance] is where tool and wheel then stand. Everything here is a pure function of values; lengths are millimetres
// and angles radians.
package swung
