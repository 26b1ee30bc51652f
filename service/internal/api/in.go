package api

import (
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// Requests have been validated when they come here: numbers are finite and in range, required fields are there.

func mm(v float64) unit.Length { return unit.Length(v) }

func maybe(v *float64) shop.Maybe[float64] {
	if v == nil {
		return shop.Maybe[float64]{}
	}
	return shop.Some(*v)
}

func maybeMM(v *float64) shop.Maybe[unit.Length] {
	if v == nil {
		return shop.Maybe[unit.Length]{}
	}
	return shop.Some(mm(*v))
}

func maybeDeg(v *float64) shop.Maybe[unit.Angle] {
	if v == nil {
		return shop.Maybe[unit.Angle]{}
	}
	return shop.Some(unit.Degrees(*v))
}

// or is an optional angle with a default in degrees.
func or(v *float64, usual float64) unit.Angle { return maybeDeg(v).Or(unit.Degrees(usual)) }

func timeIn(t *timestamppb.Timestamp) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.AsTime()
}

func solveIn(req *arrisv1.SolveSetupRequest) setup.Question {
	q := setup.Question{
		Common:     commonIn(req),
		Given:      settingsIn(req.GetGiven()),
		Rounding:   roundingIn(req.GetRounding()),
		TouchFirst: unit.Degrees(req.GetTouchFirstDeg()),
		TouchSized: req.GetTouchFirstSized(),
		Free:       freeIn(req.GetFree()),
	}
	if req.GetNow() != nil {
		now := settingsIn(req.GetNow())
		q.Now = &now
	}
	return q
}

func freeIn(list []arrisv1.FreeSetting) (out []setup.Free) {
	for _, f := range list {
		out = append(out, setup.Free(f))
	}
	return out
}

func predictIn(req *arrisv1.PredictGrindRequest) setup.Forecast {
	return setup.Forecast{Common: commonIn(req), Settings: settingsIn(req.GetSettings()), Triangles: int(req.GetMeshTriangles())}
}

// grindAsked is what all questions about a grind have in common.
type grindAsked interface {
	GetShop() string
	GetRig() *arrisv1.Rig
	GetRecipe() string
	GetGrind() *arrisv1.Grind
	GetAsOfTime() *timestamppb.Timestamp
	GetWording() *arrisv1.Wording
}

func grindAskedIn(req grindAsked) setup.Common {
	c := setup.Common{
		Shop: req.GetShop(), Rig: rigIn(req.GetRig()), Recipe: req.GetRecipe(), AsOf: timeIn(req.GetAsOfTime()), Unit: unitIn(req.GetWording().GetLengthUnit()), Language: req.GetWording().GetLanguageCode(),
	}
	if req.GetGrind() != nil {
		grind := grindIn(req.GetGrind())
		c.Grind, c.Places = &grind, placesIn(req.GetGrind())
	}
	return c
}

// asked is what questions about settings have in common besides.
type asked interface {
	grindAsked
	GetDoubts() *arrisv1.SettingDoubts
	GetInclude() []arrisv1.Part
}

func commonIn(req asked) setup.Common {
	c := grindAskedIn(req)
	c.Doubts = doubtsIn(req.GetDoubts())
	for _, part := range req.GetInclude() {
		c.Budget = c.Budget || part == arrisv1.Part_PART_ERROR_BUDGET
		c.Figure = c.Figure || part == arrisv1.Part_PART_FIGURE
		c.Figures = c.Figures || part == arrisv1.Part_PART_STEP_FIGURES
		c.Proof = c.Proof || part == arrisv1.Part_PART_PROOF
		c.Edge = c.Edge || part == arrisv1.Part_PART_EDGE
		c.Mesh = c.Mesh || part == arrisv1.Part_PART_MESH
	}
	return c
}

func unitIn(u arrisv1.LengthUnit) setup.LengthUnit {
	switch u {
	case arrisv1.LengthUnit_LENGTH_UNIT_INCH:
		return setup.Inches
	case arrisv1.LengthUnit_LENGTH_UNIT_BOTH:
		return setup.BothUnits
	default:
		return setup.Millimetres
	}
}

