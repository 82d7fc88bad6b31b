package network_test

import (
	"errors"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

var fileKind = [8]byte{'N', 'E', 'T', 'T', 'E', 'S', 'T', 0}

// encoded is a file with a network in it, opened.
func encoded(t interface{ Fatal(...any) }, dir string, g *network.Graph) *flatfile.File {
	path := filepath.Join(dir, "net")
	w, err := flatfile.Create(path, fileKind, 1)
	if err != nil {
		t.Fatal(err)
	}
	g.Encode(w, "walk/")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, fileKind, 1)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestCodecRoundTrip(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		w.ways[0].Name, w.ways[0].Flags = "Quarry Lane", osmdata.FlagBridge|osmdata.FlagOpenStart
		w.ways[0].WidthM, w.ways[0].Lanes, w.ways[0].SpeedMPS = 4.5, 2, 13.4
		g, _ := mustBuild(t, w)
		f := encoded(t, dir, g)
		h, err := network.Decode(f, "walk/")
		if err != nil {
			t.Fatal(err)
		}
		if err := h.Check(); err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			name      string
			got, want any
		}{
			{"star", h.Star, g.Star}, {"nodes", h.VertexNode, g.VertexNode}, {"edges of arcs", h.ArcEdge, g.ArcEdge}, {"arcs of edges", h.EdgeArc, g.EdgeArc},
			{"classes", h.Class, g.Class}, {"flags", h.Flags, g.Flags}, {"where parts begin", h.PartAt, g.PartAt},
			{"parts", h.Parts, g.Parts}, {"names", h.Names, g.Names}, {"open edges", h.OpenEdge, g.OpenEdge},
		} {
			if !reflect.DeepEqual(c.got, c.want) {
				t.Fatalf("%s read back:\n%+v\nwritten:\n%+v", c.name, c.got, c.want)
			}
		}
		// Lines lie in whole centimetres, and each point for itself.
		for e := range int32(g.EdgeCount()) {
			is, was := h.EdgeLine(e), g.EdgeLine(e)
			if d := h.LengthM[e] - g.LengthM[e]; math.Abs(float64(d)) > .0142*float64(len(was)-1)+1e-3 {
				t.Fatalf("edge %d is %g m long, was %g", e, h.LengthM[e], g.LengthM[e])
			}
			if len(is) != len(was) {
				t.Fatalf("edge %d has %d points, had %d", e, len(is), len(was))
			}
			for i, p := range is {
				if d := p.Sub(was[i]); math.Abs(d.X) > .005001 || math.Abs(d.Y) > .005001 {
					t.Fatalf("point %d of edge %d lies at %v, was written at %v", i, e, p, was[i])
				}
			}
		}
		// The index that the file holds finds what one made of its lines finds.
		fresh := plane.NewBoxes(h.EdgeCount(), func(dst []plane.Point, e int32) []plane.Point { return h.AppendLine(dst, e) })
		stored, err := flatfile.Take[plane.Extent](f, "walk/box")
		if err != nil || !slices.Equal(stored, fresh.Lowest()) {
			t.Fatalf("boxes %v, made anew %v (%v)", stored, fresh.Lowest(), err)
		}
		at := plane.Point{X: rapid.Float64Range(-500, 900).Draw(t, "x"), Y: rapid.Float64Range(-500, 900).Draw(t, "y")}
		a, err1 := g.Snap(at, plane.Far)
		b, err2 := h.Snap(at, plane.Far)
		if err1 != nil || err2 != nil || math.Abs(a.DistM-b.DistM) > .02 {
			t.Fatalf("nearest to %v is %v, as built %v (%v, %v)", at, b, a, err2, err1)
		}
	})
}

