package worked_test

import (
	"testing"

	"arris.example/geometry/worked"
)

func TestExamplesAreWhole(t *testing.T) {
	all, err := worked.Examples()
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	for _, e := range all {
		if names[e.Name] || e.Source == "" || e.Call == "" && len(e.Engine) == 0 || e.Call != "" && len(e.Expect) == 0 {
			t.Errorf("example %q: a name of its own, a source, and something to hold are needed", e.Name)
		}
		names[e.Name] = true
	}
}

func TestExpectationsCanFail(t *testing.T) {
	answer := []byte(`{"a":[{"code":"X","v":1.5,"s":"one two"}]}`)
	for _, x := range []worked.Expectation{
		{Path: "a[0].v", Value: 1.6, Tolerance: 0.05},
		{Path: "a[0].w", Value: 1.5, Tolerance: 1},
		{Path: "a[1].v", Value: 1.5, Tolerance: 1},
		{Path: "a[code=Y].v", Value: 1.5, Tolerance: 1},
		{Path: "a[0].s", Value: 1.5, Tolerance: 1},
		{Path: "a[0].s", Text: "one"},
		{Path: "a[0].s", Text: "two…one"},
	} {
		if x.Check(answer) == nil {
			t.Errorf("%+v held", x)
		}
	}
	for _, x := range []worked.Expectation{
		{Path: "a[code=X].v", Value: 1.5}, {Path: "a[0].s", Text: "one two"}, {Path: "a[0].s", Text: "one…two"},
	} {
		if err := x.Check(answer); err != nil {
			t.Error(err)
		}
	}
}