func roundingIn(r *arrisv1.Rounding) setup.Rounding {
	out := setup.Rounding{LengthStep: mm(r.GetLengthStepMm()), AngleStep: unit.Degrees(r.GetAngleStepDeg())}
	for _, b := range r.GetBlocksMm() {
		out.Blocks = append(out.Blocks, mm(b))
	}
	return out
}

func doubtsIn(d *arrisv1.SettingDoubts) setup.Doubts {
	return setup.Doubts{
		StickOut: lengthDoubtIn(d.GetStickOut()), Support: lengthDoubtIn(d.GetSupport()),
		Leg: angleDoubtIn(d.GetLeg()), Tilt: angleDoubtIn(d.GetTilt()),
	}
}

func lengthDoubtIn(d *arrisv1.LengthDoubt) (out shop.LengthDoubt) {
	switch s := d.GetSource().(type) {
	case *arrisv1.LengthDoubt_HalfWidthMm:
		return shop.Some(mm(s.HalfWidthMm))
	case *arrisv1.LengthDoubt_Instrument:
		half, known := lengthInstruments[s.Instrument]
		return shop.LengthDoubt{Value: half, Known: known}
	}
	return out
}

func angleDoubtIn(d *arrisv1.AngleDoubt) (out shop.AngleDoubt) {
	switch s := d.GetSource().(type) {
	case *arrisv1.AngleDoubt_HalfWidthDeg:
		return shop.Some(unit.Degrees(s.HalfWidthDeg))
	case *arrisv1.AngleDoubt_Instrument:
		half, known := angleInstruments[s.Instrument]
		return shop.AngleDoubt{Value: half, Known: known}
	}
	return out
}

var lengthInstruments = map[arrisv1.LengthInstrument]unit.Length{
	arrisv1.LengthInstrument_LENGTH_INSTRUMENT_RULE:       setup.ByRule,
	arrisv1.LengthInstrument_LENGTH_INSTRUMENT_CALLIPER:   setup.ByCalliper,
	arrisv1.LengthInstrument_LENGTH_INSTRUMENT_BLOCK:      setup.ByBlock,
	arrisv1.LengthInstrument_LENGTH_INSTRUMENT_CALIBRATED: setup.Calibrated,
}

var angleInstruments = map[arrisv1.AngleInstrument]unit.Angle{
	arrisv1.AngleInstrument_ANGLE_INSTRUMENT_SCALE: setup.ByScale,
	arrisv1.AngleInstrument_ANGLE_INSTRUMENT_NOTCH: setup.ByNotch,
}

func grindIn(g *arrisv1.Grind) (out shop.Grind) {
	for _, b := range g.GetBevels() {
		out.Bevels = append(out.Bevels, bevelIn(b))
	}
	if g.GetUpperBevel() != nil {
		out.Upper = shop.Some(bevelIn(g.GetUpperBevel()))
	}
	if w := g.GetWing(); w != nil {
		out.Wing = shop.Some(shop.WingTarget{
			Wedge: unit.Degrees(w.GetWedgeAngleDeg()), Tolerance: or(w.ToleranceDeg, 2), Along: maybe(w.AlongPercent).Or(100) / 100,
		})
	}
	return out
}

// placesIn are the rigs of bevels that have their own; none, when no bevel has.
func placesIn(g *arrisv1.Grind) []setup.RigSource {
	var places []setup.RigSource
	for i, b := range g.GetBevels() {
		if b.GetRig() == nil {
			continue
		}
		if places == nil {
			places = make([]setup.RigSource, len(g.GetBevels()))
		}
		places[i] = rigIn(b.GetRig())
	}
	return places
}

