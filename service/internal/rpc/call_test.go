package rpc

import (
	"context"
	"testing"

	arrisv1 "arris.example/proto/arris/v1"
)

func TestKindLabelsAreBounded(t *testing.T) {
	for want, about := range map[string]Calculation{
		"bowl_gouge/pocket":  {Tool: arrisv1.ToolKind_TOOL_KIND_BOWL_GOUGE, Support: Pocket},
		"unspecified/any":    {Support: AnySupport},
		"skew/platform":      {Tool: arrisv1.ToolKind_TOOL_KIND_SKEW, Support: Platform},
		"other/bar":          {Tool: 1000, Support: Bar},
		"parting_tool/other": {Tool: arrisv1.ToolKind_TOOL_KIND_PARTING_TOOL, Support: "whatever a caller wrote"},
	} {
		c := &call{}
		ctx := context.WithValue(t.Context(), callKey{}, c)
		if got := c.kind(); got != "unknown" {
			t.Errorf("before it is noted: %q", got)
		}
		if Note(ctx, about); c.kind() != want {
			t.Errorf("%+v: %q, want %q", about, c.kind(), want)
		}
	}
}

func TestOutsideACallNothingHappens(t *testing.T) {
	Note(t.Context(), Calculation{})
	if id := RequestID(t.Context()); id != "" {
		t.Errorf("request id %q", id)
	}
}
