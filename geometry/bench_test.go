package geometry_test

import (
	"math"
	"testing"
	"time"

	"arris.example/geometry"
	"arris.example/geometry/unit"
)

// The engine against the bare relation, written out as on the back of an envelope, in the same run: the law of cosines and its
// inverse, with no flat abrasives, no refusals, no derivatives. The figure "×bare" is how many times as long an answer with all
// its sensitivities takes.

// sink keeps the compiler from leaving out what is measured.
var sink float64

// bareSetups differ, so that nothing can be computed once for all.
var bareSetups = func() (setups [64]struct{ radius, behind, below, edge, axle float64 }) {
	for i := range setups {
		s := &setups[i]
		s.radius, s.behind, s.below, s.edge = 100-float64(i)/10, 131+float64(i)/7, 46-float64(i)/9, 0.87+float64(i)/1000
		s.axle = barePivotToAxle(s.radius, s.behind, s.below, s.edge)
	}
	return setups
}()

func barePivotToAxle(radius, behind, below, edge float64) float64 {
	sin, cos := math.Sincos(edge)
	return math.Sqrt(radius*radius + behind*behind + below*below + 2*radius*(behind*sin-below*cos))
}

func bareEdge(radius, behind, below, axle float64) float64 {
	squared := behind*behind + below*below
	return math.Atan2(below, behind) + math.Asin((axle*axle-radius*radius-squared)/(2*radius*math.Sqrt(squared)))
}

// against times the bare relation, then the engine, for b.N set-ups each, and reports the ratio.
func against(b *testing.B, bare, engine func(i int)) {
	b.ReportAllocs()
	start := time.Now()
	for i := range b.N {
		bare(i % len(bareSetups))
	}
	plain := time.Since(start)
	b.ResetTimer()
	for i := range b.N {
		engine(i % len(bareSetups))
	}
	b.ReportMetric(float64(b.Elapsed())/float64(plain), "×bare")
}

type setup struct {
	wheel geometry.Wheel
	pivot geometry.Pivot
	edge  unit.Angle
	gap   unit.Length
}

func setups() (all [len(bareSetups)]setup) {
	for i := range bareSetups {
		s := &bareSetups[i]
		all[i] = setup{
			wheel: geometry.RoundWheel(unit.Length(2 * s.radius)),
			pivot: geometry.Pivot{Behind: unit.Length(s.behind), Below: unit.Length(s.below)},
			edge:  unit.Angle(s.edge),
			gap:   unit.Length(s.axle - s.radius),
		}
	}
	return all
}

func BenchmarkForward(b *testing.B) {
	all := setups()
	against(b, func(i int) {
		s := &bareSetups[i]
		sink = barePivotToAxle(s.radius, s.behind, s.below, s.edge)
	}, func(i int) {
		s := &all[i]
		gap := s.wheel.Gap(s.pivot, s.edge)
		by := s.wheel.Sensitivity(s.pivot, s.edge, gap)
		sink = float64(gap) + by.Gap + by.Behind + by.Below + by.Curvature
	})
}

func BenchmarkInverse(b *testing.B) {
	all := setups()
	against(b, func(i int) {
		s := &bareSetups[i]
		sink = bareEdge(s.radius, s.behind, s.below, s.axle)
	}, func(i int) {
		s := &all[i]
		edge, err := s.wheel.EdgeAngle(s.pivot, s.gap)
		if err != nil {
			b.Fatal(err)
		}
		by := s.wheel.Sensitivity(s.pivot, edge, s.gap)
		sink = float64(edge) + by.Gap + by.Behind + by.Below + by.Curvature
	})
}
