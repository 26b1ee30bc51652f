package rpc

import (
	"math"
	"strings"
	"testing"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
)

var grindService = []protoreflect.ServiceDescriptor{arrisv1.File_arris_v1_grind_service_proto.Services().Get(0)}

func demoRequest() *arrisv1.SolveSetupRequest {
	return &arrisv1.SolveSetupRequest{
		Shop:        "shops/main",
		GrindSource: &arrisv1.SolveSetupRequest_Recipe{Recipe: "shops/main/recipes/bowl-50"},
		Rig:         &arrisv1.Rig{StationSource: &arrisv1.Rig_Station{Station: "shops/main/stations/north"}},
	}
}

func withWheel(w *arrisv1.Wheel) *arrisv1.SolveSetupRequest {
	r := demoRequest()
	r.Rig.WheelSource = &arrisv1.Rig_InlineWheel{InlineWheel: w}
	return r
}

func round(diameter float64) *arrisv1.Wheel {
	return &arrisv1.Wheel{Shape: &arrisv1.Wheel_DiameterMm{DiameterMm: diameter}}
}

func withGiven(s *arrisv1.Settings) *arrisv1.SolveSetupRequest {
	r := demoRequest()
	r.Given = s
	return r
}

func withGrind(bevels ...*arrisv1.Bevel) *arrisv1.SolveSetupRequest {
	r := demoRequest()
	r.GrindSource = &arrisv1.SolveSetupRequest_Grind{Grind: &arrisv1.Grind{Bevels: bevels}}
	return r
}

func withSupport(s *arrisv1.Support) *arrisv1.SolveSetupRequest {
	r := demoRequest()
	r.Rig.StationSource = &arrisv1.Rig_InlineStation{InlineStation: &arrisv1.Station{Supports: []*arrisv1.Support{s}}}
	return r
}

func edited(edit func(*arrisv1.SolveSetupRequest)) *arrisv1.SolveSetupRequest {
	r := demoRequest()
	edit(r)
	return r
}

func TestGoodRequestsPass(t *testing.T) {
	for _, req := range []any{demoRequest(), withWheel(round(20)), withGiven(&arrisv1.Settings{}), "no message at all"} {
		if err := newTestRules(t).check(req); err != nil {
			t.Errorf("%v: %v", req, err)
		}
	}
}

// Each rule that a schema can declare, the reason it is refused with, and the words: value, limit, what would work.
func TestEachRuleHasItsReasonAndWords(t *testing.T) {
	rules := newTestRules(t)
	slide := func(least, most float64) *arrisv1.Support {
		return &arrisv1.Support{
			Kind:  &arrisv1.Support_Bar{Bar: &arrisv1.Bar{DiameterMm: proto.Float64(12)}},
			Slide: &arrisv1.Slide{OriginOutMm: proto.Float64(0), OriginUpMm: proto.Float64(-110), DirectionDeg: proto.Float64(0), LeastMm: &least, MostMm: &most},
		}
	}
	for name, c := range map[string]struct {
		req   proto.Message
		field string
		why   fault.FieldReason
		words []string
	}{
		"not a number": {
			withGiven(&arrisv1.Settings{StickOutMm: proto.Float64(math.NaN())}),
			"given.stick_out_mm", fault.NotFinite, []string{"NaN", "finite", "above 0 mm and at most 2000 mm"},
		},
		"infinite": {
			withWheel(round(math.Inf(1))), "rig.inline_wheel.diameter_mm", fault.NotFinite, []string{"+Inf", "from 20 to 2000 mm"},
		},
		"negative": {
			withGiven(&arrisv1.Settings{StickOutMm: proto.Float64(-5)}),
			"given.stick_out_mm", fault.OutOfRange, []string{"-5 mm", "above 0 mm"},
		},
		"zero is not missing": {
			withGiven(&arrisv1.Settings{StickOutMm: proto.Float64(0)}), "given.stick_out_mm", fault.OutOfRange, []string{"is 0 mm"},
		},
		"too keen a wish": {
			withGrind(&arrisv1.Bevel{Angle: &arrisv1.Bevel_FrontAngleDeg{FrontAngleDeg: 120}}),
			"grind.bevels[0].front_angle_deg", fault.OutOfRange, []string{"120°", "above 0° and below 90°"},
		},
		"small wheel": {withWheel(round(19.9)), "rig.inline_wheel.diameter_mm", fault.OutOfRange, []string{"19.9 mm", "from 20 to 2000 mm"}},
		"item of a list": {
			edited(func(r *arrisv1.SolveSetupRequest) { r.Rounding = &arrisv1.Rounding{BlocksMm: []float64{5, 0}} }),
			"rounding.blocks_mm[1]", fault.OutOfRange, []string{"0 mm", "above 0 mm and at most 1000 mm"},
		},
		"form":     {edited(func(r *arrisv1.SolveSetupRequest) { r.Shop = "Main" }), "shop", fault.BadForm, []string{`"Main"`, "shops/"}},
		"too long": {withWheel(&arrisv1.Wheel{Shape: round(200).GetShape(), DisplayName: strings.Repeat("ü", 201)}), "rig.inline_wheel.display_name", fault.TooLong, []string{"201 characters", "at most 200"}},
		"too many": {
			edited(func(r *arrisv1.SolveSetupRequest) { r.Free = []arrisv1.FreeSetting{1, 2, 3, 1} }),
			"free", fault.TooLong, []string{"4 items", "at most 3"},
		},
		"twice": {
			edited(func(r *arrisv1.SolveSetupRequest) { r.Free = []arrisv1.FreeSetting{2, 2} }),
			"free", fault.Contradiction, []string{"twice"},
		},
		"unspecified item": {
			edited(func(r *arrisv1.SolveSetupRequest) { r.Free = []arrisv1.FreeSetting{0} }),
			"free[0]", fault.Missing, []string{"FREE_SETTING_STICK_OUT"},
		},
		"value of no list": {
			edited(func(r *arrisv1.SolveSetupRequest) { r.Wording = &arrisv1.Wording{LengthUnit: 77} }),
			"wording.length_unit", fault.UnknownValue, []string{"77", "LENGTH_UNIT_INCH"},
		},
		"language": {
			edited(func(r *arrisv1.SolveSetupRequest) { r.Wording = &arrisv1.Wording{LanguageCode: "German, please"} }),
			"wording.language_code", fault.BadForm, []string{`"German, please"`, "like de"},
		},
		"number not said": {
			withSupport(&arrisv1.Support{Kind: &arrisv1.Support_Bar{Bar: &arrisv1.Bar{}}}),
			"rig.inline_station.supports[0].bar.diameter_mm", fault.Missing, []string{"needed", "above 0 mm and at most 200 mm"},
		},
		"empty list":     {withGrind(), "grind.bevels", fault.Missing, []string{"needed"}},
		"no choice made": {withGrind(&arrisv1.Bevel{}), "grind.bevels[0]", fault.Missing, []string{"front_angle_deg", "reading_deg"}},
		"measured nothing": {
			&arrisv1.CreateWheelMeasurementRequest{Parent: "shops/main/wheels/north-fine", WheelMeasurement: &arrisv1.WheelMeasurement{}},
			"wheel_measurement", fault.Missing, []string{"say a diameter_mm or around_mm"},
		},
		"travel reversed": {
			withSupport(slide(5, 3)), "rig.inline_station.supports[0].slide", fault.Contradiction, []string{"least_mm must be below most_mm"},
		},
	} {
		f, ok := fault.As(rules.check(c.req))
		if !ok || f.Kind != fault.BadRequest || f.Reason != fault.InvalidField || len(f.Violations) != 1 {
			t.Errorf("%s: %v", name, f)
			continue
		}
		v := f.Violations[0]
		if f.Message != v.Field+": "+v.Text {
			t.Errorf("%s: %q does not part the field from the words %q", name, f.Message, v.Text)
		}
		if v.Field != c.field || v.Reason != c.why {
			t.Errorf("%s: %s %s, want %s %s", name, v.Field, v.Reason, c.field, c.why)
		}
		for _, word := range c.words {
			if !strings.Contains(v.Text, word) || !strings.Contains(f.Message, word) {
				t.Errorf("%s: %q does not say %q", name, v.Text, word)
			}
		}
	}
}

