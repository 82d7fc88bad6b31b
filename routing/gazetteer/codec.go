package gazetteer

import (
	"cmp"
	"errors"
	"fmt"

	"github.com/blevesearch/vellum"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// WordsSection is what the section that DecodeWords reads is called.
func WordsSection(prefix string) string { return prefix + "words" }

// Encode writes the index as sections whose names begin with prefix. Doors are not among
// them: they belong to the map.
func (g *Gazetteer) Encode(w *flatfile.Writer, prefix string) {
	kind := make([]uint8, len(g.kind))
	for i, k := range g.kind {
		kind[i] = uint8(k)
	}
	flatfile.PutTexts(w, prefix+"name", g.names)
	flatfile.Put(w, prefix+"kind", kind)
	flatfile.Put(w, prefix+"at", g.at)
	flatfile.Put(w, prefix+"town", g.town)
	flatfile.PutTexts(w, prefix+"code", g.code)
	flatfile.Put(w, prefix+"telling", g.telling)
	flatfile.PutStrings(w, prefix+"towns", g.towns)
	flatfile.Put(w, prefix+"door-at", g.doorAt)
	flatfile.Put(w, prefix+"door", g.door)
	flatfile.Put(w, prefix+"edge-at", g.edgeAt)
	flatfile.Put(w, prefix+"edge", g.edge)
	flatfile.Put(w, WordsSection(prefix), g.fst)
	flatfile.Put(w, prefix+"posting-at", g.postingAt)
	flatfile.Put(w, prefix+"posting", g.posting)
}

// Decode reads an index that Encode has written, of a map of a country with these
// streets and doors, and checks it.
func Decode(f *flatfile.File, prefix, country string, streets *network.Graph, doors []osmdata.Address) (*Gazetteer, error) {
	g := &Gazetteer{graph: streets, doors: doors, numberFirst: numberFirst[country]}
	var kind []uint8
	for _, take := range []func() error{
		func() (err error) { g.names, err = flatfile.TakeTexts(f, prefix+"name"); return },
		func() (err error) { kind, err = flatfile.TakeSure[uint8](f, prefix+"kind"); return },
		func() (err error) { g.at, err = flatfile.Take[plane.Centimetres](f, prefix+"at"); return },
		func() (err error) { g.town, err = flatfile.TakeSure[int32](f, prefix+"town"); return },
		func() (err error) { g.code, err = flatfile.TakeTexts(f, prefix+"code"); return },
		func() (err error) { g.telling, err = flatfile.TakeSure[uint8](f, prefix+"telling"); return },
		func() (err error) { g.towns, err = flatfile.TakeStrings(f, prefix+"towns"); return },
		func() (err error) { g.doorAt, err = flatfile.TakeSure[int32](f, prefix+"door-at"); return },
		func() (err error) { g.door, err = flatfile.TakeSure[int32](f, prefix+"door"); return },
		func() (err error) { g.edgeAt, err = flatfile.TakeSure[int32](f, prefix+"edge-at"); return },
		func() (err error) { g.edge, err = flatfile.TakeSure[int32](f, prefix+"edge"); return },
		func() (err error) { g.fst, err = flatfile.TakeSure[byte](f, WordsSection(prefix)); return },
		func() (err error) { g.postingAt, err = flatfile.TakeSure[int32](f, prefix+"posting-at"); return },
		func() (err error) { g.posting, err = flatfile.TakeSure[uint32](f, prefix+"posting"); return },
	} {
		if err := take(); err != nil {
			return nil, err
		}
	}
	g.kind = make([]Kind, len(kind))
	for i, k := range kind {
		g.kind[i] = Kind(k)
	}
	err := g.check()
	if err == nil {
		err = errWords
		unlessBroken(func() {
			if g.words, err = vellum.Load(g.fst); err == nil && g.words.Len() != len(g.postingAt)-1 {
				err = fmt.Errorf("%d words with lists of %d", g.words.Len(), len(g.postingAt)-1)
			}
		})
	}
	if err != nil {
		return nil, &flatfile.FormatError{Section: prefix + "*", Err: fmt.Errorf("%w: %w", flatfile.ErrDamaged, err)}
	}
	return g, nil
}

// errWords says that the index of words is none.
var errWords = errors.New("the index of words leads nowhere")

// check says whether every number points at something.
func (g *Gazetteer) check() error {
	n := g.names.Len()
	if len(g.kind) != n || len(g.at) != n || len(g.town) != n || g.code.Len() != n || len(g.telling) != n || len(g.doorAt) != n+1 || len(g.edgeAt) != n+1 {
		return fmt.Errorf("%d places with %d kinds, %d points, %d towns, %d codes, %d lengths, %d lists of doors, %d of edges",
			n, len(g.kind), len(g.at), len(g.town), g.code.Len(), len(g.telling), len(g.doorAt), len(g.edgeAt))
	}
	for i := range n {
		if g.kind[i] >= kinds || g.town[i] < -1 || int(g.town[i]) >= len(g.towns) {
			return fmt.Errorf("place %d of kind %d in town %d of %d", i, g.kind[i], g.town[i], len(g.towns))
		}
	}
	if err := cmp.Or(ascending("door-at", g.doorAt, len(g.door)), within("door", g.door, len(g.doors)),
		ascending("edge-at", g.edgeAt, len(g.edge)), within("edge", g.edge, g.graph.EdgeCount()),
		ascending("posting-at", g.postingAt, len(g.posting))); err != nil {
		return err
	}
	for i, p := range g.posting {
		if int(p>>2) >= n {
			return fmt.Errorf("posting %d is of place %d of %d", i, p>>2, n)
		}
	}
	return nil
}

// within says whether numbers are of things that there are n of.
func within(name string, numbers []int32, n int) error {
	for i, d := range numbers {
		if d < 0 || int(d) >= n {
			return fmt.Errorf("%s %d is %d of %d", name, i, d, n)
		}
	}
	return nil
}

// ascending says whether ends begin at 0, never fall and end at a length.
func ascending(name string, ends []int32, length int) error {
	if len(ends) == 0 || ends[0] != 0 || int(ends[len(ends)-1]) != length {
		return fmt.Errorf("%s does not run from 0 to %d", name, length)
	}
	for i := 1; i < len(ends); i++ {
		if ends[i] < ends[i-1] {
			return fmt.Errorf("%s falls at %d", name, i)
		}
	}
	return nil
}
