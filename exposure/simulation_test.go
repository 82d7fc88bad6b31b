package exposure

import (
	"math"
	"math/rand/v2"
	"testing"

	"wideberth/exposure/hours"
)

// The simulations here share no formula with the model: movers with positions and
// a clock, a dog that reacts by its P curve, reactions that merge. Seeds are fixed;
// tolerances are about three standard errors.

// reactsAt counts reactions among encounters given by time and chance: none while
// an earlier reaction lasts.
func reactsAt(r *rand.Rand, times []float64, p func(i int) float64) int {
	n, until := 0, math.Inf(-1)
	for i, t := range times {
		if t >= until && r.Float64() < p(i) {
			n++
			until = t + DeadTimeS
		}
	}
	return n
}

// arrivals are the times of a Poisson process of a rate over a span.
func arrivals(r *rand.Rand, rate, from, to float64) []float64 {
	var out []float64
	for t := from + r.ExpFloat64()/rate; t < to; t += r.ExpFloat64() / rate {
		out = append(out, t)
	}
	return out
}

// Movers on the walker's own way, half of them each way, starting far off: how
// many does the walker pass?
func TestOwnWayAgainstMovers(t *testing.T) {
	const seed, v, span, runs = 21, 1.2, 600.0, 400
	r := rand.New(rand.NewPCG(seed, 1))
	for _, u := range []float64{.8, 1.34, 4.2, 11} {
		q := .02
		passed := 0
		for range runs {
			for _, sign := range []float64{1, -1} {
				// Movers pass the origin at Poisson times; long enough before that the slowest counts.
				for _, t0 := range arrivals(r, q/2, -3*span*max(1, v/u), 3*span*max(1, v/u)) {
					// sign u (t - t0) = v t  at some t in [0, span]
					if d := sign*u - v; d != 0 {
						if meet := sign * u * t0 / d; meet >= 0 && meet <= span {
							passed++
						}
					}
				}
			}
		}
		got, want := float64(passed)/runs, passesPerS(q, v, u)*span
		if math.Abs(got-want) > 3*math.Sqrt(want/runs)+1e-9 {
			t.Errorf("seed %d, u %g: %.3f passed, formula %.3f", seed, u, got, want)
		}
	}
}

// A stream on a straight road askew and away from the path: rate and distance of
// closest approaches, by stepping every mover through its pass.
func TestApproachesAgainstMovers(t *testing.T) {
	const seed, v, u, q, span, runs = 22, 1.2, 1.34, .05, 400.0, 60
	r := rand.New(rand.NewPCG(seed, 2))
	for _, angle := range []float64{.3, 1.2, 2.2} {
		tx, ty := math.Cos(angle), math.Sin(angle)
		ox, oy := 200.0, 40.0 // a point of the road; the walker starts at the origin along x
		count := 0
		for range runs {
			for _, t0 := range arrivals(r, q, -3000, 3000) {
				last := math.Inf(1)
				for s := 0.0; s <= span; s++ {
					d := math.Hypot(ox+u*(s-t0)*tx-v*s, oy+u*(s-t0)*ty)
					next := math.Hypot(ox+u*(s+1-t0)*tx-v*(s+1), oy+u*(s+1-t0)*ty)
					if d < last && d < next && s > 0 {
						count++
						break
					}
					last = d
				}
			}
		}
		got, want := float64(count)/runs, Approaches(q, u, v, tx)*span
		if math.Abs(got-want) > 3*math.Sqrt(want/runs)+.01*want {
			t.Errorf("seed %d, angle %g: %.2f approaches, formula %.2f", seed, angle, got, want)
		}
	}
}

// Near and far streams at once, reactions that merge: the thinned hazard.
func TestDeadTimeAgainstEvents(t *testing.T) {
	const seed, span = 23, 400000.0
	r := rand.New(rand.NewPCG(seed, 3))
	for _, c := range []struct {
		name      string
		rate, p   [2]float64
		tolerance float64
	}{
		{"quiet", [2]float64{.002, .01}, [2]float64{.9, .05}, .04},
		{"busy near", [2]float64{.03, .1}, [2]float64{.8, .1}, .03},
		{"harmless crowd far off", [2]float64{.01, .5}, [2]float64{1, .001}, .03},
	} {
		var times []float64
		var which []int
		a, b := arrivals(r, c.rate[0], 0, span), arrivals(r, c.rate[1], 0, span)
		for len(a)+len(b) > 0 {
			if len(b) == 0 || len(a) > 0 && a[0] < b[0] {
				times, which, a = append(times, a[0]), append(which, 0), a[1:]
			} else {
				times, which, b = append(times, b[0]), append(which, 1), b[1:]
			}
		}
		got := float64(reactsAt(r, times, func(i int) float64 { return c.p[which[i]] })) / span
		want := Thinned(c.rate[0]*c.p[0] + c.rate[1]*c.p[1])
		if !agrees(got/want, 1, c.tolerance) {
			t.Errorf("%s, seed %d: %.5f reactions a second, formula %.5f", c.name, seed, got, want)
		}
	}
}

