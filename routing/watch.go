package routing

import (
	"cmp"
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// passed lists the fixed sources that the walk comes near enough for the dog, in
// walking order.
func (p *Planner) passed(walk *Walk, w *Wish, parts []stretch) {
	f := p.snap.Field
	nearest := map[int32]*Passed{}
	for i := range parts {
		s := &parts[i]
		for t := range f.TouchesOf(s.edge) {
			need := f.NeedAt(t.Source, &w.Dog)
			if need.WorkingM == 0 || float64(t.DistM) > need.WorkingM {
				continue
			}
			got := nearest[t.Source]
			if got == nil {
				got = &Passed{Source: t.Source, NearestM: math.Inf(1), Need: need, Name: p.sourceLabel(t.Source), Sort: f.Source(t.Source).As}
				nearest[t.Source] = got
			}
			got.InSight = got.InSight || t.InSight
			p.nearer(got, s)
		}
	}
	for id, got := range nearest {
		got.Active = f.Active(id, &w.Dog, p.clock.At(w.Depart.Add(seconds(got.AtS))), w.Factors)
		walk.Passed = append(walk.Passed, *got)
	}
	slices.SortFunc(walk.Passed, func(a, b Passed) int {
		return cmp.Or(cmp.Compare(a.FromM, b.FromM), cmp.Compare(a.Source, b.Source))
	})
}

// nearer measures a stretch's true distance to a source and keeps the nearest.
func (p *Planner) nearer(got *Passed, s *stretch) {
	gone := 0.0
	for i, at := range s.line {
		if i > 0 {
			gone += at.DistanceM(s.line[i-1])
		}
		d, toward := distanceTo(p.snap.Field.Source(got.Source), at)
		if d >= got.NearestM {
			continue
		}
		got.NearestM = d
		got.FromM = s.startM + gone
		got.AtS = s.startS + s.timeS*gone/max(s.lengthM, 1e-9)
		got.Side = sideOf(s.line, i, toward)
	}
}

// distanceTo gives the distance in metres from a point to where a source's
// triggers are, and a point of the source to tell its side by.
func distanceTo(s *exposure.Source, at plane.Point) (float64, plane.Point) {
	if len(s.Area) == 0 {
		return max(0, s.At.DistanceM(at)-float64(s.RadiusM)), s.At
	}
	best, toward := math.Inf(1), s.At
	for i := range s.Area {
		if d := s.Area[i].DistanceM(at); d < best {
			best, toward = d, s.Area[i].Centroid()
		}
	}
	return best, toward
}

// sideOf says on which side of a line, at its point i, a place lies.
func sideOf(l plane.Polyline, i int, at plane.Point) string {
	a, b := max(0, i-1), min(len(l)-1, i+1)
	if l[b].Sub(l[a]).Cross(at.Sub(l[i])) > 0 {
		return "left"
	}
	return "right"
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
		if isMain(before.part.Class) || isMain(after.part.Class) || before.edge == after.edge {
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
	g := p.snap.Graph
	a := g.EdgeArc[s.edge]
	switch {
	case !s.against() && s.toM >= g.LengthM[s.edge]-0.5:
		return g.Star.Head[a]
	case s.against() && s.toM <= 0.5:
		return g.Star.Head[g.Star.Twin[a]]
	}
	return -1
}

// mainRoadAt is the name of the main road that runs through a vertex.
func (p *Planner) mainRoadAt(v int32) (name string, ok bool) {
	if v < 0 {
		return "", false
	}
	g := p.snap.Graph
	for a := g.Star.First[v]; a < g.Star.First[v+1]; a++ {
		e := g.ArcEdge[a]
		if isMain(g.Class[e]) && g.Class[e] <= crossMinClass {
			return g.Names[g.Parts[g.PartAt[e]].Name], true
		}
	}
	return "", false
}

// blindCorners are the turns with the least sight ahead, worst first by what the
// way ahead carries, at most three.
func (p *Planner) blindCorners(parts []stretch) (out []WatchPoint) {
	f := p.snap.Field
	type corner struct {
		WatchPoint
		flow float64
	}
	var all []corner
	for i := 1; i < len(parts); i++ {
		before, after := &parts[i-1], &parts[i]
		v := p.headOf(before)
		if v < 0 || math.Abs(turnAngle(heading(before.line, true), heading(after.line, false))) < 35*math.Pi/180 {
			continue
		}
		sight := p.cornerSight(before.line, after.line)
		if sight >= blindSightM {
			continue
		}
		flow := float64(f.OwnPerDay[exposure.DogWalks][after.edge] + f.OwnPerDay[exposure.WalkingTrips][after.edge])
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
		if !p.snap.Ground.Visible(in.At(n-s), out.At(s)) {
			return 2 * (s - 3)
		}
	}
	return blindSightM
}

func (p *Planner) nameOf(s *stretch) string {
	if name := p.snap.Graph.Names[s.part.Name]; name != "" {
		return name
	}
	return classWord(s.part)
}

// pinches are the places whose room is least, where it is under a quarter of
// what the dog needs from what leads the walk's reactions.
func (p *Planner) pinches(w *Wish, parts []stretch) (out []WatchPoint) {
	f := p.snap.Field
	need := w.Dog.FarthestM()
	var all []WatchPoint
	for i := range parts {
		s := &parts[i]
		if f.Left[s.edge].Default && f.Right[s.edge].Default {
			continue
		}
		if room := float64(max(f.Left[s.edge].LeastM, f.Right[s.edge].LeastM)); room < pinchShare*need {
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
