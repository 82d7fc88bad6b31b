package network

import (
	"fmt"
	"math"

	"wideberth/osmdata"
)

// Check walks the invariants that users of the graph rely on and reports the first
// that is broken.
func (g *Graph) Check() error {
	if err := g.checkStructure(); err != nil {
		return err
	}
	for e := range int32(g.EdgeCount()) {
		if err := g.checkLine(e); err != nil {
			return fmt.Errorf("network: edge %d: %w", e, err)
		}
	}
	return nil
}

// checkStructure is the part of Check that whoever opens a file relies on: whether every
// number that points at something points at what there is. It looks at no line.
func (g *Graph) checkStructure() error {
	if err := g.Star.Check(); err != nil {
		return err
	}
	n, arcs, m := g.Star.VertexCount(), g.Star.ArcCount(), g.EdgeCount()
	for _, c := range []struct {
		name      string
		have, due int
	}{
		{"vertices", len(g.Vertex), n}, {"vertex nodes", len(g.VertexNode), n}, {"arc edges", len(g.ArcEdge), arcs},
		{"arcs", arcs, 2 * m}, {"lengths", len(g.LengthM), m}, {"classes", len(g.Class), m}, {"flags", len(g.Flags), m},
		{"part offsets", len(g.PartAt), m + 1}, {"open marks", len(g.OpenEdge), m},
	} {
		if c.have != c.due {
			return fmt.Errorf("network: %d %s where %d are due", c.have, c.name, c.due)
		}
	}
	if err := g.checkLines(m); err != nil {
		return err
	}
	if err := spans("parts", g.PartAt, len(g.Parts), 1); err != nil {
		return err
	}
	if len(g.Names) == 0 || g.Names[0] != "" {
		return fmt.Errorf("network: the first name is not the empty one")
	}
	for e := range int32(m) {
		if err := g.checkEdge(e); err != nil {
			return fmt.Errorf("network: edge %d: %w", e, err)
		}
	}
	return nil
}

// checkLines checks where lines begin and end.
func (g *Graph) checkLines(m int) error {
	b := g.bends
	if b == nil {
		if len(g.LineAt) != m+1 {
			return fmt.Errorf("network: %d line offsets where %d are due", len(g.LineAt), m+1)
		}
		return spans("line", g.LineAt, len(g.Line), 2)
	}
	if len(b.at) != m+1 {
		return fmt.Errorf("network: %d line offsets where %d are due", len(b.at), m+1)
	}
	return spans("line", b.at, len(b.packed), 0)
}

// spans checks offsets that divide a slice of the given length into runs of at
// least some entries.
func spans[T int32 | uint32](name string, at []T, length, least int) error {
	if at[0] != 0 || int(at[len(at)-1]) != length {
		return fmt.Errorf("network: %s offsets span %d to %d, not 0 to %d", name, at[0], at[len(at)-1], length)
	}
	for i := 1; i < len(at); i++ {
		if int64(at[i])-int64(at[i-1]) < int64(least) {
			return fmt.Errorf("network: %s of edge %d has %d entries", name, i-1, at[i]-at[i-1])
		}
	}
	return nil
}

func (g *Graph) checkEdge(e int32) error {
	a := g.EdgeArc[e]
	if a < 0 || int(a) >= len(g.ArcEdge) {
		return fmt.Errorf("arc %d of %d", a, len(g.ArcEdge))
	}
	t := g.Star.Twin[a]
	if g.ArcEdge[a] != e || g.ArcEdge[t] != e {
		return fmt.Errorf("arcs %d and %d walk edges %d and %d", a, t, g.ArcEdge[a], g.ArcEdge[t])
	}
	if l := float64(g.LengthM[e]); !(l > 0) || math.IsInf(l, 1) {
		return fmt.Errorf("length %v m", l)
	}
	if g.Class[e] >= osmdata.ClassCount {
		return fmt.Errorf("class %d", g.Class[e])
	}
	return g.checkParts(e)
}

// checkLine holds an edge's line against its vertices and its length.
func (g *Graph) checkLine(e int32) error {
	line := g.EdgeLine(e)
	tail, head := g.Ends(e)
	if line[0] != g.Vertex[tail] || line[len(line)-1] != g.Vertex[head] {
		return fmt.Errorf("its line does not join its vertices")
	}
	// Lengths are kept in single precision.
	l := float64(g.LengthM[e])
	if d := math.Abs(line.LengthM() - l); !(d <= 0.01+l*1e-6) {
		return fmt.Errorf("length %v m, its line has %v m", l, line.LengthM())
	}
	return nil
}

// roundedM is what the beginning of a part, which is kept as it was measured, may lie beyond
// the end of an edge of rounded points.
const roundedM = 0.05

func (g *Graph) checkParts(e int32) error {
	from := float32(-1)
	for i, p := range g.Parts[g.PartAt[e]:g.PartAt[e+1]] {
		if i == 0 && p.FromM != 0 || !(p.FromM > from) || p.FromM > g.LengthM[e]+roundedM {
			return fmt.Errorf("part %d begins at %v m", i, p.FromM)
		}
		if p.Name < 0 || int(p.Name) >= len(g.Names) || p.Class >= osmdata.ClassCount || !(p.StreetM >= 0) || !(p.SpeedMPS >= 0) {
			return fmt.Errorf("part %d: name %d, class %d, %v m along its way", i, p.Name, p.Class, p.StreetM)
		}
		from = p.FromM
	}
	return nil
}
