package training

import (
	"cmp"
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/escape"
)

// view is something to be watched, and the ways about it cut into short pieces.
type view struct {
	Watched
	kinds  []exposure.Kind // that are watched here
	areas  *exposure.Source
	lines  []plane.Polyline // of ways that carry the kinds
	names  []string         // what each of them is called
	net    *escape.Net
	distM  []float64     // by vertex of the net: to the nearest point of what is watched
	toward []plane.Point // and that point, or one that tells its side
	ground *grounds      // about it, made when it is first asked for
}

// Bounds of what is watched along ways.
const (
	anchorApartM = 300.0 // one stretch of way is looked at in so many metres
	anchorStepM  = 60.0
	mostAnchors  = 6   // stretches nearest to the start
	anchorNearM  = 150 // places that look at a stretch look at it here
	carriesDay   = 40  // passages a day under which no hour has a sustained flow
	sightPoints  = 8
)

// views lists what can be watched in reach at any of some moments.
func (s *scout) views(moments []hours.Moment, stayS float64, sieve *Sieve) (out []*view) {
	for _, src := range s.watchable() {
		if !s.spend(1) {
			return out
		}
		if src.At.DistanceM(s.from) > s.reachM+mostMultiple*s.dog.FarthestM() {
			continue
		}
		sieve.Sources++
		if !s.spend(len(moments)) || !slices.ContainsFunc(moments, func(m hours.Moment) bool { return s.chance(src, m) >= sustainedChance }) {
			continue
		}
		sieve.Active++
		v := *src
		v.Name = v.areas.Label()
		out = append(out, &v)
	}
	out = append(out, s.wayViews(moments, stayS, sieve)...)
	slices.SortStableFunc(out, func(a, b *view) int { return cmp.Compare(a.At.DistanceM(s.from), b.At.DistanceM(s.from)) })
	return out // nearest first, for a search that is cut short
}

// watchable lists the sources of the map with the kinds, wherever they lie.
func (s *scout) watchable() []*view {
	if s.listed {
		return s.sources
	}
	f := s.p.Land().Snap.Field
	s.listed = s.spend(f.SourceCount())
	for i := range int32(f.SourceCount()) {
		src := f.Source(i)
		v := &view{areas: src, Watched: Watched{Source: i, Sort: src.As, At: src.At}}
		if s.takeKinds(v) {
			s.sources = append(s.sources, v)
		}
	}
	return s.sources
}

// takeKinds notes which of the kinds are at a source and the dog's distance for
// them; false for none. Sounds in events are no sustained thing to watch.
func (s *scout) takeKinds(v *view) bool {
	for _, m := range v.areas.Mix {
		w := s.dog.Need(m.Kind).WorkingM
		if m.Present > 0 && w > 0 && slices.Contains(s.kinds, m.Kind) {
			v.kinds = append(v.kinds, m.Kind)
			v.WorkingM = math.Max(v.WorkingM, w)
		}
	}
	return len(v.kinds) > 0
}

// chance that at least one of the kinds is at a source at a moment.
func (s *scout) chance(v *view, m hours.Moment) float64 {
	n := 0.0
	for _, k := range v.kinds {
		n += s.presentAt(v.Source, k, m)
	}
	return -math.Expm1(-n)
}

// presentAt is the expected number of a kind at a source at a moment, kept.
func (s *scout) presentAt(source int32, k exposure.Kind, m hours.Moment) float64 {
	key := presentKey{activityKey{source, m.Time.Unix() / 60}, k}
	n, ok := s.present[key]
	if !ok {
		n = s.p.Land().Snap.Field.Present(source, k, m, s.fa)
		s.present[key] = n
	}
	return n
}

// wayViews lists stretches of way that carry the kinds all the time.
func (s *scout) wayViews(moments []hours.Moment, stayS float64, sieve *Sieve) (out []*view) {
	var kinds []exposure.Kind
	working := 0.0
	for _, k := range s.kinds {
		if w := s.dog.Need(k).WorkingM; w > 0 && k.Info().Motion == exposure.Stream {
			kinds, working = append(kinds, k), math.Max(working, w)
		}
	}
	if len(kinds) == 0 {
		return nil
	}
	lines, names := s.carriers(kinds, moments, stayS)
	for _, at := range s.anchors(lines) {
		v := &view{kinds: kinds, Watched: Watched{Source: -1, Sort: "way", At: at, WorkingM: working}}
		box := plane.Box{Min: at, Max: at}.Grown(anchorNearM + (mostMultiple+2)*working)
		best := math.Inf(1)
		for i, l := range lines {
			if !l.Box().Intersects(box) {
				continue
			}
			v.lines, v.names = append(v.lines, l), append(v.names, names[i])
			if _, _, d := l.Nearest(at); d < best {
				best, v.Name = d, names[i]
			}
		}
		if kinds[0].Category() == exposure.Traffic {
			v.Sort = "road"
		}
		sieve.Sources++
		sieve.Active++
		out = append(out, v)
	}
	return out
}

