package flute

import (
	"fmt"
	"math"
	"slices"
)

// Measurements is what was measured of one flute, in any combination. Every doubt is the half-width of a 95 % interval (k = 2).
type Measurements struct {
	Mouth      Mouth // zero: not measured
	Pins       []Pin
	Photograph Photograph // without points: none
}

// Mouth is the flute's width anywhere up its walls, and how deep the floor lies under the line across there: mm.
type Mouth struct {
	Width, Depth           float64
	WidthDoubt, DepthDoubt float64
}

// Pin is a pin laid along the flute so that it touches both walls: mm.
type Pin struct {
	Diameter    float64
	Height      float64 // of the pin's lowest point over the flute's floor
	HeightDoubt float64
}

// Photograph is points marked along the flute on a photograph of a squared end, from the wall at −side to the one at +side.
type Photograph struct {
	Points     []Point // in the photograph's unit, up growing out of the flute, from any origin
	Scale      float64 // mm per unit
	ScaleDoubt float64 // as a part of the scale; 0: none
	PointDoubt float64 // mm, how far a point may lie off the flute
	TurnDoubt  float64 // radians, how far the photograph may be turned from upright; 0: 10°
}

// Bounds of what is taken.
const (
	MostPoints = 500
	MostPins   = 20
	LeastDoubt = 1e-5 // mm
	mostTurn   = math.Pi / 6
)

// usualTurn is how far a photograph may be turned where nobody said: common practice, by eye.
const usualTurn = 10 * math.Pi / 180

// MeasureKind is what is wrong with measurements.
type MeasureKind int

// What can be wrong.
const (
	OutOfRange     MeasureKind = iota // Field is not finite or outside Least to Most
	TooFew                            // there are Have data, and Need
	TooMany                           // there are Have of Field, and no more than Need are taken
	OneLine                           // the points lie on a line within their doubt
	UpsideDown                        // the points open downwards
	Swapped                           // the points run from +side to −side
	TooDeep                           // the mouth is deeper than a flute of that width: Value, Most
	PinSinks                          // pin At is thicker than pin With and lies lower
	PinBeyondMouth                    // pin At overlaps the mouth's corners
	PinInU                            // a U has upright walls and holds no pin over its floor: pin At
	Undetermined                      // the data leave Field open
)

// MeasureError tells why measurements are refused, for all shapes or, in a [Fit], for one. Pins and points are counted from 0. Kind says
// which of the other fields are set.
type MeasureError struct {
	Kind               MeasureKind
	Field              string // as "mouth.width", "pins[1].diameter", "photograph.points[3].side"
	At, With           int
	Have, Need         int
	Value, Least, Most float64
}

func (e *MeasureError) Error() string {
	switch e.Kind {
	case OutOfRange:
		return fmt.Sprintf("%s is %.4g; it must be from %.4g to %.4g", e.Field, e.Value, e.Least, e.Most)
	case TooFew:
		return fmt.Sprintf("%d measurements for %d unknowns: measure another pin, the mouth, or more points", e.Have, e.Need)
	case TooMany:
		return fmt.Sprintf("%d of %s; up to %d are taken: leave out every other one", e.Have, e.Field, e.Need)
	case OneLine:
		return "the points lie on one line within their doubt, or beside fewer than three places: mark more of the walls"
	case UpsideDown:
		return "the points open downwards: up must grow out of the flute, and a picture's rows are often counted downwards"
	case Swapped:
		return "the points run from the +side wall to the −side wall: left and right are swapped, or the list has to be turned round"
	case TooDeep:
		return fmt.Sprintf("the mouth is %.4g mm deep, which at its width can be %.4g mm at most: measure again, or swap width and depth",
			e.Value, e.Most)
	case PinSinks:
		return fmt.Sprintf("pin %d is not thinner than pin %d and lies lower: measure both again", e.At+1, e.With+1)
	case PinBeyondMouth:
		return fmt.Sprintf("pin %d would overlap the corners of the mouth, so it cannot lie on the walls: take a thinner one", e.At+1)
	case PinInU:
		return fmt.Sprintf("pin %d lies over the floor, which no pin does between upright walls: the flute is no U", e.At+1)
	}
	return fmt.Sprintf("the measurements do not tell %s: measure the mouth, a pin that does not rest on the floor, or points further up", e.Field)
}

// checkPoints refuses too few points, too many, one that is not finite or absurdly far, or all at one place.
func checkPoints(points []Point, need int) error {
	if len(points) < need {
		return &MeasureError{Kind: TooFew, Have: len(points), Need: need}
	}
	if len(points) > MostPoints {
		return &MeasureError{Kind: TooMany, Field: "points", Have: len(points), Need: MostPoints}
	}
	for i, p := range points {
		for _, c := range []struct {
			name  string
			value float64
		}{{"side", p.Side}, {"up", p.Up}} {
			if err := taken(fmt.Sprintf("points[%d].%s", i, c.name), c.value, -mostCoordinate, mostCoordinate); err != nil {
				return err
			}
		}
	}
	if _, size := spread(points); !(size > 0) {
		return &MeasureError{Kind: OneLine}
	}
	return nil
}

