package solid

import (
	"testing"
	"time"
)

// The goal is 5 ms for 20,000 triangles, and to be 50 times as fast as the outside kernel on the same body, at 24 poses of the wheel.
func BenchmarkKernel(b *testing.B) {
	tool := grinds()[0].Tool
	j := jobFor(b, tool, 24)
	var theirs, ours time.Duration
	for b.Loop() {
		r := kernel(b, []job{j})
		theirs += time.Duration(r[0].Seconds * float64(time.Second))
		started := time.Now()
		if _, err := Build(tool, 20_000); err != nil {
			b.Fatal(err)
		}
		ours += time.Since(started)
	}
	b.ReportMetric(float64(theirs)/float64(ours), "×ours")
}

func BenchmarkBuild(b *testing.B) {
	tool := grinds()[0].Tool
	for b.Loop() {
		if _, err := Build(tool, 20_000); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkGLTF(b *testing.B) {
	m, err := Build(grinds()[0].Tool, 20_000)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		m.GLTF()
	}
}
