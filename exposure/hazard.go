package exposure

import (
	"math"

	"wideberth/exposure/hours"
)

// Sums is what the hazard of a list of edges needs of one dog: every sum over
// streams, distance bins and sources that does not change with the hour. An hour
// is a cheap product after that. Immutable; may be shared between goroutines.
type Sums struct {
	field  *Field
	edges  []int32
	rows   []sumRow
	stays  []stay
	bare   []stay // those in sight only while trees are bare
	events [KindCount][]event
	slots  []slot
	curves [KindCount]*curve  // nil for a kind that the dog is calm about
	speed  [KindCount]float64 // m/s: mean speed of a kind's movers relative to the dog
	needs  [KindCount]Need
}

// sumRow holds by edge the rate of reactions (1/s) to a kind out of a pattern if
// the whole day's flow came in one hour.
type sumRow struct {
	kind    Kind
	pattern Pattern
	s       []float32
}

// slot is one kind at one source.
type slot struct {
	source int32
	has    Presence
}

// stay is a slot in reach of an edge: the hazard is chance times the probability
// that somebody is there, at most open times the number expected there.
type stay struct {
	at, slot     int32
	chance, open float32
}

// event is a slot of sound events heard at an edge: the rate of reactions is
// weight times the rate of events.
type event struct {
	at, slot int32
	weight   float32
}

// The table of reactions by ln d: cells as wide as a 32nd of a bin, from four
// bins below the first.
const (
	cellsPerBin = 32
	binsBelow   = 4
	curveCells  = (BinCount + binsBelow) * cellsPerBin
	posPerCell  = 256 / cellsPerBin
)

// curve is what a need makes of a distance, by cell of ln d.
type curve struct {
	p     [curveCells]float32 // P of one mover
	react [curveCells]float32 // rate times P after grouping, for one mover a second
	reach [curveCells]float32 // metres: the integral of P from the cell to BinMaxM
}

// cellM is the middle of each cell in metres.
var cellM = func() (t [curveCells]float64) {
	for i := range t {
		t[i] = binMinM * math.Exp(((float64(i)+.5)/cellsPerBin-binsBelow)*binWidth)
	}
	return t
}()

func (c *curve) fill(n Need, group float64) {
	const cell = 1. / cellsPerBin
	b := n.steepness()
	lnX := b * math.Log(cellM[0]/n.ReactionM) // (d/R)^b, of which one factor leads from cell to cell
	x, grow := math.Exp(lnX), math.Exp(b*binWidth*cell)
	for i := range c.react {
		p := 1 / (1 + x)
		calm := math.Exp(group * (lnX - math.Log1p(x))) // (1 - P)^g
		c.p[i], c.react[i] = float32(p), float32((1-calm)/group)
		c.reach[i] = float32(p * cellM[i] * binWidth * cell)
		x, lnX = x*grow, lnX+b*binWidth*cell
	}
	for i := curveCells - 2; i >= 0; i-- {
		c.reach[i] += c.reach[i+1]
	}
	c.reach[0] += float32(cellM[0]) // P is about 1 below the first cell
}

// cellAt is where on the scale of cells a distance in metres lies.
func cellAt(dM float64) float32 {
	return float32((math.Log(dM/binMinM)/binWidth + binsBelow) * cellsPerBin)
}

// cellNumber is the cell that holds a place on their scale.
func cellNumber(x float32) int { return int(max(0, min(curveCells-1, x))) }

// curveKey tells curves apart.
type curveKey struct {
	need  Need
	group float64
}

// Sums adds up what the hazard of the edges needs of a dog; edges nil means all.
// The results of Hazard are in the order of edges.
func (f *Field) Sums(d *Dog, edges []int32) *Sums {
	if edges == nil {
		edges = make([]int32, f.EdgeCount())
		for e := range edges {
			edges[e] = int32(e)
		}
	}
	s := &Sums{field: f, edges: edges}
	s.fillCurves(d)
	s.addStreams(d)
	s.addSources()
	return s
}

// fillCurves makes a curve for each kind that the dog reacts to; kinds with the
// same need and group share theirs.
func (s *Sums) fillCurves(d *Dog) {
	made := map[curveKey]*curve{}
	for k := range KindCount {
		key := curveKey{d.Need(k), kinds[k].Group}
		if key.need.WorkingM == 0 {
			continue
		}
		if made[key] == nil {
			made[key] = new(curve)
			made[key].fill(key.need, key.group)
		}
		s.curves[k], s.needs[k] = made[key], key.need
		s.speed[k] = meanRelativeSpeed(kinds[k].SpeedMPS, d.PaceMPS())
	}
}

