package api

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// walk visits every field of a message type, those of messages inside it too, with the way to set it: each visit gets a fresh message
// in which that field, and of the choices on the way there only those that lead to it, is set. Numbers are set to what no default is.
func walk(t protoreflect.MessageType, visit func(path string, m proto.Message)) {
	var into func(path []protoreflect.FieldDescriptor, d protoreflect.MessageDescriptor)
	into = func(path []protoreflect.FieldDescriptor, d protoreflect.MessageDescriptor) {
		for i := range d.Fields().Len() {
			f := d.Fields().Get(i)
			here := append(append([]protoreflect.FieldDescriptor{}, path...), f)
			if f.Message() != nil && f.Message().FullName() != "google.protobuf.Timestamp" && f.Message().Fields().Len() > 0 {
				into(here, f.Message())
				continue
			}
			m := t.New()
			set(m, here)
			visit(name(here), m.Interface())
		}
	}
	into(nil, t.Descriptor())
}

func name(path []protoreflect.FieldDescriptor) string {
	text := ""
	for _, f := range path {
		text += "." + string(f.Name())
	}
	return text[1:]
}

// set puts a value at the end of a path.
func set(m protoreflect.Message, path []protoreflect.FieldDescriptor) {
	f := path[0]
	switch {
	case len(path) > 1 && f.IsList():
		list := m.Mutable(f).List()
		set(list.AppendMutable().Message(), path[1:])
	case len(path) > 1:
		set(m.Mutable(f).Message(), path[1:])
	case f.IsList():
		m.Mutable(f).List().Append(sample(m, f))
	default:
		m.Set(f, sample(m, f))
	}
}

func sample(m protoreflect.Message, f protoreflect.FieldDescriptor) protoreflect.Value {
	switch f.Kind() {
	case protoreflect.DoubleKind:
		return protoreflect.ValueOfFloat64(12.5)
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(7)
	case protoreflect.StringKind:
		return protoreflect.ValueOfString("x")
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(true)
	case protoreflect.EnumKind:
		values := f.Enum().Values()
		return protoreflect.ValueOfEnum(values.Get(values.Len() - 1).Number())
	case protoreflect.MessageKind:
		if f.Message().FullName() == "google.protobuf.Timestamp" {
			return protoreflect.ValueOfMessage(timestamppb.New(time.Unix(1e9, 0)).ProtoReflect())
		}
		return m.NewField(f)
	}
	panic(fmt.Sprintf("no sample for %v", f.FullName()))
}

// choices are fields that only say which of several things something is: by themselves they hold nothing.
var choices = map[string]bool{
	"rig.inline_holder.none": true, "grind.bevels.rig.inline_holder.none": true, "today.bevels.rig.inline_holder.none": true,
	"behind_rig.inline_holder.none": true,
}

// asDefault are the ends of paths whose sample says what is believed anyway: an adjuster that lowers the reading, and half a hinge,
// which the schema's rules refuse.
var asDefault = []string{".clockwise", ".hinge_up_mm"}

// stamped tells whether a field is what the store knows of a record.
func stamped(path string) bool {
	return slices.ContainsFunc([]string{"uid", "etag", "create_time", "update_time", "delete_time", "external_ids.system", "external_ids.value"},
		func(field string) bool { return path == field || strings.HasSuffix(path, "."+field) })
}

// made are the fields of records that rules make.
var made = []string{"revision", "state", "newest_revision", "published_revision", "engine_version"}

// TestRecordsComeBackAsTheyWere sets every single field of every kind of record: the plain record is another than without it, and what goes
// out of it comes in as the same record again.
func TestRecordsComeBackAsTheyWere(t *testing.T) {
	throughBorder(t, stations, nil)
	throughBorder(t, gauges, nil)
	throughBorder(t, inspections, nil)
	throughBorder(t, wheels, nil)
	throughBorder(t, measurements, nil)
	throughBorder(t, tools, nil)
	throughBorder(t, holders, nil)
	throughBorder(t, recipes, made)
	throughBorder(t, sharpenings, made)
	throughBorder(t, shops, nil)
}

func throughBorder[M message, T any](t *testing.T, r *resource[M, T], made []string) {
	var none M
	count := 0
	walk(none.ProtoReflect().Type(), func(path string, m proto.Message) {
		count++
		if stamped(path) || slices.Contains(made, path) || strings.Contains(path, "rig") || choices["rig.inline_holder."+path] { // a recipe's bevels have no rig of their own
			return
		}
		in := r.in(m.(M))
		if reflect.DeepEqual(in, r.in(none.ProtoReflect().New().Interface().(M))) {
			t.Errorf("%s.%s: its value is dropped", none.ProtoReflect().Descriptor().Name(), path)
		}
		if back := r.in(r.out(in)); !reflect.DeepEqual(back, in) {
			t.Errorf("%s.%s: %+v comes back as %+v", none.ProtoReflect().Descriptor().Name(), path, in, back)
		}
	})
	if count == 0 {
		t.Errorf("no field of %T was tried", none)
	}
}

