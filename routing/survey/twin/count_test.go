package twin

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"wideberth/exposure"
)

// needs are the dogs that are walked: working distances of 20 to 80 m, reacting at
// half of them.
var needs = []exposure.Need{{WorkingM: 20, ReactionM: 10}, {WorkingM: 40, ReactionM: 20}, {WorkingM: 60, ReactionM: 30}, {WorkingM: 80, ReactionM: 40}}

// boundsM are the distances up to which closest approaches are counted: bounds of
// the field's bins, so that binning itself moves nothing across them.
var boundsM = []float64{9.464, 15, 23.77, 37.68, 59.72, 94.64}

// sum gathers a mean with its standard error.
type sum struct{ n, x, xx float64 }

func (s *sum) add(x float64)  { s.n++; s.x += x; s.xx += x * x }
func (s *sum) mean() float64  { return s.x / s.n }
func (s *sum) error() float64 { return math.Sqrt(max(0, s.xx/s.n-s.mean()*s.mean()) / s.n) }

// against is the ratio of a model's mean to a simulated one, and two standard
// errors of it.
func (s *sum) against(sim *sum) (ratio, doubt float64) {
	ratio = s.mean() / sim.mean()
	return ratio, ratio * 2 * sim.error() / sim.mean()
}

// tally is what was counted on a walk, on average.
type tally struct {
	passed sum   // parties on the walker's own way
	ownX   sum   // reactions to them at a working distance of 40 m, without dead time
	x      []sum // reactions, by need
	calm   []sum // chance of none
	within []sum // contacts nearer than each of boundsM
}

func newTally() *tally {
	return &tally{x: make([]sum, len(needs)), calm: make([]sum, len(needs)), within: make([]sum, len(boundsM))}
}

// roomOf is how far the handler gets off the line by edge, as surveyed.
func roomOf(f *exposure.Field) []float64 {
	out := make([]float64, f.EdgeCount())
	for e := range out {
		b := f.Sides(int32(e), false)
		out[e] = float64(max(b.Left.LowM, b.Right.LowM))
		if f.Marks[e]&exposure.MayCross != 0 {
			out[e] = float64(b.Left.LowM + b.Right.LowM)
		}
	}
	return out
}

// crowd is a pool of agents of one kind and how often a party sets out.
type crowd struct {
	*mover
	pool    []*track
	perS    float64
	longest float64 // seconds
}

func newCrowd(m *mover, pool []*track, startsPH float64) crowd {
	c := crowd{mover: m, pool: pool, perS: startsPH / 3600}
	for _, tr := range pool {
		c.longest = max(c.longest, tr.seconds())
	}
	return c
}

// day lists the contacts of a walk with a crowd on one day, by time, and how many
// parties were passed. level multiplies the parties that set out.
func (w *world) day(r *rand.Rand, c *crowd, walk *track, level float64, roomM []float64, again float64) ([]contact, int) {
	meet := meeting{w: w, roomM: roomM, again: again}
	gap := func() float64 { return r.ExpFloat64() / (c.perS * level) }
	for s := -c.longest + gap(); s < walk.seconds(); s += gap() {
		meet.follow(walk, c.pool[r.IntN(len(c.pool))], s, c.speedMPS, c.groups[r.IntN(len(c.groups))])
	}
	byTime(meet.out)
	return meet.out, meet.pass
}

// simulate walks each of the walks on many days. A quarter as many days
// have their own level of traffic, a Gamma factor with the kind's doubt: those tell the chance of a
// calm walk.
func (w *world) simulate(r *rand.Rand, c *crowd, walks []*track, roomM []float64, days int) *tally {
	out := newTally()
	doubt := distuv.Gamma{Alpha: c.kind.DoubtShape(), Beta: c.kind.DoubtShape(), Src: r}
	for i := range days {
		walk := walks[i%len(walks)]
		cs, passed := w.day(r, c, walk, 1, roomM, backAgain)
		out.passed.add(float64(passed))
		out.take(cs)
		if i%4 == 0 {
			cs, _ = w.day(r, c, walks[i/4%len(walks)], doubt.Rand(), roomM, backAgain)
			for k, need := range needs {
				_, calm := reactions(cs, need)
				out.calm[k].add(calm)
			}
		}
	}
	return out
}

// take counts the contacts of a day.
func (k *tally) take(cs []contact) {
	own, count := 0.0, make([]float64, len(boundsM))
	for _, c := range cs {
		if c.own {
			own += needs[1].P(c.dM)
		}
		for b, m := range boundsM {
			if c.dM < m {
				count[b]++
			}
		}
	}
	k.ownX.add(own)
	for b, n := range count {
		k.within[b].add(n)
	}
	for i, need := range needs {
		n, _ := reactions(cs, need)
		k.x[i].add(n)
	}
}

// dogFor is a dog that reacts to one kind.
func dogFor(k exposure.Kind, n exposure.Need) *exposure.Dog {
	d := &exposure.Dog{SpeedMPS: walkerMPS, ByKind: map[exposure.Kind]exposure.Need{k: n}}
	if k == exposure.DogOnLead {
		d.ByKind[exposure.DogOffLead] = n
	}
	return d
}

// predict is the model's account of the same walks.
func (w *world) predict(f *exposure.Field, m *mover, walks []*track) *tally {
	out := newTally()
	d := dogFor(m.kind, needs[1])
	for _, walk := range walks {
		steps := w.steps(walk, walkerMPS)
		passed, own, count := 0.0, 0.0, make([]float64, len(boundsM))
		for _, st := range steps {
			for _, term := range f.Explain(st.Edge, d, evening, nil) {
				if d.Need(term.Kind).WorkingM == 0 {
					continue
				}
				n := term.RatePerS * st.Seconds
				if term.Own {
					passed += n
					own += n * needs[1].P(term.DistM)
				}
				for b, m := range boundsM {
					if term.DistM < m {
						count[b] += n
					}
				}
			}
		}
		out.passed.add(passed)
		out.ownX.add(own)
		for b, n := range count {
			out.within[b].add(n)
		}
		for i, need := range needs {
			dose := f.Along(dogFor(m.kind, need), steps, nil)
			out.x[i].add(dose.Reactions)
			out.calm[i].add(dose.Calm())
		}
	}
	return out
}

// spread is the largest difference between the cumulated shares of closest
// approaches of the two, of those nearer than the last of boundsM.
func (k *tally) spread(sim *tally) float64 {
	last, worst := len(boundsM)-1, 0.0
	for b := range boundsM {
		worst = max(worst, math.Abs(k.within[b].mean()/k.within[last].mean()-sim.within[b].mean()/sim.within[last].mean()))
	}
	return worst
}

// row is a line of the table.
func row(model, sim *tally) string {
	ratio, doubt := model.passed.against(&sim.passed)
	line := fmt.Sprintf("passed %.2f ±%.2f | own X %.2f | spread %.2f |", ratio, doubt, model.ownX.mean()/sim.ownX.mean(), model.spread(sim))
	for i, need := range needs {
		ratio, doubt = model.x[i].against(&sim.x[i])
		line += fmt.Sprintf(" W%.0f %.3f ±%.3f (X %.2f) calm %.2f/%.2f |", need.WorkingM, ratio, doubt, sim.x[i].mean(), model.calm[i].mean(), sim.calm[i].mean())
	}
	return line
}
