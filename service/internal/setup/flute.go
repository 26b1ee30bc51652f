package setup

import (
	"errors"
	"math"
	"strings"

	"arris.example/geometry/flute"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
	"arris.example/service/internal/words"
)

// FluteMeasures is what was measured of one flute.
type FluteMeasures struct {
	Shape      shop.FluteShape // AnyFlute: all are tried
	Mouth      shop.Maybe[FluteMouth]
	Pins       []FlutePin
	Points     []FlutePoint
	Doubt      shop.LengthDoubt // of mouth and pins
	PointDoubt shop.LengthDoubt
	ScaleDoubt float64 // of the points, a share
	TurnDoubt  unit.Angle
	Language   string // of texts
	Unit       LengthUnit
}

// FluteMouth is a width up the walls and how deep the floor lies under the line across there.
type FluteMouth struct{ Width, Depth unit.Length }

// FlutePin is a pin laid along the flute, and how far its lowest point stays above the floor.
type FlutePin struct{ Diameter, AboveFloor unit.Length }

// FlutePoint is a point of a squared end's photograph.
type FlutePoint struct{ Side, Up unit.Length }

// FittedFlutes are the shapes tried, the best first.
type FittedFlutes struct {
	Fits     []FluteFit
	Cautions []Caution
	Text     string
}

// FluteFit is one shape fitted. Of one that the measurements do not allow only its shape and the text count.
type FluteFit struct {
	Flute     shop.Flute
	Allowed   bool
	WallDoubt shop.AngleDoubt
	Residual  float64 // root mean square, in standard uncertainties
	Fits      bool
	LeftOver  int
	Text      string
}

// usualPointDoubt is how far off a point marked on a photograph may be; common practice, at about ten picture elements a millimetre.
const usualPointDoubt unit.Length = 0.2

var (
	engineShapes = map[shop.FluteShape]flute.Shape{shop.ParabolaFlute: flute.ShapeParabola, shop.RoundFlute: flute.ShapeRound, shop.VeeFlute: flute.ShapeVee}
	shapesOf     = map[flute.Shape]shop.FluteShape{flute.ShapeParabola: shop.ParabolaFlute, flute.ShapeRound: shop.RoundFlute, flute.ShapeVee: shop.VeeFlute}
	shapeWords   = map[shop.FluteShape]words.Text{
		shop.ParabolaFlute: "a parabola of radius %s ±%s", shop.RoundFlute: "a round flute of radius %s ±%s", shop.VeeFlute: "a vee of radius %s ±%s",
	}
	impossibleWords = map[shop.FluteShape]words.Text{
		shop.ParabolaFlute: "a parabola is not possible", shop.RoundFlute: "a round flute is not possible", shop.VeeFlute: "a vee is not possible",
	}
)

// FitFlute finds the flutes that come nearest to what was measured.
func FitFlute(m FluteMeasures) (FittedFlutes, error) {
	in, err := SpeechIn(m.Language, m.Unit)
	if err != nil {
		return FittedFlutes{}, err
	}
	if !m.Mouth.Known && len(m.Pins) == 0 && len(m.Points) == 0 {
		return FittedFlutes{}, fault.Field("mouth", fault.Missing, "nothing was measured: say the mouth's width and depth, pins that touch both walls, or points of a squared end")
	}
	var shapes []flute.Shape
	if m.Shape != shop.AnyFlute {
		shapes = []flute.Shape{engineShapes[m.Shape]}
	}
	fits, err := flute.FitShapes(m.engine(), shapes...)
	if err != nil {
		return FittedFlutes{}, refuseMeasures(err)
	}
	if fits[0].Err != nil {
		return FittedFlutes{}, refuseMeasures(fits[0].Err)
	}
	out := FittedFlutes{}
	for _, f := range fits {
		out.Fits = append(out.Fits, fluteFit(in, f))
	}
	for _, open := range flute.Tells(fits) {
		c := untold[open]
		out.Cautions = append(out.Cautions, Caution{Code: c.code, Severity: Warning, Text: in.Say(c.text)})
	}
	best := out.Fits[0]
	out.Text = words.Upper(best.Text) + "."
	return out, nil
}