// TestNothingThatIsAskedIsDropped sets every single field of a request and wants the rule's question to be another than without it.
func TestNothingThatIsAskedIsDropped(t *testing.T) {
	refused := func(path string) bool { return strings.Contains(path, "upper_bevel.rig") || stamped(path) } // by the schema's rules, or not said by callers
	count := 0
	check := func(kind protoreflect.MessageType, convert func(proto.Message) any) {
		walk(kind, func(path string, m proto.Message) {
			count++
			if refused(path) {
				return
			}
			parent := m.ProtoReflect().Type().New().Interface()
			if got, bare := convert(m), convert(parent); reflect.DeepEqual(got, bare) {
				t.Errorf("%s.%s: the question is not changed by it", kind.Descriptor().Name(), path)
			}
			if choices[path] || slices.ContainsFunc(asDefault, func(end string) bool { return strings.HasSuffix(path, end) }) {
				return
			}
			// Also beside its siblings: with the field's own value left out, the rest of the way there is the same.
			without := proto.Clone(m)
			empty(without.ProtoReflect())
			if reflect.DeepEqual(convert(m), convert(without)) {
				t.Errorf("%s.%s: its value is dropped", kind.Descriptor().Name(), path)
			}
		})
	}
	check((&arrisv1.SolveSetupRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return solveIn(m.(*arrisv1.SolveSetupRequest)) })
	check((&arrisv1.PredictGrindRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return predictIn(m.(*arrisv1.PredictGrindRequest)) })
	check((&arrisv1.MatchGrindRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return matchIn(m.(*arrisv1.MatchGrindRequest)) })
	check((&arrisv1.PlanRegrindRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return changeIn(m.(*arrisv1.PlanRegrindRequest)) })
	check((&arrisv1.PlanBevelsRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return planIn(m.(*arrisv1.PlanBevelsRequest)) })
	check((&arrisv1.CheckCurveRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return curveIn(m.(*arrisv1.CheckCurveRequest)) })
	check((&arrisv1.AnalyzeEdgeRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return analyzeIn(m.(*arrisv1.AnalyzeEdgeRequest)) })
	check((&arrisv1.MapEdgeRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return mapIn(m.(*arrisv1.MapEdgeRequest)) })
	check((&arrisv1.FindFurthestWingRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return furthestIn(m.(*arrisv1.FindFurthestWingRequest)) })
	check((&arrisv1.FitFluteRequest{}).ProtoReflect().Type(), func(m proto.Message) any { return fluteMeasuresIn(m.(*arrisv1.FitFluteRequest)) })
	if count < 250 {
		t.Errorf("only %d fields were tried", count)
	}
}

// clear empties the innermost field of a message that has one field at every level.
func empty(m protoreflect.Message) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.IsList() && f.Message() != nil && f.Message().FullName() != "google.protobuf.Timestamp":
			empty(v.List().Get(0).Message())
		case f.Message() != nil && f.Message().FullName() != "google.protobuf.Timestamp" && f.Message().Fields().Len() > 0:
			empty(v.Message())
		default:
			m.Clear(f)
		}
		return true
	})
}