// Movers that roam a field with walls that turn them, a walker who crosses it: the
// ideal-gas rate of closest approaches, weighed by P.
func TestOpenAreaAgainstRoamers(t *testing.T) {
	const seed, side, v, u, n, span, runs = 24, 600.0, 1.2, 1.1, 12, 500.0, 500
	r := rand.New(rand.NewPCG(seed, 4))
	need := Need{30, 15}
	sum := 0.0
	for range runs {
		for range n {
			x, y, a := r.Float64()*side, r.Float64()*side, r.Float64()*2*math.Pi
			ux, uy := u*math.Cos(a)-v, u*math.Sin(a)
			// On a torus, unrolled: every image that is nearest within the span counts once.
			for i := -3.0; i <= 3; i++ {
				for j := -3.0; j <= 3; j++ {
					px, py := x+i*side, y+j*side
					at := -(px*ux + py*uy) / (ux*ux + uy*uy)
					if at >= 0 && at <= span {
						sum += need.P(math.Hypot(px+ux*at, py+uy*at))
					}
				}
			}
		}
	}
	got := sum / runs
	want := openPerS(n/(side*side), openReachM(need, 0), meanRelativeSpeed(u, v)) * span
	if !agrees(got/want, 1, .06) {
		t.Errorf("seed %d: %.4f reactions in a crossing, formula %.4f", seed, got, want)
	}
}

// Groups count once: singles drawn together react less than singles apart.
func TestGroupsAgainstParties(t *testing.T) {
	const seed, parties = 25, 200000
	r := rand.New(rand.NewPCG(seed, 5))
	for _, size := range []int{1, 2, 3} {
		const p = .3
		reactions := 0
		for range parties {
			for range size {
				if r.Float64() < p {
					reactions++
					break
				}
			}
		}
		rate, gp := Grouped(float64(size), p, float64(size)) // per party
		if got := float64(reactions) / parties; !agrees(got/(rate*gp), 1, .01) {
			t.Errorf("parties of %d: %.4f, formula %.4f", size, got, rate*gp)
		}
	}
}

// A playground with a Poisson number of children that is there or not for a whole
// pass: a fresh chance every dead time, for as long as the dog is in reach.
func TestClusterAgainstPresence(t *testing.T) {
	const seed, passes, n, seconds = 26, 40000, .8, 200.0
	r := rand.New(rand.NewPCG(seed, 6))
	need := Need{40, 20}
	p := need.P(25)
	reactions := 0
	for range passes {
		if r.Float64() >= 1-math.Exp(-n) {
			continue
		}
		for at := 0.0; at < seconds; at += DeadTimeS {
			if r.Float64() < p {
				reactions++
			}
		}
	}
	f := emptyField(1)
	f.Sources = []Source{{OSM: "way/1", As: "playground", Activity: hours.Playground, Mix: []Presence{{Kind: Child, Present: n}}}}
	f.Touches, f.TouchAt = []Touch{{DistM: 25, Share: 1, InSight: true}}, []int32{0, 1}
	m := at(t, "2026-11-04 16:30") // the busiest hour
	d := &Dog{ByKind: map[Kind]Need{Child: need}}
	want := f.Along(d, []Step{{0, seconds, m}}, nil).Reactions
	if got := float64(reactions) / passes; !agrees(got/want, 1, .03) {
		t.Errorf("seed %d: %.4f reactions a pass, formula %.4f", seed, got, want)
	}
}

// A whole walk over edges with everything, against a simulation of its streams
// and sounds: mean reactions, and the chance of calm with the rates' doubt.
func TestCalmAgainstWalks(t *testing.T) {
	const seed, runs = 27, 6000
	r := rand.New(rand.NewPCG(seed, 7))
	f := emptyField(3)
	perDay := [3]float64{20, 60, 5}
	for e, q := range perDay {
		f.OwnPerDay[DogWalks][e], f.Place[e] = float32(q), PlaceResidential
	}
	need := Need{30, 15}
	d := &Dog{SpeedMPS: 1.1, ByKind: map[Kind]Need{DogOnLead: need}}
	m := at(t, schoolMorning)
	var steps []Step
	for e := range int32(3) {
		steps = append(steps, Step{e, 600, m})
	}
	dose := f.Along(d, steps, nil)
	share := hours.ShapeOf(hours.Dogs).At(m) * .95 / 3600 // of the day, on lead
	total, calm := 0, 0
	for range runs {
		level := 0.0 // one common factor for the whole walk: Gamma of shape 3/2 is half a chi-square of 3
		for range 3 {
			z := r.NormFloat64()
			level += z * z / 3
		}
		n, until := 0, -1.0
		for e, q := range perDay {
			for _, at := range arrivals(r, level*q*share/1.1, 0, 600) {
				p := 1 - math.Pow(1-need.P(10), 1.1)
				if now := float64(e)*600 + at; now >= until && r.Float64() < p {
					n++
					until = now + DeadTimeS
				}
			}
		}
		total += n
		if n == 0 {
			calm++
		}
	}
	if got := float64(total) / runs; !agrees(got/dose.Reactions, 1, .06) {
		t.Errorf("seed %d: %.4f reactions a walk, X %.4f", seed, got, dose.Reactions)
	}
	if got := float64(calm) / runs; math.Abs(got-dose.Calm()) > .02 {
		t.Errorf("seed %d: %.3f of walks calm, predicted %.3f", seed, got, dose.Calm())
	}
}
