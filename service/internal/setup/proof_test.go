package setup_test

import (
	"math"
	"testing"

	"arris.example/geometry/unit"
	"arris.example/service/internal/demo"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// TestProofAgrees checks every tool of the demonstration shop on every station, and random inline rigs, by the other route.
func TestProofAgrees(t *testing.T) {
	checked := 0
	for _, tool := range demo.Tools() {
		for _, station := range demo.Stations() {
			q := setup.Question{Common: setup.Common{Shop: demo.Name, Proof: true}}
			q.Rig.Tool.Name, q.Rig.Station.Name = tool.Name, station.Name
			found, err := solver.Solve(t.Context(), q)
			if err != nil {
				continue
			}
			if len(found.Proof) != len(found.Steps) {
				t.Errorf("%s on %s: %d proofs of %d steps", tool.Name, station.Name, len(found.Proof), len(found.Steps))
			}
			for _, proof := range found.Proof {
				checked++
				// Bisection ends at the last bit of a pitch; the clearance is good to 1e-13 mm of 500, so the angle to 1e-12 and, near the
				// end of reach, its square root.
				if math.Abs(float64(proof.Difference)) > 1e-9 {
					t.Errorf("%s on %s, step %d: the other route gives %v, off by %g rad", tool.Name, station.Name, proof.Step, proof.Edge, proof.Difference)
				}
			}
		}
	}
	if checked < 30 {
		t.Errorf("only %d steps were checked", checked)
	}
}

func TestProofOnFlatAbrasives(t *testing.T) {
	for _, c := range []struct {
		name   string
		holder shop.Holder
		tool   *shop.Tool
	}{
		{"pivot", shop.Holder{Kind: shop.BarePivot, Behind: 131, Below: 46}, nil},
		{"platform", shop.Holder{Kind: shop.NoHolder}, &shop.Tool{Kind: shop.Scraper, Thickness: shop.Some(unit.Length(6))}},
	} {
		q := setup.Question{Common: setup.Common{Proof: true, Grind: &shop.Grind{Bevels: []shop.Bevel{{Angle: unit.Degrees(55)}}}}}
		q.Rig.Wheel.Inline, q.Rig.Holder.Inline, q.Rig.Tool.Inline = &shop.Wheel{Flat: true}, &c.holder, c.tool
		found, err := solver.Solve(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		if d := found.Proof[0].Difference; math.Abs(float64(d)) > 1e-9 {
			t.Errorf("%s: off by %v", c.name, d)
		}
	}
}

// A bevel's own place or settings count for it alone.
func TestBevelsOfTheirOwn(t *testing.T) {
	grind := shop.Grind{Bevels: []shop.Bevel{
		{Angle: unit.Degrees(50), Width: shop.Some(unit.Length(3))},
		{Angle: unit.Degrees(35), Given: shop.Settings{Position: "5"}},
	}}
	q := setup.Question{Common: setup.Common{Shop: demo.Name, Grind: &grind}, Given: shop.Settings{StickOut: shop.Some(unit.Length(45)), Position: "3"}}
	q.Rig.Station.Name, q.Rig.Holder.Name = demo.Name+"/stations/north", demo.Name+"/holders/swing"
	found, err := solver.Solve(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	if found.Steps[0].Position != "5" || found.Steps[1].Position != "3" {
		t.Errorf("positions %q and %q", found.Steps[0].Position, found.Steps[1].Position)
	}
	for _, step := range found.Steps {
		if off := float64(step.Predicted.Edge - step.Wanted); math.Abs(off) > 0.06*float64(unit.Degree) {
			t.Errorf("bevel %d: %v where %v was wanted", step.Bevel, step.Predicted.Edge, step.Wanted)
		}
	}

	q.Places = []setup.RigSource{{}, {Tool: setup.Source[shop.Tool]{Name: demo.Name + "/tools/skew-25"}}}
	_, err = solver.Solve(t.Context(), q)
	if f, ok := fault.As(err); !ok || f.Violations[0].Field != "grind.bevels[1].rig.tool" || f.Violations[0].Reason != fault.Contradiction {
		t.Errorf("another tool for one bevel: %v", err)
	}
	q.Places[1] = setup.RigSource{Wheel: setup.Source[shop.Wheel]{Inline: &shop.Wheel{Diameter: 150, MarkedRPM: shop.Some(100.0)}}}
	_, err = solver.Solve(t.Context(), q)
	if f, ok := fault.As(err); !ok || f.Reason != setup.Overspeed {
		t.Errorf("a wheel that must not run there: %v", err)
	}
}

// Carrying a set-up there and back gives what it was.
func TestThereAndBack(t *testing.T) {
	from := setup.Question{Common: setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50"}}
	from.Rig.Station.Name = demo.Name + "/stations/north"
	to := setup.RigSource{Station: setup.Source[shop.Station]{Name: demo.Name + "/stations/south"}}
	there, err := solver.Transfer(t.Context(), setup.Carry{From: from, To: to})
	if err != nil {
		t.Fatal(err)
	}
	back := from
	back.Rig = to
	again, err := solver.Transfer(t.Context(), setup.Carry{From: back, To: from.Rig})
	if err != nil {
		t.Fatal(err)
	}
	gap := func(s setup.Setup) unit.Length { return s.Steps[0].Support.Lengths[shop.DatumWheelGap].Exact }
	if gap(again.To) != gap(there.From) || gap(again.From) != gap(there.To) || gap(there.From) == gap(there.To) {
		t.Errorf("%v → %v, back %v → %v", gap(there.From), gap(there.To), gap(again.From), gap(again.To))
	}
	for i, d := range there.Differences {
		if e := again.Differences[i]; d.Quantity != e.Quantity || d.From != e.To || d.To != e.From {
			t.Errorf("%s: %v → %v, back %v → %v", d.Quantity, d.From, d.To, e.From, e.To)
		}
	}
}

// A refusal says which of the two set-ups it is about.
func TestTransferSaysWhichSetupIsRefused(t *testing.T) {
	from := setup.Question{Common: setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50"}, Given: shop.Settings{StickOut: shop.Some(unit.Length(1.75))}}
	from.Rig.Station.Name = demo.Name + "/stations/north"
	_, err := solver.Transfer(t.Context(), setup.Carry{From: from})
	if f, ok := fault.As(err); !ok || f.Violations[0].Field != "from.given.stick_out_mm" || f.Message[:5] != "from." {
		t.Errorf("here: %v", err)
	}
	from.Given = shop.Settings{}
	_, err = solver.Transfer(t.Context(), setup.Carry{From: from, Given: shop.Settings{StickOut: shop.Some(unit.Length(1.75))}})
	if f, ok := fault.As(err); !ok || f.Violations[0].Field != "given.stick_out_mm" {
		t.Errorf("there: %v", err)
	}
}