// TestNothingThatIsAnsweredIsDropped fills everything a rule can answer with and wants every field of the response to be there.
func TestNothingThatIsAnsweredIsDropped(t *testing.T) {
	var s setup.Setup
	fill(reflect.ValueOf(&s).Elem())
	s.Figure = &drawing.Figure{Description: "x", Least: s.Figure.Least, Most: s.Figure.Most, Items: figureItems()}
	var p setup.Prediction
	fill(reflect.ValueOf(&p).Elem())
	p.Figure = s.Figure
	var r setup.Refusal
	fill(reflect.ValueOf(&r).Elem())
	r.Ways = append(r.Ways, setup.Way{Bevel: shop.Some(shop.Bevel{Width: shop.Some(unit.Length(1)), Angle: 1, Given: shop.Settings{StickOut: shop.Some(unit.Length(1))}})})
	r.Ways[0].Bevel.Known = false
	var matched setup.Matched
	fill(reflect.ValueOf(&matched).Elem())
	matched.Next.Figure = s.Figure
	var regrind setup.Regrind
	fill(reflect.ValueOf(&regrind).Elem())
	var bevels setup.BevelPlan
	fill(reflect.ValueOf(&bevels).Elem())
	var curve setup.CurveAnswer
	fill(reflect.ValueOf(&curve).Elem())
	unset := map[string]bool{}
	var edge setup.WholeEdge
	fill(reflect.ValueOf(&edge).Elem())
	edge.Plan, edge.End = s.Figure, s.Figure
	var cells setup.EdgeMap
	fill(reflect.ValueOf(&cells).Elem())
	var furthest setup.Furthest
	fill(reflect.ValueOf(&furthest).Elem())
	var flutes setup.FittedFlutes
	fill(reflect.ValueOf(&flutes).Elem())
	flutes.Fits[0].Flute.Shape = shop.VeeFlute
	for _, m := range []proto.Message{planOut(bevels), curveOut(curve), &arrisv1.SolveSetupResponse{Setup: setupOut(s)}, predictionOut(p), refusalOut(&r), matchedOut(matched), regrindOut(regrind), edgeOut(&edge), mapOut(cells), furthestOut(furthest), flutesOut(flutes)} {
		missing(m.ProtoReflect(), unset)
	}
	for path := range unset {
		switch path {
		case "arris.v1.Bevel.rig", // a way out changes a bevel's angle, not its place
			"arris.v1.PlanBevelsResponse.rig": // the request's own, with what its recipe adds
		default:
			t.Errorf("%s is never filled", path)
		}
	}
}

// figureItems is one item of every shape.
func figureItems() []drawing.Item {
	shapes := []drawing.Shape{drawing.Path{}, drawing.Arc{}, drawing.Text{}, drawing.Dimension{}, drawing.Angle{}}
	items := make([]drawing.Item, len(shapes))
	for i := range shapes {
		v := reflect.New(reflect.TypeOf(shapes[i])).Elem()
		fill(v)
		items[i] = drawing.Item{Part: "x", Role: 1, Shape: v.Interface().(drawing.Shape)}
	}
	return items
}

// fill sets everything in a value to something that is not its zero.
func fill(v reflect.Value) {
	if v.Type() == reflect.TypeFor[time.Time]() {
		v.Set(reflect.ValueOf(time.Unix(1e9, 0)))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i))
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fill(v.Index(0))
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i))
		}
	case reflect.String:
		v.SetString("x")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		v.SetFloat(0.5)
	case reflect.Int:
		v.SetInt(1)
	}
}

// missing collects the fields that are nowhere set; of a choice it is enough that one is.
func missing(m protoreflect.Message, unset map[string]bool) {
	for i := range m.Descriptor().Fields().Len() {
		f := m.Descriptor().Fields().Get(i)
		switch {
		case !m.Has(f):
			if f.ContainingOneof() == nil || f.HasOptionalKeyword() {
				if o := m.Descriptor().FullName(); o != "arris.v1.Settings" && o != "arris.v1.Way" {
					unset[string(f.FullName())] = true
				}
			}
		case f.IsList() && f.Message() != nil:
			for j := range m.Get(f).List().Len() {
				missing(m.Get(f).List().Get(j).Message(), unset)
			}
		case f.Message() != nil && f.Message().FullName() != "google.protobuf.Timestamp":
			missing(m.Get(f).Message(), unset)
		}
	}
}

// TestSettingsThereAndBack holds that settings which are offered read back as what they are.
func TestSettingsThereAndBack(t *testing.T) {
	for d := shop.DatumUnset; d <= shop.DatumPlatformToAxle; d++ {
		s := shop.Settings{StickOut: shop.Some(unit.Length(45)), Leg: shop.Some(unit.Degrees(30)), Datum: d, Support: 108.5}
		switch d {
		case shop.DatumTilt:
			s.Support, s.Tilt = 0, unit.Degrees(-12.5)
		case shop.DatumUnset:
			s.Support = 0
		}
		if got := settingsIn(settingsOut(s)); got != s {
			t.Errorf("%v became %+v, want %+v", d, got, s)
		}
	}
	byMark := shop.Settings{Position: "3"}
	if got := settingsIn(settingsOut(byMark)); got != byMark {
		t.Errorf("got %+v", got)
	}
	for of := shop.FrontAngle; of <= shop.IncludedReading; of++ {
		b := shop.Bevel{Of: of, Angle: unit.Degrees(50), Width: shop.Some(unit.Length(3))}
		if got := bevelIn(bevelOut(b)); got != b {
			t.Errorf("got %+v, want %+v", got, b)
		}
	}
}