// A file whose checksums are right may still hold nonsense.
func TestDecodeRefusesNonsense(t *testing.T) {
	// Lines that cannot be written, and what shows only where lines are read.
	unread := map[string]bool{"no lines": true, "lines that overlap": true, "lines that run back": true, "a moved vertex": true, "a wrong length": true}
	for name, spoil := range map[string]func(*network.Graph){
		"no vertices":             func(g *network.Graph) { g.Vertex = nil },
		"an arc to nowhere":       func(g *network.Graph) { g.Star.Head[0] = 99 },
		"a twin that is none":     func(g *network.Graph) { g.Star.Twin[0] = 0 },
		"first without end":       func(g *network.Graph) { g.Star.First = nil },
		"first beyond its end":    func(g *network.Graph) { g.Star.First[1] = 1 << 30 },
		"no lines":                func(g *network.Graph) { g.LineAt = nil },
		"lines that overlap":      func(g *network.Graph) { g.LineAt[1] = 1 << 30 },
		"lines that run back":     func(g *network.Graph) { g.LineAt[1] = -1 << 31 },
		"a moved vertex":          func(g *network.Graph) { g.Vertex[0] = plane.Point{X: 7, Y: 7} },
		"a wrong length":          func(g *network.Graph) { g.LengthM[0]++ },
		"no parts":                func(g *network.Graph) { g.PartAt[1] = 0 },
		"a name beyond the list":  func(g *network.Graph) { g.Parts[0].Name = 77 },
		"a class beyond the list": func(g *network.Graph) { g.Class[0] = osmdata.ClassCount },
		"a part beyond its edge":  func(g *network.Graph) { g.Parts[0].FromM = 1e9 },
		"no names":                func(g *network.Graph) { g.Names = nil },
		"an edge of other arcs":   func(g *network.Graph) { g.EdgeArc[0] = g.EdgeArc[1] },
		"an arc of no edge":       func(g *network.Graph) { g.EdgeArc[0] = -1 },
	} {
		g, _ := draw(" a\nbcd\n e", "bcd ace").build(t)
		spoil(g)
		if g.Check() == nil {
			t.Errorf("%s: passes the check", name)
		}
		if unread[name] {
			continue
		}
		f := encoded(t, t.TempDir(), g)
		if _, err := network.Decode(f, "walk/"); !errors.Is(err, flatfile.ErrDamaged) {
			t.Errorf("%s: %v", name, err)
		}
	}
	f := encoded(t, t.TempDir(), &network.Graph{})
	if _, err := network.Decode(f, "walk/"); err == nil {
		t.Error("an empty graph is taken")
	}
	if _, err := network.Decode(f, "motor/"); !errors.Is(err, flatfile.ErrMissing) {
		t.Errorf("another graph of the file: %v", err)
	}
}

// Bytes of a sound file with one changed and its checksums set right: read back or
// refused, never a panic. The section file itself is fuzzed where it lives.
func FuzzDecode(f *testing.F) {
	for at := range 20 {
		f.Add(uint16(40*at), byte(1))
	}
	f.Fuzz(func(t *testing.T, at uint16, flip byte) {
		g, _, err := network.Build(draw(" a\nbcd\n e", "bcd ace").ways, nil, whole)
		if err != nil {
			t.Fatal(err)
		}
		spoilByte(g, int(at), flip)
		file := encoded(t, t.TempDir(), g)
		h, err := network.Decode(file, "walk/")
		if err == nil {
			_ = h.Check() // may find a line too long, but looks at all of it
			h.InBox(plane.Box{Min: plane.Point{X: -1e4, Y: -1e4}, Max: plane.Point{X: 1e4, Y: 1e4}})
		}
	})
}

// spoilByte changes one byte of one of the graph's slices.
func spoilByte(g *network.Graph, at int, flip byte) {
	ints := [][]int32{g.Star.First, g.Star.Head, g.Star.Twin, g.ArcEdge, g.EdgeArc, g.PartAt}
	for _, s := range ints {
		if at < 4*len(s) {
			s[at/4] ^= int32(flip) << (8 * (at % 4))
			return
		}
		at -= 4 * len(s)
	}
	p := &g.Parts[at%len(g.Parts)]
	p.Name ^= int32(flip)
	p.Class ^= osmdata.Class(flip)
}