// mostCoordinate bounds points in a unit that is not known.
const mostCoordinate = 1e9

func taken(field string, value, least, most float64) error {
	if value >= least && value <= most {
		return nil
	}
	return &MeasureError{Kind: OutOfRange, Field: field, Value: value, Least: least, Most: most}
}

// check refuses measurements that no flute of any shape can have.
func (m Measurements) check() error {
	if m.Mouth != (Mouth{}) {
		if err := m.Mouth.check(); err != nil {
			return err
		}
	}
	if err := m.checkPins(); err != nil {
		return err
	}
	if m.Photograph.Points == nil {
		return nil
	}
	return m.Photograph.check()
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// mostDeep is how many times deeper than wide a mouth may be: common practice leaves steel between the walls, and a ratio beyond it is a
// slip of the pen.
const mostDeep = 4

func (m Mouth) check() error {
	err := firstOf(
		taken("mouth.width", m.Width, LeastSize, MostSize), taken("mouth.depth", m.Depth, LeastSize, MostSize),
		taken("mouth.width_doubt", m.WidthDoubt, LeastDoubt, m.Width), taken("mouth.depth_doubt", m.DepthDoubt, LeastDoubt, m.Depth),
	)
	if err == nil && m.Depth > mostDeep*m.Width {
		err = &MeasureError{Kind: TooDeep, Value: m.Depth, Most: mostDeep * m.Width}
	}
	return err
}

func (m Measurements) checkPins() error {
	if len(m.Pins) > MostPins {
		return &MeasureError{Kind: TooMany, Field: "pins", Have: len(m.Pins), Need: MostPins}
	}
	for i, p := range m.Pins {
		name := func(of string) string { return fmt.Sprintf("pins[%d].%s", i, of) }
		err := firstOf(
			taken(name("diameter"), p.Diameter, LeastSize, MostSize), taken(name("height"), p.Height, 0, MostSize),
			taken(name("height_doubt"), p.HeightDoubt, LeastDoubt, MostSize),
		)
		if err == nil && m.Mouth.overlaps(p) {
			err = &MeasureError{Kind: PinBeyondMouth, At: i}
		}
		if err != nil {
			return err
		}
	}
	return m.checkOrder()
}

// overlaps tells whether a corner of the mouth lies within a pin, beyond what their doubts allow.
func (m Mouth) overlaps(p Pin) bool {
	if m == (Mouth{}) {
		return false
	}
	r := p.Diameter / 2
	slack := math.Sqrt(m.WidthDoubt*m.WidthDoubt/4 + m.DepthDoubt*m.DepthDoubt + p.HeightDoubt*p.HeightDoubt)
	return math.Hypot(m.Width/2, p.Height+r-m.Depth) < r-slack
}

// checkOrder holds that the thicker of two pins lies no lower, which is so in every flute.
func (m Measurements) checkOrder() error {
	for i, a := range m.Pins {
		for j, b := range m.Pins {
			if a.Diameter >= b.Diameter && a.Height < b.Height-math.Hypot(a.HeightDoubt, b.HeightDoubt) {
				return &MeasureError{Kind: PinSinks, At: i, With: j}
			}
		}
	}
	return nil
}

func (p Photograph) check() error {
	err := firstOf(
		checkPoints(p.Points, 3),
		taken("photograph.scale", p.Scale, 1e-6, 1e6), taken("photograph.scale_doubt", p.ScaleDoubt, 0, 0.5),
		taken("photograph.point_doubt", p.PointDoubt, LeastDoubt, MostSize),
		taken("photograph.turn_doubt", p.TurnDoubt, 0, mostTurn),
	)
	if err != nil {
		return err
	}
	points := p.millimetres()
	_, size := spread(points)
	if err := taken("photograph's size, mm", 2*size, LeastSize, MostSize); err != nil {
		return err
	}
	if offLine(points) <= chiSquare95(len(points)-2)*p.PointDoubt*p.PointDoubt/4 {
		return &MeasureError{Kind: OneLine}
	}
	upright, err := UprightParabola(points)
	if err != nil {
		return err
	}
	if upright.Curvature.Value < 0 {
		return &MeasureError{Kind: UpsideDown}
	}
	if points[0].Side >= points[len(points)-1].Side {
		return &MeasureError{Kind: Swapped}
	}
	return nil
}

// millimetres are the points, about their middle.
func (p Photograph) millimetres() []Point {
	middle, _ := spread(p.Points)
	points := slices.Clone(p.Points)
	for i := range points {
		points[i].Side = (points[i].Side - middle.Side) * p.Scale
		points[i].Up = (points[i].Up - middle.Up) * p.Scale
	}
	return points
}

// offLine is the sum of squares of the distances from the best line, of points about their middle: the smaller eigenvalue of their moments.
func offLine(points []Point) float64 {
	var xx, xy, yy float64
	for _, p := range points {
		xx, xy, yy = xx+p.Side*p.Side, xy+p.Side*p.Up, yy+p.Up*p.Up
	}
	return max(0, 2*(xx*yy-xy*xy)/(xx+yy+math.Hypot(xx-yy, 2*xy)))
}
