package setup

import (
	"fmt"
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// pivots is a bar or a pocket, on a slide or nobody knows where: the machine holds the pivot at a distance from the wheel.
type pivots struct {
	rig
	doubts Doubts
}

// radius is the axle's distance behind the wheel's face, 0 for a flat abrasive, whose frame lies on the face.
func (m *pivots) radius() unit.Length {
	if m.surface.Flat() {
		return 0
	}
	return m.surface.Radius()
}

func (m *pivots) data() []shop.Datum {
	return []shop.Datum{shop.DatumSlide, shop.DatumWheelGap, shop.DatumWheelGapFar, shop.DatumPivotToAxle, shop.DatumFaceDistance, shop.DatumHeight}
}

// setBy is the datum this support is set and rounded by.
func (m *pivots) setBy() shop.Datum {
	if m.support.Datum == shop.DatumUnset {
		return shop.DatumWheelGap
	}
	return m.support.Datum
}

func (m *pivots) solve(s *stand, r Rounding, near shop.Maybe[spot]) *no {
	if n := m.checkPivot(s.pivot, s.wanted, fmt.Sprintf("grind.bevels[%d]", s.bevel.index)); n != nil {
		return n
	}
	gap := m.surface.Gap(s.pivot, s.wanted)
	if n := m.checkGap(gap, "grind"); n != nil {
		return n
	}
	exact, n := m.atGap(gap, near)
	if n != nil {
		return n
	}
	s.exact, s.set, s.datum, s.front = exact, exact, m.setBy(), s.wanted
	if n := m.round(s, r); n != nil {
		return n
	}
	return m.finish(s)
}

// settable is the range of edges that follow the support of a pivot; empty where least is not below most.
func settable(p geometry.Pivot) (least, most unit.Angle) {
	half := unit.Angle(math.Acos(geometry.LeastConditioning))
	return max(0, p.Dip()-half), min(90*unit.Degree, p.Dip()+half)
}

// checkPivot refuses a pivot from which an angle cannot sensibly be set.
func (m *pivots) checkPivot(p geometry.Pivot, edge unit.Angle, field string) *no {
	if p.Reach() < 1 {
		return refuse(CannotReach, "rig.holder", "the pivot is %s from the edge: nothing swings about that", mm(p.Reach())).length(p.Reach()).least(1)
	}
	if geometry.Conditioning(p, edge) >= geometry.LeastConditioning {
		return nil
	}
	least, most := settable(p)
	n := refuse(IllConditioned, field, "with the pivot %s behind and %s below the edge, %s no longer follows the support: ", mm(p.Behind), mm(p.Below), degrees(edge)).angle(edge)
	if least >= most {
		n.Message += "no edge can be set from there"
		return n
	}
	n.Message += "edges of " + degrees(least) + " to " + degrees(most) + " can be set"
	return n.least(least.Degrees()).most(most.Degrees())
}

// checkGap refuses a support inside the wheel: its gauged surface, or its centre where that is nearer.
func (m *pivots) checkGap(gap unit.Length, field string) *no {
	if near := gap - max(0, m.support.Near); near <= 0 {
		return refuse(SupportInWheel, field, "the support would stand %s inside the wheel", mm(-near)).length(near).least(0)
	}
	return nil
}

// atGap is the spot at a gap. Of the two places on a slide it takes the one nearest to where the machine stands, and otherwise the
// one that moves away from the wheel as the reading grows.
func (m *pivots) atGap(gap unit.Length, near shop.Maybe[spot]) (spot, *no) {
	if !m.support.Slide.Known {
		return spot{gap: gap}, nil
	}
	slide := m.support.Slide.Value
	low, high, ok := slide.Readings(m.surface, gap)
	if !ok {
		least := slide.NearestApproach() - m.radius()
		return spot{}, refuse(BeyondTravel, "rig.station.slide", "the slide never comes nearer to the wheel than a gap of %s; %s is needed", mm(least-m.support.Near), mm(gap-m.support.Near)).
			length(gap - m.support.Near).least(float64(least - m.support.Near))
	}
	in := func(t unit.Length) bool { return t >= slide.Travel.Least && t <= slide.Travel.Most }
	best := high
	switch {
	case in(low) && !in(high):
		best = low
	case in(low) && near.Known && near.Value.placed && math.Abs(float64(low-near.Value.reading)) < math.Abs(float64(high-near.Value.reading)):
		best = low
	}
	if !in(best) {
		return spot{}, refuse(BeyondTravel, "support.slide_mm", "the slide would have to read %s; it goes from %s to %s", mm(best), mm(slide.Travel.Least), mm(slide.Travel.Most)).
			length(best).least(float64(slide.Travel.Least)).most(float64(slide.Travel.Most))
	}
	return m.atReading(best), nil
}

func (m *pivots) atReading(t unit.Length) spot {
	at := m.support.Slide.Value.At(t)
	return spot{gap: m.surface.GapTo(at), reading: t, at: at, placed: true}
}

// round sets the support by its datum in the steps at hand and finds what that grinds.
func (m *pivots) round(s *stand, r Rounding) *no {
	v, ok := m.value(s, s.datum, s.exact)
	if !ok {
		return refuse(RigDoesNotFit, "rig.station.supports", "the support is to be set by its %s, and this machine does not say enough for that", s.datum)
	}
	per := m.per(s, s.datum)
	fits := func(v unit.Length) bool {
		at, n := m.locateBy(s.datum, v, s.exact)
		return n == nil && !(at.placed && outside(at.reading, m.support.Slide.Value.Travel))
	}
	rounded := unit.Length(v)
	if s.datum == shop.DatumWheelGap && len(r.Blocks) > 0 {
		if rounded, s.onBlock = nearestBlock(rounded, r.Blocks, per, fits); !s.onBlock {
			return refuse(NothingWorks, "rounding.blocks_mm", "with every block at hand the slide would be beyond its travel; a wheel gap of %s is wanted", mm(unit.Length(v))).length(unit.Length(v))
		}
	} else {
		rounded = roundDatum(rounded, r.lengthStep(), per, fits)
	}
	set, n := m.locateBy(s.datum, rounded, s.exact)
	if n != nil {
		return n
	}
	s.set = set
	return m.ground(s)
}

// ground finds what the support's place grinds, and refuses what nobody should set.
func (m *pivots) ground(s *stand) *no {
	if n := m.checkGap(s.set.gap, "settings"); n != nil {
		return n
	}
	edge, err := m.surface.EdgeAngle(s.pivot, s.set.gap)
	if err != nil {
		return m.outOfReach(s)
	}
	s.front = edge
	if n := s.checkGround(); n != nil {
		return n
	}
	return m.checkPivot(s.pivot, edge, "settings")
}

// outOfReach says between which gaps the usable edges lie.
func (m *pivots) outOfReach(s *stand) *no {
	first, last := m.surface.Reachable(s.pivot)
	near := m.support.Near
	end := "reach ends at " + mm(last-near)
	if s.set.gap < last {
		end = "reach begins at " + mm(first-near)
	}
	n := refuse(CannotReach, "settings.wheel_gap_mm", "the edge does not touch the wheel at a gap of %s: %s", mm(s.set.gap-near), end).length(s.set.gap - near)
	least, most := settable(s.pivot)
	limits := m.station.EdgeAngles.Or(defaultEdgeAngles)
	if least, most = max(least, limits.Least), min(most, limits.Most); least >= most {
		return n
	}
	keen, blunt := m.surface.Gap(s.pivot, least), m.surface.Gap(s.pivot, most)
	n.Message += fmt.Sprintf(", and edges of %s to %s lie between %s and %s", degrees(least), degrees(most), mm(keen-near), mm(blunt-near))
	return n.least(float64(keen - near)).most(float64(blunt - near))
}

func (m *pivots) predict(s *stand, at shop.Settings) *no {
	set, n := m.locate(s.face, at)
	if n != nil {
		return n
	}
	s.exact, s.set, s.datum = set, set, at.Datum
	if n := m.ground(s); n != nil {
		return n
	}
	s.wanted = s.front
	return m.finish(s)
}

func (m *pivots) locate(_ face, at shop.Settings) (spot, *no) {
	return m.locateBy(at.Datum, at.Support, spot{})
}

// locateBy finds the spot at which a datum has a value. Where the slide has two such places it takes the one nearer to `like`.
func (m *pivots) locateBy(d shop.Datum, v unit.Length, like spot) (spot, *no) {
	onSlide := m.support.Slide.Known
	slide := m.support.Slide.Value
	switch d {
	case shop.DatumWheelGap:
		return m.around(v+m.support.Near, like), nil
	case shop.DatumWheelGapFar:
		if m.support.Kind == shop.Bar {
			return m.around(v-m.support.Far, like), nil
		}
	case shop.DatumPivotToAxle:
		if !m.surface.Flat() {
			return m.around(v-m.surface.Radius(), like), nil
		}
	case shop.DatumSlide:
		if onSlide {
			return m.atReading(v), nil
		}
	case shop.DatumFaceDistance:
		if cos := math.Cos(float64(slide.Direction)); onSlide && math.Abs(cos) > leastSlope {
			out := v + m.radius() + m.support.Near
			return m.atReading((out - slide.Origin.Out) / unit.Length(cos)), nil
		}
	case shop.DatumHeight:
		if sin := math.Sin(float64(slide.Direction)); onSlide && math.Abs(sin) > leastSlope && m.support.Reference.Known {
			up := v + m.support.Reference.Value - m.support.Top
			return m.atReading((up - slide.Origin.Up) / unit.Length(sin)), nil
		}
	}
	return spot{}, notThere("support", d)
}

// leastSlope is the sine of the smallest angle at which a slide still moves along a direction worth reading: 3°, below which a
// millimetre read is 20 mm moved.
const leastSlope = 0.05

// notThere tells that settings name a datum this machine does not have.
func notThere(what string, d shop.Datum) *no {
	field := "settings." + d.String() + "_mm"
	if d == shop.DatumTilt {
		field = "settings." + d.String() + "_deg"
	}
	return &no{Fault: *fault.Field(field, fault.Contradiction, "this %s is not set by %s, or its machine is not described well enough for it", what, datumWords[d])}
}

// around is the spot at a gap, on the slide where that reaches, else just the gap.
func (m *pivots) around(gap unit.Length, like spot) spot {
	if !m.support.Slide.Known {
		return spot{gap: gap}
	}
	low, high, ok := m.support.Slide.Value.Readings(m.surface, gap)
	if !ok {
		return spot{gap: gap}
	}
	travel := m.support.Slide.Value.Travel
	t := high
	if like.placed && math.Abs(float64(low-like.reading)) < math.Abs(float64(high-like.reading)) ||
		!like.placed && high > travel.Most && low >= travel.Least {
		t = low
	}
	at := m.atReading(t)
	at.gap = gap
	return at
}

func (m *pivots) value(_ *stand, d shop.Datum, at spot) (float64, bool) {
	slide := m.support.Slide.Value
	switch d {
	case shop.DatumWheelGap:
		return float64(at.gap - m.support.Near), true
	case shop.DatumWheelGapFar:
		return float64(at.gap + m.support.Far), m.support.Kind == shop.Bar
	case shop.DatumPivotToAxle:
		return float64(at.gap + m.radius()), !m.surface.Flat()
	case shop.DatumSlide:
		return float64(at.reading), at.placed
	case shop.DatumFaceDistance:
		return float64(at.at.Out - m.radius() - m.support.Near), at.placed && math.Abs(math.Cos(float64(slide.Direction))) > leastSlope
	case shop.DatumHeight:
		return float64(at.at.Up - m.support.Reference.Value + m.support.Top),
			at.placed && m.support.Reference.Known && math.Abs(math.Sin(float64(slide.Direction))) > leastSlope
	}
	return 0, false
}

// gapPer is the change of gap per unit of a datum.
func (m *pivots) gapPer(d shop.Datum, at spot) float64 {
	slide := m.support.Slide.Value
	switch d {
	case shop.DatumSlide:
		return slide.GapPerReading(m.surface, at.reading)
	case shop.DatumFaceDistance:
		return slide.GapPerReading(m.surface, at.reading) / math.Cos(float64(slide.Direction))
	case shop.DatumHeight:
		return slide.GapPerReading(m.surface, at.reading) / math.Sin(float64(slide.Direction))
	}
	return 1
}

func (m *pivots) per(s *stand, d shop.Datum) float64 {
	return m.surface.Sensitivity(s.pivot, s.front, s.set.gap).Gap * m.gapPer(d, s.set)
}

// finish adds the pose, the checks that need it, and the wear.
func (m *pivots) finish(s *stand) *no {
	if !m.surface.Flat() {
		s.wear = -m.surface.PerDiameterAtPivot(m.surface.Sensitivity(s.pivot, s.front, s.set.gap))
	}
	if s.set.placed {
		s.pose, s.posed = m.surface.Pose(s.pivot, s.front, s.set.at), true
	}
	return m.checkBody(s)
}

// checkBody refuses a holder that would strike the wheel, and an edge that would meet it behind the guard.
func (m *pivots) checkBody(s *stand) *no {
	if depth := m.holder.FaceDepth; depth.Known && m.holder.Kind != shop.Butted && s.choice.stickOut > 0 {
		behind := s.choice.stickOut*unit.Length(m.alongBlade()) - s.bevel.behind
		if room := m.surface.RoomBelow(s.front, behind) + s.bevel.below; depth.Value > room {
			return refuse(HolderStrikesWheel, "settings.stick_out_mm", "the holder reaches %s below the tool at its face, and there is room for %s: its face would strike the wheel", mm(depth.Value), mm(room)).
				length(depth.Value).most(float64(room))
		}
	}
	return m.checkGuard(s)
}

// checkGuard refuses an edge that meets the rim where the guard covers it.
func (r *rig) checkGuard(s *stand) *no {
	if !s.posed || !r.station.Guard.Known || r.wheel.Flat {
		return nil
	}
	if open := r.station.Guard.Value; s.pose.Elevation < open.Least || s.pose.Elevation > open.Most {
		return refuse(ContactBehindGuard, "support", "the edge would meet the rim %s above axle height; the guard leaves %s to %s open", degrees(s.pose.Elevation), degrees(open.Least), degrees(open.Most)).
			angle(s.pose.Elevation).least(open.Least.Degrees()).most(open.Most.Degrees())
	}
	return nil
}

// inputs is everything that the angle depends on, with how well it is known.
func (m *pivots) inputs(s *stand) []BudgetItem {
	sens := m.surface.Sensitivity(s.pivot, s.front, s.set.gap)
	items := make([]BudgetItem, 0, 8)
	h, blade := m.holder, m.alongBlade()
	if h.Kind != shop.BarePivot {
		items = append(items, BudgetItem{Quantity: "stick_out", Words: "the stick-out", Setting: true,
			HalfWidth: float64(m.doubts.stickOut(s.choice.onBlock)), Sensitivity: sens.Behind * blade})
	}
	legBack, legDown := h.Arm.PerLeg(s.choice.leg)
	if h.Kind == shop.Swing {
		items = append(items, BudgetItem{Quantity: "leg_angle", Words: "the leg's angle", Setting: true, IsAngle: true,
			HalfWidth: float64(m.doubts.leg(s.choice.position)), Sensitivity: sens.Behind*blade*float64(legBack) + sens.Below*float64(legDown)})
	}
	items = append(items, BudgetItem{Quantity: s.datum.String(), Words: m.datum(s.datum), Setting: true,
		HalfWidth: float64(m.doubts.support(s.datum, s.onBlock)), Sensitivity: sens.Gap * m.gapPer(s.datum, s.set)})
	if !m.surface.Flat() {
		items = append(items, BudgetItem{Quantity: wheelDiameter, Words: "the wheel's diameter",
			HalfWidth: float64(m.wheel.Doubt.Or(ByCalliper)), Sensitivity: m.surface.PerDiameterAtGap(sens) + sens.Gap*m.gapPerDiameter(s)})
	}
	if per := m.gapPerOrigin(s); per > 0 {
		items = append(items, BudgetItem{Quantity: "slide_origin", Words: "the slide's origin",
			HalfWidth: float64(m.support.Slide.Value.Doubt.Or(Calibrated)), Sensitivity: sens.Gap * per})
	}
	return append(items, m.holderInput(sens, s.choice.leg, blade))
}

// holderInput joins a holder's own dimensions, each as doubtful as the next, into one contribution.
func (m *pivots) holderInput(sens geometry.Sensitivity, leg unit.Angle, blade float64) BudgetItem {
	behind, below := sens.Behind*blade, sens.Below
	if m.holder.Kind == shop.Clamp && !m.holder.Yawed {
		behind = sens.Behind // its own offset runs square to the edge
	}
	length := 0.0
	if m.holder.Kind == shop.Swing {
		sin, cos := math.Sincos(float64(leg))
		length = behind*cos + below*sin
	}
	if m.holder.Kind == shop.Butted {
		behind = 0 // its length is the stick-out
	}
	return BudgetItem{Quantity: "holder", Words: "the holder's own dimensions",
		HalfWidth: float64(m.holder.Doubt.Or(ByCalliper)), Sensitivity: math.Sqrt(behind*behind + below*below + length*length)}
}

// gapPerDiameter is how the gap follows the wheel's diameter while the support's datum keeps its value.
func (m *pivots) gapPerDiameter(s *stand) float64 {
	switch s.datum {
	case shop.DatumWheelGap, shop.DatumWheelGapFar:
		return 0
	case shop.DatumFaceDistance:
		return m.gapPer(s.datum, s.set)/2 - 0.5
	}
	return -0.5
}

// gapPerOrigin is how the gap follows the slide's origin, which may be off in any direction, while the support's datum keeps its value.
func (m *pivots) gapPerOrigin(s *stand) float64 {
	if !s.set.placed {
		return 0
	}
	toSupport := geometry.Point{Out: 1}
	if d := s.set.at.FromOrigin(); !m.surface.Flat() && d > 0 {
		toSupport = geometry.Point{Out: s.set.at.Out / d, Up: s.set.at.Up / d}
	}
	sin, cos := math.Sincos(float64(m.support.Slide.Value.Direction))
	switch s.datum {
	case shop.DatumSlide:
		return 1
	case shop.DatumFaceDistance: // its out is held, so all goes up or down
		return math.Abs(float64(toSupport.Up) / cos)
	case shop.DatumHeight:
		return math.Abs(float64(toSupport.Out) / sin)
	}
	return 0
}
