package wake_test

import (
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// What is known of the samples' errors follows its samples through the mesh, however
// that orders them.
func TestErrorsFollowTheirSamples(t *testing.T) {
	f := waketest.Gaussian(0.5, 0.2, 0.1, 0.1)
	for name, s := range map[string]*wake.Samples{
		"lattice":   waketest.Lattice(f, -1, 1, -1, 1, 9, 7),
		"scattered": waketest.Scatter(f, -1, 1, -1, 1, 9, 7, 3),
	} {
		// Each position twice: the error of the first counts.
		for q, col := range s.Col {
			s.Col[q] = append(col, col...)
		}
		e := wake.SampleError{Name: "noise", Groups: s.N}
		for i := range 2 * s.N {
			e.Of[wake.U] = append(e.Of[wake.U], s.Col[wake.U][i])
			e.Group = append(e.Group, int32(i%s.N))
		}
		n := s.N
		s.N *= 2
		s.Errors = []wake.SampleError{e}
		p := waketest.Plane(t, s, wake.PlaneOptions{})
		if len(p.Mesh.Points) != n || len(p.Errors[0].Group) != n {
			t.Fatalf("%s: %d samples with %d errors, want %d", name, len(p.Mesh.Points), len(p.Errors[0].Group), n)
		}
		for i, x := range p.Field[wake.U] {
			g := p.Errors[0].Group[i]
			if p.Errors[0].Of[wake.U][i] != x || s.Col[wake.Y][g] != p.Mesh.Points[i].X {
				t.Fatalf("%s: sample %d has the error of another", name, i)
			}
		}
	}
}
