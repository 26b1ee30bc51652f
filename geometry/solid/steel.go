package solid

import (
	"fmt"
	"math"

	"arris.example/geometry/swung"
)

// Steel is what lies between two grinds of one tool: the edge after has to lie behind the edge before, by whatever was ground off.
type Steel struct {
	Removed    float64 // mm³
	Nose       float64 // how far the nose moves back along the tool, mm
	Left       float64 // how far the wing's end to −side does
	Right      float64 // and the one to +side
	Resolution float64 // mm³: how far a mesh a quarter as fine was off
}

// Mass in grams, of steel of a density in g/cm³. M2 high-speed steel has 8.16 (published by its makers); others 7.8 to 8.7.
func (s Steel) Mass(density float64) float64 { return s.Removed * density / 1000 }

// MismatchError tells that two grinds are not of one tool.
type MismatchError struct{ What string }

func (e *MismatchError) Error() string {
	return fmt.Sprintf("the two grinds differ in the %s, so nothing can be said of the steel between them", e.What)
}

// Between is the steel that goes when a tool ground one way is ground another, its nose set back a length along the tool. Volumes come from
// meshes of so many triangles. A tool that does not build is that one's error; another bar or flute a [*MismatchError].
func Between(before, after Tool, back float64, triangles int) (Steel, error) {
	switch {
	case before.Bar != after.Bar:
		return Steel{}, &MismatchError{"bar"}
	case before.Edge.Section != after.Edge.Section:
		return Steel{}, &MismatchError{"flute"}
	}
	after.Behind = before.Behind - back // both are cut at one place of the bar
	fine, err := volumes(before, after, triangles)
	if err != nil {
		return Steel{}, err
	}
	coarse, err := volumes(before, after, max(LeastTriangles, triangles/4))
	if err != nil {
		return Steel{}, err
	}
	at := func(along float64) float64 { // both at the shorter wing's end
		return back + after.Edge.At(along).At.Back - before.Edge.At(along).At.Back
	}
	return Steel{
		Removed: fine, Nose: back, Resolution: math.Abs(fine - coarse),
		Left:  at(-min(before.Edge.Left, after.Edge.Left)),
		Right: at(min(before.Edge.Right, after.Edge.Right)),
	}, nil
}

func volumes(before, after Tool, triangles int) (float64, error) {
	b, err := Build(before, triangles)
	if err != nil {
		return 0, err
	}
	a, err := Build(after, triangles)
	if err != nil {
		return 0, err
	}
	return b.Volume() - a.Volume(), nil
}

// Sharpenings is how often a tool can be sharpened whose whole edge goes back by what is ground off square to its bevel, before a usable
// length of flute is gone. Where the bevel lies flattest against the axis the edge goes back most, by depth/sin of its angle to the axis;
// the shape is kept, so all of the edge goes as far. False where a bevel does not face the nose, or a length is not above 0.
func Sharpenings(faces []swung.Face, depth, usable float64) (count int, perTime float64, ok bool) {
	for _, f := range faces {
		sin := math.Sin(f.ToAxis())
		if !(sin > 0) {
			return 0, 0, false
		}
		perTime = max(perTime, depth/sin)
	}
	if !(perTime > 0 && usable > 0 && usable/perTime < math.MaxInt32) {
		return 0, 0, false
	}
	return int(usable/perTime + 1e-9), perTime, true // 3.9999999999 are 4
}
