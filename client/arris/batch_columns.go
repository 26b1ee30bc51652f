package arris

import (
	"fmt"
	"slices"
	"strings"

	arrisv1 "arris.example/proto/arris/v1"
)

// asking is what a row asks: a solve command, as if it had been typed, and the row's key.
type asking struct {
	key string
	solveCommand
}

// batchFields are the columns of a batch. They are called as the flags of solve are, or as the API's fields.
var batchFields = append([]field[asking]{
	{names: []string{"key"}, into: func(a *asking) any { return &a.key }},
	{names: []string{"recipe"}, alone: "grind", into: func(a *asking) any { return &a.Ask.Wanted.Recipe }},
	{names: []string{"edge", "edge_angle"}, of: angles, alone: "grind", into: func(a *asking) any { return &a.Ask.Wanted.Grind.Edge }},
	{names: []string{"bevels"}, alone: "grind", into: func(a *asking) any { return (*bevelList)(&a.Ask.Wanted.Grind.Bevel) }},
	{names: []string{"upper"}, into: func(a *asking) any { return &a.Ask.Wanted.Grind.Upper }},
	{names: []string{"station"}, into: func(a *asking) any { return &a.Ask.Rig.Station }},
	{names: []string{"support"}, into: func(a *asking) any { return &a.Ask.Rig.Support }},
	{names: []string{"wheel"}, alone: "wheel", into: func(a *asking) any { return &a.Ask.Rig.Wheel }},
	{names: []string{"wheel", "wheel_diameter"}, of: lengths, alone: "wheel", into: func(a *asking) any { return &a.Ask.Rig.Wheel.diameter }},
	{names: []string{"holder"}, alone: "behind", into: func(a *asking) any { return &a.Ask.Rig.Holder }},
	{names: []string{"pivot_behind"}, of: lengths, alone: "behind", into: func(a *asking) any { return &a.Ask.Rig.PivotBehind }},
	{names: []string{"pivot_below"}, of: lengths, alone: "below", into: func(a *asking) any { return &a.Ask.Rig.PivotBelow }},
	{names: []string{"tool"}, into: func(a *asking) any { return &a.Ask.Rig.Tool }},
	{names: []string{"kind"}, into: func(a *asking) any { return kindCell{&a.Ask.Rig.Kind} }},
	{names: []string{"steel", "steel_under_flute"}, of: lengths, alone: "steel", into: func(a *asking) any { return &a.Ask.Rig.Steel }},
	{names: []string{"thickness", "blade_thickness"}, of: lengths, alone: "thickness", into: func(a *asking) any { return &a.Ask.Rig.Thickness }},
	{names: []string{"edge_to_side"}, of: angles, alone: "side", into: func(a *asking) any { return &a.Ask.Rig.EdgeToSide }},
	{names: []string{"flute_radius"}, of: lengths, alone: "flute", into: func(a *asking) any { return &a.Ask.Rig.FluteRadius }},
	{names: []string{"edge_below_top"}, of: lengths, alone: "top", into: func(a *asking) any { return &a.Ask.Rig.EdgeBelow }},
	{names: []string{"free"}, into: func(a *asking) any { return (*freeList)(&a.Choice.Free) }},
	{names: []string{"step", "length_step"}, of: lengths, alone: "step", into: func(a *asking) any { return &a.Choice.Step }},
	{names: []string{"angle_step"}, of: angles, alone: "angle step", into: func(a *asking) any { return &a.Choice.AngleStep }},
	{names: []string{"blocks"}, into: func(a *asking) any { return (*lengthList)(&a.Choice.Block) }},
	{names: []string{"touch_first"}, of: angles, alone: "touch", into: func(a *asking) any { return &a.Choice.Touch }},
}, append(
	settingFields("", func(a *asking) *settingFlags { return &a.Ask.Set }),
	settingFields("now_", func(a *asking) *settingFlags { return &a.Now })...,
)...)

