package setup

import (
	"math"

	"arris.example/geometry"
	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// table is a platform: it fixes the distance of the tool's reference line from the axle.
type table struct {
	rig
	doubts Doubts
}

func (m *table) data() []shop.Datum {
	return []shop.Datum{shop.DatumTilt, shop.DatumSlide, shop.DatumPlatformToAxle}
}

func (m *table) tilts() bool  { return m.support.Table.Hinge.Known && !m.support.Slide.Known }
func (m *table) slides() bool { return m.support.Slide.Known }

func (m *table) setBy() shop.Datum {
	switch {
	case m.support.Datum != shop.DatumUnset:
		return m.support.Datum
	case m.slides():
		return shop.DatumSlide
	case m.tilts(), m.surface.Flat():
		return shop.DatumTilt
	}
	return shop.DatumPlatformToAxle
}

// platform is the table as the engine sees it, with its hinge at a reading of its slide.
func (m *table) platform(reading unit.Length) geometry.Platform {
	hinge := m.support.Table.Hinge.Value
	if m.slides() {
		hinge = m.support.Slide.Value.At(reading)
	}
	return geometry.Platform{Hinge: hinge, Surface: m.support.Table.Surface}
}

// above is how far the line through a bevel's front end runs above the table.
func above(f face, b bevel) unit.Length { return f.above.Value - b.below }

func (m *table) solve(s *stand, r Rounding, near shop.Maybe[spot]) *no {
	exact, n := m.place(s, near)
	if n != nil {
		return n
	}
	s.exact, s.set, s.datum, s.front = exact, exact, m.setBy(), s.wanted
	if n := m.round(s, r); n != nil {
		return n
	}
	return m.finish(s)
}

// place finds the exact spot for the tangent wanted.
func (m *table) place(s *stand, near shop.Maybe[spot]) (spot, *no) {
	if m.surface.Flat() {
		return m.placeFlat(s)
	}
	line := m.surface.LineFor(s.wanted)
	switch {
	case m.slides():
		return m.slideTo(line, above(s.face, s.bevel))
	case m.tilts():
		return m.tiltTo(line, above(s.face, s.bevel), near)
	}
	return spot{line: line}, nil
}

// placeFlat tilts a table against a flat abrasive: its line's distance does not matter.
func (m *table) placeFlat(s *stand) (spot, *no) {
	if m.slides() {
		return spot{}, refuse(RigDoesNotFit, "rig.support", "against a flat abrasive the tilt sets the angle, and this table slides with its tilt fixed")
	}
	tilt := geometry.FlatTilt(s.wanted)
	return m.inTilts(spot{tilt: tilt, placed: true, line: m.platform(0).Line(tilt, above(s.face, s.bevel))})
}

func (m *table) slideTo(line, above unit.Length) (spot, *no) {
	slide := m.support.Slide.Value
	tilt := m.support.Table.Tilt.Value
	slope := math.Sin(float64(slide.Direction - tilt))
	if math.Abs(slope) < leastSlope {
		return spot{}, refuse(RigDoesNotFit, "rig.station.slide", "the table slides along its own surface, which does not change the angle")
	}
	reading := (line - m.platform(0).Line(tilt, above)) / unit.Length(slope)
	if reading < slide.Travel.Least || reading > slide.Travel.Most {
		return spot{}, refuse(BeyondTravel, "support.slide_mm", "the slide would have to read %s; it goes from %s to %s", mm(reading), mm(slide.Travel.Least), mm(slide.Travel.Most)).
			length(reading).least(float64(slide.Travel.Least)).most(float64(slide.Travel.Most))
	}
	return spot{line: line, tilt: tilt, reading: reading, at: slide.At(reading), placed: true}, nil
}

// tiltTo tilts the table. Of two tilts within its range it takes the one nearer to where it stands, and otherwise the more level.
func (m *table) tiltTo(line, above unit.Length, near shop.Maybe[spot]) (spot, *no) {
	low, high, ok := m.platform(0).Tilts(line, above)
	if !ok {
		return spot{}, refuse(CannotReach, "rig.station.platform", "no tilt brings the tool's line to %s from the axle", mm(line)).length(line)
	}
	from := near.Value.tilt
	best, other := low, high
	if math.Abs(float64(high-from)) < math.Abs(float64(low-from)) {
		best, other = high, low
	}
	at := spot{line: line, tilt: best, at: m.support.Table.Hinge.Value, placed: true}
	found, n := m.inTilts(at)
	if n == nil {
		return found, nil
	}
	at.tilt = other
	if found, other := m.inTilts(at); other == nil {
		return found, nil
	}
	return spot{}, n
}

func (m *table) inTilts(at spot) (spot, *no) {
	if r := m.support.Table.Tilts; m.tilts() && (at.tilt < r.Least || at.tilt > r.Most) {
		return spot{}, refuse(BeyondTravel, "support.platform_tilt_deg", "the platform would have to tilt to %s; it tilts from %s to %s", degrees(at.tilt), degrees(r.Least), degrees(r.Most)).
			angle(at.tilt).least(r.Least.Degrees()).most(r.Most.Degrees())
	}
	return at, nil
}

func (m *table) round(s *stand, r Rounding) *no {
	v, ok := m.value(s, s.datum, s.exact)
	if !ok {
		return refuse(RigDoesNotFit, "rig.station.supports", "the platform is to be set by its %s, and this machine does not say enough for that", s.datum)
	}
	per := m.per(s, s.datum)
	at := shop.Settings{Datum: s.datum}
	if s.datum == shop.DatumTilt {
		tie := unit.TieDown
		if per > 0 {
			tie = unit.TieUp
		}
		at.Tilt = unit.Angle(v).RoundTo(r.angleStep(), tie)
		if tilts := m.support.Table.Tilts; m.tilts() {
			at.Tilt = min(max(at.Tilt, tilts.Least), tilts.Most)
		}
	} else {
		at.Support = roundDatum(unit.Length(v), r.lengthStep(), per, func(v unit.Length) bool {
			set, n := m.locate(s.face, shop.Settings{Datum: s.datum, Support: v})
			return n == nil && !(m.slides() && set.placed && outside(set.reading, m.support.Slide.Value.Travel))
		})
	}
	return m.put(s, at)
}

// put sets the table and finds what it grinds.
func (m *table) put(s *stand, at shop.Settings) *no {
	set, n := m.locate(s.face, at)
	if n != nil {
		return n
	}
	set.line -= s.bevel.below
	s.set = set
	if m.surface.Flat() {
		s.front = set.tilt + 90*unit.Degree
		return s.checkGround()
	}
	front, err := m.surface.LineAngle(set.line)
	if err != nil {
		r := float64(m.surface.Radius())
		return refuse(CannotReach, "settings", "the tool's line would pass the axle at %s, beyond the rim at %s", mm(set.line), mm(m.surface.Radius())).length(set.line).least(-r).most(r)
	}
	s.front = front
	return s.checkGround()
}

func (m *table) predict(s *stand, at shop.Settings) *no {
	s.datum = at.Datum
	if n := m.put(s, at); n != nil {
		return n
	}
	s.exact, s.wanted = s.set, s.front
	return m.finish(s)
}

// locate finds the spot that settings name; its line is the reference line's.
func (m *table) locate(f face, at shop.Settings) (spot, *no) {
	height := f.above.Value
	switch {
	case at.Datum == shop.DatumTilt && (m.tilts() || m.surface.Flat()):
		return spot{tilt: at.Tilt, line: m.platform(0).Line(at.Tilt, height), at: m.support.Table.Hinge.Value, placed: true}, nil
	case at.Datum == shop.DatumSlide && m.slides():
		tilt := m.support.Table.Tilt.Value
		return spot{tilt: tilt, reading: at.Support, line: m.platform(at.Support).Line(tilt, height), at: m.support.Slide.Value.At(at.Support), placed: true}, nil
	case at.Datum == shop.DatumPlatformToAxle && !m.surface.Flat():
		return m.byDistance(at.Support, height), nil
	}
	return spot{}, notThere("platform", at.Datum)
}

// byDistance is the spot where the table's surface passes the axle at a distance, in the machine where that is within its range.
func (m *table) byDistance(surface, height unit.Length) spot {
	line := surface + height
	var at spot
	var n *no
	switch {
	case m.slides():
		at, n = m.slideTo(line, height)
	case m.tilts():
		at, n = m.tiltTo(line, height, shop.Maybe[spot]{})
	default:
		return spot{line: line}
	}
	if n != nil {
		return spot{line: line}
	}
	return at
}

func (m *table) value(s *stand, d shop.Datum, at spot) (float64, bool) {
	switch d {
	case shop.DatumTilt:
		return float64(at.tilt), at.placed && (m.tilts() || m.surface.Flat())
	case shop.DatumSlide:
		return float64(at.reading), at.placed && m.slides()
	case shop.DatumPlatformToAxle:
		return float64(at.line - above(s.face, s.bevel)), !m.surface.Flat()
	}
	return 0, false
}

func (m *table) per(s *stand, d shop.Datum) float64 {
	if m.surface.Flat() {
		if d == shop.DatumTilt {
			return 1
		}
		return 0
	}
	perLine := m.surface.PerLine(s.front)
	switch d {
	case shop.DatumTilt:
		return perLine * float64(m.platform(s.set.reading).LinePerTilt(s.set.tilt))
	case shop.DatumSlide:
		return perLine * math.Sin(float64(m.support.Slide.Value.Direction-s.set.tilt))
	}
	return perLine
}

func (m *table) finish(s *stand) *no {
	if s.set.placed && (m.tilts() || m.slides()) {
		s.pose, s.posed = m.surface.PoseOnPlatform(s.front, s.set.tilt, s.set.line), true
	}
	if !m.surface.Flat() {
		s.wear = -m.surface.PerDiameterAtLine(s.front)
	}
	if n := m.checkFront(s); n != nil {
		return n
	}
	return m.checkGuard(s)
}

// checkFront finds the rest gap and refuses a table whose front edge would be in the wheel.
func (m *table) checkFront(s *stand) *no {
	front := m.support.Table.Front
	if !front.Known || !s.posed {
		return nil
	}
	gap := m.surface.GapTo(m.platform(s.set.reading).Front(s.set.tilt, front.Value))
	s.restGap = shop.Some(gap)
	if gap <= 0 {
		return refuse(SupportInWheel, "support", "the platform's front edge would stand %s inside the wheel", mm(-gap)).length(gap).least(0)
	}
	return nil
}

func (m *table) inputs(s *stand) []BudgetItem {
	items := make([]BudgetItem, 0, 4)
	half := float64(m.doubts.support(s.datum, false))
	if s.datum == shop.DatumTilt {
		half = float64(m.doubts.tilt())
	}
	items = append(items, BudgetItem{Quantity: s.datum.String(), Words: m.datum(s.datum), Setting: true,
		IsAngle: s.datum == shop.DatumTilt, HalfWidth: half, Sensitivity: m.per(s, s.datum)})
	if m.surface.Flat() {
		return items
	}
	perLine := m.surface.PerLine(s.front)
	perThickness := perLine
	if m.tool.Kind.TwoBevels() {
		perThickness /= 2 // its edge lies in the middle
	}
	if s.datum == shop.DatumSlide {
		items = append(items, BudgetItem{Quantity: "slide_origin", Words: "the slide's origin",
			HalfWidth: float64(m.support.Slide.Value.Doubt.Or(Calibrated)), Sensitivity: perLine})
	}
	return append(items,
		BudgetItem{Quantity: "blade_thickness", Words: "the blade's thickness", HalfWidth: float64(Calibrated), Sensitivity: perThickness},
		BudgetItem{Quantity: wheelDiameter, Words: "the wheel's diameter", HalfWidth: float64(m.wheel.Doubt.Or(ByCalliper)),
			Sensitivity: m.surface.PerDiameterAtLine(s.front)})
}