func bevelIn(b *arrisv1.Bevel) shop.Bevel {
	out := shop.Bevel{Width: maybeMM(b.WidthMm), Given: settingsIn(b.GetGiven())}
	switch a := b.GetAngle().(type) {
	case *arrisv1.Bevel_FrontAngleDeg:
		out.Of, out.Angle = shop.FrontAngle, unit.Degrees(a.FrontAngleDeg)
	case *arrisv1.Bevel_ReadingDeg:
		out.Of, out.Angle = shop.Reading, unit.Degrees(a.ReadingDeg)
	case *arrisv1.Bevel_IncludedFrontAngleDeg:
		out.Of, out.Angle = shop.IncludedFrontAngle, unit.Degrees(a.IncludedFrontAngleDeg)
	case *arrisv1.Bevel_IncludedReadingDeg:
		out.Of, out.Angle = shop.IncludedReading, unit.Degrees(a.IncludedReadingDeg)
	}
	return out
}

func settingsIn(s *arrisv1.Settings) shop.Settings {
	if s == nil {
		return shop.Settings{}
	}
	out := shop.Settings{StickOut: maybeMM(s.StickOutMm)}
	switch leg := s.GetLeg().(type) {
	case *arrisv1.Settings_LegAngleDeg:
		out.Leg = shop.Some(unit.Degrees(leg.LegAngleDeg))
	case *arrisv1.Settings_LegPosition:
		out.Position = leg.LegPosition
	}
	switch at := s.GetSupport().(type) {
	case *arrisv1.Settings_SlideMm:
		out.Datum, out.Support = shop.DatumSlide, mm(at.SlideMm)
	case *arrisv1.Settings_WheelGapMm:
		out.Datum, out.Support = shop.DatumWheelGap, mm(at.WheelGapMm)
	case *arrisv1.Settings_WheelGapFarMm:
		out.Datum, out.Support = shop.DatumWheelGapFar, mm(at.WheelGapFarMm)
	case *arrisv1.Settings_PivotToAxleMm:
		out.Datum, out.Support = shop.DatumPivotToAxle, mm(at.PivotToAxleMm)
	case *arrisv1.Settings_FaceDistanceMm:
		out.Datum, out.Support = shop.DatumFaceDistance, mm(at.FaceDistanceMm)
	case *arrisv1.Settings_HeightMm:
		out.Datum, out.Support = shop.DatumHeight, mm(at.HeightMm)
	case *arrisv1.Settings_PlatformTiltDeg:
		out.Datum, out.Tilt = shop.DatumTilt, unit.Degrees(at.PlatformTiltDeg)
	case *arrisv1.Settings_PlatformToAxleMm:
		out.Datum, out.Support = shop.DatumPlatformToAxle, mm(at.PlatformToAxleMm)
	}
	return out
}

func rigIn(r *arrisv1.Rig) setup.RigSource {
	return setup.RigSource{
		Station: source(r.GetStation(), r.GetInlineStation(), stationIn),
		Wheel:   source(r.GetWheel(), r.GetInlineWheel(), wheelIn),
		Support: r.GetSupport(),
		Holder:  source(r.GetHolder(), r.GetInlineHolder(), holderIn),
		Tool:    source(r.GetTool(), r.GetInlineTool(), toolIn),
		Asides: setup.Asides{
			Pivot: mm(r.GetAsides().GetPivotAsideMm()), Roll: unit.Degrees(r.GetAsides().GetToolRollDeg()), Contact: mm(r.GetAsides().GetContactAsideMm()),
		},
	}
}

// source is a thing by name or written out.
func source[M any, T any](name string, inline *M, convert func(*M) T) setup.Source[T] {
	if inline == nil {
		return setup.Source[T]{Name: name}
	}
	thing := convert(inline)
	return setup.Source[T]{Inline: &thing}
}