// addStreams makes a row for each share of a pattern that the dog reacts to.
func (s *Sums) addStreams(d *Dog) {
	byPattern := [PatternCount][]*kindSum{}
	for i := range shares {
		sh := &shares[i]
		if s.curves[sh.kind] == nil {
			continue
		}
		info := &kinds[sh.kind]
		k := &kindSum{curve: s.curves[sh.kind], out: make([]float32, len(s.edges)),
			own:   float32(passesPerS(1./3600, d.PaceMPS(), info.SpeedMPS)),
			aside: cellAt(SideSpeedMPS/(info.SpeedMPS+d.PaceMPS())) - cellAt(1)}
		for p := range PlaceKindCount {
			k.part[p] = float32(s.field.part(sh, p))
		}
		byPattern[sh.pattern] = append(byPattern[sh.pattern], k)
		s.rows = append(s.rows, sumRow{sh.kind, sh.pattern, k.out})
	}
	room, sight := s.cells()
	for p, ks := range byPattern {
		if len(ks) > 0 {
			s.addPattern(Pattern(p), ks, room, sight)
		}
	}
}

// maxKindsPerPattern bounds the shares of one pattern; a test holds the table to
// it.
const maxKindsPerPattern = 4

// kindSum gathers one row.
type kindSum struct {
	curve *curve
	part  [PlaceKindCount]float32
	own   float32 // passes a second at one passage a day
	aside float32 // metres gained to the side for each metre of sight, in cells
	out   []float32
}

// cells gives room and sight of the edges on the scale of cells.
func (s *Sums) cells() (room, sight []float32) {
	room, sight = make([]float32, len(s.edges)), make([]float32, len(s.edges))
	for i, e := range s.edges {
		room[i], sight[i] = cellAt(s.field.RoomM(e)), cellAt(s.field.sightM(e))
	}
	return room, sight
}

// lanes holds the curves of a pattern's kinds side by side.
type lanes [curveCells][maxKindsPerPattern]float32

func lanesOf(ks []*kindSum) *lanes {
	l := new(lanes)
	for j, k := range ks {
		for c, x := range k.curve.react {
			l[c][j] = x
		}
	}
	return l
}

// addPattern reads the bins of a pattern once for all its kinds. Empty bins have
// rate 0 and are added like all others: half of them are empty at random, and a
// branch that is guessed wrong costs more than the sums.
func (s *Sums) addPattern(p Pattern, ks []*kindSum, room, sight []float32) {
	f, l := s.field, lanesOf(ks)
	own := f.OwnPerDay[p]
	var acc [maxKindsPerPattern]float32
	for i, e := range s.edges {
		var a0, a1, a2, a3 float32
		bins := f.NearBins(p, e)
		for b := range bins {
			rate := rateOf[bins[b].Rate]
			c := &l[(b+binsBelow)*cellsPerBin+int(bins[b].Pos)/posPerCell]
			a0 += rate * c[0]
			a1 += rate * c[1]
			a2 += rate * c[2]
			a3 += rate * c[3]
		}
		acc = [maxKindsPerPattern]float32{a0, a1, a2, a3}
		q, place := own[e], f.Place[e]
		if f.levels[e] != nil {
			on, beside := f.factors(p, e)
			q *= float32(on)
			for j := range acc {
				acc[j] *= float32(beside)
			}
		}
		for j, k := range ks {
			aside := cellNumber(min(room[i], sight[i]+k.aside))
			k.out[i] = (acc[j] + q*k.own*k.curve.react[aside]) * k.part[place]
		}
	}
}

// addSources makes an entry for each kind at each source in reach of an edge
// that the dog reacts to and sees or hears.
func (s *Sums) addSources() {
	first := map[int32]int32{} // source to its first slot
	var touches []Touch
	for i, e := range s.edges {
		touches = s.field.touching(touches[:0], e)
		for t := range touches {
			touch := &touches[t]
			mix := s.field.Source(touch.Source).Mix
			at, ok := first[touch.Source]
			if !ok {
				at = int32(len(s.slots))
				first[touch.Source] = at
				for _, p := range mix {
					s.slots = append(s.slots, slot{touch.Source, p})
				}
			}
			for j := range mix {
				s.touch(int32(i), at+int32(j), touch)
			}
		}
	}
}

// touch adds one kind at one source in reach of an edge.
func (s *Sums) touch(at, slot int32, touch *Touch) {
	kind := s.slots[slot].has.Kind
	info, c := &kinds[kind], s.curves[kind]
	if c == nil || !touch.reaches(info) {
		return
	}
	dist := float64(touch.DistM)
	if info.Heard {
		dist = heardM(dist, float64(touch.DropDB))
	}
	cell := cellNumber(cellAt(dist))
	p := float64(c.p[cell])
	if dist > BinMaxM {
		p = s.needs[kind].P(dist)
	}
	weight := float64(touch.Share) * p
	if info.Motion == SoundEvent {
		s.events[kind] = append(s.events[kind], event{at, slot, float32(weight)})
		return
	}
	entry := stay{at, slot, float32(weight / DeadTimeS), math.MaxFloat32}
	if rho := s.field.density(touch.Source, info); rho > 0 {
		entry.open = float32(float64(touch.Share) * touch.sides() * openPerS(rho, float64(c.reach[cell]), s.speed[kind]))
	}
	if touch.Bare && !info.Heard {
		s.bare = append(s.bare, entry)
		return
	}
	s.stays = append(s.stays, entry)
}