// TestAdjusters holds which way a clockwise turn goes.
func TestAdjusters(t *testing.T) {
	for way, raises := range map[arrisv1.ClockwiseTurn]bool{
		arrisv1.ClockwiseTurn_CLOCKWISE_TURN_RAISES_READING: true, arrisv1.ClockwiseTurn_CLOCKWISE_TURN_LOWERS_READING: false,
	} {
		lead := 1.5
		if a := supportIn(&arrisv1.Support{Adjuster: &arrisv1.Adjuster{LeadMmPerTurn: &lead, Clockwise: way}}).Adjuster; !a.Known || a.Value.Lead != 1.5 || a.Value.ClockwiseRaises != raises {
			t.Errorf("%v: %+v", way, a)
		}
	}
}

// TestAbsentIsNotZero holds the difference where it matters.
func TestAbsentIsNotZero(t *testing.T) {
	if s := settingsIn(&arrisv1.Settings{}); s.StickOut.Known || s.Leg.Known || s.Datum != shop.DatumUnset {
		t.Errorf("%+v", s)
	}
	zero := settingsIn(&arrisv1.Settings{Leg: &arrisv1.Settings_LegAngleDeg{}, Support: &arrisv1.Settings_SlideMm{}})
	if !zero.Leg.Known || zero.Datum != shop.DatumSlide {
		t.Errorf("%+v", zero)
	}
	bare := supportIn(&arrisv1.Support{Kind: &arrisv1.Support_Platform{Platform: &arrisv1.Platform{}}})
	if bare.Table.Hinge.Known || bare.Table.Tilt.Known || bare.Table.Tilts != (shop.AngleRange{Least: unit.Degrees(-90), Most: unit.Degrees(90)}) {
		t.Errorf("%+v", bare.Table)
	}
	if h := holderIn(&arrisv1.Holder{Kind: &arrisv1.Holder_Swing{Swing: &arrisv1.SwingHolder{}}}); h.Leg != (shop.AngleRange{Most: unit.Degrees(90)}) {
		t.Errorf("%+v", h.Leg)
	}
	if out := anglesOut(setup.Angles{}); out.BevelReadingDeg != nil || out.WearDegPerMm != nil || out.RestGapMm != nil {
		t.Errorf("%v", out)
	}
}

// TestEnumsMatch holds the lists that are converted by their numbers against the schema's names.
func TestEnumsMatch(t *testing.T) {
	for want, got := range map[string]protoreflect.Enum{
		"DATUM_PLATFORM_TO_AXLE":          arrisv1.Datum(shop.DatumPlatformToAxle),
		"DATUM_HEIGHT":                    arrisv1.Datum(shop.DatumHeight),
		"TOOL_KIND_NEGATIVE_RAKE_SCRAPER": arrisv1.ToolKind(shop.NegativeRakeScraper),
		"TOOL_KIND_SKEW":                  arrisv1.ToolKind(shop.Skew),
		"STEEL_CLASS_POWDER_METAL":        arrisv1.SteelClass(shop.PowderSteel),
		"ABRASIVE_KIND_STONE":             arrisv1.AbrasiveKind(shop.Stone),
		"FREE_SETTING_LEG":                arrisv1.FreeSetting(setup.FreeLeg),
		"SIDE_UPPER":                      arrisv1.Side(setup.UpperSide),
		"SEVERITY_STOP":                   arrisv1.Severity(setup.Stop),
		"FIGURE_ROLE_CONSTRUCTION":        arrisv1.FigureRole(drawing.RoleConstruction),
	} {
		if name := got.Descriptor().Values().ByNumber(got.Number()); name == nil || string(name.Name()) != want {
			t.Errorf("number %d is %v, want %s", got.Number(), name, want)
		}
	}
	for i := range arrisv1.LengthInstrument(0).Descriptor().Values().Len() {
		if _, ok := lengthInstruments[arrisv1.LengthInstrument(i)]; ok != (i > 0) {
			t.Errorf("instrument %d has a width: %v", i, ok)
		}
	}
	for i := range arrisv1.AngleInstrument(0).Descriptor().Values().Len() {
		if _, ok := angleInstruments[arrisv1.AngleInstrument(i)]; ok != (i > 0) {
			t.Errorf("instrument %d has a width: %v", i, ok)
		}
	}
}