func stationIn(s *arrisv1.Station) shop.Station {
	out := shop.Station{
		Name: s.GetName(), DisplayName: s.GetDisplayName(), SpindleRPM: maybe(s.SpindleSpeedRpm),
		SmallestWheel: maybeMM(s.SmallestWheelDiameterMm), LargestRestGap: maybeMM(s.LargestRestGapMm),
		State: shop.StationState(s.GetState()), StateReason: s.GetStateReason(), StateTime: timeIn(s.GetStateTime()), Inspecting: inspectingIn(s, s.InspectionIntervalDays),
	}
	if g := s.GetGuardOpening(); g != nil {
		out.Guard = shop.Some(shop.AngleRange{Least: unit.Degrees(g.GetLeastDeg()), Most: unit.Degrees(g.GetMostDeg())})
	}
	if e := s.GetEdgeAngles(); e != nil {
		out.EdgeAngles = shop.Some(shop.AngleRange{Least: unit.Degrees(e.GetLeastDeg()), Most: unit.Degrees(e.GetMostDeg())})
	}
	for _, support := range s.GetSupports() {
		out.Supports = append(out.Supports, supportIn(support))
	}
	return out
}

func supportIn(s *arrisv1.Support) shop.Support {
	out := shop.Support{ID: s.GetSupportId(), Datum: shop.Datum(s.GetDatum()), Reference: maybeMM(s.ReferenceUpMm)}
	switch kind := s.GetKind().(type) {
	case *arrisv1.Support_Bar:
		radius := mm(kind.Bar.GetDiameterMm()) / 2
		out.Kind, out.Near, out.Far, out.Top = shop.Bar, radius, radius, radius
	case *arrisv1.Support_Pocket:
		out.Kind, out.Near = shop.Pocket, mm(kind.Pocket.GetGaugedSurfaceNearerMm())
	case *arrisv1.Support_Platform:
		out.Kind, out.Table = shop.Platform, tableIn(kind.Platform)
	}
	if slide := s.GetSlide(); slide != nil {
		out.Slide = shop.Some(slideIn(slide))
	}
	if a := s.GetAdjuster(); a != nil {
		out.Adjuster = shop.Some(shop.Adjuster{
			Lead:            mm(a.GetLeadMmPerTurn()),
			ClockwiseRaises: a.GetClockwise() == arrisv1.ClockwiseTurn_CLOCKWISE_TURN_RAISES_READING,
			Backlash:        mm(a.GetBacklashMm()),
		})
	}
	return out
}

func slideIn(s *arrisv1.Slide) shop.Slide {
	return shop.Slide{
		Slide: geometry.Slide{
			Origin:    geometry.Point{Out: mm(s.GetOriginOutMm()), Up: mm(s.GetOriginUpMm())},
			Direction: unit.Degrees(s.GetDirectionDeg()),
		},
		Travel: shop.LengthRange{Least: mm(s.GetLeastMm()), Most: mm(s.GetMostMm())},
		Doubt:  lengthDoubtIn(s.GetOriginDoubt()),
	}
}

func tableIn(p *arrisv1.Platform) shop.Table {
	t := shop.Table{
		Surface: mm(p.GetSurfaceAboveHingeMm()), Tilt: maybeDeg(p.TiltDeg), Front: maybeMM(p.FrontBeforeHingeMm),
		Tilts: shop.AngleRange{Least: or(p.LeastTiltDeg, -90), Most: or(p.MostTiltDeg, 90)},
	}
	if p.HingeOutMm != nil {
		t.Hinge = shop.Some(geometry.Point{Out: mm(p.GetHingeOutMm()), Up: mm(p.GetHingeUpMm())})
	}
	return t
}

func wheelIn(w *arrisv1.Wheel) shop.Wheel {
	out := shop.Wheel{
		Name: w.GetName(), DisplayName: w.GetDisplayName(), Diameter: mm(w.GetDiameterMm()), Doubt: lengthDoubtIn(w.GetDiameterDoubt()),
		Measured: timeIn(w.GetMeasureTime()), NewDiameter: maybeMM(w.NewDiameterMm), Smallest: maybeMM(w.SmallestDiameterMm),
		Width: maybeMM(w.WidthMm), Abrasive: shop.Abrasive(w.GetAbrasive()), Grit: w.GetGrit(), MarkedMPS: maybe(w.MarkedSpeedMps),
		MarkedRPM: maybe(w.MarkedSpeedRpm), Station: w.GetStation(), Dressed: timeIn(w.GetDressTime()), Inspecting: inspectingIn(w, w.InspectionIntervalDays),
	}
	if flat := w.GetFlat(); flat != nil {
		out.Flat, out.Diameter = true, mm(flat.GetSpeedDiameterMm())
	}
	for _, steel := range w.GetSteels() {
		out.AllowedSteels = append(out.AllowedSteels, shop.Steel(steel))
	}
	return out
}

