package fields_test

import (
	"errors"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	"arris.example/client/arris/internal/fields"
	arrisv1 "arris.example/proto/arris/v1"
)

var mainShop = fields.Setter{Shop: "shops/main"}

// What is typed stands in the record as said, and reading it says the same again.
func TestSetThenRead(t *testing.T) {
	for _, c := range []struct {
		record             proto.Message
		path, typed, reads string
	}{
		{&arrisv1.Wheel{}, "grit", "F100", "F100"},
		{&arrisv1.Wheel{}, "diameter_mm", "200", "200"},
		{&arrisv1.Wheel{}, "diameter_mm", "8in", "203.2"}, // 25.4 mm to the inch
		{&arrisv1.Wheel{}, "steels", "carbon, high-speed", "carbon,high-speed"},
		{&arrisv1.Wheel{}, "station", "north", "shops/main/stations/north"},
		{&arrisv1.Wheel{}, "station", "shops/other/stations/north", "shops/other/stations/north"},
		{&arrisv1.Wheel{}, "abrasive", "ABRASIVE_KIND_STONE", "stone"},
		{&arrisv1.Wheel{}, "measure_time", "2026-11-20", "2026-11-20T00:00:00Z"},
		{&arrisv1.Wheel{}, "flat", "{}", "{}"},
		{&arrisv1.Tool{}, "edge_to_side_deg", "70°", "70"},
		{&arrisv1.Tool{}, "external_ids.inventory", "T-0042", "T-0042"},
		{&arrisv1.Holder{}, "clamp.bar_below_mm", "-12.5mm", "-12.5"},
		{&arrisv1.Holder{}, "clamp.yawed_with_blade", "yes", "yes"},
		{&arrisv1.Holder{}, "swing.leg_positions[0].leg_angle_deg", "25", "25"},
		{&arrisv1.Recipe{}, "revision", " 7 ", "7"},
		{&arrisv1.Tool{}, "recipe", " bowl-50 ", "shops/main/recipes/bowl-50"},
		{&arrisv1.Tool{}, "location", " on the left ", " on the left "},
		{&arrisv1.Inspection{}, "subject", "wheels/north-fine", "shops/main/wheels/north-fine"},
	} {
		if err := mainShop.Set(c.record, c.path, c.typed); err != nil {
			t.Errorf("%s=%s: %v", c.path, c.typed, err)
			continue
		}
		if got := fields.Get(c.record, c.path); got != c.reads {
			t.Errorf("%s=%s reads %q, want %q", c.path, c.typed, got, c.reads)
		}
		if err := mainShop.Set(c.record, c.path, ""); err != nil || fields.Get(c.record, c.path) != "" {
			t.Errorf("%s= leaves %q, %v", c.path, fields.Get(c.record, c.path), err)
		}
	}
}

// A whole record survives being written field by field.
func TestFieldsMakeTheRecord(t *testing.T) {
	deg, mm := proto.Float64(30), proto.Float64(1.25)
	h := &arrisv1.Holder{
		DisplayName: "Swing, \"long\"",
		Kind: &arrisv1.Holder_Swing{Swing: &arrisv1.SwingHolder{LegLengthMm: mm, LegPositions: []*arrisv1.LegPosition{
			{PositionId: "a", LegAngleDeg: deg}, {PositionId: "b", LegAngleDeg: proto.Float64(0)},
		}}},
		Doubt:       &arrisv1.LengthDoubt{Source: &arrisv1.LengthDoubt_HalfWidthMm{HalfWidthMm: 0.1}},
		ExternalIds: []*arrisv1.ExternalId{{System: "inventory", Value: "=1+1"}, {System: "till", Value: "9"}},
	}
	again := &arrisv1.Holder{}
	for _, f := range fields.All(h) {
		if err := mainShop.Set(again, f.Path, f.Value); err != nil {
			t.Errorf("%s=%s: %v", f.Path, f.Value, err)
		}
	}
	if !proto.Equal(h, again) {
		t.Errorf("%v\nbecomes\n%v", h, again)
	}
}

func TestWhatCannotBeTyped(t *testing.T) {
	for _, c := range []struct {
		record            proto.Message
		path, typed, says string
	}{
		{&arrisv1.Wheel{}, "gritt", "F80", "there are name, display_name"},
		{&arrisv1.Wheel{}, "diameter_mm", "round", "round"},
		{&arrisv1.Wheel{}, "diameter_mm", "NaN", "NaN"},
		{&arrisv1.Wheel{}, "marked_speed_rpm", "Inf", "is no number"},
		{&arrisv1.Wheel{}, "abrasive", "sand", "there are bonded, superabrasive, coated, stone"},
		{&arrisv1.Wheel{}, "measure_time", "yesterday", "2026-11-20"},
		{&arrisv1.Wheel{}, "grit.kind", "F80", "has no fields of its own"},
		{&arrisv1.Holder{}, "swing.leg_positions[1].leg_angle_deg", "25", "the next is leg_positions[0]"},
		{&arrisv1.Holder{}, "swing.leg_positions[x].leg_angle_deg", "25", "there is no field"},
		{&arrisv1.Holder{}, "swing.leg_positions.leg_angle_deg", "25", "write leg_positions[0]"},
		{&arrisv1.Holder{}, "swing", "long", "as JSON"},
		{&arrisv1.Holder{}, "clamp.yawed_with_blade", "perhaps", "yes or no"},
		{&arrisv1.Recipe{}, "revision", "1.5", "whole number"},
	} {
		err := mainShop.Set(c.record, c.path, c.typed)
		var wrong *fields.Error
		if !errors.As(err, &wrong) || wrong.Path != c.path || !strings.Contains(wrong.Problem, c.says) {
			t.Errorf("%s=%s: %v, want %q", c.path, c.typed, err, c.says)
		}
	}
}

// A column's name is checked without a record that has it.
func TestColumnsAreFields(t *testing.T) {
	for path, ok := range map[string]bool{
		"grit": true, "diameter_doubt.half_width_mm": true, "external_ids.till": true, "measure_time": true, "steels": true, "flat": true,
		"gritt": false, "grit.x": false, "diameter_doubt.x": false, "measure_time.seconds": false, "steels[0]": false, "external_ids[x].value": false,
		"": false, "flat.": false,
	} {
		if err := fields.Check(&arrisv1.Wheel{}, path); (err == nil) != ok {
			t.Errorf("%q: %v", path, err)
		}
	}
	for path, ok := range map[string]bool{
		"supports[3].slide.least_mm": true, "supports[0]": false, "supports.slide": false, "state[0].x": false,
	} {
		if err := fields.Check(&arrisv1.Station{}, path); (err == nil) != ok {
			t.Errorf("%q: %v", path, err)
		}
	}
}
