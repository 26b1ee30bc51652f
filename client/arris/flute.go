package arris

import (
	"context"
	"io"
	"strconv"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// Run fits a flute.
func (c *fluteCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	out := outcome{answerFlags{Format: c.Format}, c.Call}
	return p.calculate(out, func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.FitFlute(ctx, req)
	})
}

func (c *fluteCommand) request(stdin io.Reader) (*arrisv1.FitFluteRequest, error) {
	if c.File == "-" && c.Points == "-" {
		return nil, wrongUsage("-f - and --points - both read standard input: name a file for one of them")
	}
	req := &arrisv1.FitFluteRequest{}
	if err := (&source{File: c.File}).read(stdin, req); err != nil {
		return nil, err
	}
	c.Format.put(&req.Wording)
	if c.Shape != nil {
		req.Shape = arrisv1.FluteShape(arrisv1.FluteShape_value["FLUTE_SHAPE_"+enumWord(*c.Shape)])
	}
	if c.Mouth.mouth != nil {
		req.Mouth = c.Mouth.mouth
	}
	if len(c.Pin) > 0 {
		req.Pins = nil
		for _, p := range c.Pin {
			req.Pins = append(req.Pins, p.pin)
		}
	}
	if c.Doubt.doubt != nil {
		req.Doubt = c.Doubt.doubt
	}
	if c.PointDoubt.doubt != nil {
		req.PointDoubt = c.PointDoubt.doubt
	}
	c.TurnDoubt.over(&req.TurnDoubtDeg)
	if c.ScaleDoubt != nil {
		req.ScaleDoubtPercent = c.ScaleDoubt
	}
	if c.Points == "" {
		return req, nil
	}
	points, err := readFlute(c.Points, stdin, c.Decimal)
	req.Points = points
	return req, err
}

// fluteRow is a row of a flute's points.
type fluteRow struct{ side, up length }

var fluteFields = []field[fluteRow]{
	{names: []string{"side"}, of: lengths, into: func(p *fluteRow) any { return &p.side }},
	{names: []string{"up"}, of: lengths, into: func(p *fluteRow) any { return &p.up }},
}

// readFlute reads a flute's points from CSV.
func readFlute(name string, stdin io.Reader, decimal decimalMark) ([]*arrisv1.FlutePoint, error) {
	const both = "a point needs side and up"
	rows, err := readRows(name, stdin, decimal, fluteFields, func(r fluteRow) []trouble {
		return append(missing("side", r.side.said, both), missing("up", r.up.said, both)...)
	})
	var points []*arrisv1.FlutePoint
	for _, r := range rows {
		point := &arrisv1.FlutePoint{}
		r.side.over(&point.SideMm)
		r.up.over(&point.UpMm)
		points = append(points, point)
	}
	return points, err
}

var fluteColumns = []column[*arrisv1.FluteFit]{
	{"shape", func(f *arrisv1.FluteFit) string { return fluteWord(f.GetFlute().GetShape()) }},
	{"fits", func(f *arrisv1.FluteFit) string { return yes(f.GetFits()) }},
	{"radius_mm", func(f *arrisv1.FluteFit) string { return optional(fluteOf(f).RadiusMm) }},
	{"radius_half_width_mm", func(f *arrisv1.FluteFit) string { return optional(f.RadiusHalfWidthMm) }},
	{"wall_angle_deg", func(f *arrisv1.FluteFit) string { return optional(fluteOf(f).WallAngleDeg) }},
	{"wall_half_width_deg", func(f *arrisv1.FluteFit) string { return optional(f.WallHalfWidthDeg) }},
	{"residual_count", func(f *arrisv1.FluteFit) string { return optional(f.ResidualCount) }},
	{"left_over", func(f *arrisv1.FluteFit) string { return strconv.Itoa(int(f.GetLeftOver())) }},
	{"text", func(f *arrisv1.FluteFit) string { return harmless(f.GetText()) }},
}

func fluteOf(f *arrisv1.FluteFit) *arrisv1.Flute {
	if f.Flute == nil {
		return &arrisv1.Flute{}
	}
	return f.Flute
}

// flute says which shapes fit, the best first, and how to type it.
func (v *sheet) flute(a *arrisv1.FitFluteResponse) {
	v.heading("Flute")
	v.paragraph(sentence(a.GetText()))
	var rows []table.Row
	for _, f := range a.GetFits() {
		fits := "does not fit"
		if f.GetFits() {
			fits = "fits"
		}
		radius, walls := "", ""
		if fluteOf(f).RadiusMm != nil {
			radius = plusMinus(f.GetFlute().GetRadiusMm(), f.RadiusHalfWidthMm, 2, " mm")
		}
		if fluteOf(f).WallAngleDeg != nil {
			walls = plusMinus(f.GetFlute().GetWallAngleDeg(), f.WallHalfWidthDeg, 1, "°")
		}
		rows = append(rows, table.Row{fluteWord(f.GetFlute().GetShape()), v.styled(bold, radius), walls, fits})
	}
	if len(rows) > 0 {
		v.grid(table.Row{"shape", "radius at the floor", "walls", ""}, rows)
	}
	for _, f := range a.GetFits() {
		if !f.GetFits() && f.GetText() != "" {
			v.item(f.GetText())
		}
	}
	if len(a.GetFits()) > 0 && a.GetFits()[0].GetFits() {
		v.paragraph("Type it as --flute " + fluteText(rounded(a.GetFits()[0].GetFlute())) + ".")
	}
	v.cautions(a.GetCautions())
}

// plusMinus is a value with its half-width.
func plusMinus(value float64, half *float64, decimals int, sign string) string {
	text := unit.FormatFixed(value, decimals)
	if half != nil {
		text += " ±" + unit.FormatFixed(*half, decimals)
	}
	return text + sign
}

// rounded is a flute to a hundredth of a millimetre and a tenth of a degree, which is more than a measured one is known to.
func rounded(f *arrisv1.Flute) *arrisv1.Flute {
	r := &arrisv1.Flute{Shape: f.GetShape()}
	if f.RadiusMm != nil {
		r.RadiusMm = proto.Float64(roundTo(f.GetRadiusMm(), 100))
	}
	if f.WallAngleDeg != nil {
		r.WallAngleDeg = proto.Float64(roundTo(f.GetWallAngleDeg(), 10))
	}
	return r
}
