package setup

import (
	"math"
	"strconv"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// EdgeSteel is what an edge costs in steel, and how long the tool lasts.
type EdgeSteel struct {
	Removed                       shop.Maybe[float64] // mm³
	Mass                          shop.Maybe[float64] // g
	NoseBack, LeftBack, RightBack unit.Length         // behind the bar's square end
	Sharpenings                   shop.Maybe[int]
	Text                          string
}

// steelOf is what grinding the edge on a square bar takes away, and how many sharpenings the free blade has left. Every sharpening takes
// the same length off nose and wings, so the blade behind the wings' ends is what is used up.
func (x *search) steelOf(e WholeEdge, sharpening unit.Length) *EdgeSteel {
	if sharpening == 0 {
		sharpening = usualSharpening
	}
	back := func(p EdgePlace) float64 { return p.Point.At.Back }
	left, right, foremost := back(e.Places[0]), back(e.Places[len(e.Places)-1]), 0.0
	for _, p := range e.Places {
		foremost = math.Min(foremost, back(p))
	}
	s := &EdgeSteel{NoseBack: unit.Length(-foremost), LeftBack: unit.Length(left - foremost), RightBack: unit.Length(right - foremost)}
	s.Text = x.say("Behind the foremost place of the edge lie the nose by %s and the wings' ends by %s and %s", x.length(s.NoseBack), x.length(s.LeftBack), x.length(s.RightBack))
	if blade := x.tool.FreeBlade; blade.Known {
		left := blade.Value - x.tool.SmallestGrip.Value - max(s.LeftBack, s.RightBack)
		s.Sharpenings = shop.Some(max(0, int(math.Floor(float64(left/sharpening)+1e-9))))
		s.Text += x.in.Count(s.Sharpenings.Value, "; at %s a time the blade that is free of its grip lasts %s sharpening of the whole edge",
			"; at %s a time the blade that is free of its grip lasts %s sharpenings of the whole edge", x.length(sharpening), strconv.Itoa(s.Sharpenings.Value))
	}
	s.Text += "."
	return s
}