// Hazard gives the expected reactions a second at each edge at a moment, in the
// order of the edges; out is used if it is long enough. Factors may be nil.
//
// Per kind, with m the rate of reactions to streams and sound events and tau the
// dead time: m / (1 + m tau), and p P(d) / tau for what stays at a source; kinds
// add.
func (s *Sums) Hazard(m hours.Moment, fa *Factors, out []float32) []float32 {
	out = resized(out, len(s.edges))
	clear(out)
	t, mu := tempoAt(m), make([]float32, len(s.edges))
	now := s.slotsAt(t, fa)
	learnt := fa != nil && len(fa.Cells) > 0
	for kind := range KindCount {
		rows := s.rowsOf(kind)
		if len(rows) == 1 && len(s.events[kind]) == 0 && !learnt && rows[0].pattern != WalkingTrips {
			addThinned(out, rows[0].s, float32(t.flow(rows[0].pattern)))
			continue
		}
		if len(rows)+len(s.events[kind]) == 0 {
			continue
		}
		clear(mu)
		for i := range rows {
			s.addRow(mu, &rows[i], t, fa)
		}
		s.addEvents(mu, kind, now)
		addThinned(out, mu, 1)
	}
	addStays(out, s.stays, now)
	if !t.season.InLeaf {
		addStays(out, s.bare, now)
	}
	return out
}

// rowsOf is the run of rows of a kind; the table of shares is in the order of
// kinds.
func (s *Sums) rowsOf(kind Kind) []sumRow {
	lo := 0
	for lo < len(s.rows) && s.rows[lo].kind != kind {
		lo++
	}
	hi := lo
	for hi < len(s.rows) && s.rows[hi].kind == kind {
		hi++
	}
	return s.rows[lo:hi]
}

// addRow adds an hour's share of a row to the rates of its kind.
func (s *Sums) addRow(mu []float32, r *sumRow, t *tempo, fa *Factors) {
	var by [2 * PlaceKindCount]float32 // without visitors, with them
	for p := range PlaceKindCount {
		flow := t.flow(r.pattern) * fa.of(r.kind, p, t.part).Mean
		by[p] = float32(flow * t.here(r.kind, r.pattern, p, false))
		by[p+PlaceKindCount] = float32(flow * t.here(r.kind, r.pattern, p, true))
	}
	mu = mu[:len(r.s)]
	for i, x := range r.s {
		e := s.edges[i]
		at := s.field.Place[e]
		if s.field.Marks[e]&Visitors != 0 {
			at += PlaceKindCount
		}
		mu[i] += x * by[at]
	}
}

// addThinned adds the hazard of the rates mu times flow.
func addThinned(out, mu []float32, flow float32) {
	mu = mu[:len(out)]
	for i, m := range mu {
		m *= flow
		out[i] += m / (1 + m*DeadTimeS)
	}
}

// there is what a slot has at a moment: the expected number, the chance of at
// least one, and the rate (1/s) of sound events.
type there struct{ n, p, events float32 }

func (s *Sums) slotsAt(t *tempo, fa *Factors) []there {
	now := make([]there, len(s.slots))
	for i := range s.slots {
		sl := &s.slots[i]
		n, exists := s.field.present(t, sl.source, sl.has), fa.exists(sl.source)*s.field.inUse(t, sl.source)
		now[i] = there{float32(exists * n), float32(exists * atLeastOne(n)), float32(exists * s.field.eventsPerS(t, sl.source, sl.has))}
	}
	return now
}

// addEvents adds the reactions a second to sound events of a kind.
func (s *Sums) addEvents(mu []float32, kind Kind, now []there) {
	for _, ev := range s.events[kind] {
		mu[ev.at] += ev.weight * now[ev.slot].events
	}
}

// addStays adds what stays at sources.
func addStays(out []float32, stays []stay, now []there) {
	for i := range stays {
		st := &stays[i]
		if x := now[st.slot]; x.n > 0 {
			out[st.at] += min(st.chance*x.p, st.open*x.n)
		}
	}
}

func resized(s []float32, n int) []float32 {
	if cap(s) < n {
		return make([]float32, n)
	}
	return s[:n]
}
