package survey

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
	"wideberth/routing/survey/sketch"
	"wideberth/routing/survey/trips"
)

// The twin: agents walk real closed tours through a grid town second by second,
// with Poisson starts; a walker with a dog walks another tour; every closest approach
// within 150 m and in sight has one chance, and reactions merge while one lasts. It shares the network, the
// tours and the walls with the model, but no rate.

// track is where a walker is each second.
type track []plane.Point

// trackOf walks edges from a vertex at a speed.
func trackOf(g *network.Graph, from int32, edges []int32, speedMPS float64) track {
	var line plane.Polyline
	at := from
	for _, e := range edges {
		tail, head := g.Ends(e)
		piece := g.EdgeLine(e)
		if at != tail {
			piece, head = piece.Reversed(), tail
		}
		line = append(line, piece...)
		at = head
	}
	var out track
	for s := 0.0; s*speedMPS < line.LengthM(); s++ {
		out = append(out, line.At(s*speedMPS))
	}
	return out
}

// poolOf makes closed tours from every vertex, and the tracks of those that walk
// them.
func poolOf(w *ground, perHome int) (tours [][]int32, homes []int32, tracks []track) {
	t := newTourist(w, w.pleasure(), w.homeward())
	for v := range int32(len(w.g.Vertex)) {
		t.visit(v, 1, perHome, make(trips.Tallies, w.g.EdgeCount()))
		for _, edges := range t.all {
			tours, homes = append(tours, edges), append(homes, v)
			tracks = append(tracks, trackOf(w.g, v, edges, exposure.DogWalks.SpeedMPS()))
		}
	}
	return tours, homes, tracks
}

// nearestOwnM is how near an encounter on the own way comes, in both worlds.
const nearestOwnM = 5.0

// approaches lists when a walker and an agent that starts at a second of the walk
// are nearest, and how near, as far as they see each other. Without perContact
// every closest approach counts, those of one party under 20 s apart once; with it
// everything until they lose sight of each other for 20 s counts once.
func approaches(walk, agent track, start int, t *beside.Terrain, perContact bool, yield func(at int, dM float64)) {
	const mergeS = 20
	best, bestAt, seenAt, rising := math.Inf(1), 0, -1000, false
	last := math.Inf(1)
	flush := func() {
		if !math.IsInf(best, 1) {
			yield(bestAt, best)
		}
		best, rising = math.Inf(1), false
	}
	for s := max(0, start); s < min(len(walk), start+len(agent)); s++ {
		p, q := walk[s], agent[s-start]
		d := p.DistanceM(q)
		if d > beside.NearM || d > 1 && !t.Sees(p, q) {
			last = math.Inf(1)
			continue
		}
		if s-seenAt > mergeS {
			flush()
		}
		if !perContact && d < last && rising && s-bestAt > mergeS {
			flush()
		}
		rising = rising || d > last
		last, seenAt = d, s
		if d < best {
			best, bestAt = d, s
		}
	}
	flush()
}

// reactionsOn is the mean number of reactions on a walk over many days, by need,
// with one chance an approach and with one chance a contact.
func reactionsOn(r *rand.Rand, walk track, tracks []track, startsPS float64, t *beside.Terrain, needs []exposure.Need, days int, perContact bool) []float64 {
	const longest = 5000 / 1.1 // seconds of the longest tour
	out := make([]float64, len(needs))
	type event struct {
		at int
		d  float64
		n  int
	}
	for range days {
		var events []event
		for s := -longest + r.ExpFloat64()/startsPS; s < float64(len(walk)); s += r.ExpFloat64() / startsPS {
			size := 1
			if r.Float64() < .1 { // groups of 1.1 on average
				size = 2
			}
			approaches(walk, tracks[r.IntN(len(tracks))], int(math.Floor(s)), t, perContact, func(at int, d float64) {
				events = append(events, event{at, max(d, nearestOwnM), size})
			})
		}
		slices.SortFunc(events, func(a, b event) int { return a.at - b.at })
		for i, need := range needs {
			until := -1000
			for _, e := range events {
				if e.at >= until && r.Float64() < 1-math.Pow(1-need.P(e.d), float64(e.n)) {
					out[i]++
					until = e.at + int(exposure.DeadTimeS)
				}
			}
		}
	}
	for i := range out {
		out[i] /= float64(days)
	}
	return out
}

