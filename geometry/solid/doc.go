// Package solid is the finished end of a tool as a body: flute, bar, every ground face, and a square cut some way behind. It is exact where
// it can be: a ground face is made of the wheel's arcs, a flute and a bar of straight rulings along the tool, so a mesh's corners lie on the
// surfaces themselves and its creases on the edge, the lands' ends, the heel and the bar's own corners.
//
// Pure functions of values. Lengths are millimetres, in the tool frame of package space.
package solid
