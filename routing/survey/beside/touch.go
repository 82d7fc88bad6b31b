package beside

import (
	"context"
	"math"

	"wideberth/osmdata/parallel"

	"wideberth/exposure"
	"wideberth/exposure/sound"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// How far sources are looked for. Beyond seenM nobody reacts to what is merely
// seen there as far as streams are followed either; sounds carry farther.
const (
	seenM  = exposure.BinMaxM
	heardM = 400.0
)

// touchStep is the ln of the distances that are told apart along an edge: within a
// step of 25 % one mean stands for all.
const touchStep = 0.25

// Sources lists the fixed sources among an extract's features.
func Sources(x *osmdata.Extract) []exposure.Source {
	var out []exposure.Source
	for i := range x.Features {
		if s, ok := exposure.NewSource(&x.Features[i]); ok {
			if s.Area == nil && len(x.Features[i].Line) > 0 {
				s.At = x.Features[i].Line.At(x.Features[i].Line.LengthM() / 2)
			}
			out = append(out, s)
		}
	}
	return out
}

// reachM is how far a source can be met: by eye or, with a kind that is heard, by
// ear.
func reachM(s *exposure.Source) float64 {
	for _, m := range s.Mix {
		if m.Kind.Info().Heard {
			return heardM
		}
	}
	return seenM
}

// sourceIndex finds the sources about a box.
type sourceIndex struct {
	list  []exposure.Source
	reach []float64
	about []plane.Box // whatever lies beyond it is out of reach
	cells map[tile][]int32
}

func newSourceIndex(list []exposure.Source) *sourceIndex {
	x := &sourceIndex{list: list, cells: map[tile][]int32{}}
	for i := range list {
		s := &list[i]
		reach := reachM(s)
		x.reach = append(x.reach, reach)
		box := plane.EmptyBox().With(s.At)
		for _, g := range s.Area {
			box = box.Union(g.Box())
		}
		box = box.Grown(reach + float64(s.RadiusM))
		x.about = append(x.about, box.Grown(edgeSlackM))
		lo, hi := groundCell(box.Min), groundCell(box.Max)
		for cx := lo.x; cx <= hi.x; cx++ {
			for cy := lo.y; cy <= hi.y; cy++ {
				x.cells[tile{cx, cy}] = append(x.cells[tile{cx, cy}], int32(i))
			}
		}
	}
	return x
}

// nearest is the distance in metres from a point to a source's extent, 0 inside,
// and the nearest place of it.
func nearest(s *exposure.Source, p plane.Point) (distM float64, at plane.Point) {
	if len(s.Area) == 0 {
		d := p.DistanceM(s.At)
		if d <= float64(s.RadiusM) {
			return 0, p
		}
		return d - float64(s.RadiusM), s.At.Add(p.Sub(s.At).Mul(float64(s.RadiusM) / d))
	}
	distM = math.Inf(1)
	for i := range s.Area {
		if s.Area[i].Contains(p) {
			return 0, p
		}
		distM, at = nearerOf(s.Area[i].Outer, p, distM, at)
		for _, hole := range s.Area[i].Holes {
			distM, at = nearerOf(hole, p, distM, at)
		}
	}
	return distM, at
}

// nearerOf is the place of a ring that is nearest to p, where that is nearer than distM,
// else at.
func nearerOf(ring plane.Ring, p plane.Point, distM float64, at plane.Point) (float64, plane.Point) {
	for k := range ring {
		next := k + 1
		if next == len(ring) {
			next = 0
		}
		q, _ := plane.NearestOnSegment(p, ring[k], ring[next])
		if d := q.DistanceM(p); d < distM {
			distM, at = d, q
		}
	}
	return distM, at
}

// Touches lists by edge which sources are in reach, how far, and whether in sight:
// At each sample the nearest place of the source, with what stands between.
// Samples at about one distance are one entry with their share of the edge.
func Touches(ctx context.Context, g *network.Graph, t *Terrain, list []exposure.Source, workers int, tick func(int)) (at []int32, out []exposure.Touch, err error) {
	index := newSourceIndex(list)
	byEdge := make([][]exposure.Touch, g.EdgeCount())
	err = parallel.EachIndex(ctx, g.EdgeCount(), workers, tick, func() func(int32) {
		w := &toucher{t: t, x: index, veils: t.veils.eye(), s: t.Sampler(g), groups: map[touchKey]*touchSum{}}
		return func(e int32) {
			if t.measures(e) {
				byEdge[e] = w.edge(e)
			}
		}
	})
	at = make([]int32, 1, g.EdgeCount()+1)
	for _, ts := range byEdge {
		out = append(out, ts...)
		at = append(at, int32(len(out)))
	}
	return at, out, err
}

// toucher is one worker's scratch.
type toucher struct {
	t      *Terrain
	x      *sourceIndex
	veils  veilEye
	s      Sampler
	groups map[touchKey]*touchSum
	keys   []touchKey
}

// touchKey tells entries of one edge apart.
type touchKey struct {
	source int32
	step   int32 // of distance
	seen   glimpse
}

type touchSum struct{ weightM, distM float64 }

func (w *toucher) edge(e int32) []exposure.Touch {
	clear(w.groups)
	w.keys = w.keys[:0]
	total := 0.0
	for _, s := range w.s.Samples(e) {
		total += s.WeightM
		for _, i := range w.x.cells[groundCell(s.At)] {
			if !w.x.about[i].Contains(s.At) {
				continue
			}
			d, at := nearest(&w.x.list[i], s.At)
			if d <= w.x.reach[i] {
				w.add(touchKey{i, int32(math.Log1p(d) / touchStep), w.sees(s.At, at, d)}, s.WeightM, d)
			}
		}
	}
	var out []exposure.Touch
	for _, key := range w.keys {
		sum := w.groups[key]
		touch := exposure.Touch{Source: key.source, InSight: key.seen == seen || key.seen == whileBare, Bare: key.seen == whileBare, Share: float32(min(1, sum.weightM/total)), DistM: float32(sum.distM / sum.weightM)}
		if key.seen == walled {
			touch.DropDB = float32(sound.SolidScreen)
		}
		out = append(out, touch)
	}
	return out
}

func (w *toucher) add(key touchKey, weightM, distM float64) {
	sum := w.groups[key]
	if sum == nil {
		sum = &touchSum{}
		w.groups[key] = sum
		w.keys = append(w.keys, key)
	}
	sum.weightM += weightM
	sum.distM += weightM * distM
}

// edgeSlackM is how far before the edge of a source's ground the look ends: a fence
// or wall round it does not count as standing between.
const edgeSlackM = 1.0

// Sees tells how the nearest place of a source, d metres away, is seen. What hides it
// without standing in the way of a sound, wood and parked cars, takes nothing from that.
func (w *toucher) sees(p, at plane.Point, d float64) glimpse {
	if d <= edgeSlackM {
		return seen
	}
	end := p.Add(at.Sub(p).Mul(1 - edgeSlackM/d))
	if !w.t.lines.Visible(p, end, stopsView) {
		return walled
	}
	if d > exposure.BinMaxM {
		return seen // nobody reacts to what is merely seen there
	}
	return w.veils.through(p, end)
}
