package solid

import "fmt"

// OpenError tells of a side of a triangle that no triangle of the other way round meets, or more than one.
type OpenError struct {
	From, To int32 // positions
	Sides    int   // how many go from one to the other
}

func (e *OpenError) Error() string {
	return fmt.Sprintf("%d sides go from position %d to %d, and not one goes back", e.Sides, e.From, e.To)
}

// Check holds the mesh to being closed: every side of a triangle is met by exactly one other's, the other way round. The first that is not
// is an [*OpenError].
func (m Mesh) Check() error {
	type side struct{ from, to int32 }
	count := make(map[side]int, 3*m.Triangles())
	for _, p := range m.Patches {
		for _, f := range p.Faces {
			for i := range f {
				count[side{p.Vertices[f[i]].Position, p.Vertices[f[(i+1)%3]].Position}]++
			}
		}
	}
	for _, p := range m.Patches {
		for _, f := range p.Faces {
			for i := range f {
				s := side{p.Vertices[f[i]].Position, p.Vertices[f[(i+1)%3]].Position}
				if count[s] != 1 || count[side{s.to, s.from}] != 1 {
					return &OpenError{s.from, s.to, count[s]}
				}
			}
		}
	}
	return nil
}
