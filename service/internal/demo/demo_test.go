package demo_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"arris.example/service/internal/demo"
	"arris.example/service/internal/demo/demotest"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// TestEveryToolIsGroundSomewhere solves every tool's own recipe on every station: each works on at least one, and where it does not,
// the refusal says why.
func TestEveryToolIsGroundSomewhere(t *testing.T) {
	s := setup.Solver{Records: demotest.Reader()}
	for _, tool := range demo.Tools() {
		worked := 0
		for _, station := range demo.Stations() {
			q := setup.Question{Common: setup.Common{Shop: demo.Name}}
			q.Rig.Tool.Name, q.Rig.Station.Name = tool.Name, station.Name
			found, err := s.Solve(t.Context(), q)
			if f, refused := fault.As(err); refused && f.Kind == fault.Impossible && f.Message != "" {
				continue
			}
			if err != nil {
				t.Errorf("%s on %s: %v", tool.Name, station.Name, err)
				continue
			}
			worked++
			for _, step := range found.Steps {
				if off := step.Predicted.Edge - step.Wanted; off > step.Predicted.Expanded || -off > step.Predicted.Expanded {
					t.Errorf("%s on %s: %v where %v was wanted, further off than the ±%v it is good to", tool.Name, station.Name, step.Predicted.Edge, step.Wanted, step.Predicted.Expanded)
				}
			}
		}
		if worked == 0 {
			t.Errorf("%s cannot be ground on any station", tool.Name)
		}
	}
}

func TestWhatTheShopHas(t *testing.T) {
	has := map[string]int{"stations": len(demo.Stations()), "wheels": len(demo.Wheels()), "holders": len(demo.Holders()), "tools": len(demo.Tools()), "recipes": len(demo.Recipes())}
	for what, least := range map[string]int{"stations": 3, "wheels": 5, "holders": 4, "tools": 12, "recipes": 12} {
		if has[what] < least {
			t.Errorf("%d %s, want %d", has[what], what, least)
		}
	}
	for _, r := range demo.Recipes() {
		used := slices.ContainsFunc(demo.Tools(), func(tool shop.Tool) bool { return tool.Recipe == r.Name })
		if !used && r.Name != demo.Name+"/recipes/bowl-50-relief" {
			t.Errorf("no tool is ground to %s", r.Name)
		}
	}
}

func TestUnknownNamesAreAnsweredWithTheNearest(t *testing.T) {
	_, err := demotest.Reader().Recipe(t.Context(), "shops/main/recipes/bowl-5O", time.Time{})
	f, ok := fault.As(err)
	if !ok || f.Kind != fault.NotFound || !strings.Contains(f.Message, "nearest: shops/main/recipes/bowl-50,") {
		t.Errorf("got %v", err)
	}
	if _, err := demotest.Reader().Recipe(t.Context(), "shops/main/recipes/bowl-50/revisions/1", time.Time{}); err != nil {
		t.Error(err)
	}
	_, err = demotest.Reader().Recipe(t.Context(), "shops/main/recipes/bowl-50/revisions/7", time.Time{})
	if f, ok := fault.As(err); !ok || f.Kind != fault.NotFound || !strings.Contains(f.Message, "its newest is 1") {
		t.Errorf("got %v", err)
	}
}

// TestRecipesAreOfOneShop lists the published recipes of a shop by name, and none of another whose name only begins alike.
func TestRecipesAreOfOneShop(t *testing.T) {
	found, err := demotest.Reader().Recipes(t.Context(), demo.Name, time.Time{})
	if err != nil || len(found) != len(demo.Recipes()) {
		t.Fatalf("%d of %d recipes, %v", len(found), len(demo.Recipes()), err)
	}
	if !slices.IsSortedFunc(found, func(a, b shop.Recipe) int { return strings.Compare(a.Name, b.Name) }) {
		t.Error("not in order of their names")
	}
	for _, other := range []string{"shops/mai", "shops/other", ""} {
		if found, err := demotest.Reader().Recipes(t.Context(), other, time.Time{}); err != nil || len(found) > 0 {
			t.Errorf("%q has %d recipes, %v", other, len(found), err)
		}
	}
}
