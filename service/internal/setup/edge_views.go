package setup

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/figure"
)

// EdgePlot is angles along the edge, to be drawn by whoever shows it. Shares of the wings go from −1 to 1.
type EdgePlot struct {
	Title       string
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
	e.Plan, e.End = x.planView(*e, t), x.endView(*e, t)
	e.Plot = plotOf(*e)
}

// planView looks down on the flute: side to the right, back up.
func (x *search) planView(e WholeEdge, t shaped) *figure.Figure {
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
			figure.Item{Part: "setback", Role: figure.RoleDimension, Shape: figure.Dimension{From: geometry.Point{Out: corner.Out}, To: corner, Offset: -back / 4, Text: "setback " + x.length(back)}})
	}
	items = append(items, figure.Item{Part: "width", Role: figure.RoleDimension,
		Shape: figure.Dimension{From: geometry.Point{Out: left.Out, Up: max(left.Up, right.Up)}, To: geometry.Point{Out: right.Out, Up: max(left.Up, right.Up)}, Offset: right.Out / 4, Text: "width " + x.length(right.Out-left.Out)}})
	return boxed(items, "The edge seen from above: "+t.words()+". "+e.Summary.Text)
}

// endView looks along the tool from its nose: side to the right, up up.
func (x *search) endView(e WholeEdge, t shaped) *figure.Figure {
	at := func(p EdgePlace) geometry.Point {
		return geometry.Point{Out: unit.Length(p.Point.At.Side), Up: unit.Length(p.Point.At.Up)}
	}
	var items []figure.Item
	if t.bar.Known {
		items = append(items, figure.Item{Part: "bar", Role: figure.RoleSteel, Shape: x.outline(t)})
	}
	return boxed(append(items, edgeLines(e, at)...), "The tool's end: its flute and where the edge lies on it.")
}

// outline is the steel's section: along the flute from rim to rim and back around the bar.
func (x *search) outline(t shaped) figure.Path {
	const pieces = 48
	bar := t.bar.Value
	rim, _ := bar.Rim(t.section)
	path := figure.Path{Closed: true}
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
func edgeLines(e WholeEdge, at func(EdgePlace) geometry.Point) (items []figure.Item) {
	for i := 0; i < len(e.Places); {
		reached := e.Places[i].Reached
		path := figure.Path{}
		if i > 0 {
			path.Points = append(path.Points, at(e.Places[i-1]))
		}
		for ; i < len(e.Places) && e.Places[i].Reached == reached; i++ {
			path.Points = append(path.Points, at(e.Places[i]))
		}
		item := figure.Item{Part: "edge", Role: figure.RoleSteel, Shape: path}
		if !reached {
			item.Part, item.Role = "unreached", figure.RoleConstruction
		}
		items = append(items, item)
	}
	return items
}

// boxed is a figure with the box around its points.
func boxed(items []figure.Item, description string) *figure.Figure {
	f := &figure.Figure{Items: items, Description: description}
	first := true
	include := func(p geometry.Point) {
		if first {
			f.Least, f.Most, first = p, p, false
		}
		f.Least = geometry.Point{Out: min(f.Least.Out, p.Out), Up: min(f.Least.Up, p.Up)}
		f.Most = geometry.Point{Out: max(f.Most.Out, p.Out), Up: max(f.Most.Up, p.Up)}
	}
	for _, item := range items {
		switch shape := item.Shape.(type) {
		case figure.Path:
			for _, p := range shape.Points {
				include(p)
			}
		case figure.Dimension:
			from, to := shape.Line()
			for _, p := range []geometry.Point{shape.From, shape.To, from, to} {
				include(p)
			}
		}
	}
	return f
}

// plotOf is the wedge angle along the edge, with the bevel's angle to the axis beside it, on a scale of whole tens of degrees.
func plotOf(e WholeEdge) *EdgePlot {
	wedge, axis := EdgeSeries{Label: "wedge angle"}, EdgeSeries{Label: "bevel to the tool's axis"}
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
		Title: fmt.Sprintf("Wedge angle along the edge. %s", e.Summary.Text), Series: []EdgeSeries{wedge, axis},
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
