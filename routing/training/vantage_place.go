package training

import (
	"cmp"
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/escape"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search"
)

// post is a vertex of a view's net that may do as a vantage place.
type post struct {
	vertex int32
	arc    int32
	alongM float64
	toward plane.Point // the nearest point of what is watched, or one that tells its side
	Vantage
	worth float64 // for the order in which they are looked at
}

// places lists the vantage places of a view within the band, best first, no two
// of about one distance near to each other.
func (s *scout) places(v *view, least Grade, sieve *Sieve) (out []Vantage) {
	s.survey(v)
	posts := append(s.posts(v, sieve), s.offWay(v, sieve)...)
	s.worth(posts)
	slices.SortStableFunc(posts, func(a, b post) int {
		return cmp.Or(cmp.Compare(b.worth, a.worth), cmp.Compare(a.WalkM, b.WalkM))
	})
	e, err := s.exits(v)
	if err != nil {
		return nil // a net without vertices has no posts either
	}
	type slot struct{ step, off int }
	taken := map[slot]int{}
	for i := range posts {
		if s.over() {
			return out
		}
		c := &posts[i]
		step := slot{distanceClass(c.Multiple), c.offWay()}
		if taken[step] == placesPerView || slices.ContainsFunc(out, func(o Vantage) bool {
			return o.offWay() == step.off && o.At.DistanceM(c.At) < apartPlacesM && abs(distanceClass(o.Multiple)-step.step) <= 1
		}) {
			continue
		}
		if !e.grade(c, leastGrade(least, c.Multiple)) {
			continue
		}
		taken[step]++
		sieve.WithWays++
		out = append(out, c.Vantage)
	}
	return out
}

// offWay is 1 for a place on open ground off the ways.
func (c *Vantage) offWay() int { return bool01(c.OffM > 0) }