// twinField is the field of a pool of tours that start so often: flows are the
// passes of the pool.
func twinField(t testing.TB, w *ground, tr *beside.Terrain, tours [][]int32, startsPS float64, m hours.Moment) *exposure.Field {
	t.Helper()
	g := w.g
	n := g.EdgeCount()
	f := &exposure.Field{Left: make([]exposure.Side, n), Right: make([]exposure.Side, n), SightFwdM: make([]float32, n), SightBackM: make([]float32, n),
		LevelDB: make([]float32, n), Place: make([]exposure.PlaceKind, n), Marks: make([]exposure.Mark, n), SoftShare: make([]float32, n), TouchAt: make([]int32, n+1), Roadside: strain.Table{At: make([]int32, n+1), Wide: make([]strain.Wide, n)}}
	for p := range f.OwnPerDay {
		f.OwnPerDay[p] = make([]float32, n)
	}
	for e := range n {
		f.Left[e].LowM, f.Right[e].LowM, f.SightFwdM[e], f.SightBackM[e] = nearestOwnM, nearestOwnM, beside.SightCapM, beside.SightCapM
	}
	const groups = 1.1
	each := startsPS * 3600 * groups / float64(len(tours)) / hours.ShapeOf(hours.Dogs).At(m) // a day, so that the hour has what is simulated
	for _, edges := range tours {
		for _, e := range edges {
			f.OwnPerDay[exposure.DogWalks][e] += float32(each)
		}
	}
	st := &beside.Streams{}
	st.AddNetwork(g, true, f.OwnPerDay)
	st.Seal()
	var err error
	if f.Near, err = beside.Near(context.Background(), g, tr, st, 2, nil); err != nil {
		t.Fatal(err)
	}
	if err := f.Check(); err != nil {
		t.Fatal(err)
	}
	return f
}

// walkSteps is a tour as the model walks it.
func walkSteps(g *network.Graph, edges []int32, m hours.Moment) []exposure.Step {
	var out []exposure.Step
	for _, e := range edges {
		out = append(out, exposure.Step{Edge: e, Seconds: float64(g.LengthM[e]) / exposure.StoredWalkerMPS, At: m})
	}
	return out
}

// rowsOfHouses walls the blocks of a suburb along some of its streets.
func rowsOfHouses(k *sketch.Map) {
	for i := range 12 {
		for j := range 12 {
			if (i+2*j)%3 == 0 {
				k.House(float64(120*i)+45, float64(120*j)+45, 30)
			}
		}
	}
}

// How far X may lie from the twin that gives each closest approach, or each contact,
// one chance. The model counts approaches, and on a grid one party has several in
// one contact when one of the two turns.
const (
	perApproachWithin = .08
	perContactWithin  = .15
)

// TestTwinCounts holds the counts of the model against the agents: passings on the
// walker's own way, and closest approaches within 20 m whether on it or not.
func TestTwinCounts(t *testing.T) {
	const seed, walks, startsHour = 32, 12, 60.0
	days := 60
	if sketch.Slow() {
		days = 600
	}
	m := (&hours.Clock{}).At(time.Date(2026, time.November, 4, 17, 15, 0, 0, time.UTC))
	k := sketch.Suburb(11, 8)
	g, tr := k.Net(t), beside.NewTerrain(&k.X, nil)
	w := groundOf(t, g)
	tours, homes, tracks := poolOf(w, 3)
	f := twinField(t, w, tr, tours, startsHour/3600, m)
	r := rand.New(rand.NewPCG(seed, 1))
	d := &exposure.Dog{SpeedMPS: exposure.StoredWalkerMPS}
	var own, near, passed, minima float64
	for range walks {
		i := r.IntN(len(tours))
		walk := trackOf(g, homes[i], tours[i], exposure.StoredWalkerMPS)
		for range days {
			p, n := countApproaches(r, walk, tracks, startsHour/3600)
			passed, minima = passed+p/float64(days), minima+n/float64(days)
		}
		for _, st := range walkSteps(g, tours[i], m) {
			for _, term := range f.Explain(st.Edge, d, m, nil) {
				if term.Kind != exposure.DogOnLead && term.Kind != exposure.DogOffLead || term.DistM > 20 {
					continue
				}
				n := term.RatePerS * st.Seconds * 1.1 // groups to dogs: here every dog is counted
				if near += n; term.Own {
					own += n
				}
			}
		}
	}
	for _, c := range []struct {
		name       string
		model, sim float64
		within     float64
	}{{"passings on the own way", own, passed, .03}, {"closest approaches within 20 m", near, minima, .04}} {
		doubt := 2 / math.Sqrt(c.sim*float64(days))
		t.Logf("%-32s model / simulated %.3f +- %.3f (%.1f)", c.name, c.model/c.sim, doubt, c.sim)
		if math.Abs(c.model/c.sim-1) > c.within+doubt {
			t.Errorf("seed %d, %s: model %.2f, simulated %.2f", seed, c.name, c.model, c.sim)
		}
	}
}

