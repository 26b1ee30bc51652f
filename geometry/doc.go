// Package geometry is the calculation engine: what a wheel grinds on a tool that something holds.
//
// Everything here is a pure function of its arguments. Lengths are [unit.Length] (millimetres), angles [unit.Angle] (radians
// inside). A wheel enters by its curvature k = 1/R, so that a flat abrasive (k = 0) is no special case.
//
// Two frames are used.
//
// The wheel frame is the side view, the plane square to the axle: origin on the axle, out horizontally towards the operator,
// up vertically. For a flat abrasive the origin lies on its face and out is square to the face.
//
// The tool frame has its origin at the nose of the edge: back along the tool's axis towards the handle, up out of the flute,
// side completing a right-handed frame. A bevel of angle β runs from the edge along (back cos β, up −sin β).
//
// The edge angle is the angle between the tool's reference line (flute floor, upper face, mid-plane) and the wheel's tangent at
// the edge; where the edge is square to the tool it is the normal wedge angle of ISO 3002-1. The bevel reading is the angle of
// the bevel's chord, which is what a protractor laid on a hollow bevel shows. They are never mixed.
package geometry
