package snapshot

import (
	"context"
	"fmt"
	"maps"
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/change"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey"
	"wideberth/routing/survey/beside"
	"wideberth/routing/yard"
)

// Margins of an update. What changes on a map moves values up to ValuesM from it, and what
// is worked out within a border holds from SurveyM inside of it on, which is how far
// motors and bicycles come from: both measured on a state, where walkers and dogs want
// 3 km.
const (
	ValuesM = 3000
	SurveyM = 7000
)

// most is the share of a map's edges about changes from which on all of it is surveyed.
const mostShare = 0.6

// Change says where a map changed.
type Change struct {
	Boxes            []change.Box // where each thing was that changed, and where it is
	ValuesM, SurveyM float64      // margins; 0 takes the usual ones
}

// Renewed says what an update came to.
type Renewed struct {
	Edges    int    // of the new map
	Surveyed int    // of those, surveyed anew
	Patches  int    // parts of the map that were
	Whole    string // why all of it was surveyed, "" if it was not
}

// Update makes the snapshot of an extract that differs from that of old in the boxes of a
// change alone. It surveys what lies about them and takes the rest from old; network,
// names, roads and ground are made anew. What it gives is what an import of the extract
// gives, but for totals (Census), which stay those of old, and for values at the rim of
// what was surveyed, which differ as those of neighbouring tiles do. Zone, country and
// counts are those of old unless the options name others.
func Update(ctx context.Context, old *Snapshot, x *osmdata.Extract, path string, ch Change, o ImportOptions) (*Snapshot, Renewed, error) {
	if o.Counts == nil {
		o.Counts = old.Counts
	}
	if old.Slopes != nil && o.Heights == "" {
		return nil, Renewed{}, fault.One("--heights", "", "the map was imported with heights: name their folder again")
	}
	m, err := newMaker(ctx, x, path, o)
	if err != nil {
		return nil, Renewed{}, err
	}
	if ch.ValuesM == 0 {
		ch.ValuesM = ValuesM
	}
	if ch.SurveyM == 0 {
		ch.SurveyM = SurveyM
	}
	u := &renewal{m: m, old: old, ch: ch, done: Renewed{Edges: m.g.EdgeCount()}}
	field, err := u.field(ctx)
	if err != nil {
		return nil, Renewed{}, err
	}
	s, err := m.finish(ctx, field)
	return s, u.done, err
}

// renewal is an update under way.
type renewal struct {
	m    *maker
	old  *Snapshot
	ch   Change
	done Renewed
	all  *survey.Whole // what the new map tells of itself; nil until it is asked for
}

// roundM is more than a place moves that is told in degrees and back.
const roundM = 1

// region is a part of the map that is surveyed anew.
type region struct {
	box   plane.Box // within which values may have moved
	reach plane.Box // that, and the whole of its edges
	edges []int32   // that take their rows from it
	part  *part
}

// field makes the field of the new map.
func (u *renewal) field(ctx context.Context) (*exposure.Field, error) {
	sources := beside.Sources(u.m.x)
	where := make(map[sourceKey]int32, len(sources))
	for i, k := range keysOf(sources) {
		where[k] = int32(i)
	}
	if u.whole(); u.done.Whole == "" {
		f, err := u.join(ctx, sources, where)
		if f != nil || err != nil {
			return f, err
		}
	}
	u.done.Surveyed, u.done.Patches = u.done.Edges, 1
	return u.m.survey(ctx, u.m.x, u.m.g, nil, nil, u.m.o.Progress)
}

// whole finds reasons for which all of the map must be surveyed.
func (u *renewal) whole() {
	switch {
	case u.old.Country != u.m.country:
		u.done.Whole = fmt.Sprintf("the country is %s and was %s", u.m.country, u.old.Country)
	case u.old.Zone != u.m.zone:
		u.done.Whole = fmt.Sprintf("the time zone is %s and was %s", u.m.zone, u.old.Zone)
	}
}