// TestReasonsAreInTheSchema holds every reason of the rule against the schema's list.
func TestReasonsAreInTheSchema(t *testing.T) {
	for _, r := range []fault.Reason{
		setup.BevelsNotFalling, setup.LandTooLong, setup.NothingFree, setup.CannotReach, setup.BeyondTravel, setup.TooKeen, setup.TooBlunt,
		setup.WheelTooSmall, setup.Overspeed, setup.IllConditioned, setup.SupportInWheel, setup.HolderStrikesWheel, setup.ContactBehindGuard,
		setup.StickOutTooLong, setup.LegOutOfRange, setup.BevelNeverEnds, setup.RigDoesNotFit, setup.NothingWorks, setup.NotForSteel, setup.TooCostly,
		fault.InvalidField, fault.NoSuchThing, fault.Mistake, fault.BodyTooLarge, fault.WasCancelled, fault.RanOutOfTime, fault.UnknownMethod,
	} {
		if _, ok := arrisv1.Reason_value["REASON_"+string(r)]; !ok {
			t.Errorf("%s is not in the schema", r)
		}
	}
}

// TestRefusedKeepsTheFault holds that a rule's detail is put into the schema's words without touching the fault it came in.
func TestRefusedKeepsTheFault(t *testing.T) {
	detail := &setup.Refusal{Field: "grind.bevels[0]", Unit: "deg", Least: shop.Some(15.0)}
	f := &fault.Fault{Kind: fault.Impossible, Reason: setup.TooKeen, Message: "too keen", Detail: detail}
	out, ok := fault.As(refused(f))
	if !ok || out == f || f.Detail != detail {
		t.Fatal("the fault itself was changed")
	}
	got := out.Detail.(*arrisv1.GrindRefusal)
	if got.GetField() != detail.Field || got.GetLeast() != 15 || got.Most != nil || out.Message != f.Message {
		t.Errorf("%v", got)
	}
	plain := &fault.Fault{Kind: fault.NotFound}
	if !errors.Is(refused(plain), plain) {
		t.Error("a fault without a detail became another")
	}
	if other := fmt.Errorf("other"); !errors.Is(refused(other), other) {
		t.Error("an error became another")
	}
}

func TestSlopesAreInDegrees(t *testing.T) {
	l := lengthOut(&setup.LengthSetting{PerMM: math.Pi / 180})
	a := angleOut(&setup.AngleSetting{PerAngle: 0.5})
	mm := budgetOut(setup.BudgetItem{Sensitivity: math.Pi / 180, HalfWidth: 0.5})
	deg := budgetOut(setup.BudgetItem{Sensitivity: 0.5, HalfWidth: math.Pi / 180, IsAngle: true})
	for what, v := range map[string][2]float64{
		"degrees per millimetre": {l.GetDegPerMm(), 1}, "degrees per degree": {a.GetDegPerDeg(), 0.5},
		"of a budget": {mm.GetDegPerUnit(), 1}, "half-width": {mm.GetHalfWidth(), 0.5}, "contribution": {mm.GetContributionDeg(), 0.5},
		"of an angle": {deg.GetDegPerUnit(), 0.5}, "half-width, degrees": {deg.GetHalfWidth(), 1}, "its contribution": {deg.GetContributionDeg(), 0.5},
	} {
		if math.Abs(v[0]-v[1]) > 1e-12 {
			t.Errorf("%s: %v, want %v", what, v[0], v[1])
		}
	}
}

// TestPlannedBevelsKeepTheirPlaces wants every planned bevel to be ground where the request says: behind the first on the rig for that,
// otherwise where the bevel that it is ground with is.
func TestPlannedBevelsKeepTheirPlaces(t *testing.T) {
	rig := func(wheel string) *arrisv1.Rig {
		return &arrisv1.Rig{WheelSource: &arrisv1.Rig_Wheel{Wheel: wheel}}
	}
	first := &arrisv1.Grind{Bevels: []*arrisv1.Bevel{{Rig: rig("first")}, {}}}
	req := &arrisv1.PlanBevelsRequest{GrindSource: &arrisv1.PlanBevelsRequest_Grind{Grind: first}}
	for _, c := range []struct {
		i, of  int
		behind *arrisv1.Rig
		want   string
	}{{0, 0, nil, "first"}, {1, 0, nil, "first"}, {2, 1, nil, ""}, {1, -1, nil, ""}, {0, 0, rig("behind"), "first"}, {1, 0, rig("behind"), "behind"}, {1, -1, rig("behind"), "behind"}} {
		req.BehindRig = c.behind
		if got := placeOf(req, c.i, c.of).GetWheel(); got != c.want {
			t.Errorf("bevel %d, ground with %d, is on wheel %q, want %q", c.i, c.of, got, c.want)
		}
	}
}