// settingFields are the columns of everything a person sets; begin begins their names.
func settingFields(begin string, of func(*asking) *settingFlags) []field[asking] {
	list := []field[asking]{
		{names: []string{"stick_out"}, of: lengths, alone: "stick-out", into: func(a *asking) any { return &of(a).StickOut }},
		{names: []string{"leg"}, alone: "leg", into: func(a *asking) any { return &of(a).Leg }},
		{names: []string{"leg", "leg_angle"}, of: angles, alone: "leg", into: func(a *asking) any { return &of(a).Leg.angle }},
		{names: []string{"leg_position"}, alone: "leg", into: func(a *asking) any { return &of(a).Leg.position }},
		{names: []string{"gap", "wheel_gap"}, of: lengths, alone: "support", into: func(a *asking) any { return &of(a).Gap }},
		{names: []string{"gap_far", "wheel_gap_far"}, of: lengths, alone: "support", into: func(a *asking) any { return &of(a).GapFar }},
		{names: []string{"slide"}, of: lengths, alone: "support", into: func(a *asking) any { return &of(a).Slide }},
		{names: []string{"axle", "pivot_to_axle"}, of: lengths, alone: "support", into: func(a *asking) any { return &of(a).Axle }},
		{names: []string{"face", "face_distance"}, of: lengths, alone: "support", into: func(a *asking) any { return &of(a).Face }},
		{names: []string{"height"}, of: lengths, alone: "support", into: func(a *asking) any { return &of(a).Height }},
		{names: []string{"tilt", "platform_tilt"}, of: angles, alone: "support", into: func(a *asking) any { return &of(a).Tilt }},
		{names: []string{"platform", "platform_to_axle"}, of: lengths, alone: "support", into: func(a *asking) any { return &of(a).Platform }},
	}
	for i := range list {
		for n := range list[i].names {
			list[i].names[n] = begin + list[i].names[n]
		}
		list[i].alone = begin + list[i].alone
	}
	return list
}

// bevelList is a cell of bevels with spaces between, from edge to heel.
type bevelList []bevel

// UnmarshalText reads 50deg@3mm 35deg.
func (l *bevelList) UnmarshalText(text []byte) error {
	for _, word := range strings.Fields(string(text)) {
		var read bevel
		if err := read.UnmarshalText([]byte(word)); err != nil {
			return fmt.Errorf("%w (bevels have spaces between them, and none within)", err)
		}
		*l = append(*l, read)
	}
	return nil
}

// lengthList is a cell of lengths with spaces between.
type lengthList []length

// UnmarshalText reads 45mm 50mm.
func (l *lengthList) UnmarshalText(text []byte) error {
	for _, word := range strings.Fields(string(text)) {
		var read length
		if err := read.UnmarshalText([]byte(word)); err != nil {
			return fmt.Errorf("%w (lengths have spaces between them, and none within)", err)
		}
		*l = append(*l, read)
	}
	return nil
}

// freeList is a cell of what may be chosen.
type freeList []string

// UnmarshalText reads support leg.
func (l *freeList) UnmarshalText(text []byte) error {
	for _, word := range strings.Fields(string(text)) {
		if !slices.Contains([]string{"support", "stick-out", "leg"}, word) {
			return fmt.Errorf("%q cannot be chosen: write support, stick-out or leg, with spaces between", word)
		}
		*l = append(*l, word)
	}
	return nil
}

// kindCell is a cell with a tool's kind.
type kindCell struct{ kind **string }

// UnmarshalText reads bowl-gouge.
func (k kindCell) UnmarshalText(text []byte) error {
	word := string(text)
	if known := kindWords(); !slices.Contains(known, word) {
		return fmt.Errorf("%q is no kind of tool; nearest known: %s", word, strings.Join(nearest(word, known), ", "))
	}
	*k.kind = &word
	return nil
}

func kindWords() []string {
	var list []string
	for number, name := range arrisv1.ToolKind_name {
		if number != int32(arrisv1.ToolKind_TOOL_KIND_UNSPECIFIED) {
			list = append(list, strings.ToLower(strings.ReplaceAll(strings.TrimPrefix(name, "TOOL_KIND_"), "_", "-")))
		}
	}
	return list
}
