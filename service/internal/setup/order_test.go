package setup_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"arris.example/deploy/chance"
	"arris.example/geometry/unit"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// queued are set-ups of a few stations, holders, stick-outs and places of the support, some with several steps.
func queued(r *rand.Rand, n int) []setup.Setup {
	all := make([]setup.Setup, n)
	step := func() setup.Step {
		var s setup.Step
		s.StickOut = &setup.LengthSetting{Set: unit.Length(40 + 5*r.IntN(3))}
		s.Leg = &setup.AngleSetting{Set: unit.Angle(r.IntN(2))}
		s.Support.SetBy = shop.DatumWheelGap
		s.Support.Lengths[shop.DatumWheelGap] = &setup.LengthSetting{Set: unit.Length(100 + r.IntN(4))}
		return s
	}
	for i := range all {
		all[i].Basis = setup.Basis{Station: fmt.Sprint(r.IntN(3)), Holder: fmt.Sprint(r.IntN(2))}
		for range 1 + r.IntN(4)/3 {
			all[i].Steps = append(all[i].Steps, step())
		}
	}
	return all
}

// countedOrder holds an order to being one, and counts its changes by themselves.
func countedOrder(t *testing.T, all []setup.Setup, order []setup.Queued) int {
	t.Helper()
	if len(order) != len(all) || len(all) > 0 && (order[0].Index != 0 || len(order[0].Changing) > 0) {
		t.Fatalf("%d of %d set-ups, beginning with %+v", len(order), len(all), order[0])
	}
	seen, sorted, n := map[int]bool{}, make([]setup.Setup, len(order)), 0
	for i, o := range order {
		seen[o.Index], sorted[i] = true, all[o.Index]
		n += len(o.Changing)
	}
	if len(seen) != len(all) {
		t.Fatalf("%d different ones of %d", len(seen), len(all))
	}
	if n != setup.Changes(sorted) {
		t.Fatalf("%d changes told where there are %d", n, setup.Changes(sorted))
	}
	return n
}

// fewestChanges tries every order that begins with the first.
func fewestChanges(all []setup.Setup) int {
	least := 1 << 30
	var try func(order []setup.Setup, rest []setup.Setup)
	try = func(order, rest []setup.Setup) {
		if len(rest) == 0 {
			least = min(least, setup.Changes(order))
			return
		}
		for i := range rest {
			try(append(slices.Clone(order), rest[i]), slices.Delete(slices.Clone(rest), i, i+1))
		}
	}
	try(all[:1], all[1:])
	return least
}

func TestQueueHasFewestChanges(t *testing.T) {
	r := chance.New(t)
	for range 60 {
		all := queued(r, 1+r.IntN(7))
		if got, want := countedOrder(t, all, setup.Queue(all)), fewestChanges(all); got != want {
			t.Errorf("%d changes where %d are enough: %+v", got, want, all)
		}
	}
}

// Of many the order is held to going to the nearest each time, and to the order asked.
func TestQueueOfMany(t *testing.T) {
	r := chance.New(t)
	for range 20 {
		all := queued(r, 40+r.IntN(200))
		order := setup.Queue(all)
		found, near := countedOrder(t, all, order), setup.Changes(nearestFirst(all))
		if found > near || found > setup.Changes(all) {
			t.Errorf("%d changes; as given %d, by going to the nearest %d", found, setup.Changes(all), near)
		}
		again := setup.Queue(all)
		if !slices.EqualFunc(order, again, func(a, b setup.Queued) bool { return a.Index == b.Index }) {
			t.Error("not the same order twice")
		}
	}
	if len(setup.Queue(nil)) != 0 {
		t.Error("an order of nothing")
	}
}

// nearestFirst goes from the first always to the one with the fewest changes.
func nearestFirst(all []setup.Setup) []setup.Setup {
	order, rest := all[:1:1], slices.Clone(all[1:])
	for len(rest) > 0 {
		next, least := 0, 1<<30
		for i := range rest {
			if n := setup.Changes([]setup.Setup{order[len(order)-1], rest[i]}); n < least {
				next, least = i, n
			}
		}
		order, rest = append(order, rest[next]), slices.Delete(rest, next, next+1)
	}
	return order
}

// A class on three stations goes to each once.
func TestQueueGoesToAStationOnce(t *testing.T) {
	var all []setup.Setup
	for i := range 60 {
		s := setup.Setup{Basis: setup.Basis{Station: fmt.Sprint(i % 3)}, Steps: make([]setup.Step, 1)}
		s.Steps[0].Support.Lengths[0] = &setup.LengthSetting{Set: unit.Length(i / 20)}
		all = append(all, s)
	}
	walks := 0
	for _, o := range setup.Queue(all) {
		if slices.Contains(o.Changing, setup.ChangeStation) {
			walks++
		}
	}
	if walks != 2 {
		t.Errorf("%d walks between three stations", walks)
	}
}
