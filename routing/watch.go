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
			got.InSight = got.InSight || t.InSight
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

// Bounds of what is shown to watch for.
const (
	mostBlind     = 3  // the worst blind corners, by what the hidden arm carries
	blindSightM   = 30 // sight at a corner under which it is blind
	watchApartM   = 40 // watch points of one sort are at least this far apart
	pinchShare    = 0.25
	mostPinches   = 4
	crossMinClass = osmdata.Tertiary
)

// watch lists the places to be ready at, in walking order.
func (p *Planner) watch(walk *Walk, w *Wish, parts []stretch) {
	for _, s := range walk.Passed {
		what := "source"
		if s.Sort == "school" || s.Sort == "kindergarten" {
			what = "school_bell"
		}
		if s.Active > 0.05 {
			walk.Watch = append(walk.Watch, WatchPoint{What: what, Name: s.Name, At: walk.Line.At(s.FromM), AtS: s.AtS, FromM: s.FromM, Side: s.Side, DistM: s.NearestM})
		}
	}
	walk.Watch = append(walk.Watch, p.crossings(parts)...)
	walk.Watch = append(walk.Watch, p.blindCorners(parts)...)
	walk.Watch = append(walk.Watch, p.pinches(w, parts)...)
	slices.SortStableFunc(walk.Watch, func(a, b WatchPoint) int { return cmp.Compare(a.FromM, b.FromM) })
}

// crossings are the junctions at which a walk goes over a main road without
// having walked along it.
func (p *Planner) crossings(parts []stretch) (out []WatchPoint) {
	for i := 1; i < len(parts); i++ {
		before, after := &parts[i-1], &parts[i]
		if before.part.Class.Main() || after.part.Class.Main() || before.Edge == after.Edge {
			continue
		}
		if name, ok := p.mainRoadAt(p.headOf(before)); ok {
			out = append(out, WatchPoint{What: "crossing", Name: name, At: after.line[0], AtS: after.startS, FromM: after.startM})
		}
	}
	return apart(out)
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

// mainRoadAt is the name of the main road that runs through a vertex.
func (p *Planner) mainRoadAt(v int32) (name string, ok bool) {
	if v < 0 {
		return "", false
	}
	g := p.land.Snap.Graph
	for a := g.Star.First[v]; a < g.Star.First[v+1]; a++ {
		e := g.ArcEdge[a]
		if g.Class[e].Main() && g.Class[e] <= crossMinClass {
			return g.Names[g.Parts[g.PartAt[e]].Name], true
		}
	}
	return "", false
}

// blindCorners are the turns with the least sight ahead, worst first by what the
// way ahead carries, at most three.
func (p *Planner) blindCorners(parts []stretch) (out []WatchPoint) {
	f := p.land.Snap.Field
	type corner struct {
		WatchPoint
		flow float64
	}
	var all []corner
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
		flow := f.PerDay(exposure.DogWalks, after.Edge) + f.PerDay(exposure.WalkingTrips, after.Edge)
		all = append(all, corner{WatchPoint{What: "blind_corner", Name: p.nameOf(after), At: after.line[0], AtS: after.startS, FromM: after.startM, SightM: sight}, flow})
	}
	slices.SortFunc(all, func(a, b corner) int { return cmp.Or(cmp.Compare(b.flow, a.flow), cmp.Compare(a.FromM, b.FromM)) })
	for i := range min(mostBlind, len(all)) {
		out = append(out, all[i].WatchPoint)
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
	var all []WatchPoint
	for i := range parts {
		s := &parts[i]
		if f.Left[s.Edge].Default && f.Right[s.Edge].Default {
			continue
		}
		if room := float64(max(f.Left[s.Edge].LeastM, f.Right[s.Edge].LeastM)); room < pinchShare*need {
			all = append(all, WatchPoint{What: "pinch", Name: p.nameOf(s), At: s.line[0], AtS: s.startS, FromM: s.startM, RoomM: room})
		}
	}
	slices.SortStableFunc(all, func(a, b WatchPoint) int { return cmp.Compare(a.RoomM, b.RoomM) })
	all = apart(all)
	return all[:min(len(all), mostPinches)]
}

// apart keeps of watch points of one sort, in the order given, those that are
// far enough from the ones kept before.
func apart(all []WatchPoint) (out []WatchPoint) {
	for _, a := range all {
		if !slices.ContainsFunc(out, func(b WatchPoint) bool { return math.Abs(a.FromM-b.FromM) < watchApartM }) {
			out = append(out, a)
		}
	}
	return out
}
