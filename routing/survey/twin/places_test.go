package twin

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/sound"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey"
)

// ground is the extent of a place as the twin sees it.
type ground struct {
	*exposure.Source
}

// nearest is the place of the ground nearest to a point, the point itself inside.
func (gr ground) nearest(p plane.Point) plane.Point {
	best := gr.At
	if d := p.DistanceM(gr.At); len(gr.Area) == 0 {
		k := math.Min(1, float64(gr.RadiusM)/math.Max(d, 1e-9))
		return gr.At.Add(p.Sub(gr.At).Mul(k))
	}
	least := math.Inf(1)
	for _, a := range gr.Area {
		if a.Contains(p) {
			return p
		}
		for _, ring := range append([]plane.Ring{a.Outer}, a.Holes...) {
			for i := range ring {
				if q, _ := plane.NearestOnSegment(p, ring[i], ring[(i+1)%len(ring)]); q.DistanceM(p) < least {
					best, least = q, q.DistanceM(p)
				}
			}
		}
	}
	return best
}

// sees tells whether somebody at p sees as far as a metre before q.
func (gr ground) sees(w *world, p, q plane.Point) bool {
	d := p.DistanceM(q)
	return d <= 1 || w.sees(p, p.Add(q.Sub(p).Mul(1-1/d)))
}

// level is how busy the place is, 1 in its busiest hour.
func (gr ground) level(t testing.TB) float64 {
	shape, most := hours.ShapeOf(gr.Activity), 0.0
	for _, s := range shape.Busy {
		most = max(most, s)
	}
	level := shape.At(evening) / most
	if gr.Hours == "" {
		return level
	}
	o, err := hours.Parse(gr.Hours)
	if err != nil {
		t.Fatal(err)
	}
	switch o.At(evening) {
	case hours.Closed:
		return 0
	case hours.Open:
		return max(level, .3)
	}
	return level
}