// join takes the rows of the field from the old map and from surveys of what lies about
// the changes. It gives nil, and why, where all of the map must be surveyed.
func (u *renewal) join(ctx context.Context, sources []exposure.Source, where map[sourceKey]int32) (*exposure.Field, error) {
	g := u.m.g
	old := newPart(u.old.Graph, u.old.Field, where)
	regions := u.regions()
	from, against := make([]int32, g.EdgeCount()), make([]bool, g.EdgeCount()) // edges of old, -1 for those that are surveyed
	for e := range from {
		line := g.EdgeLine(int32(e))
		from[e], against[e] = old.find(g, int32(e))
		r := nearest(regions, line[0], from[e] < 0)
		if r < 0 {
			continue
		}
		from[e] = -1
		regions[r].edges = append(regions[r].edges, int32(e))
		// An edge that begins by a change may end far from it.
		regions[r].reach = regions[r].reach.Union(line.Box())
		u.done.Surveyed++
	}
	if float64(u.done.Surveyed) > mostShare*float64(g.EdgeCount()) {
		u.done.Whole = "most of it lies near changes"
		return nil, nil
	}
	patch := make([]int32, g.EdgeCount()) // region of an edge that is not taken from old
	for r := range regions {
		if len(regions[r].edges) == 0 {
			continue
		}
		if err := u.patch(ctx, &regions[r], where); err != nil {
			return nil, err
		}
		for _, e := range regions[r].edges {
			patch[e] = int32(r)
		}
	}
	u.keepYards(regions)
	j := newJoined(g, sources)
	j.f.Census, j.f.Boards = maps.Clone(u.old.Field.Census), u.old.Field.Boards
	for e := range int32(g.EdgeCount()) {
		if from[e] >= 0 {
			j.take(e, old, from[e], against[e])
			continue
		}
		p := regions[patch[e]].part
		at, turned := p.find(g, e)
		if at < 0 {
			u.done.Whole = "a street near a change hangs together with the rest of the map only far from it"
			return nil, nil
		}
		j.take(e, p, at, turned)
	}
	return j.f, j.check()
}

// regions are the parts of the map within which values may have moved.
func (u *renewal) regions() (out []region) {
	for _, b := range change.Merge(u.ch.Boxes, u.ch.ValuesM) {
		box := plane.EmptyBox()
		for _, lon := range []float64{b.West, (b.West + b.East) / 2, b.East} {
			for _, lat := range []float64{b.South, (b.South + b.North) / 2, b.North} {
				box = box.With(u.m.x.Frame.Forward(lon, lat))
			}
		}
		out = append(out, region{box: box, reach: box})
	}
	return out
}

// nearest gives the region that holds a point; where the point must have one the nearest.
// It gives -1 for none.
func nearest(regions []region, p plane.Point, must bool) int {
	best, least := -1, math.Inf(1)
	for i := range regions {
		if d := regions[i].box.DistanceM(p); d < least && (d == 0 || must) {
			best, least = i, d
		}
	}
	return best
}

// patch surveys a region, with as much about it as its values rest on.
func (u *renewal) patch(ctx context.Context, r *region, where map[sourceKey]int32) error {
	x := u.m.x.Within(r.reach.Grown(u.ch.SurveyM))
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{Frame: x.Frame})
	if err != nil {
		return fmt.Errorf("survey about a change: %w", err)
	}
	if u.all == nil {
		u.all = survey.Gather([]*survey.Share{survey.ShareOf(u.m.x, u.m.country, nil)})
	}
	core := r.reach.Grown(roundM)
	f, err := u.m.survey(ctx, x, g, u.all, func(lon, lat float64) bool { return core.Contains(x.Frame.Forward(lon, lat)) }, u.m.o.Progress)
	if err != nil {
		return err
	}
	r.part = newPart(g, f, where)
	u.done.Patches++
	return nil
}

// keepYards has the yards stay that lie away from the regions.
func (u *renewal) keepYards(regions []region) {
	if u.old.Frame != u.m.x.Frame {
		return
	}
	at := make(map[plane.Point]*yard.Yard, len(u.old.Yards))
	for i := range u.old.Yards {
		at[u.old.Yards[i].Car] = &u.old.Yards[i]
	}
	u.m.yard = func(car plane.Point) (*yard.Yard, bool) {
		if nearest(regions, car, false) >= 0 {
			return nil, false
		}
		return at[car], true
	}
}
