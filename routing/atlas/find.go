package atlas

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing/gazetteer"
	"wideberth/routing/snapshot"
)

// Found is a place of a name, with where it lies in degrees and on which tile.
type Found struct {
	gazetteer.Found
	Lon, Lat float64
	Tile     *Tile
}

// Place is a place in degrees.
type Place struct{ Lon, Lat float64 }

// mostAsked is how many tiles are opened for one text.
const mostAsked = 6

// Find gives up to most places whose names hold the words of a text, as
// gazetteer.Gazetteer.Find does on one map. Of several tiles those are asked whose words
// hold most of the text, the nearest to near first, or where nowhere is near the largest
// files, up to six: their words are read without opening them, and of tiles in a bucket
// without bringing them here. Tiles that cannot be read are told to missing.
func (v *View) Find(ctx context.Context, text string, near *Place, most int, missing func(error)) (out []Found, err error) {
	tiles, err := v.asked(ctx, text, near, missing)
	if err != nil {
		return nil, err
	}
	err = v.Each(ctx, tiles, func(s *Sheet) error {
		var at *plane.Point
		f := s.Planner.Frame()
		if near != nil {
			p := f.Forward(near.Lon, near.Lat)
			at = &p
		}
		for _, x := range s.Planner.Snapshot().Names.Find(text, at, most) {
			lon, lat := f.Inverse(x.At)
			out = append(out, Found{Found: x, Lon: lon, Lat: lat, Tile: s.Tile})
		}
		return nil
	}, missing)
	if err != nil {
		return nil, err
	}
	return merged(out, most), nil
}

// asked are the tiles that a text is looked for in.
func (v *View) asked(ctx context.Context, text string, near *Place, missing func(error)) ([]*Tile, error) {
	tiles := v.Tiles()
	if len(tiles) == 1 {
		return tiles, nil
	}
	known, err := v.wordsOfAll(ctx, tiles, missing)
	if err != nil {
		return nil, err
	}
	type holding struct {
		*Tile
		words, numbers int
		awayM          float64
	}
	list := make([]holding, 0, len(tiles))
	for i, t := range tiles {
		h := holding{Tile: t}
		if known[i] == nil {
			continue
		}
		if h.words, h.numbers = known[i].Holding(text); h.words+h.numbers == 0 {
			continue
		}
		if near != nil {
			h.awayM = t.Core.AwayM(near.Lon, near.Lat)
		}
		list = append(list, h)
	}
	slices.SortStableFunc(list, func(a, b holding) int {
		return cmp.Or(cmp.Compare(b.words, a.words), cmp.Compare(b.numbers, a.numbers), cmp.Compare(a.awayM, b.awayM), cmp.Compare(b.Bytes, a.Bytes))
	})
	var out []*Tile
	for _, h := range list[:min(len(list), mostAsked)] {
		if h.words == list[0].words {
			out = append(out, h.Tile)
		}
	}
	return out, nil
}

// gleaners is how many tiles' words are read at once: a bucket answers many as soon as one.
const gleaners = 16

// wordsOfAll are the words of the names of tiles, nil of those that cannot be read now.
// Where a bucket does not answer once it is not asked again for this text, so that a
// service without it finds what is here at once.
func (v *View) wordsOfAll(ctx context.Context, tiles []*Tile, missing func(error)) ([]*gazetteer.Words, error) {
	out, wrong := make([]*gazetteer.Words, len(tiles)), make([]error, len(tiles))
	var silent atomic.Bool
	err := parallel.With(ctx, gleaners, len(tiles), func() func(i int) error {
		return func(i int) error {
			far := !tiles[i].here()
			if far && silent.Load() {
				return nil
			}
			if out[i], wrong[i] = v.atlas.wordsOf(ctx, tiles[i]); wrong[i] != nil {
				if err := ctx.Err(); err != nil {
					return err
				}
				silent.CompareAndSwap(false, far && !errors.Is(wrong[i], fs.ErrNotExist)) // that is an answer
			}
			return nil
		}
	})
	for _, w := range wrong {
		if w != nil && err == nil {
			missing(w)
		}
	}
	return out, err
}

// wordsOf are the words of a tile's names.
func (a *Atlas) wordsOf(ctx context.Context, t *Tile) (*gazetteer.Words, error) {
	a.mu.Lock()
	if s := a.sheets[t.id]; s != nil && s.stays {
		a.mu.Unlock()
		return s.Planner.Snapshot().Names.Words(), nil
	}
	once := a.words[t.id]
	if once == nil {
		ctx := context.WithoutCancel(ctx) // others wait for it
		once = sync.OnceValues(func() (*gazetteer.Words, error) {
			path := t.Path
			if !t.here() {
				var err error
				if path, err = t.glean(ctx); err != nil {
					return nil, err
				}
			}
			return snapshot.ReadWords(path)
		})
		a.words[t.id] = once
	}
	a.mu.Unlock()
	words, err := once()
	if err != nil {
		a.mu.Lock()
		defer a.mu.Unlock()
		delete(a.words, t.id)
		return nil, &TileError{Path: t.Path, Name: t.Name, Err: err}
	}
	return words, nil
}

// sameM is how near to each other two finds of one name on two tiles are one place. Streets
// lie in pieces, whose middles differ where the tiles end. Our assumption.
var sameM = map[gazetteer.Kind]float64{gazetteer.Settlement: 500, gazetteer.Ground: 500, gazetteer.Street: 5000, gazetteer.Door: 50, gazetteer.Postcode: 20_000}

// merged puts what several tiles found in one order, each place once.
func merged(all []Found, most int) (out []Found) {
	slices.SortStableFunc(all, func(a, b Found) int { return gazetteer.Compare(&a.Found, &b.Found) })
	for i := range all {
		f := &all[i]
		beaten := slices.ContainsFunc(all, func(o Found) bool { return o.Tile != f.Tile && f.Apart(&o.Found) })
		twice := slices.ContainsFunc(out, func(o Found) bool {
			return o.Tile != f.Tile && o.Kind == f.Kind && o.Name == f.Name && o.Town == f.Town && apartM(&o, f) < sameM[f.Kind]
		})
		if !beaten && !twice && len(out) < most {
			out = append(out, *f)
		}
	}
	return out
}

// apartM is how far two finds lie apart, on the sphere, by parallels and meridians.
func apartM(a, b *Found) float64 {
	return degreeM * math.Hypot(a.Lat-b.Lat, (a.Lon-b.Lon)*math.Cos(a.Lat*math.Pi/180))
}