// countApproaches counts one day's passings (nearer than 2.5 m) and closest
// approaches within 20 m.
func countApproaches(r *rand.Rand, walk track, tracks []track, startsPS float64) (passed, minima float64) {
	const longest, passM, nearM = 5000 / 1.1, 2.5, 20
	for s := -longest + r.ExpFloat64()/startsPS; s < float64(len(walk)); s += r.ExpFloat64() / startsPS {
		agent, start := tracks[r.IntN(len(tracks))], int(math.Floor(s))
		before, last := -1.0, -1.0
		for i := max(0, start); i < min(len(walk), start+len(agent)); i++ {
			d := walk[i].DistanceM(agent[i-start])
			if before >= last && last >= 0 && last < d && last < nearM {
				minima += 1.1
				if last < passM {
					passed += 1.1
				}
			}
			before, last = last, d
		}
	}
	return passed, minima
}

func TestTwinOfTheTown(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	const seed = 34
	walks, days := 10, 60
	if sketch.Slow() {
		walks, days = 24, 400
	}
	m := (&hours.Clock{}).At(time.Date(2026, time.November, 4, 17, 15, 0, 0, time.UTC))
	needs := []exposure.Need{{WorkingM: 20, ReactionM: 10}, {WorkingM: 40, ReactionM: 20}, {WorkingM: 80, ReactionM: 40}}
	for _, c := range []struct {
		name       string
		walls      bool
		startsHour float64
	}{{"open, quiet", false, 60}, {"houses, quiet", true, 60}, {"houses, busy", true, 300}} {
		k := sketch.Suburb(11, 8)
		if c.walls {
			rowsOfHouses(k)
		}
		g, tr := k.Net(t), beside.NewTerrain(&k.X, nil)
		w := groundOf(t, g)
		tours, homes, tracks := poolOf(w, 3)
		starts := c.startsHour / 3600
		f := twinField(t, w, tr, tours, starts, m)
		r := rand.New(rand.NewPCG(seed, 1))
		modelX := make([]float64, len(needs))
		simX := [2][]float64{make([]float64, len(needs)), make([]float64, len(needs))}
		for range walks {
			i := r.IntN(len(tours))
			walk := trackOf(g, homes[i], tours[i], exposure.StoredWalkerMPS)
			for rule := range simX {
				for j, x := range reactionsOn(r, walk, tracks, starts, tr, needs, days, rule == 1) {
					simX[rule][j] += x
				}
			}
			for j, need := range needs {
				d := &exposure.Dog{SpeedMPS: exposure.StoredWalkerMPS, ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: need}}
				modelX[j] += f.Along(d, walkSteps(g, tours[i], m), nil).Reactions
			}
		}
		for rule, name := range [2]string{"a chance an approach", "a chance a contact"} {
			for j, need := range needs {
				ratio := modelX[j] / simX[rule][j]
				doubt := 2 / math.Sqrt(simX[rule][j]*float64(days)) // two standard errors of the count, as a share
				t.Logf("%-14s %-20s W %2.0f m: model / simulated %.3f +- %.3f (X %.2f a walk)", c.name, name, need.WorkingM, ratio, doubt, simX[rule][j]/float64(walks))
				within := perApproachWithin
				if rule == 1 || need.WorkingM > 40 {
					within = perContactWithin
				}
				if math.Abs(ratio-1) > within+doubt {
					t.Errorf("seed %d, %s, %s, W %g m: model / simulated %.3f", seed, c.name, name, need.WorkingM, ratio)
				}
			}
		}
	}
}
