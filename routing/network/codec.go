package network

import (
	"errors"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

// Encode writes the graph as sections whose names begin with prefix.
func (g *Graph) Encode(w *flatfile.Writer, prefix string) {
	b, lengthM := g.bends, g.LengthM
	if b == nil {
		b, lengthM = g.packLines()
	}
	flatfile.Put(w, prefix+"first", g.Star.First)
	flatfile.Put(w, prefix+"head", g.Star.Head)
	flatfile.Put(w, prefix+"twin", g.Star.Twin)
	flatfile.Put(w, prefix+"vertex", column(g.Vertex, plane.Rounded))
	flatfile.Put(w, prefix+"vertex-node", g.VertexNode)
	flatfile.Put(w, prefix+"arc-edge", g.ArcEdge)
	flatfile.Put(w, prefix+"edge-arc", g.EdgeArc)
	flatfile.Put(w, prefix+"length", lengthM)
	flatfile.Put(w, prefix+"class", g.Class)
	flatfile.Put(w, prefix+"flags", g.Flags)
	flatfile.Put(w, prefix+"bend-at", b.at)
	flatfile.Put(w, prefix+"bend", b.packed)
	flatfile.Put(w, prefix+"ground", b.ground[:])
	flatfile.Put(w, prefix+"box", g.index().Lowest())
	flatfile.Put(w, prefix+"part-at", g.PartAt)
	flatfile.Put(w, prefix+"part", g.Parts)
	flatfile.Put(w, prefix+"open", column(g.OpenEdge, byteOf))
	flatfile.PutStrings(w, prefix+"names", g.Names)
}

// packLines packs the lines of a graph that was built, and measures them anew: an edge is
// as long as the line that is kept of it.
func (g *Graph) packLines() (b *bends, lengthM []float32) {
	lengthM = slices.Clone(g.LengthM)
	b = &bends{at: make([]uint32, 1, g.EdgeCount()+1), ground: plane.NoExtent}
	for e := range int32(g.EdgeCount()) {
		line := g.EdgeLine(e)
		rounded := make(plane.Polyline, len(line))
		for i, p := range line {
			c := plane.Rounded(p)
			b.ground, rounded[i] = b.ground.With(c), c.Point()
		}
		if kept, made := rounded.LengthM(), line.LengthM(); kept > 0 && made > 0 {
			lengthM[e] = float32(float64(g.LengthM[e]) * (kept / made))
		}
		b.packed = plane.Pack(b.packed, plane.Rounded(line[0]), line[1:len(line)-1])
		b.at = append(b.at, uint32(len(b.packed)))
	}
	return b, lengthM
}

func column[S, T any](rows []S, of func(S) T) []T {
	out := make([]T, len(rows))
	for i := range rows {
		out[i] = of(rows[i])
	}
	return out
}

func byteOf(b bool) uint8 {
	if b {
		return 1
	}
	return 0
}

// taker takes sections and keeps the first error.
type taker struct {
	f      *flatfile.File
	prefix string
	err    error
}

func take[T any](t *taker, name string) []T {
	s, err := flatfile.Take[T](t.f, t.prefix+name)
	if t.err == nil {
		t.err = err
	}
	return s
}

func sure[T any](t *taker, name string) []T {
	s, err := flatfile.TakeSure[T](t.f, t.prefix+name)
	if t.err == nil {
		t.err = err
	}
	return s
}

// Decode reads a graph that Encode has written and checks what it points at. The lines
// between vertices stay in the file, unread.
func Decode(f *flatfile.File, prefix string) (*Graph, error) {
	t := &taker{f: f, prefix: prefix}
	g := &Graph{}
	g.Star.First = sure[int32](t, "first")
	g.Star.Head = sure[int32](t, "head")
	g.Star.Twin = sure[int32](t, "twin")
	g.Vertex = column(sure[plane.Centimetres](t, "vertex"), plane.Centimetres.Point)
	g.VertexNode = take[int64](t, "vertex-node")
	g.ArcEdge = sure[int32](t, "arc-edge")
	g.EdgeArc = sure[int32](t, "edge-arc")
	g.LengthM = sure[float32](t, "length")
	g.Class = sure[osmdata.Class](t, "class")
	g.Flags = take[osmdata.StreetFlags](t, "flags")
	g.bends = &bends{at: sure[uint32](t, "bend-at"), packed: take[byte](t, "bend")}
	ground, boxes := sure[plane.Centimetres](t, "ground"), sure[plane.Extent](t, "box")
	g.PartAt = sure[int32](t, "part-at")
	g.Parts = sure[Part](t, "part")
	g.OpenEdge = column(sure[uint8](t, "open"), func(b uint8) bool { return b != 0 })
	names, err := flatfile.TakeStrings(f, prefix+"names")
	g.Names = names
	if err = errors.Join(t.err, err); err != nil {
		return nil, err
	}
	if err := g.checkStructure(); err != nil {
		return nil, &flatfile.FormatError{Section: prefix, Err: errors.Join(flatfile.ErrDamaged, err)}
	}
	index, right := plane.BoxesFrom(g.EdgeCount(), boxes)
	if len(ground) != 2 || !right {
		return nil, &flatfile.FormatError{Section: prefix + "box", Err: errors.Join(flatfile.ErrDamaged, errBoxes)}
	}
	g.boxes, g.bends.ground = index, plane.Extent(ground)
	return g, nil
}

// errBoxes says that the index is not that of the edges.
var errBoxes = errors.New("the boxes of edges are not those of a network")
