package setup

import (
	"cmp"
	"math"
	"slices"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
)

// EdgePlot is angles along the edge, to be drawn by whoever shows it. Shares of the wings go from −1 to 1.
type EdgePlot struct {
	Title       string
	AlongLabel  string
	AngleLabel  string
	Least, Most unit.Angle
	Series      []EdgeSeries
	Ticks       []unit.Angle
}

// EdgeSeries is one line of a plot; nil where the edge is not reached.
type EdgeSeries struct {
	Label  string
	Angles []*unit.Angle // by place
}

// drawEdge draws the plan view, the end view and the wedge plot.
func (x *search) drawEdge(e *WholeEdge, t shaped) {
	e.Plan, e.End = x.planView(*e), x.endView(*e, t)
	e.Plot = x.plotOf(*e)
}

// planView looks down on the flute: side to the right, back up.
func (x *search) planView(e WholeEdge) *drawing.Figure {
	at := func(p EdgePlace) geometry.Point {
		return geometry.Point{Out: unit.Length(p.Point.At.Side), Up: unit.Length(p.Point.At.Back)}
	}
	left, right := at(e.Places[0]), at(e.Places[len(e.Places)-1])
	items := edgeLines(e, at)
	if back := max(left.Up, right.Up); back > 0 {
		corner := right
		if left.Up > right.Up {
			corner = left
		}
		items = append(items,
			drawing.Item{Part: "setback", Role: drawing.RoleDimension, Shape: drawing.Dimension{From: geometry.Point{Out: corner.Out}, To: corner, Offset: -back / 4, Text: x.say("setback %s", x.length(back))}})
	}
	items = append(items, drawing.Item{Part: "width", Role: drawing.RoleDimension,
		Shape: drawing.Dimension{From: geometry.Point{Out: left.Out, Up: max(left.Up, right.Up)}, To: geometry.Point{Out: right.Out, Up: max(left.Up, right.Up)}, Offset: right.Out / 4, Text: x.say("width %s", x.length(right.Out-left.Out))}})
	return drawing.Boxed(items, x.say("The edge seen from above: %s.", e.Text)+" "+e.Summary.Text)
}

// endView looks along the tool from its nose: side to the right, up up.
func (x *search) endView(e WholeEdge, t shaped) *drawing.Figure {
	at := func(p EdgePlace) geometry.Point {
		return geometry.Point{Out: unit.Length(p.Point.At.Side), Up: unit.Length(p.Point.At.Up)}
	}
	var items []drawing.Item
	if t.bar.Known {
		items = append(items, drawing.Item{Part: "bar", Role: drawing.RoleSteel, Shape: x.outline(t)})
	}
	return drawing.Boxed(append(items, edgeLines(e, at)...), x.say("The tool's end: its flute and where the edge lies on it."))
}

// outline is the steel's section: along the flute from rim to rim and back around the bar.
func (x *search) outline(t shaped) drawing.Path {
	const pieces = 48
	bar := t.bar.Value
	rim, _ := bar.Rim(t.section)
	path := drawing.Path{Closed: true}
	for i := -pieces; i <= pieces; i++ {
		p := t.section.At(rim * float64(i) / pieces)
		path.Points = append(path.Points, geometry.Point{Out: unit.Length(p.Side), Up: unit.Length(p.Up)})
	}
	mouth := t.section.At(rim)
	around := bar.AroundAt(mouth.Side, mouth.Up)
	places := []float64{}
	for i := pieces; i >= -pieces; i-- {
		places = append(places, around*float64(i)/pieces)
	}
	for _, corner := range bar.Corners() {
		if math.Abs(corner) < around {
			places = append(places, corner)
		}
	}
	for _, a := range descending(places) {
		spot := bar.Outline(a)
		path.Points = append(path.Points, geometry.Point{Out: unit.Length(spot.Side), Up: unit.Length(spot.Up)})
	}
	return path
}

// edgeLines draw the edge: reached stretches as steel, the others as construction lines, parted where one ends.
func edgeLines(e WholeEdge, at func(EdgePlace) geometry.Point) (items []drawing.Item) {
	for i := 0; i < len(e.Places); {
		reached := e.Places[i].Reached
		path := drawing.Path{}
		if i > 0 {
			path.Points = append(path.Points, at(e.Places[i-1]))
		}
		for ; i < len(e.Places) && e.Places[i].Reached == reached; i++ {
			path.Points = append(path.Points, at(e.Places[i]))
		}
		item := drawing.Item{Part: "edge", Role: drawing.RoleSteel, Shape: path}
		if !reached {
			item.Part, item.Role = "unreached", drawing.RoleConstruction
		}
		items = append(items, item)
	}
	return items
}

// plotOf is the wedge angle along the edge, with the bevel's angle to the axis beside it, on a scale of whole tens of degrees.
func (x *search) plotOf(e WholeEdge) *EdgePlot {
	wedge, axis := EdgeSeries{Label: x.say("wedge angle")}, EdgeSeries{Label: x.say("bevel to the tool's axis")}
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range e.Places {
		if !p.Reached {
			wedge.Angles, axis.Angles = append(wedge.Angles, nil), append(axis.Angles, nil)
			continue
		}
		wedge.Angles, axis.Angles = append(wedge.Angles, &p.Wedge), append(axis.Angles, &p.Axis)
		low, high = min(low, p.Wedge.Degrees(), p.Axis.Degrees()), max(high, p.Wedge.Degrees(), p.Axis.Degrees())
	}
	if low > high {
		low, high = 0, 90
	}
	const tick = 10
	low, high = tick*math.Floor(low/tick), tick*math.Ceil(high/tick)
	plot := &EdgePlot{
		Title: x.say("Wedge angle along the edge.") + " " + e.Summary.Text, Series: []EdgeSeries{wedge, axis},
		AlongLabel: x.say("share of the wing in %, +side positive"), AngleLabel: x.say("angle in degrees"),
		Least: unit.Degrees(low), Most: unit.Degrees(max(high, low+tick)),
	}
	for d := low; d <= plot.Most.Degrees(); d += tick {
		plot.Ticks = append(plot.Ticks, unit.Degrees(d))
	}
	return plot
}

// descending is a list from its largest to its smallest.
func descending(list []float64) []float64 {
	slices.SortFunc(list, func(a, b float64) int { return cmp.Compare(b, a) })
	return list
}