// carriers lists the ways in reach that carry the kinds at any of the moments
// often enough that some pass in a stay, and their names. Of roads that nobody
// walks along no flow is kept: main ones are taken to carry traffic.
func (s *scout) carriers(kinds []exposure.Kind, moments []hours.Moment, stayS float64) (lines []plane.Polyline, names []string) {
	g, f := s.p.Land().Snap.Graph, s.p.Land().Snap.Field
	box := plane.Box{Min: s.from, Max: s.from}.Grown(s.reachM + mostMultiple*s.dog.FarthestM())
	var busy []int32
	traffic := slices.ContainsFunc(kinds, func(k exposure.Kind) bool { return k.Category() == exposure.Traffic && k != exposure.Train })
	for _, e := range g.InBox(box) {
		if traffic && !g.Class[e].Main() {
			continue
		}
		for p := range exposure.PatternCount {
			if f.PerDay(p, e) >= carriesDay {
				busy = append(busy, e)
				break
			}
		}
	}
	most := make([]float64, len(busy))
	for _, m := range moments {
		if !s.spend(len(kinds) * len(busy)) {
			return nil, nil
		}
		sum := make([]float64, len(busy))
		for _, k := range kinds {
			for i, q := range f.Passing(busy, k, m, s.fa) {
				sum[i] += q
			}
		}
		for i := range most {
			most[i] = math.Max(most[i], sum[i])
		}
	}
	for i, e := range busy {
		if most[i]*stayS >= leastShowing {
			lines = append(lines, g.EdgeLine(e))
			names = append(names, edgeName(s.p, e))
		}
	}
	if !traffic {
		return lines, names
	}
	for i := range s.p.Land().Snap.Ground.Roads {
		r := &s.p.Land().Snap.Ground.Roads[i]
		if r.Class.Main() && r.Line.Box().Intersects(box) {
			lines = append(lines, r.Line)
			names = append(names, cmp.Or(r.Name, "the main road"))
		}
	}
	return lines, names
}

// edgeName is what an edge is called, or what it is.
func edgeName(p *routing.Planner, e int32) string {
	part := &p.Land().Snap.Graph.Parts[p.Land().Snap.Graph.PartAt[e]]
	return cmp.Or(p.Land().Snap.Graph.Names[part.Name], "the "+part.Sort())
}

// anchors picks the stretches of ways to look at: those nearest to the start.
func (s *scout) anchors(lines []plane.Polyline) (out []plane.Point) {
	var all []plane.Point
	for _, l := range lines {
		n := max(1, int(l.LengthM()/anchorStepM))
		for i := range n {
			if at := l.At(l.LengthM() * (float64(i) + .5) / float64(n)); at.DistanceM(s.from) <= s.reachM {
				all = append(all, at)
			}
		}
	}
	slices.SortFunc(all, func(a, b plane.Point) int {
		return cmp.Or(cmp.Compare(a.DistanceM(s.from), b.DistanceM(s.from)), cmp.Compare(a.X, b.X))
	})
	for _, at := range all {
		if len(out) == mostAnchors {
			break
		}
		if !slices.ContainsFunc(out, func(b plane.Point) bool { return at.DistanceM(b) < anchorApartM }) {
			out = append(out, at)
		}
	}
	return out
}

// box holds what is watched.
func (v *view) box() plane.Box {
	box := plane.Box{Min: v.At, Max: v.At}
	if v.areas == nil {
		return box.Grown(anchorNearM)
	}
	for _, a := range v.areas.Area {
		box = box.Union(a.Box())
	}
	return box.Grown(float64(v.areas.RadiusM))
}

// nearest gives the distance from a place to what is watched, and its nearest
// point, or one that tells its side.
func (v *view) nearest(at plane.Point) (float64, plane.Point) {
	if v.areas != nil {
		return v.areas.Nearest(at)
	}
	best, toward := math.Inf(1), v.At
	for _, l := range v.lines {
		if near, _, d := l.Nearest(at); d < best {
			best, toward = d, near
		}
	}
	return best, toward
}

