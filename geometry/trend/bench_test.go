package trend_test

import (
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"arris.example/geometry/trend"
	"arris.example/geometry/unit"
)

// sink keeps the compiler from leaving out what is measured.
var sink float64

// against times the bare regression, which gives two numbers and no error of either, then ours, as often, and reports the ratio.
func against(b *testing.B, bare, ours func()) {
	b.ReportAllocs()
	start := time.Now()
	for range b.N {
		bare()
	}
	plain := time.Since(start)
	b.ResetTimer()
	for range b.N {
		ours()
	}
	b.ReportMetric(float64(b.Elapsed())/float64(plain), "×bare")
}

func hundred() (x, y []float64) {
	for i := range 100 {
		x, y = append(x, float64(7*i)), append(y, 250-0.4*float64(i)+0.1*float64(i%3))
	}
	return x, y
}

func BenchmarkLineOf100(b *testing.B) {
	x, y := hundred()
	data := points(x, y)
	against(b, func() {
		_, slope := stat.LinearRegression(x, y, nil, false)
		sink += slope
	}, func() {
		line, err := trend.FitLine(data)
		if err != nil {
			b.Fatal(err)
		}
		sink += line.Slope
	})
}

// With two dressings, the robust rate of about 1,700 pairs, and what lies ahead.
func BenchmarkWearOf100(b *testing.B) {
	x, y := hundred()
	l := log(0.2, x, y)
	l[30].Dressed, l[60].Dressed = true, true
	against(b, func() {
		_, slope := stat.LinearRegression(x, y, nil, false)
		sink += slope
	}, func() {
		w, err := trend.FitWear(l)
		if err != nil {
			b.Fatal(err)
		}
		use, _ := w.KnownWithin(unit.Length(1))
		sink += use + w.Reaches(150).Expected
	})
}
