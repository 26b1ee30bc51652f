package solid

import "testing"

// The goal is 5 ms for 20,000 triangles. BenchmarkKernel makes the same body in the outside kernel.
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