// survey cuts the ways about a view into pieces and measures them from it, as far
// as the farthest way out leads.
func (s *scout) survey(v *view) {
	v.net = &escape.Net{First: []int32{0}}
	if s.over() {
		return
	}
	r := s.p.Land().Within(v.box().Grown((s.hi + 1) * v.WorkingM))
	if !s.spend(cutSteps * len(r.Piece)) {
		return
	}
	v.net = escape.NewNet(s.p.Land(), r)
	v.distM, v.toward = make([]float64, len(v.net.At)), make([]plane.Point, len(v.net.At))
	per := v.points()
	for i, at := range v.net.At {
		if !s.spend(per) {
			v.net = &escape.Net{First: []int32{0}}
			return
		}
		v.distM[i], v.toward[i] = v.nearest(at)
	}
}

// cutSteps is the work of cutting out and up an arc.
const cutSteps = 20

// from is what is watched from a place that has a point of it nearest: of several ways the
// one that this lies on.
func (v *view) from(toward plane.Point) Watched {
	out, best := v.Watched, math.Inf(1)
	for i, l := range v.lines {
		if _, _, d := l.Nearest(toward); d < best {
			best, out.Name = d, v.names[i]
		}
	}
	return out
}

// points is how many points the lines or outlines have that places are measured from.
func (v *view) points() (n int) {
	for _, l := range v.lines {
		n += len(l)
	}
	if v.areas != nil {
		for i := range v.areas.Area {
			n += len(v.areas.Area[i].Outer)
		}
	}
	return 1 + n
}

// outline gives points of what is watched to look at from a place: of an area
// evenly along its outline, of a way along the stretch passed by.
func (v *view) outline(at, toward plane.Point, distM float64) (out []plane.Point) {
	switch {
	case v.areas != nil && len(v.areas.Area) > 0:
		return v.rim(at)
	case v.areas != nil:
		for i := range sightPoints {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / sightPoints)
			out = append(out, v.At.Add(plane.Point{X: cos, Y: sin}.Mul(float64(v.areas.RadiusM))))
		}
		return out
	}
	for _, l := range v.lines {
		near, along, d := l.Nearest(toward)
		if d > 0.5 {
			continue
		}
		out = append(out, near)
		for i := 1; i <= sightPoints/2; i++ {
			step := distM * float64(i) * 2 / sightPoints
			for _, to := range [2]float64{along - step, along + step} {
				if to >= 0 && to <= l.LengthM() {
					out = append(out, l.At(to))
				}
			}
		}
		return out
	}
	return []plane.Point{toward}
}

// rim gives points along the outline of the nearest of the areas.
func (v *view) rim(at plane.Point) (out []plane.Point) {
	best, ring := math.Inf(1), plane.Ring(nil)
	for i := range v.areas.Area {
		if d := v.areas.Area[i].DistanceM(at); d < best {
			best, ring = d, v.areas.Area[i].Outer
		}
	}
	line := plane.Polyline(append(ring[:len(ring):len(ring)], ring[0]))
	long := line.LengthM()
	for i := range sightPoints {
		out = append(out, line.At(long*float64(i)/sightPoints))
	}
	return out
}

// see looks from a place: the share of points in sight and the nearest of them.
func (s *scout) see(v *view, at, toward plane.Point, distM float64) (share float64, sees plane.Point) {
	points := v.outline(at, toward, distM)
	seen, best := 0, math.Inf(1)
	for _, q := range points {
		// A wall round the area is mapped on the outline itself: look at what is just inside.
		eye := q.Add(s.inward(v, q))
		if !s.p.Land().Snap.Ground.Visible(at, eye) {
			continue
		}
		seen++
		if d := at.DistanceM(q); d < best {
			best, sees = d, q
		}
	}
	return float64(seen) / float64(len(points)), sees
}

// insideM is how far within an outline what is watched is looked for.
const insideM = 1.0

func (s *scout) inward(v *view, q plane.Point) plane.Point {
	if v.areas == nil {
		return plane.Point{}
	}
	d := v.At.Sub(q)
	return d.Mul(math.Min(1, insideM/math.Max(d.NormM(), 1e-9)))
}

// standable says that one may stand on a part of a way: not in a carriageway, on
// steps, in a passage, on a bridge or crossing, or in somebody's drive; in the aisle of
// a car park only near one's own car.
func standable(class osmdata.Class, flags osmdata.StreetFlags, atCar bool) bool {
	const never = osmdata.FlagTunnel | osmdata.FlagBridge | osmdata.FlagCrossing | osmdata.FlagDriveway | osmdata.FlagLink | osmdata.FlagCustomers
	if atCar && flags&osmdata.FlagAisle != 0 {
		flags &^= osmdata.FlagDriveway | osmdata.FlagCustomers
	}
	if flags&never != 0 {
		return false
	}
	switch {
	case class == osmdata.Steps || class == osmdata.Cycleway:
		return false
	case class.Main():
		return flags&osmdata.FlagSidewalk != 0
	case class <= osmdata.Service:
		return flags&osmdata.FlagNoSidewalk == 0
	}
	return true
}