// worth ranks posts: an expected reaction in a stay weighs as much as the most
// room, what is seen as much as the room that a grade asks for. Our assumption.
func (s *scout) worth(posts []post) {
	edges := make([]int32, len(posts))
	for i := range posts {
		edges[i] = posts[i].Edge
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	if !s.spend(sumSteps * len(edges)) {
		return
	}
	hazard := s.p.Land().Snap.Field.Sums(s.standing, edges).Hazard(s.rankedAt, s.fa, nil)
	for i := range posts {
		c := &posts[i]
		k, _ := slices.BinarySearch(edges, c.Edge)
		c.worth = math.Min(c.RoomM, escape.MostAsideM) + roomGradeM*c.SightShare - escape.MostAsideM*usualStayS*float64(hazard[k])
	}
}

// leastGrade is the least grade that does at a distance.
func leastGrade(asked Grade, multiple float64) Grade {
	switch {
	case asked != "":
		return asked
	case multiple >= oneWayFrom:
		return GradeD
	}
	return GradeB
}

func abs(i int) int { return max(i, -i) }

// posts lists the vertices of a view's net within the band where one may stand
// and sees it, with what is known of them before any search.
func (s *scout) posts(v *view, sieve *Sieve) (out []post) {
	n := v.net
	lo, hi := s.lo*v.WorkingM, s.hi*v.WorkingM
	if !s.spend(len(n.At)) {
		return nil
	}
	for i := range n.At {
		vertex, d := int32(i), v.distM[i]
		arcs := n.First[i+1] - n.First[i]
		if d < lo || d > hi || arcs == 0 || arcs > 2 {
			continue // at a junction they come from all sides
		}
		if v.areas == nil && v.toward[i].DistanceM(v.At) > anchorNearM {
			continue
		}
		sieve.InBand++
		c := post{vertex: vertex, arc: n.First[i]}
		c.Edge, c.alongM = n.Edge[c.arc], float64(n.FromM[c.arc])
		c.WalkM = s.walkM(c.Edge, c.alongM)
		part := partAt(s.p, c.Edge, c.alongM)
		if c.WalkM > s.reachM || !standable(part.Class, part.Flags, c.WalkM <= s.aisleM) {
			continue
		}
		sieve.Standable++
		if !s.spend(sightPoints * (raySteps + int(d))) { // a ray goes through the map metre by metre
			return out
		}
		if c.SightShare, c.Sees = s.see(v, n.At[i], v.toward[i], d); c.SightShare < leastSightShare {
			continue
		}
		sieve.InSight++
		c.toward = v.toward[i]
		c.At, c.Watched, c.DistM, c.Multiple = n.At[i], v.from(v.toward[i]), d, d/v.WorkingM
		c.Street = cmp.Or(s.p.Land().Snap.Graph.Names[part.Name], "the "+part.Sort())
		s.room(v, &c)
		out = append(out, c)
	}
	return out
}

// room notes the room on the side away from what is watched.
func (s *scout) room(v *view, c *post) {
	n, f := v.net, s.p.Land().Snap.Field
	d := n.At[n.Head[c.arc]].Sub(n.At[c.vertex])
	if !n.With[c.arc] {
		d = d.Mul(-1)
	}
	sides := f.Sides(c.Edge, false)
	side := sides.Left
	if d.Cross(v.toward[c.vertex].Sub(n.At[c.vertex])) > 0 {
		side = sides.Right
	}
	c.RoomM, c.RoomDefault = float64(side.LowM), side.Default
}

// exits looks for the ways out of a view's posts.
type exits struct {
	*scout
	*view
	router  *search.Router
	lengthM []float32
	barred  []bool
}

// exits prepares the search for ways out of a view that has been surveyed.
func (s *scout) exits(v *view) (*exits, error) {
	router, err := search.NewRouter(&search.Graph{First: v.net.First, Head: v.net.Head, Twin: v.net.Twin})
	if err != nil {
		return nil, err
	}
	e := &exits{scout: s, view: v, router: router, lengthM: make([]float32, len(v.net.Head))}
	for a := range e.lengthM {
		e.lengthM[a] = float32(v.net.At[v.net.Head[a]].DistanceM(v.net.At[v.net.Head[v.net.Twin[a]]]))
	}
	return e, nil
}

// Steps of work, measured: of the hazard of an edge, of a ray beside its length, of
// the ways out of one post by vertex of the net, of the rays over open ground.
const (
	openSteps = 400
	sumSteps  = 100
	raySteps  = 20
	pairSteps = 4
)

// Rules of ways out of a vantage place.
const (
	strictShare = 0.9
	laxShare    = 0.75
	freeM       = 20.0 // a street that passes by comes nearer for a few metres: these are free,
	freeShare   = 0.15 // but for this share of the distance
	mostWayOutM = 600.0
)

// grade notes the best grade of a post that is not under the least, and its ways
// out; false where there is none.
func (e *exits) grade(c *post, least Grade) bool {
	if e.pair(c, strictShare) {
		c.Grade = GradeA
		return true
	}
	if least == GradeA {
		return false
	}
	deg, ray := e.open(c)
	if deg < wideOpenDeg && e.pair(c, laxShare) {
		c.Grade = GradeB
		return true
	}
	single := e.single(c)
	if deg > 0 {
		e.over(c, ray)
	}
	switch {
	case deg >= wideOpenDeg || deg > 0 && single:
		c.Grade = GradeB
	case deg > 0 || single && c.RoomM >= roomGradeM:
		c.Grade = GradeC
	case single:
		c.Grade = GradeD
	default:
		c.Grade = ""
		return false
	}
	return c.Grade <= least
}

// open looks over the ground behind a post.
func (e *exits) open(c *post) (deg float64, ray plane.Polyline) {
	g := e.groundOf(e.view)
	if !e.spend(openSteps + len(g.areas)) {
		return 0, nil
	}
	return e.opens(g, c.At, c.toward)
}

// over adds the way out over open ground, which has no name.
func (e *exits) over(c *post, ray plane.Polyline) {
	c.WaysOut, c.WaysOutBy = append(c.WaysOut, ray), append(c.WaysOutBy, "")
}

// pair looks for two ways out that share no edge and keep a share of the distance.
func (e *exits) pair(c *post, share float64) bool {
	if !e.spend(pairSteps * len(e.net.At)) {
		return false
	}
	e.bar(c, share)
	far := c.DistM + e.WorkingM
	pair, err := e.router.WaysOut(c.vertex, func(v int32) bool { return e.distM[v] >= far }, e.lengthM, e.barred)
	if err != nil || pair[1].Cost > mostWayOutM {
		return false // no pair: the one refusal that a checked net leaves
	}
	e.leads(c, pair[0].Arcs, pair[1].Arcs)
	return true
}

// single looks for the shortest way out by the strict rule.
func (e *exits) single(c *post) bool {
	c.WaysOut, c.WaysOutBy = nil, nil
	if !e.spend(pairSteps * len(e.net.At)) {
		return false
	}
	e.bar(c, strictShare)
	tree, err := e.router.Reach([]search.Source{{Vertex: c.vertex}}, e.lengthM, search.Span{Cutoff: mostWayOutM, Barred: e.barred})
	if err != nil {
		return false
	}
	defer tree.Release()
	for _, v := range tree.Settled {
		if e.distM[v] >= c.DistM+e.WorkingM {
			e.leads(c, tree.Path(nil, v))
			return true
		}
	}
	return false
}

// bar forbids the pieces that come nearer than a share of a post's distance; in
// the first metres a little less is free.
func (e *exits) bar(c *post, share float64) {
	n := e.net
	if e.barred == nil {
		e.barred = make([]bool, len(n.Head))
	}
	limit := share * c.DistM
	for v := range n.At {
		near := e.distM[v] < limit
		for a := n.First[v]; a < n.First[v+1]; a++ {
			e.barred[a] = near || e.distM[n.Head[a]] < limit
		}
	}
	e.free(c.vertex, freeM, (share-freeShare)*c.DistM)
}

// free lets pieces within a few metres on foot go again, down to a lower limit.
func (e *exits) free(v int32, leftM, limit float64) {
	n := e.net
	for a := n.First[v]; a < n.First[v+1]; a++ {
		w := n.Head[a]
		left := leftM - float64(e.lengthM[a])
		if left < 0 || e.distM[w] < limit {
			continue
		}
		e.barred[a], e.barred[n.Twin[a]] = false, false
		e.free(w, left, limit)
	}
}

// leads notes the ways out of a post: their lines, and by which street.
func (e *exits) leads(c *post, ways ...[]int32) {
	c.WaysOut, c.WaysOutBy = nil, nil
	for _, arcs := range ways {
		line := plane.Polyline{e.net.At[c.vertex]}
		along, by := map[string]float64{}, ""
		for _, a := range arcs {
			line = append(line, e.net.At[e.net.Head[a]])
			name := edgeName(e.p, e.net.Edge[a])
			if along[name] += float64(e.lengthM[a]); along[name] > along[by] {
				by = name
			}
		}
		c.WaysOut, c.WaysOutBy = append(c.WaysOut, line), append(c.WaysOutBy, by)
	}
}

// Showing is what a stay at a vantage place is expected to show.
type Showing struct {
	Number     float64 // triggers of the kinds watched, each counted once
	Low, High  float64 // 80 % interval of that count
	LastsLowS  float64 // seconds that one lasts
	LastsHighS float64
	Active     float64 // chance that at least one shows in the stay
	WatchX     float64 // expected reactions to what is watched
	OtherX     float64 // and to everything else
	TreatsLow  int     // for the fewest and shortest that may come, at least one, every 4 s
	TreatsHigh int     // for the most and longest, every 2 s
}

// How triggers are counted in a stay: groups once, and no more than one each dead
// time of the model, in which they merge. Who stays at a place is there for half an
// hour (mean 32 min at 60 playgrounds, Int. J. Env. Res. Public Health 20:4661,
// 2023; for other places our assumption); one shows for at least the dead time of
// the model and at most as long as it takes to walk across the place. Who passes
// shows while it is at most a quarter farther off than at its nearest: one step of
// training.
const (
	visitorStaysS = 32 * 60.0
	showsNearer   = 1.1
	showsWithin   = 1.25
	nearerShare   = 0.75 // streams nearer than this are not what is watched
	fartherShare  = 1.5
)

// showing works out what a place shows at a moment; false where nobody is there
// to be watched, or something else is too near.
func (s *scout) showing(v *view, c *Vantage, m hours.Moment, stayS float64) (out Showing, ok bool) {
	if !s.spend(sumSteps) || s.crowded(v, c, m) {
		return out, false
	}
	terms := s.termsAt(c, m)
	shape := s.showingOf(v, c, m, stayS, terms, &out)
	if out.Number < leastShowing || out.Active < sustainedChance {
		return out, false
	}
	for i := range terms {
		if t := &terms[i]; !v.watches(t, c.DistM) {
			out.OtherX += t.HazardPerS * stayS
		}
	}
	out.Active = -math.Expm1(-out.Number)
	low, high := exposure.CountRange(out.Number, shape)
	out.Low, out.High = float64(low), float64(high)
	// Food is for what may come, not for the mean: it must not run out.
	least, most := math.Min(math.Max(out.Low, 1)*out.LastsLowS, stayS), math.Min(math.Max(out.High, 1)*out.LastsHighS, stayS)
	out.TreatsLow, out.TreatsHigh = int(math.Ceil(least/routing.RewardSlowS)), int(math.Ceil(most/routing.RewardFastS))
	return out, true
}

// terms lists what is met at rest on an edge, kept for the next place on it.
func (s *scout) terms(e int32, m hours.Moment) []exposure.Term {
	key := termsKey{e, m.Time.Unix() / 60}
	t, ok := s.learnt[key]
	if !ok {
		t = s.p.Land().Snap.Field.Explain(e, s.standing, m, s.fa)
		s.learnt[key] = t
	}
	return t
}

// watches says that a term is part of what is watched.
func (v *view) watches(t *exposure.Term, distM float64) bool {
	if v.areas != nil {
		return t.Source == v.Source
	}
	return t.Source < 0 && !t.Own && t.DistM >= nearerShare*distM && slices.Contains(v.kinds, t.Kind)
}

// showingOf fills in number, duration and reactions of what is watched, and gives
// the shape of the doubt about the number.
func (s *scout) showingOf(v *view, c *Vantage, m hours.Moment, stayS float64, terms []exposure.Term, out *Showing) (shape float64) {
	shape = 1
	for i := range terms {
		if t := &terms[i]; v.watches(t, c.DistM) && slices.Contains(v.kinds, t.Kind) && t.Shape > 0 {
			shape = t.Shape
			break
		}
	}
	if v.areas == nil {
		s.passers(v, c, stayS, terms, out)
		return shape
	}
	out.Active = s.chance(v, m)
	turnover := 1 + stayS/visitorStaysS
	for _, p := range v.areas.Mix {
		n, react := exposure.Grouped(s.presentAt(v.Source, p.Kind, m)*turnover*c.SightShare, s.dog.Need(p.Kind).P(c.DistM), p.Kind.Info().Group)
		n = math.Min(n, stayS/exposure.DeadTimeS)
		out.WatchX += n * react
		if !slices.Contains(v.kinds, p.Kind) {
			continue
		}
		out.Number = math.Min(out.Number+n, stayS/exposure.DeadTimeS)
		out.LastsLowS = exposure.DeadTimeS
		out.LastsHighS = math.Max(out.LastsHighS, v.crossingS(p.Kind))
	}
	return shape
}

// crossingS is how long a mover takes across the area that is watched: its mean
// chord pi A / P (Cauchy; for convex outlines) at its usual pace, at least the
// dead time. Where no area is mapped, across the assumed extent.
func (v *view) crossingS(k exposure.Kind) float64 {
	speed := k.Info().SpeedMPS
	if speed == 0 {
		return 2 * exposure.DeadTimeS
	}
	chordM := math.Pi / 2 * float64(v.areas.RadiusM)
	if v.areas.AreaM2 > 0 {
		rim := 0.0
		for _, a := range v.areas.Area {
			rim += plane.Polyline(append(a.Outer[:len(a.Outer):len(a.Outer)], a.Outer[0])).LengthM()
		}
		chordM = math.Pi * float64(v.areas.AreaM2) / rim
	}
	return math.Max(exposure.DeadTimeS, chordM/speed)
}

// passers counts what passes on the ways watched.
func (s *scout) passers(v *view, c *Vantage, stayS float64, terms []exposure.Term, out *Showing) {
	out.Active = 1
	seconds := 0.0
	for i := range terms {
		t := &terms[i]
		if !v.watches(t, c.DistM) || t.DistM > fartherShare*c.DistM {
			continue
		}
		n := t.RatePerS * stayS
		out.Number += n
		out.WatchX += n * s.dog.Need(t.Kind).P(c.DistM)
		seconds += n / t.Kind.Info().SpeedMPS
	}
	if out.Number > 0 {
		per := seconds / out.Number
		out.LastsLowS = exposure.ChordM(showsNearer*c.DistM, c.DistM) * per
		out.LastsHighS = exposure.ChordM(showsWithin*c.DistM, c.DistM) * per
	}
}

// crowded says that another source that the dog minds is likely active, in sight
// and inside the working distance.
func (s *scout) crowded(v *view, c *Vantage, m hours.Moment) bool {
	f := s.p.Land().Snap.Field
	for t := range f.TouchesOf(c.Edge) {
		if t.Source == v.Source && v.areas != nil || !t.SeenAt(m) {
			continue
		}
		d, _ := f.Source(t.Source).Nearest(c.At)
		if d < f.NeedAt(t.Source, s.dog).WorkingM && s.active(t.Source, m) > reach.ActiveLimit {
			return true
		}
	}
	return false
}

func (s *scout) active(source int32, m hours.Moment) float64 {
	key := activityKey{source, m.Time.Unix() / 60}
	x, ok := s.activity[key]
	if !ok {
		x = s.p.Land().Snap.Field.Active(source, s.dog, m, s.fa)
		s.activity[key] = x
	}
	return x
}

// partAt is the part of an edge some metres along its geometry.
func partAt(p *routing.Planner, e int32, alongM float64) *network.Part {
	g := p.Land().Snap.Graph
	i := g.PartAt[e]
	for i+1 < g.PartAt[e+1] && float64(g.Parts[i+1].FromM) <= alongM {
		i++
	}
	return &g.Parts[i]
}

// distanceClass is a distance in eighths of the working distance.
func distanceClass(multiple float64) int { return int(math.Round(8 * multiple)) }
