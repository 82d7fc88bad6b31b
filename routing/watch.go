package routing

import (
	"cmp"
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// passed lists the fixed sources that the walk comes near enough for the dog, in
// walking order.
func (p *Planner) passed(walk *Walk, w *Wish, parts []stretch) {
	f := p.land.Snap.Field
	nearest := map[int32]*Passed{}
	for i := range parts {
		s := &parts[i]
		at := p.land.Clock.At(w.Depart.Add(Seconds(s.startS)))
		for t := range f.TouchesOf(s.Edge) {
			need := f.NeedAt(t.Source, &w.Dog)
			if need.WorkingM == 0 || float64(t.DistM) > need.WorkingM {
				continue
			}
			got := nearest[t.Source]
			if got == nil {
				got = &Passed{Source: t.Source, NearestM: math.Inf(1), Need: need, Name: p.land.Snap.Field.Source(t.Source).Label(), Sort: f.Source(t.Source).As}
				nearest[t.Source] = got
			}
			got.InSight = got.InSight || t.SeenAt(at)
			p.nearer(got, parts, i)
		}
	}
	for id, got := range nearest {
		got.NearestM = max(0, got.NearestM)
		got.Active = f.Active(id, &w.Dog, p.land.Clock.At(w.Depart.Add(Seconds(got.AtS))), w.Factors)
		walk.Passed = append(walk.Passed, *got)
	}
	slices.SortFunc(walk.Passed, func(a, b Passed) int {
		return cmp.Or(cmp.Compare(a.FromM, b.FromM), cmp.Compare(a.Source, b.Source))
	})
}

// Bounds of what is shown to watch for. That a handler keeps no more than four in mind,
// and that what lies within 60 m is one place to be ready at, are our assumptions.
const (
	MostWatch     = 4
	watchMergeM   = 60
	blindSightM   = 30   // sight at a corner under which it is blind
	watchActive   = 0.05 // chance that somebody is there, under which a source is not watched for
	onTheWayM     = 3    // nearer than that a source lies on the walk itself
	pinchShare    = 0.25
	crossMinClass = osmdata.Tertiary
)

// watchOrder is what matters more: sources first, then what is narrow, blind, crossed.
var watchOrder = map[string]int{"source": 0, "school_bell": 0, "pinch": 1, "blind_corner": 2, "crossing": 3}

// watch lists the places to be ready at, in walking order: at most MostWatch, the ones
// that matter most, each with what to do there.
func (p *Planner) watch(walk *Walk, w *Wish, parts []stretch) {
	var all []WatchPoint
	for _, s := range walk.Passed {
		if s.Active <= watchActive {
			continue
		}
		q := WatchPoint{What: "source", Deed: keepOffDeed(s.Side, s.NearestM), Name: s.Name, At: walk.Line.At(s.FromM), AtS: s.AtS, FromM: s.FromM, Side: s.Side, DistM: s.NearestM,
			weight: s.Active * s.Need.P(s.NearestM)}
		if s.Sort == "school" || s.Sort == "kindergarten" {
			q.What, q.Deed = "school_bell", DeedWaitThrough
		}
		all = append(all, q)
	}
	all = append(all, p.pinches(w, parts)...)
	all = append(all, p.blindCorners(parts)...)
	all = append(all, p.crossings(parts)...)
	walk.Watch = Foremost(all)
}

// keepOffDeed is what to do about a source on a side.
func keepOffDeed(side string, distM float64) Deed {
	switch {
	case distM < onTheWayM:
		return DeedLookFirst
	case side == "left":
		return DeedKeepRight
	case side == "right":
		return DeedKeepLeft
	}
	return DeedFarSide
}

// Foremost puts watch points that lie together into one and keeps those that matter
// most, at most MostWatch, in walking order. Where a walk comes by twice it is told the
// first time, and a street that is narrow all along once, where it is narrowest.
func Foremost(all []WatchPoint) []WatchPoint {
	ranked := slices.Clone(all)
	slices.SortStableFunc(ranked, func(a, b WatchPoint) int {
		return cmp.Or(cmp.Compare(watchOrder[a.What], watchOrder[b.What]), cmp.Compare(b.weight, a.weight), cmp.Compare(a.FromM, b.FromM))
	})
	var out []WatchPoint
	for _, q := range ranked {
		near := slices.IndexFunc(out, func(o WatchPoint) bool { return o.At.DistanceM(q.At) <= watchMergeM })
		switch {
		case q.What == "pinch" && q.Name != "" && slices.ContainsFunc(out, func(o WatchPoint) bool { return o.What == q.What && o.Name == q.Name }):
		case near < 0 && len(out) < MostWatch:
			q.Also = slices.Clone(q.Also)
			out = append(out, q)
		case near >= 0:
			out[near].with(&q)
		}
	}
	slices.SortStableFunc(out, func(a, b WatchPoint) int { return cmp.Compare(a.FromM, b.FromM) })
	return out
}

// with takes in what another watch point adds to this one.
func (q *WatchPoint) with(o *WatchPoint) {
	for _, what := range append([]string{o.What}, o.Also...) {
		if what != q.What && !slices.Contains(q.Also, what) {
			q.Also = append(q.Also, what)
		}
	}
}

// crossings are the junctions at which a walk goes over a main road without
// having walked along it.
func (p *Planner) crossings(parts []stretch) (out []WatchPoint) {
	for i := 1; i < len(parts); i++ {
		before, after := &parts[i-1], &parts[i]
		if before.part.Class.Main() || after.part.Class.Main() || before.Edge == after.Edge {
			continue
		}
		if name, class, ok := p.mainRoadAt(p.headOf(before)); ok {
			out = append(out, WatchPoint{What: "crossing", Deed: DeedStopLook, Name: name, At: after.line[0], AtS: after.startS, FromM: after.startM, weight: -float64(class)})
		}
	}
	return out
}

// headOf is the network vertex that a stretch ends at, -1 within an edge.
func (p *Planner) headOf(s *stretch) int32 {
	g := p.land.Snap.Graph
	a := g.EdgeArc[s.Edge]
	switch {
	case !s.Against() && s.ToM >= g.LengthM[s.Edge]-0.5:
		return g.Star.Head[a]
	case s.Against() && s.ToM <= 0.5:
		return g.Star.Head[g.Star.Twin[a]]
	}
	return -1
}

// mainRoadAt is the name and the class of the main road that runs through a vertex.
func (p *Planner) mainRoadAt(v int32) (name string, class osmdata.Class, ok bool) {
	if v < 0 {
		return "", 0, false
	}
	g := p.land.Snap.Graph
	for a := g.Star.First[v]; a < g.Star.First[v+1]; a++ {
		e := g.ArcEdge[a]
		if g.Class[e].Main() && g.Class[e] <= crossMinClass {
			return g.Names[g.Parts[g.PartAt[e]].Name], g.Class[e], true
		}
	}
	return "", 0, false
}

// blindCorners are the turns with little sight ahead, by what the way ahead carries.
func (p *Planner) blindCorners(parts []stretch) (out []WatchPoint) {
	f := p.land.Snap.Field
	for i := 1; i < len(parts); i++ {
		before, after := &parts[i-1], &parts[i]
		v := p.headOf(before)
		if v < 0 || math.Abs(network.TurnAngle(network.Heading(before.line, true), network.Heading(after.line, false))) < 35*math.Pi/180 {
			continue
		}
		sight := p.cornerSight(before.line, after.line)
		if sight >= blindSightM {
			continue
		}
		out = append(out, WatchPoint{What: "blind_corner", Deed: DeedSwingWide, Name: p.nameOf(after), At: after.line[0], AtS: after.startS, FromM: after.startM, SightM: sight,
			weight: f.PerDay(exposure.DogWalks, after.Edge) + f.PerDay(exposure.WalkingTrips, after.Edge)})
	}
	return out
}

// cornerSight is how far in metres, along the way, walkers on both arms of a
// corner see each other, both equally far from it; steps of three metres.
func (p *Planner) cornerSight(in, out plane.Polyline) float64 {
	n := in.LengthM()
	for s := 3.0; s <= blindSightM; s += 3 {
		if s > n || s > out.LengthM() {
			return blindSightM
		}
		if !p.land.Snap.Ground.Visible(in.At(n-s), out.At(s)) {
			return 2 * (s - 3)
		}
	}
	return blindSightM
}

func (p *Planner) nameOf(s *stretch) string {
	if name := p.land.Snap.Graph.Names[s.part.Name]; name != "" {
		return name
	}
	return s.part.Sort()
}

// pinches are the places whose room is least, where it is under a quarter of
// what the dog needs from what leads the walk's reactions.
func (p *Planner) pinches(w *Wish, parts []stretch) (out []WatchPoint) {
	f := p.land.Snap.Field
	need := w.Dog.FarthestM()
	for i := range parts {
		s := &parts[i]
		b := f.Sides(s.Edge, false)
		if b.Left.Default && b.Right.Default {
			continue
		}
		if room := float64(max(b.Left.LeastM, b.Right.LeastM)); room < pinchShare*need {
			out = append(out, WatchPoint{What: "pinch", Deed: DeedWaitClear, Name: p.nameOf(s), At: s.line[0], AtS: s.startS, FromM: s.startM, RoomM: room, weight: -room})
		}
	}
	return out
}
