package twin

import (
	"math"
	"math/rand/v2"
	"testing"

	"wideberth/exposure"
)

// How far the model may lie from the twin, beyond two standard errors of the twin:
// counts of passings, X for working distances up to 40 m and above, the chance of a
// calm walk, and the cumulated distances of closest approach.
const (
	passedWithin = .03
	nearWithin   = .08
	farWithin    = .15
	calmWithin   = .05 // up to 40 m
	calmFar      = .07
	spreadWithin = .10
)

// squareM is the side of the pieces of town that agents walk in.
const squareM = 1200

// hold reports and judges one kind of mover on one ground.
func hold(t *testing.T, w *world, m *mover, days int) {
	t.Helper()
	const seed = 41
	r := rand.New(rand.NewPCG(seed, 1))
	walks := w.pool(r, &mover{closed: true, meanM: 2000, speedMPS: walkerMPS}, 16)
	pool := w.pool(r, m, 1500)
	f := w.field(t, []*mover{m}, [][]*track{pool}, []float64{m.startsPH})
	model := w.predict(f, m, walks)
	c := newCrowd(m, pool, m.startsPH)
	sim := w.simulate(r, &c, walks, roomOf(f), days)
	t.Logf("%-16s %-8s %s", w.name, m.name, row(model, sim))
	judge := func(what string, model, sim *sum, within float64) {
		t.Helper()
		if ratio, doubt := model.against(sim); math.Abs(ratio-1) > within+doubt {
			t.Errorf("seed %d, %s, %s: %s is %.3f of what is simulated, ±%.3f", seed, w.name, m.name, what, ratio, doubt)
		}
	}
	judge("passings", &model.passed, &sim.passed, passedWithin)
	judge("X of passings", &model.ownX, &sim.ownX, nearWithin)
	for i, need := range needs {
		within, calm := nearWithin, calmWithin
		if need.WorkingM > 40 {
			within, calm = farWithin, calmFar
		}
		judge("X", &model.x[i], &sim.x[i], within)
		if a, b := model.calm[i].mean(), sim.calm[i].mean(); math.Abs(a-b) > calm+2*sim.calm[i].error() {
			t.Errorf("seed %d, %s, %s, W %.0f m: calm with chance %.3f, simulated %.3f", seed, w.name, m.name, need.WorkingM, a, b)
		}
	}
	if s := model.spread(sim); s > spreadWithin {
		t.Errorf("seed %d, %s, %s: distances of closest approach differ by %.3f", seed, w.name, m.name, s)
	}
}

// The model against agents on the invented town: fewer days than the table below.
func TestModelAgainstTwin(t *testing.T) {
	w := town(t, squareM)
	for _, m := range []*mover{&dogWalkers, &adults, &cyclists, &drivers} {
		hold(t, w, m, 1600)
	}
}

// The table: the invented town and pieces of two real extracts, with so many days
// that two standard errors of X are under 3 %.
func TestTwinTable(t *testing.T) {
	if !slowRun() {
		t.Skip("two minutes of simulation: set WIDEBERTH_SLOW=1")
	}
	for _, w := range []*world{town(t, squareM), realPiece(t, "delaware-latest.osm.pbf", "Wilmington", squareM),
		realPiece(t, "andorra-latest.osm.bz2", "Andorra la Vella", squareM)} {
		for _, m := range []*mover{&dogWalkers, &adults, &cyclists, &drivers} {
			hold(t, w, m, 20000)
		}
	}
}

// bend is a case in which the model's assumptions do not hold, and by how much: the
// range of model / simulated.
type bend struct {
	name      string
	low, high float64
	ratio     func() (float64, float64)
}

// Where the model's assumptions bend, and by how much.
func TestBends(t *testing.T) {
	const seed = 42
	days := 1200
	if slowRun() {
		days = 12000
	}
	w := town(t, squareM)
	r := rand.New(rand.NewPCG(seed, 2))
	walks := w.pool(r, &mover{closed: true, meanM: 2000, speedMPS: walkerMPS}, 16)
	movers := []*mover{&dogWalkers, &adults, &drivers}
	var pools [][]*track
	for _, m := range movers {
		pools = append(pools, w.pool(r, m, 800))
	}
	f := w.field(t, movers, pools, []float64{dogWalkers.startsPH, adults.startsPH, drivers.startsPH})
	room := roomOf(f)
	// simulated is X on one day in the average of crowds, with starts multiplied by k,
	// merging across kinds or not.
	simulated := func(movers []*mover, pools [][]*track, k float64, n exposure.Need, across bool, again float64, days int) (float64, float64) {
		var s sum
		for i := range days {
			var all []contact
			x := 0.0
			for j, m := range movers {
				c := newCrowd(m, pools[j], k*m.startsPH)
				cs, _ := w.day(r, &c, walks[i%len(walks)], 1, room, again)
				all = append(all, cs...)
				one, _ := reactions(cs, n)
				x += one
			}
			if across {
				byTime(all)
				x, _ = reactions(all, n)
			}
			s.add(x)
		}
		return s.mean(), 2 * s.error() / s.mean()
	}
	model := func(m *mover, n exposure.Need) float64 {
		s := 0.0
		for _, walk := range walks {
			s += f.Along(dogFor(m.kind, n), w.steps(walk, walkerMPS), nil).Reactions / float64(len(walks))
		}
		return s
	}
	// apart is X with dead time by kind over X with dead time across kinds: the model
	// adds kinds.
	apart := func(k float64) func() (float64, float64) {
		return func() (float64, float64) {
			each, _ := simulated(movers, pools, k, needs[1], false, backAgain, days/int(2+k))
			merged, doubt := simulated(movers, pools, k, needs[1], true, backAgain, days/int(2+k))
			return each / merged, 2 * doubt
		}
	}
	platoons := drivers
	platoons.groups, platoons.startsPH = []int{5}, drivers.startsPH*drivers.meanGroup()/5
	for _, b := range []bend{
		{"dead time across three kinds, usual traffic", .9, 1.2, apart(1)},
		{"dead time across three kinds, ten times the traffic", 1.1, 2, apart(10)},
		{"cars in platoons of five, W 40 m", 1.6, 2.8, func() (float64, float64) {
			x, doubt := simulated([]*mover{&platoons}, pools[2:], 1, needs[1], false, backAgain, days)
			return model(&drivers, needs[1]) / x, doubt
		}},
		{"one chance a contact, however often they come back, dogs, W 40 m", .9, 1.15, func() (float64, float64) {
			x, doubt := simulated(movers[:1], pools[:1], 1, needs[1], false, math.Inf(1), days)
			return model(&dogWalkers, needs[1]) / x, doubt
		}},
		{"working distance of 140 m, dogs", .6, 1.05, func() (float64, float64) {
			far := exposure.Need{WorkingM: 140, ReactionM: 70}
			x, doubt := simulated(movers[:1], pools[:1], 1, far, false, backAgain, days)
			return model(&dogWalkers, far) / x, doubt
		}},
	} {
		ratio, doubt := b.ratio()
		t.Logf("%-70s model / simulated %.2f ±%.2f", b.name, ratio, doubt*ratio)
		if ratio < b.low-doubt || ratio > b.high+doubt {
			t.Errorf("seed %d, %s: %.2f, known as %.2f to %.2f", seed, b.name, ratio, b.low, b.high)
		}
	}
}
