package arris

import (
	"context"
	"io"

	"github.com/jedib0t/go-pretty/v6/table"
	"google.golang.org/protobuf/proto"

	arrisv1 "arris.example/proto/arris/v1"
)

// Run checks a curve.
func (c *curveCommand) Run(p *program) error {
	req, err := c.request(p.In)
	if err != nil {
		return err
	}
	return p.calculate(c.Out.whole(), func(ctx context.Context, grind arrisv1.GrindServiceClient) (proto.Message, error) {
		return grind.CheckCurve(ctx, req)
	})
}

func (c *curveCommand) request(stdin io.Reader) (*arrisv1.CheckCurveRequest, error) {
	if c.Source.File == "-" && c.Profile == "-" {
		return nil, wrongUsage("-f - and --profile - both read standard input: name a file for one of them")
	}
	req := &arrisv1.CheckCurveRequest{}
	if err := c.Source.read(stdin, req); err != nil {
		return nil, err
	}
	c.Source.put(&req.Shop, &req.AsOfTime)
	c.Out.Format.put(&req.Wording)
	c.Lift.over(&req.AllowedLiftDeg)
	switch {
	case c.Radius.said:
		req.Curve = &arrisv1.CheckCurveRequest_RadiusMm{RadiusMm: c.Radius.mm}
	case c.Profile != "":
		profile, err := readProfile(c.Profile, stdin, c.Decimal)
		if err != nil {
			return nil, err
		}
		req.Curve = &arrisv1.CheckCurveRequest_Profile{Profile: profile}
	}
	err := c.Wanted.put(req.Shop,
		func(name string) { req.GrindSource = &arrisv1.CheckCurveRequest_Recipe{Recipe: name} },
		func(g *arrisv1.Grind) { req.GrindSource = &arrisv1.CheckCurveRequest_Grind{Grind: g} })
	if err != nil {
		return nil, err
	}
	return req, c.Rig.put(&req.Rig, req.Shop)
}

// profilePoint is a row of a profile's file.
type profilePoint struct{ radius, depth length }

var profileFields = []field[profilePoint]{
	{names: []string{"radius"}, of: lengths, into: func(p *profilePoint) any { return &p.radius }},
	{names: []string{"depth"}, of: lengths, into: func(p *profilePoint) any { return &p.depth }},
}

// readProfile reads a section from CSV.
func readProfile(name string, stdin io.Reader, decimal decimalMark) (*arrisv1.Profile, error) {
	const both = "a point needs radius and depth"
	rows, err := readRows(name, stdin, decimal, profileFields, func(p profilePoint) []trouble {
		return append(missing("radius", p.radius.said, both), missing("depth", p.depth.said, both)...)
	})
	profile := &arrisv1.Profile{}
	for _, p := range rows {
		read := &arrisv1.ProfilePoint{}
		p.radius.over(&read.RadiusMm)
		p.depth.over(&read.DepthMm)
		profile.Points = append(profile.Points, read)
	}
	return profile, err
}

var curveColumns = []column[*arrisv1.CheckCurveResponse]{
	{"clears", func(a *arrisv1.CheckCurveResponse) string { return yes(a.GetClears()) }},
	{"limit", func(a *arrisv1.CheckCurveResponse) string { return harmless(a.GetLimit()) }},
	{"tightest_radius_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(a.TightestRadiusMm) }},
	{"curve_radius_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(a.CurveRadiusMm) }},
	{"tightest_at_radius_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(pointOf(a.TightestAt).RadiusMm) }},
	{"tightest_at_depth_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(pointOf(a.TightestAt).DepthMm) }},
	{"lift_deg", func(a *arrisv1.CheckCurveResponse) string { return optional(a.LiftDeg) }},
	{"longest_land_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(a.LongestLandMm) }},
	{"relief_front_angle_deg", func(a *arrisv1.CheckCurveResponse) string { return optional(a.ReliefFrontAngleDeg) }},
	{"underside_room_deg", func(a *arrisv1.CheckCurveResponse) string { return optional(a.UndersideRoomDeg) }},
	{"shaft_room_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(a.ShaftRoomMm) }},
	{"shaft_cutting_at_radius_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(pointOf(a.ShaftCuttingAt).RadiusMm) }},
	{"shaft_cutting_at_depth_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(pointOf(a.ShaftCuttingAt).DepthMm) }},
	{"shaft_nearest_to_radius_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(pointOf(a.ShaftNearestTo).RadiusMm) }},
	{"shaft_nearest_to_depth_mm", func(a *arrisv1.CheckCurveResponse) string { return optional(pointOf(a.ShaftNearestTo).DepthMm) }},
	{"text", func(a *arrisv1.CheckCurveResponse) string { return harmless(a.GetText()) }},
}

func pointOf(p *arrisv1.ProfilePoint) *arrisv1.ProfilePoint {
	if p == nil {
		return &arrisv1.ProfilePoint{}
	}
	return p
}

// curve says whether it clears, what touches first, and what would clear.
func (v *sheet) curve(a *arrisv1.CheckCurveResponse) {
	if a.GetClears() {
		v.heading("Clears the curve")
	} else {
		v.heading("Does not clear the curve")
	}
	if a.GetText() != "" {
		v.paragraph(sentence(a.GetText()))
	}
	var rows []table.Row
	add := func(label, text, note string) {
		if text != "" {
			rows = append(rows, table.Row{label, text, note})
		}
	}
	add("comes first", a.GetLimit(), "as a curve gets tighter")
	add("held against", v.lengthOf(a.CurveRadiusMm), v.pointText(a.TightestAt))
	add("clears down to", v.lengthOf(a.TightestRadiusMm), "inside radius, as far as corners go")
	add("lift", degreesText(a.LiftDeg), "of the edge off the wood, by the land")
	add("longest land", v.lengthOf(a.LongestLandMm), "that lifts no more than allowed")
	add("steepest relief", degreesText(a.ReliefFrontAngleDeg), "that clears behind such a land")
	add("under the bar", degreesText(a.UndersideRoomDeg), "room behind the heel")
	add("shaft to wood", v.lengthOf(a.ShaftRoomMm), "at the profile's worst place")
	if len(rows) > 0 {
		v.grid(nil, rows)
	}
	v.cautions(a.GetCautions())
}

// pointText says where a profile is tightest.
func (v *sheet) pointText(at *arrisv1.ProfilePoint) string {
	if at == nil {
		return "inside radius"
	}
	return "tightest " + v.lengthText(at.GetRadiusMm(), 1) + " from the bowl's axis, " + v.lengthText(at.GetDepthMm(), 1) + " below the rim"
}