// quiet is the town without any flow: only its places.
func quiet(t testing.TB, w *world) *exposure.Field {
	t.Helper()
	f, err := survey.Counted(context.Background(), w.x, w.g, [exposure.PatternCount][]float32{}, survey.Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// passing picks walks that pass a place of some kind.
func passing(w *world, r *rand.Rand, f *exposure.Field, kind exposure.Kind, n int) []*track {
	var out []*track
	for range 200 * n {
		if len(out) == n {
			break
		}
		tr := w.pool(r, &mover{closed: true, meanM: 2000, speedMPS: walkerMPS}, 1)[0]
		if f.Along(dogFor(kind, needs[1]), w.steps(tr, walkerMPS), nil).Reactions > .05 {
			out = append(out, tr)
		}
	}
	return out
}

// Places where somebody stays: people are there for the whole walk or not, the dog
// has a fresh chance every dead time that the nearest place of the ground is in sight
// (or, for what is heard, whatever stands between). What the twin knows of a place is
// its outline and who may be there.
func TestStaysAgainstPresence(t *testing.T) {
	const seed = 43
	days := 4000
	if slowRun() {
		days = 60000
	}
	w := town(t, 2600)
	r := rand.New(rand.NewPCG(seed, 3))
	f := quiet(t, w)
	for i := range f.Sources { // a place that roamers cross has the test below
		f.Sources[i].AreaM2 = 0
	}
	for _, kind := range []exposure.Kind{exposure.Child, exposure.DogOffLead, exposure.ChildrenNoise} {
		need := needs[1]
		d := &exposure.Dog{SpeedMPS: walkerMPS, ByKind: map[exposure.Kind]exposure.Need{kind: need}}
		walks := passing(w, r, f, kind, 12)
		if len(walks) == 0 {
			t.Errorf("%v: no walk of the town passes any", kind)
			continue
		}
		var model, sim sum
		for _, walk := range walks {
			model.add(f.Along(d, w.steps(walk, walkerMPS), nil).Reactions)
		}
		chances := make([][][2][]float64, len(walks))
		for day := range days {
			i := day % len(walks)
			if chances[i] == nil {
				chances[i] = w.chances(t, f, kind, need, walks[i])
			}
			x := 0.0
			for _, place := range chances[i] {
				if r.Float64() < place[0][0] { // somebody is there today
					phase := int(r.Float64() * exposure.DeadTimeS)
					for s := phase; s < len(place[1]); s += int(exposure.DeadTimeS) {
						x += place[1][s]
					}
				}
			}
			sim.add(x)
		}
		ratio, doubt := model.against(&sim)
		t.Logf("%-16s model / simulated %.3f ±%.3f (X %.3f)", kind, ratio, doubt, sim.mean())
		if math.Abs(ratio-1) > .05+doubt {
			t.Errorf("seed %d, %v: %.3f of what is simulated", seed, kind, ratio)
		}
	}
}

// chances lists for each place with a kind the chance that somebody is there, and the
// chance of a reaction at each second of the walk if so.
func (w *world) chances(t testing.TB, f *exposure.Field, kind exposure.Kind, need exposure.Need, walk *track) (out [][2][]float64) {
	for i := range f.Sources {
		gr := ground{&f.Sources[i]}
		for _, m := range gr.Mix {
			n := float64(m.Present) * gr.level(t)
			if m.Kind != kind || n == 0 {
				continue
			}
			var p []float64
			run := startAt(walk, 0)
			for s := 0.0; s < walk.seconds(); s++ {
				p = append(p, gr.chance(w, kind, need, run.at(s)))
			}
			out = append(out, [2][]float64{{1 - math.Exp(-n)}, p})
		}
	}
	return out
}

// chance is the chance of a reaction to the place at p if somebody is there.
func (gr ground) chance(w *world, kind exposure.Kind, need exposure.Need, p plane.Point) float64 {
	q := gr.nearest(p)
	d := p.DistanceM(q)
	heard := kind.Info().Heard
	switch {
	case heard && d > 400, !heard && d > rangeM:
		return 0
	case gr.sees(w, p, q):
		return need.P(d)
	case heard:
		return need.P(d * math.Pow(10, float64(sound.SolidScreen)/20))
	}
	return 0
}

// Sound events at places: they happen at Poisson times, and the dog hears them from
// where it is just then.
func TestEventsAgainstMoments(t *testing.T) {
	const seed = 44
	w := town(t, 2600)
	r := rand.New(rand.NewPCG(seed, 4))
	f := quiet(t, w)
	for _, kind := range []exposure.Kind{exposure.Siren} {
		need := kind.Info().Default
		d := &exposure.Dog{SpeedMPS: walkerMPS, ByKind: map[exposure.Kind]exposure.Need{kind: need}}
		var model, sim sum
		for range 40 {
			walk := w.pool(r, &mover{closed: true, meanM: 2500, speedMPS: walkerMPS}, 1)[0]
			model.add(f.Along(d, w.steps(walk, walkerMPS), nil).Reactions)
			for i := range f.Sources {
				gr := ground{&f.Sources[i]}
				for _, m := range gr.Mix {
					if m.Kind != kind {
						continue
					}
					// A sample of moments stands for all: rate times duration times the mean chance.
					const moments = 600
					mean := 0.0
					for range moments {
						run := startAt(walk, 0)
						mean += gr.chance(w, kind, need, run.at(r.Float64()*walk.seconds())) / moments
					}
					sim.add(mean * float64(m.PerDay) * hours.ShapeOf(gr.Activity).At(evening) / 3600 * walk.seconds())
				}
			}
		}
		if model.x == 0 && sim.x == 0 {
			t.Errorf("%v: never heard in the town", kind)
			continue
		}
		t.Logf("%-8s model / simulated %.3f (%.4f a walk)", kind, model.x/sim.x, model.mean())
		if math.Abs(model.x/sim.x-1) > .05 {
			t.Errorf("seed %d, %v: model %g, simulated %g", seed, kind, model.x, sim.x)
		}
	}
}

// Roamers on a field that a path crosses or passes, each on its own straight runs.
func TestRoamersInAField(t *testing.T) {
	const seed, side = 45, 140.0
	days := 1500
	if slowRun() {
		days = 20000
	}
	r := rand.New(rand.NewPCG(seed, 5))
	area := plane.Polygon{Outer: plane.Ring{{X: 0, Y: 0}, {X: side, Y: 0}, {X: side, Y: side}, {X: 0, Y: side}}}
	for _, c := range []struct {
		name      string
		y         float64
		n         float32
		low, high float64
	}{
		{"a path across the field, few dogs", side / 2, .6, .8, 1.4},
		{"a path across the field, many dogs", side / 2, 5, .8, 1.8},
		{"a path 15 m beside the field, few dogs", -15, .6, .75, 1.3},
		{"a path 15 m beside the field, many dogs", -15, 5, .75, 1.3},
	} {
		w, walk := fieldWorld(t, area, c.y)
		f := quiet(t, w)
		if len(f.Sources) != 1 {
			t.Fatalf("%d sources", len(f.Sources))
		}
		gr := ground{&f.Sources[0]}
		for i := range gr.Mix {
			gr.Mix[i].Present = 0
			if gr.Mix[i].Kind == exposure.DogOffLead {
				gr.Mix[i].Present = c.n
			}
		}
		n := float64(c.n) * gr.level(t)
		count := distuv.Poisson{Lambda: n, Src: r}
		for _, need := range needs[:2] {
			d := dogFor(exposure.DogOnLead, need)
			var model, sim sum
			model.add(f.Along(d, w.steps(walk, walkerMPS), nil).Reactions)
			for range days {
				meet := meeting{w: w, roomM: make([]float64, w.g.EdgeCount()), again: backAgain}
				for range int(count.Rand()) {
					meet.follow(walk, roam(r, side, walk.seconds()), 0, exposure.DogOffLead.Info().SpeedMPS, 1)
				}
				byTime(meet.out)
				x, _ := reactions(meet.out, need)
				sim.add(x)
			}
			ratio, doubt := model.against(&sim)
			t.Logf("%-42s W %.0f m: model / simulated %.2f ±%.2f (X %.3f)", c.name, need.WorkingM, ratio, doubt, sim.mean())
			if ratio < c.low-doubt || ratio > c.high+doubt {
				t.Errorf("seed %d, %s, W %.0f m: %.2f, known as %.2f to %.2f", seed, c.name, need.WorkingM, ratio, c.low, c.high)
			}
		}
	}
}

// roam runs straight about a square for so many seconds, turned back by its sides
// like a ball: it is anywhere with the same chance.
func roam(r *rand.Rand, side, seconds float64) *track {
	p := plane.Point{X: r.Float64() * side, Y: r.Float64() * side}
	sin, cos := math.Sincos(2 * math.Pi * r.Float64())
	v := plane.Point{X: cos, Y: sin}.Mul(exposure.DogOffLead.Info().SpeedMPS)
	tr := &track{at: []plane.Point{p}, clock: []float64{0}}
	for tr.seconds() < seconds {
		tx, ty := toSide(p.X, v.X, side), toSide(p.Y, v.Y, side)
		dt := min(tx, ty)
		p = p.Add(v.Mul(dt))
		if tx < ty {
			v.X = -v.X
		} else {
			v.Y = -v.Y
		}
		tr.at, tr.clock, tr.edge = append(tr.at, p), append(tr.clock, tr.seconds()+dt), append(tr.edge, -1)
	}
	return tr
}

// toSide is when something at x with speed v reaches 0 or side.
func toSide(x, v, side float64) float64 {
	if v > 0 {
		return max(1e-6, (side-x)/v)
	}
	return max(1e-6, -x/v)
}
