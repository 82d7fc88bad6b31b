package network

import (
	"errors"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

// Encode writes the graph as sections whose names begin with prefix. Parts are
// written by column; the snap index is not written, making it is as fast as
// reading it.
func (g *Graph) Encode(w *flatfile.Writer, prefix string) {
	flatfile.Put(w, prefix+"first", g.Star.First)
	flatfile.Put(w, prefix+"head", g.Star.Head)
	flatfile.Put(w, prefix+"twin", g.Star.Twin)
	flatfile.Put(w, prefix+"vertex", g.Vertex)
	flatfile.Put(w, prefix+"vertex-node", g.VertexNode)
	flatfile.Put(w, prefix+"arc-edge", g.ArcEdge)
	flatfile.Put(w, prefix+"edge-arc", g.EdgeArc)
	flatfile.Put(w, prefix+"length", g.LengthM)
	flatfile.Put(w, prefix+"class", g.Class)
	flatfile.Put(w, prefix+"flags", g.Flags)
	flatfile.Put(w, prefix+"line-at", g.LineAt)
	flatfile.Put(w, prefix+"line", g.Line)
	flatfile.Put(w, prefix+"part-at", g.PartAt)
	flatfile.Put(w, prefix+"open", column(g.OpenEdge, byteOf))
	flatfile.PutStrings(w, prefix+"names", g.Names)
	flatfile.Put(w, prefix+"part-street", column(g.Parts, func(p Part) int64 { return p.Street }))
	flatfile.Put(w, prefix+"part-metres", column(g.Parts, func(p Part) [2]float32 { return [2]float32{p.FromM, p.StreetM} }))
	flatfile.Put(w, prefix+"part-name", column(g.Parts, func(p Part) int32 { return p.Name }))
	flatfile.Put(w, prefix+"part-class", column(g.Parts, func(p Part) [2]uint8 { return [2]uint8{uint8(p.Class), byteOf(p.Reverse)} }))
	flatfile.Put(w, prefix+"part-flags", column(g.Parts, func(p Part) osmdata.StreetFlags { return p.Flags }))
	flatfile.Put(w, prefix+"part-road", column(g.Parts, func(p Part) [3]float32 { return [3]float32{p.WidthM, p.SpeedMPS, p.Lanes} }))
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

// Decode reads a graph that Encode has written and checks it.
func Decode(f *flatfile.File, prefix string) (*Graph, error) {
	t := &taker{f: f, prefix: prefix}
	g := &Graph{}
	g.Star.First = take[int32](t, "first")
	g.Star.Head = take[int32](t, "head")
	g.Star.Twin = take[int32](t, "twin")
	g.Vertex = take[plane.Point](t, "vertex")
	g.VertexNode = take[int64](t, "vertex-node")
	g.ArcEdge = take[int32](t, "arc-edge")
	g.EdgeArc = take[int32](t, "edge-arc")
	g.LengthM = take[float32](t, "length")
	g.Class = take[osmdata.Class](t, "class")
	g.Flags = take[osmdata.StreetFlags](t, "flags")
	g.LineAt = take[int32](t, "line-at")
	g.Line = take[plane.Point](t, "line")
	g.PartAt = take[int32](t, "part-at")
	g.OpenEdge = column(take[uint8](t, "open"), func(b uint8) bool { return b != 0 })
	g.Parts = takeParts(t)
	names, err := flatfile.TakeStrings(f, prefix+"names")
	g.Names = names
	if err = errors.Join(t.err, err); err != nil {
		return nil, err
	}
	if err := g.Check(); err != nil {
		return nil, &flatfile.FormatError{Section: prefix, Err: errors.Join(flatfile.ErrDamaged, err)}
	}
	return g, nil
}

// takeParts joins the columns of the parts; columns of unlike length give none,
// which Check then refuses.
func takeParts(t *taker) []Part {
	street, metres := take[int64](t, "part-street"), take[[2]float32](t, "part-metres")
	name, class := take[int32](t, "part-name"), take[[2]uint8](t, "part-class")
	flags, road := take[osmdata.StreetFlags](t, "part-flags"), take[[3]float32](t, "part-road")
	n := len(street)
	if len(metres) != n || len(name) != n || len(class) != n || len(flags) != n || len(road) != n {
		return nil
	}
	parts := make([]Part, n)
	for i := range parts {
		parts[i] = Part{Street: street[i], FromM: metres[i][0], StreetM: metres[i][1], Name: name[i],
			Class: osmdata.Class(class[i][0]), Reverse: class[i][1] != 0, Flags: flags[i],
			WidthM: road[i][0], SpeedMPS: road[i][1], Lanes: road[i][2]}
	}
	return parts
}
