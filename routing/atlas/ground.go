package atlas

import (
	"context"
	"math"
	"sync"

	"wideberth/osmdata/plane"
)

// ground is how many metres of ways a map has in each cell of the earth.
type ground map[[2]int32]float32

// groundZoom is the zoom of Web Mercator whose tiles are the cells: 3.7 km at 40 degrees,
// so that nine of them are about what a walk can reach. Our assumption.
const groundZoom = 13

// cellOf is the cell that a place lies in (Web Mercator, as in OGC 17-083r4, annex D).
func cellOf(lon, lat float64) [2]int32 {
	n := math.Exp2(groundZoom)
	rad := lat * math.Pi / 180
	return [2]int32{int32(math.Floor(n * (lon + 180) / 360)), int32(math.Floor(n * (1 - math.Asinh(math.Tan(rad))/math.Pi) / 2))}
}

// about is how many metres of ways there are in the cell of a place and the eight round it.
func (g ground) about(lon, lat float64) (m float64) {
	c := cellOf(lon, lat)
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			m += float64(g[[2]int32{c[0] + dx, c[1] + dy}])
		}
	}
	return m
}

// groundOf is the ground of a tile, which is opened for it once. One that cannot be opened
// has none, until it can.
func (a *Atlas) groundOf(ctx context.Context, t *Tile) ground {
	a.mu.Lock()
	once := a.grounds[t.id]
	if once == nil {
		ctx := context.WithoutCancel(ctx) // others wait for it
		once = sync.OnceValues(func() (ground, error) { return a.survey(ctx, t) })
		a.grounds[t.id] = once
	}
	a.mu.Unlock()
	g, err := once()
	if err != nil {
		a.mu.Lock()
		delete(a.grounds, t.id)
		a.mu.Unlock()
	}
	return g
}

func (a *Atlas) survey(ctx context.Context, t *Tile) (ground, error) {
	s, err := a.open(ctx, t)
	if err != nil {
		return nil, err
	}
	defer a.release(s)
	g, f := s.Planner.Snapshot().Graph, s.Planner.Frame()
	out := ground{}
	for e := range int32(g.EdgeCount()) {
		lon, lat := f.Inverse(g.EdgeLine(e)[0])
		out[cellOf(lon, lat)] += g.LengthM[e]
	}
	return out, nil
}

// owner is the tile that answers for a place: the one whose core holds it. Where those of
// several do, as of two states each cut along its border, it is the one with the most ways
// about the place: the other ends near it; of equals the smaller file. A place beside all
// cores is nearest to its owner's, away metres off.
func (v *View) owner(ctx context.Context, lon, lat float64) (best *Tile, away float64) {
	var hold []*Tile
	away = math.Inf(1)
	for _, t := range v.now.tiles {
		if t.Core.Holds(lon, lat) {
			hold = append(hold, t)
		} else if d := t.Core.AwayM(lon, lat); d < away {
			best, away = t, d
		}
	}
	if len(hold) == 0 {
		return best, away
	}
	best = hold[0]
	if len(hold) == 1 {
		return best, 0
	}
	most := -1.0
	for _, t := range hold {
		m := v.atlas.groundOf(ctx, t).about(lon, lat)
		if m > most || m == most && t.Bytes < best.Bytes {
			best, most = t, m
		}
	}
	return best, 0
}

// Mine says which points of a sheet's plane are in the part of the earth that its tile
// answers for: of what two tiles show, each shows what begins there.
func (v *View) Mine(ctx context.Context, s *Sheet) func(plane.Point) bool {
	alone := true
	for _, t := range v.now.tiles {
		alone = alone && (t == s.Tile || !t.Core.Meets(s.Served))
	}
	if alone {
		return func(plane.Point) bool { return true }
	}
	return func(p plane.Point) bool {
		lon, lat := s.Planner.Frame().Inverse(p)
		t, _ := v.owner(ctx, lon, lat)
		return t.id == s.id
	}
}