// untold are the words for what measurements leave open.
var untold = map[flute.Untold]struct {
	code string
	text words.Text
}{
	flute.UntoldTest:  {"NOTHING_TESTS_THE_SHAPE", "As many measurements as unknowns: nothing is left to test any shape with. Measure another pin, or points up the walls."},
	flute.UntoldShape: {"SHAPE_OPEN", "More than one shape agrees with the measurements. A pin of another thickness, or points further up the walls, would tell them apart."},
	flute.UntoldMatch: {"NO_SHAPE_FITS", "No shape agrees with the measurements within their doubt: one of them is wrong, a doubt is too small, or the flute has another shape."},
}

// engine is the measurements as the engine takes them.
func (m FluteMeasures) engine() flute.Measurements {
	doubt := math.Max(float64(m.Doubt.Or(ByCalliper)), flute.LeastDoubt)
	var out flute.Measurements
	if m.Mouth.Known {
		out.Mouth = flute.Mouth{Width: float64(m.Mouth.Value.Width), Depth: float64(m.Mouth.Value.Depth), WidthDoubt: doubt, DepthDoubt: doubt}
	}
	for _, p := range m.Pins {
		out.Pins = append(out.Pins, flute.Pin{Diameter: float64(p.Diameter), Height: float64(p.AboveFloor), HeightDoubt: doubt})
	}
	if len(m.Points) == 0 {
		return out
	}
	out.Photograph = flute.Photograph{
		Scale: 1, ScaleDoubt: m.ScaleDoubt, PointDoubt: math.Max(float64(m.PointDoubt.Or(usualPointDoubt)), flute.LeastDoubt), TurnDoubt: float64(m.TurnDoubt),
	}
	for _, p := range m.Points {
		out.Photograph.Points = append(out.Photograph.Points, flute.Point{Side: float64(p.Side), Up: float64(p.Up)})
	}
	return out
}

func fluteFit(in Speech, f flute.Fit) FluteFit {
	shape := shapesOf[f.Shape]
	out := FluteFit{Flute: shop.Flute{Shape: shape}, LeftOver: f.Left}
	if f.Err != nil {
		out.Text = in.Say(impossibleWords[shape])
		if in.Code() == "en" { // why is told in refusals, which are in English
			out.Text += ": " + f.Err.Error()
		}
		return out
	}
	out.Allowed, out.Fits = true, f.Within
	out.Flute.Radius, out.Flute.Doubt = unit.Length(f.Radius.Value), shop.Some(unit.Length(2*f.Radius.Standard))
	out.Text = in.Say(shapeWords[shape], in.Length(out.Flute.Radius, 2), in.Length(out.Flute.Doubt.Value, 2))
	if shape == shop.VeeFlute {
		out.Flute.Wall, out.WallDoubt = unit.Angle(f.Wall.Value), shop.Some(unit.Angle(2*f.Wall.Standard))
		out.Text += in.Say(", walls that rise at %s ±%s", in.Degrees(out.Flute.Wall), in.Degrees(out.WallDoubt.Value))
	}
	if len(f.Residuals) > 0 {
		sum := 0.0
		for _, r := range f.Residuals {
			sum += r * r
		}
		out.Residual = math.Sqrt(sum / float64(len(f.Residuals)))
	}
	switch {
	case !f.Within:
		out.Text += in.Say("; the measurements are further off it than their doubt explains")
	case f.Left > 0:
		out.Text += in.Say("; the measurements agree with it")
	}
	return out
}

// refuseMeasures is the refusal of measurements that no flute has.
func refuseMeasures(err error) error {
	var measure *flute.MeasureError
	if !errors.As(err, &measure) {
		return refuseSize(err)
	}
	n := refuse(FluteContradicts, measureField(measure), "%v", measure).contradicts()
	switch measure.Kind {
	case flute.OutOfRange:
		n = n.length(unit.Length(measure.Value)).least(measure.Least).most(measure.Most)
	case flute.TooDeep:
		n = n.length(unit.Length(measure.Value)).most(measure.Most)
	}
	return n.err()
}

// measureField is the field of a request that an engine's refusal is about.
func measureField(e *flute.MeasureError) string {
	switch e.Kind {
	case flute.TooDeep:
		return "mouth.depth_mm"
	case flute.PinSinks, flute.PinBeyondMouth, flute.PinInU:
		return "pins"
	case flute.OutOfRange, flute.TooMany:
		return strings.TrimPrefix(e.Field, "photograph.")
	case flute.OneLine, flute.UpsideDown, flute.Swapped:
		return "points"
	}
	return "mouth"
}
