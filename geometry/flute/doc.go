// Package flute knows the cross-section of a tool: the flute's floor and walls, the bar it was milled from, and how to find a flute from what
// can be measured on it.
//
// Everything lies in the plane square to the tool's axis, in the tool frame: side across, up out of the flute, the flute's floor at the
// origin. Lengths are plain millimetres and angles radians, because a whole edge is walked through this package. The flute is symmetrical
// about the plane side = 0.
package flute