func holderIn(h *arrisv1.Holder) shop.Holder {
	out := shop.Holder{
		Name: h.GetName(), DisplayName: h.GetDisplayName(), FaceDepth: maybeMM(h.FaceDepthMm), Doubt: lengthDoubtIn(h.GetDoubt()),
		Inspecting: inspectingIn(h, h.InspectionIntervalDays),
	}
	switch kind := h.GetKind().(type) {
	case *arrisv1.Holder_Clamp:
		c := kind.Clamp
		out.Kind, out.Behind, out.Below, out.Yawed = shop.Clamp, mm(c.GetBarBehindFaceMm()), mm(c.GetBarBelowMm()), c.GetYawedWithBlade()
		out.FromBed = c.GetBelowFrom() == arrisv1.BelowFrom_BELOW_FROM_BED
		out.TurnsOver = c.GetTurningOver() == arrisv1.TurningOver_TURNING_OVER_WITH_CLAMP
	case *arrisv1.Holder_Swing:
		s := kind.Swing
		out.Kind = shop.Swing
		out.Arm = geometry.SwingHolder{JointBehindFace: mm(s.GetJointBehindFaceMm()), JointBelowAxis: mm(s.GetJointBelowAxisMm()), Leg: mm(s.GetLegLengthMm())}
		out.Leg = shop.AngleRange{Least: or(s.LeastLegAngleDeg, 0), Most: or(s.MostLegAngleDeg, 90)}
		out.MostLean = maybeDeg(s.MostLeanDeg)
		for _, p := range s.GetLegPositions() {
			out.Positions = append(out.Positions, shop.LegPosition{ID: p.GetPositionId(), Angle: unit.Degrees(p.GetLegAngleDeg())})
		}
	case *arrisv1.Holder_Butted:
		out.Kind, out.Below = shop.Butted, mm(kind.Butted.GetSeatBelowMm())
	case *arrisv1.Holder_Pivot:
		out.Kind, out.Behind, out.Below = shop.BarePivot, mm(kind.Pivot.GetBehindMm()), mm(kind.Pivot.GetBelowMm())
	case *arrisv1.Holder_None:
		out.Kind = shop.NoHolder
	}
	return out
}

func toolIn(t *arrisv1.Tool) shop.Tool {
	out := shop.Tool{
		Name: t.GetName(), DisplayName: t.GetDisplayName(), Kind: shop.ToolKind(t.GetKind()), Steel: shop.Steel(t.GetSteel()),
		SteelUnderFlute: maybeMM(t.SteelUnderFluteMm), Thickness: maybeMM(t.BladeThicknessMm), EdgeToSide: maybeDeg(t.EdgeToSideDeg),
		FluteRadius: maybeMM(t.FluteRadiusMm), FluteHalfAngle: maybeDeg(t.FluteHalfAngleDeg), EdgeBelowTop: maybeMM(t.EdgeBelowTopMm),
		OverallLength: maybeMM(t.OverallLengthMm), FreeBlade: maybeMM(t.FreeBladeMm), SmallestGrip: maybeMM(t.SmallestGripMm), Recipe: t.GetRecipe(),
		UsableLength: maybeMM(t.UsableLengthMm), Location: t.GetLocation(), State: shop.ToolState(t.GetState()),
	}
	if f := t.GetFlute(); f != nil {
		out.Flute = shop.Some(fluteIn(f))
	}
	if b := t.GetBar(); b != nil {
		r := b.GetRectangular()
		out.Bar = shop.Some(shop.BarSection{Diameter: mm(b.GetDiameterMm()), Width: mm(r.GetWidthMm()), Thickness: mm(r.GetThicknessMm())})
	}
	out.Edge = edgeShapeIn(t.GetEdge())
	return out
}
