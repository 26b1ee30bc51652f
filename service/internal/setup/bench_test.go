package setup_test

import (
	"context"
	"testing"

	"arris.example/service/internal/demo"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/shop"
)

// What the rule alone takes: the reference set-up by its names, the same in German, with its drawing, one with three bevels, the best of all
// stick-outs and legs, and a refusal that looks for ways out.
func BenchmarkSolve(b *testing.B) {
	named := setup.Question{Common: setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50"}}
	named.Rig.Station.Name = demo.Name + "/stations/north"
	german := named
	german.Language = "de"
	drawn := named
	drawn.Figure, drawn.Budget = true, true
	three := named
	three.Recipe = demo.Name + "/recipes/hollowing-58"
	three.Rig.Station.Name = demo.Name + "/stations/west"
	free := reference(front(50))
	free.Given, free.Free = shop.Settings{}, []setup.Free{setup.FreeSupport, setup.FreeStickOut, setup.FreeLeg}
	short := reference(front(50))
	short.Rig.Station.Inline.Supports[0].Slide.Value.Travel.Most = 175
	for _, c := range []struct {
		name string
		q    setup.Question
	}{{"reference", named}, {"in-german", german}, {"drawn", drawn}, {"three-bevels", three}, {"best-of-all", free}, {"refused", short}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := solver.Solve(context.Background(), c.q)
				if (err != nil) != (c.name == "refused") {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkPredict(b *testing.B) {
	f := setup.Forecast{Common: setup.Common{Shop: demo.Name, Recipe: demo.Name + "/recipes/bowl-50"}, Settings: at(shop.DatumWheelGap, 108.49)}
	f.Rig.Station.Name = demo.Name + "/stations/north"
	b.ReportAllocs()
	for b.Loop() {
		if _, err := solver.Predict(context.Background(), f); err != nil {
			b.Fatal(err)
		}
	}
}
