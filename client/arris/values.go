package arris

import (
	"encoding"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// The values that flags take. Each reads itself strictly, says what would work when it cannot, and knows whether it was
// said at all: a length of 0 is said.

// length is a length with its unit.
type length struct {
	mm   float64
	said bool
}

// UnmarshalText reads 45mm, 4.5cm, 1 3/4in.
func (l *length) UnmarshalText(text []byte) error {
	read, err := unit.ParseLength(string(text))
	*l = length{read.Millimetres(), err == nil}
	return err
}

// over puts the length in place of the field's, if it was said.
func (l length) over(field **float64) {
	if l.said {
		*field = &l.mm
	}
}

// angle is an angle with its unit.
type angle struct {
	deg  float64
	said bool
}

// UnmarshalText reads 50deg, 50°, 13°32'.
func (a *angle) UnmarshalText(text []byte) error {
	read, err := unit.ParseAngle(string(text))
	*a = angle{read.Degrees(), err == nil}
	return err
}

func (a angle) over(field **float64) {
	if a.said {
		*field = &a.deg
	}
}

// leg is the leg's angle, or a fixed place for it by its mark. A mark may be a number, so it is never guessed.
type leg struct {
	angle    angle
	position string
}

// UnmarshalText reads 30deg or position:3.
func (l *leg) UnmarshalText(text []byte) error {
	for _, word := range []string{"position:", "position "} {
		if mark, ok := strings.CutPrefix(string(text), word); ok {
			l.position = strings.TrimSpace(mark)
			if l.position == "" {
				return fmt.Errorf("%q names no position: write position:3", text)
			}
			return nil
		}
	}
	if err := l.angle.UnmarshalText(text); err != nil {
		return fmt.Errorf("%w, or position:%s for a marked place", err, text)
	}
	return nil
}

// wheel is a wheel by name, by its diameter, or a flat abrasive.
type wheel struct {
	name     string
	diameter length
	flat     bool
}

// UnmarshalText reads a name, a diameter, or flat.
func (w *wheel) UnmarshalText(text []byte) error {
	switch s := string(text); {
	case s == "flat":
		w.flat = true
	case s != "" && 'a' <= s[0] && s[0] <= 'z':
		w.name = s
	default:
		if err := w.diameter.UnmarshalText(text); err != nil {
			return fmt.Errorf("neither a wheel's name nor flat, and %w", err)
		}
	}
	return nil
}

// bevel is ANGLE, ANGLE@WIDTH, for angles that are not the bevel's front angle KIND:ANGLE, and for a bevel that is ground elsewhere than
// the others ANGLE@WIDTH,PLACE=VALUE.
type bevel struct {
	wanted *arrisv1.Bevel
	rig    rigFlags
	given  settingFlags
}

// places are what a bevel may have of its own.
func (b *bevel) places() map[string]any {
	return map[string]any{
		"station": &b.rig.Station, "support": &b.rig.Support, "wheel": &b.rig.Wheel, "holder": &b.rig.Holder,
		"stick-out": &b.given.StickOut, "leg": &b.given.Leg,
	}
}

// bevelKinds are the words before the colon, in the order they are offered.
var bevelKinds = []struct {
	word string
	set  func(*arrisv1.Bevel, float64)
}{
	{"front", func(b *arrisv1.Bevel, deg float64) { b.Angle = &arrisv1.Bevel_FrontAngleDeg{FrontAngleDeg: deg} }},
	{"reading", func(b *arrisv1.Bevel, deg float64) { b.Angle = &arrisv1.Bevel_ReadingDeg{ReadingDeg: deg} }},
	{"included", func(b *arrisv1.Bevel, deg float64) {
		b.Angle = &arrisv1.Bevel_IncludedFrontAngleDeg{IncludedFrontAngleDeg: deg}
	}},
	{"included-reading", func(b *arrisv1.Bevel, deg float64) {
		b.Angle = &arrisv1.Bevel_IncludedReadingDeg{IncludedReadingDeg: deg}
	}},
}

// UnmarshalText reads 50deg@3mm, reading:52.9deg, included:36deg, 35deg,leg=position:2,wheel=150mm.
func (b *bevel) UnmarshalText(text []byte) error {
	angleAndWidth := string(text)
	if strings.Contains(angleAndWidth, "=") { // else a comma is a decimal one, and its own mistake
		parts := strings.Split(angleAndWidth, ",")
		angleAndWidth = parts[0]
		for _, place := range parts[1:] {
			if err := b.readPlace(place); err != nil {
				return err
			}
		}
	}
	kind, rest, named := strings.Cut(angleAndWidth, ":")
	if !named {
		kind, rest = bevelKinds[0].word, angleAndWidth
	}
	angleText, widthText, hasWidth := strings.Cut(rest, "@")
	var wanted angle
	var width length
	if err := wanted.UnmarshalText([]byte(angleText)); err != nil {
		return err
	}
	if hasWidth {
		if err := width.UnmarshalText([]byte(widthText)); err != nil {
			return fmt.Errorf("the width after the @: %w", err)
		}
	}
	read := &arrisv1.Bevel{}
	width.over(&read.WidthMm)
	for _, k := range bevelKinds {
		if k.word == kind {
			k.set(read, wanted.deg)
			b.wanted = read
			return nil
		}
	}
	return fmt.Errorf("%q is no kind of angle: write 50deg@3mm, reading:52.9deg, included:36deg or included-reading:40deg", kind)
}

func (b *bevel) readPlace(text string) error {
	name, value, _ := strings.Cut(text, "=")
	switch to := b.places()[name].(type) {
	case *string:
		*to = value
	case encoding.TextUnmarshaler:
		if err := to.UnmarshalText([]byte(value)); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	default:
		return fmt.Errorf("a bevel has no %q of its own: write station=, support=, wheel=, holder=, stick-out= or leg=", name)
	}
	if value == "" {
		return fmt.Errorf("%q says nothing: write a value behind the =", text)
	}
	return nil
}

// microBevel is ANGLE@WIDTH, both needed: how much steeper than the edge's own bevel, and how wide.
type microBevel struct {
	steeper angle
	width   length
}

// UnmarshalText reads 3deg@0.5mm.
func (m *microBevel) UnmarshalText(text []byte) error {
	angleText, widthText, both := strings.Cut(string(text), "@")
	if err := m.steeper.UnmarshalText([]byte(angleText)); err != nil {
		return err
	}
	if !both {
		return fmt.Errorf("%q has no width: write %[1]s@0.5mm", text)
	}
	if err := m.width.UnmarshalText([]byte(widthText)); err != nil {
		return fmt.Errorf("the width after the @: %w", err)
	}
	return nil
}

// turn is TURNS@WIDTH, or TURNS alone for the last bevel: turns of the adjuster, which nothing else is counted in.
type turn struct {
	turns float64
	width length
}

// UnmarshalText reads 4@3mm, -2.5@1/8in, 8.
func (t *turn) UnmarshalText(text []byte) error {
	turnsText, widthText, hasWidth := strings.Cut(string(text), "@")
	turns, err := strconv.ParseFloat(turnsText, 64)
	if err != nil || math.IsNaN(turns) || math.IsInf(turns, 0) {
		return fmt.Errorf("%q is no number of turns: write -3@3mm, or -6 for the last bevel", turnsText)
	}
	t.turns = turns
	if !hasWidth {
		return nil
	}
	if err := t.width.UnmarshalText([]byte(widthText)); err != nil {
		return fmt.Errorf("the width after the @: %w", err)
	}
	return nil
}

// fluteValue is a flute's section: SHAPE:RADIUS, of a vee SHAPE:RADIUS@WALLS, or flat.
type fluteValue struct{ flute *arrisv1.Flute }

// UnmarshalText reads parabola:4mm, round:5.5mm, vee:2mm@40deg, flat.
func (f *fluteValue) UnmarshalText(text []byte) error {
	word, rest, hasRadius := strings.Cut(string(text), ":")
	shape := arrisv1.FluteShape(arrisv1.FluteShape_value["FLUTE_SHAPE_"+enumWord(word)])
	switch {
	case shape == arrisv1.FluteShape_FLUTE_SHAPE_UNSPECIFIED:
		return fmt.Errorf("%q is no flute: write parabola:4mm, round:5.5mm, vee:2mm@40deg or flat", word)
	case shape == arrisv1.FluteShape_FLUTE_SHAPE_FLAT && hasRadius:
		return errors.New("a flat face has no radius: write flat alone")
	case shape != arrisv1.FluteShape_FLUTE_SHAPE_FLAT && !hasRadius:
		return fmt.Errorf("%q has no radius: write %[1]s:4mm, by the radius at the flute's floor", text)
	}
	f.flute = &arrisv1.Flute{Shape: shape}
	if !hasRadius {
		return nil
	}
	var radius length
	var walls angle
	radiusText, wallsText, hasWalls := strings.Cut(rest, "@")
	if err := radius.UnmarshalText([]byte(radiusText)); err != nil {
		return err
	}
	if (shape == arrisv1.FluteShape_FLUTE_SHAPE_VEE) != hasWalls {
		return errors.New("a vee has walls, and nothing else: write vee:2mm@40deg, by what they rise at from the horizontal")
	}
	if hasWalls {
		if err := walls.UnmarshalText([]byte(wallsText)); err != nil {
			return fmt.Errorf("the walls after the @: %w", err)
		}
	}
	radius.over(&f.flute.RadiusMm)
	walls.over(&f.flute.WallAngleDeg)
	return nil
}

// fluteText is a flute as the flag takes it.
func fluteText(f *arrisv1.Flute) string {
	text := fluteWord(f.GetShape())
	if f.RadiusMm != nil {
		text += ":" + mmText(f.GetRadiusMm())
	}
	if f.WallAngleDeg != nil {
		text += "@" + degText(f.GetWallAngleDeg())
	}
	return text
}

func fluteWord(s arrisv1.FluteShape) string {
	return strings.ToLower(strings.TrimPrefix(s.String(), "FLUTE_SHAPE_"))
}

// barValue is a round bar by its diameter, or a flat one by width and thickness.
type barValue struct{ bar *arrisv1.BarSection }

// UnmarshalText reads 16mm, 32mmx9mm.
func (b *barValue) UnmarshalText(text []byte) error {
	widthText, thicknessText, flat := strings.Cut(string(text), "x")
	var width, thickness length
	if err := width.UnmarshalText([]byte(widthText)); err != nil {
		return err
	}
	if !flat {
		b.bar = &arrisv1.BarSection{Shape: &arrisv1.BarSection_DiameterMm{DiameterMm: width.mm}}
		return nil
	}
	if err := thickness.UnmarshalText([]byte(thicknessText)); err != nil {
		return fmt.Errorf("the thickness after the x: %w", err)
	}
	b.bar = &arrisv1.BarSection{Shape: &arrisv1.BarSection_Rectangular{
		Rectangular: &arrisv1.RectangularBar{WidthMm: &width.mm, ThicknessMm: &thickness.mm},
	}}
	return nil
}

// twoLengths reads LENGTH@LENGTH, both needed.
func twoLengths(text []byte, what string) (first, second length, err error) {
	firstText, secondText, both := strings.Cut(string(text), "@")
	if err := first.UnmarshalText([]byte(firstText)); err != nil {
		return first, second, err
	}
	if !both {
		return first, second, fmt.Errorf("%q has no %s: write %[1]s@1mm", text, what)
	}
	if err := second.UnmarshalText([]byte(secondText)); err != nil {
		return first, second, fmt.Errorf("the %s after the @: %w", what, err)
	}
	return first, second, nil
}

// fluteMouth is a flute's width and how deep its floor lies below there.
type fluteMouth struct{ mouth *arrisv1.FluteMouth }

// UnmarshalText reads 12mm@4.5mm.
func (m *fluteMouth) UnmarshalText(text []byte) error {
	width, depth, err := twoLengths(text, "depth")
	m.mouth = &arrisv1.FluteMouth{WidthMm: &width.mm, DepthMm: &depth.mm}
	return err
}

// flutePin is a pin in a flute and how far it stays above the floor.
type flutePin struct{ pin *arrisv1.FlutePin }

// UnmarshalText reads 10mm@0.8mm.
func (p *flutePin) UnmarshalText(text []byte) error {
	diameter, above, err := twoLengths(text, "height")
	p.pin = &arrisv1.FlutePin{DiameterMm: &diameter.mm, AboveFloorMm: &above.mm}
	return err
}

// lengthAxis is FROM:TO:COUNT, or lengths with commas between.
type lengthAxis struct{ axis *arrisv1.LengthAxis }

// UnmarshalText reads 90mm:120mm:7 or 100mm,105mm,110mm.
func (a *lengthAxis) UnmarshalText(text []byte) error {
	values, steps, err := axisOf(string(text), "90mm:120mm:7", func(s string) (float64, error) {
		var l length
		err := l.UnmarshalText([]byte(s))
		return l.mm, err
	})
	switch {
	case err != nil:
		return err
	case steps > 0:
		a.axis = &arrisv1.LengthAxis{FromMm: &values[0], ToMm: &values[1], Steps: &steps}
	default:
		a.axis = &arrisv1.LengthAxis{ValuesMm: values}
	}
	return nil
}

// angleAxis is FROM:TO:COUNT, or angles with commas between.
type angleAxis struct{ axis *arrisv1.AngleAxis }

// UnmarshalText reads 15deg:45deg:4 or 20deg,30deg.
func (a *angleAxis) UnmarshalText(text []byte) error {
	values, steps, err := axisOf(string(text), "15deg:45deg:4", func(s string) (float64, error) {
		var l angle
		err := l.UnmarshalText([]byte(s))
		return l.deg, err
	})
	switch {
	case err != nil:
		return err
	case steps > 0:
		a.axis = &arrisv1.AngleAxis{FromDeg: &values[0], ToDeg: &values[1], Steps: &steps}
	default:
		a.axis = &arrisv1.AngleAxis{ValuesDeg: values}
	}
	return nil
}

// axisOf reads the two ends and the count of a range, or the values of a list, whose count is 0.
func axisOf(text, example string, read func(string) (float64, error)) (values []float64, steps int32, err error) {
	parts := strings.Split(text, ":")
	if len(parts) == 1 {
		parts = strings.Split(text, ",")
	} else {
		if len(parts) != 3 {
			return nil, 0, fmt.Errorf("%q is no range: write from, to and how many, as in %s", text, example)
		}
		count, err := strconv.ParseInt(parts[2], 10, 32)
		if err != nil || count < 1 {
			return nil, 0, fmt.Errorf("%q is no count: write how many values there are, both ends among them, as in %s", parts[2], example)
		}
		parts, steps = parts[:2], int32(count)
	}
	for _, part := range parts {
		v, err := read(part)
		if err != nil {
			return nil, 0, err
		}
		values = append(values, v)
	}
	return values, steps, nil
}

// groundBy is what ground a bevel: a wheel of a diameter, or something flat.
type groundBy struct {
	diameter length
	flat     bool
}

// UnmarshalText reads a diameter or flat.
func (g *groundBy) UnmarshalText(text []byte) error {
	if string(text) == "flat" {
		g.flat = true
		return nil
	}
	if err := g.diameter.UnmarshalText(text); err != nil {
		return fmt.Errorf("%w, or flat", err)
	}
	return nil
}

// decimalMark is the mark before decimals in CSV, which decides what stands between cells.
type decimalMark rune

// UnmarshalText reads . or a comma.
func (d *decimalMark) UnmarshalText(text []byte) error {
	switch string(text) {
	case ".":
		*d = '.'
	case ",":
		*d = ','
	default:
		return fmt.Errorf("%q is no decimal mark: write . or ,", text)
	}
	return nil
}

// between is what stands between cells.
func (d decimalMark) between() rune {
	if d == ',' {
		return ';'
	}
	return ','
}

// bevelText is a bevel as the flag takes it.
func bevelText(b *arrisv1.Bevel) string {
	text := ""
	switch b.GetAngle().(type) {
	case *arrisv1.Bevel_FrontAngleDeg:
		text = degText(b.GetFrontAngleDeg())
	case *arrisv1.Bevel_ReadingDeg:
		text = "reading:" + degText(b.GetReadingDeg())
	case *arrisv1.Bevel_IncludedFrontAngleDeg:
		text = "included:" + degText(b.GetIncludedFrontAngleDeg())
	case *arrisv1.Bevel_IncludedReadingDeg:
		text = "included-reading:" + degText(b.GetIncludedReadingDeg())
	}
	if b.WidthMm != nil {
		text += "@" + mmText(b.GetWidthMm())
	}
	return text + bevelPlaceText(b)
}

// bevelPlaceText is where a bevel is ground, if that is its own, as far as the flag can say it.
func bevelPlaceText(b *arrisv1.Bevel) string {
	text := ""
	add := func(name, value string) {
		if value != "" {
			text += "," + name + "=" + value
		}
	}
	add("station", b.GetRig().GetStation())
	add("support", b.GetRig().GetSupport())
	add("wheel", b.GetRig().GetWheel())
	if diameter := b.GetRig().GetInlineWheel().GetDiameterMm(); diameter > 0 {
		add("wheel", mmText(diameter))
	}
	add("holder", b.GetRig().GetHolder())
	if b.GetGiven().GetStickOutMm() > 0 {
		add("stick-out", mmText(b.GetGiven().GetStickOutMm()))
	}
	switch b.GetGiven().GetLeg().(type) {
	case *arrisv1.Settings_LegAngleDeg:
		add("leg", degText(b.GetGiven().GetLegAngleDeg()))
	case *arrisv1.Settings_LegPosition:
		add("leg", "position:"+b.GetGiven().GetLegPosition())
	}
	return text
}

// mmText and degText are numbers as flags take them back.
func mmText(mm float64) string {
	return strings.ReplaceAll(unit.Length(mm).String(), " ", "")
}

func degText(deg float64) string {
	return strings.TrimSuffix(unit.Degrees(deg).String(), "°") + "deg"
}

// touchFirst is an offset to the blunt side, or "sized".
type touchFirst struct {
	offset angle
	sized  bool
}

// UnmarshalText reads an angle or sized.
func (t *touchFirst) UnmarshalText(text []byte) error {
	if string(text) == "sized" {
		t.sized = true
		return nil
	}
	if err := t.offset.UnmarshalText(text); err != nil {
		return fmt.Errorf("%w, or sized", err)
	}
	return nil
}

// lengthDoubt is a half-width, or what the length is measured with.
type lengthDoubt struct{ doubt *arrisv1.LengthDoubt }

var lengthInstruments = map[string]arrisv1.LengthInstrument{
	"rule":       arrisv1.LengthInstrument_LENGTH_INSTRUMENT_RULE,
	"calliper":   arrisv1.LengthInstrument_LENGTH_INSTRUMENT_CALLIPER,
	"block":      arrisv1.LengthInstrument_LENGTH_INSTRUMENT_BLOCK,
	"calibrated": arrisv1.LengthInstrument_LENGTH_INSTRUMENT_CALIBRATED,
}

// UnmarshalText reads 0.5mm or an instrument.
func (d *lengthDoubt) UnmarshalText(text []byte) error {
	if instrument, ok := lengthInstruments[string(text)]; ok {
		d.doubt = &arrisv1.LengthDoubt{Source: &arrisv1.LengthDoubt_Instrument{Instrument: instrument}}
		return nil
	}
	var half length
	if err := half.UnmarshalText(text); err != nil {
		return fmt.Errorf("%w, or one of rule, calliper, block, calibrated", err)
	}
	d.doubt = &arrisv1.LengthDoubt{Source: &arrisv1.LengthDoubt_HalfWidthMm{HalfWidthMm: half.mm}}
	return nil
}

// angleDoubt is a half-width, or what the angle is set with.
type angleDoubt struct{ doubt *arrisv1.AngleDoubt }

var angleInstruments = map[string]arrisv1.AngleInstrument{
	"scale": arrisv1.AngleInstrument_ANGLE_INSTRUMENT_SCALE,
	"notch": arrisv1.AngleInstrument_ANGLE_INSTRUMENT_NOTCH,
}

// UnmarshalText reads 1deg or an instrument.
func (d *angleDoubt) UnmarshalText(text []byte) error {
	if instrument, ok := angleInstruments[string(text)]; ok {
		d.doubt = &arrisv1.AngleDoubt{Source: &arrisv1.AngleDoubt_Instrument{Instrument: instrument}}
		return nil
	}
	var half angle
	if err := half.UnmarshalText(text); err != nil {
		return fmt.Errorf("%w, or scale or notch", err)
	}
	d.doubt = &arrisv1.AngleDoubt{Source: &arrisv1.AngleDoubt_HalfWidthDeg{HalfWidthDeg: half.deg}}
	return nil
}

// moment is a day, which counts to its end, or a time as RFC 3339 writes it.
type moment struct {
	time time.Time
	said bool
}

// UnmarshalText reads 2026-11-20 or 2026-11-20T09:00:00Z.
func (m *moment) UnmarshalText(text []byte) error {
	day, err := time.Parse(time.DateOnly, string(text))
	if err == nil {
		*m = moment{day.AddDate(0, 0, 1).Add(-time.Microsecond), true}
		return nil
	}
	at, err := time.Parse(time.RFC3339, string(text))
	if err != nil {
		return fmt.Errorf("%q is no day and no time: write 2026-11-20 or 2026-11-20T09:00:00Z", text)
	}
	*m = moment{at, true}
	return nil
}
