package atlas

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"wideberth/routing/network"
)

// View is an atlas as one request sees it: the tiles that were there when it began,
// whatever is loaded meanwhile, and what it has looked at stays open until Close. Safe for
// concurrent use.
type View struct {
	atlas *Atlas

	mu   sync.Mutex
	now  *edition
	held map[*Tile]*Sheet
}

// View begins to look at the atlas.
func (a *Atlas) View() *View {
	a.mu.Lock()
	defer a.mu.Unlock()
	return &View{atlas: a, now: a.now, held: map[*Tile]*Sheet{}}
}

// Close gives back all that the view has open.
func (v *View) Close() {
	v.mu.Lock()
	defer v.mu.Unlock()
	for _, s := range v.held {
		v.atlas.release(s)
	}
	clear(v.held)
}

// Tiles are the tiles that there are, in the order in which they were named. They must not
// be changed.
func (v *View) Tiles() []*Tile { return v.now.tiles }

// open gives a sheet and keeps it until the view is closed.
func (v *View) open(ctx context.Context, t *Tile) (*Sheet, error) {
	v.mu.Lock()
	held := v.held[t]
	v.mu.Unlock()
	if held != nil {
		v.atlas.touch(held)
		return held, nil
	}
	s, err := v.atlas.open(ctx, t)
	if err != nil {
		return nil, err
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	if held := v.held[t]; held != nil { // somebody else of this request was quicker
		v.atlas.release(s)
		return held, nil
	}
	v.held[t] = s
	return s, nil
}

// At gives the sheet of a place: where there is one tile alone it has every place, and
// says itself what lies off it. A place that no tile answers for is a *NowhereError, a
// tile that cannot be opened a *TileError.
func (v *View) At(ctx context.Context, lon, lat float64) (*Sheet, error) {
	if len(v.now.tiles) == 1 {
		return v.open(ctx, v.now.tiles[0])
	}
	t, away := v.owner(ctx, lon, lat)
	if !(away <= network.SnapLimitM) {
		return nil, v.now.nowhere(lon, lat)
	}
	return v.open(ctx, t)
}

// Shows says that a place lies on what a sheet shows. The only sheet shows every place.
func (v *View) Shows(s *Sheet, lon, lat float64) bool {
	return len(v.now.tiles) == 1 || s.Served.Holds(lon, lat)
}

// First gives the first tile's sheet: for what is asked of no place.
func (v *View) First(ctx context.Context) (*Sheet, error) { return v.open(ctx, v.now.tiles[0]) }

// Meeting are the tiles that show something of a box, those with the nearest middles
// first; where there is one alone, that.
func (v *View) Meeting(b Box) (out []*Tile) {
	if len(v.now.tiles) == 1 {
		return v.now.tiles
	}
	for _, t := range v.now.tiles {
		if t.Served.Meets(b) {
			out = append(out, t)
		}
	}
	lon, lat := (b[0]+b[2])/2, (b[1]+b[3])/2
	slices.SortStableFunc(out, func(x, y *Tile) int { return cmp.Compare(x.Core.AwayM(lon, lat), y.Core.AwayM(lon, lat)) })
	return out
}

// Each visits tiles one after the other, open for as long as that takes. One that cannot
// be opened is told to missing, and the others are visited; an error of visit ends it.
func (v *View) Each(ctx context.Context, tiles []*Tile, visit func(*Sheet) error, missing func(error)) error {
	for _, t := range tiles {
		s, err := v.atlas.open(ctx, t)
		if err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			missing(err)
			continue
		}
		err = func() error {
			defer v.atlas.release(s)
			return visit(s)
		}()
		if err != nil {
			return err
		}
	}
	return nil
}

// Bounds is the least box that holds what all tiles show.
func (v *View) Bounds() Box {
	out := v.now.tiles[0].Served
	for _, t := range v.now.tiles[1:] {
		out = out.with(t.Served)
	}
	return out
}