func TestAllViolationsComeAtOnce(t *testing.T) {
	req := withWheel(round(5))
	req.Shop = "?"
	req.Given = &arrisv1.Settings{StickOutMm: proto.Float64(math.NaN())}
	f, _ := fault.As(newTestRules(t).check(req))
	var fields []string
	for _, v := range f.Violations {
		fields = append(fields, v.Field)
	}
	if got := strings.Join(fields, " "); got != "shop rig.inline_wheel.diameter_mm given.stick_out_mm" {
		t.Errorf("violations of %s", got)
	}
}

// Whatever standard rules the schema comes to declare, each must have its reason.
func TestEveryDeclaredRuleIsUnderstood(t *testing.T) {
	seen := 0
	var look func(path string, declared *validate.FieldRules)
	look = func(path string, declared *validate.FieldRules) {
		declared.ProtoReflect().Range(func(kind protoreflect.FieldDescriptor, of protoreflect.Value) bool {
			if kind.Message() == nil || kind.IsList() {
				return true
			}
			of.Message().Range(func(leaf protoreflect.FieldDescriptor, value protoreflect.Value) bool {
				id := string(kind.Name()) + "." + string(leaf.Name())
				switch leaf.Name() {
				case "example":
					return true
				case "pattern":
					if words := formText(value.String(), declared); strings.Contains(words, value.String()) {
						t.Errorf("%s declares the form %s: give it an example, or words in forms", path, value)
					}
				case "items":
					items, _ := value.Message().Interface().(*validate.FieldRules)
					look(path+"[]", items)
					return true
				}
				seen++
				v := &protovalidate.Violation{Proto: validate.Violation_builder{RuleId: proto.String(id)}.Build()}
				if _, known := reasonByRule(v); !known {
					t.Errorf("%s declares %s, which has no reason", path, id)
				}
				return true
			})
			return true
		})
	}
	for _, field := range fieldsOfPackage("arris.v1") {
		if declared, ok := proto.GetExtension(field.Options(), validate.E_Field).(*validate.FieldRules); ok && declared != nil {
			look(string(field.FullName()), declared)
		}
	}
	if seen < 50 {
		t.Errorf("only %d rules were found: this test looks in the wrong place", seen)
	}
}

func fieldsOfPackage(name protoreflect.FullName) []protoreflect.FieldDescriptor {
	var all []protoreflect.FieldDescriptor
	protoregistry.GlobalFiles.RangeFilesByPackage(name, func(file protoreflect.FileDescriptor) bool {
		for i := range file.Messages().Len() {
			fields := file.Messages().Get(i).Fields()
			for j := range fields.Len() {
				all = append(all, fields.Get(j))
			}
		}
		return true
	})
	return all
}

func newTestRules(t testing.TB) *rules {
	t.Helper()
	r, err := newRules(grindService, false)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func BenchmarkRules(b *testing.B) {
	rules, req := newTestRules(b), demoRequest()
	b.ReportAllocs()
	for b.Loop() {
		if err := rules.check(req); err != nil {
			b.Fatal(err)
		}
	}
}
