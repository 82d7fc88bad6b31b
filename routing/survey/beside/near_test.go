package beside

import (
	"context"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
)

// perDay60 is the flow a day that makes 60 an hour, both directions together, if all
// of it came in one hour.
const perDay60 = 60.0

const walker = exposure.StoredWalkerMPS

// onStreet puts a flow of one pattern on one street's edges.
func onStreet(g *network.Graph, s *osmdata.Street, p exposure.Pattern, perDay float32) (out [exposure.PatternCount][]float32) {
	out[p] = make([]float32, g.EdgeCount())
	for e := range out[p] {
		if g.Parts[g.PartAt[e]].Street == s.ID {
			out[p][e] = perDay
		}
	}
	return out
}

// met sums up what an edge meets of a pattern: the rate in 1/s and the mean distance
// by rate.
func met(g *network.Graph, x *osmdata.Extract, st *Streams, e int32, p exposure.Pattern) (ratePS, meanM float64) {
	n := newNearer(g, NewTerrain(x, nil), st)
	total := n.edge(e)
	for b := range exposure.BinCount {
		r, d := n.bins[p].In(b)
		ratePS += r / total
		meanM += r / total * d
	}
	return ratePS, meanM / ratePS
}

// A parallel way is passed as the own way would be, at its offset: with Q = 60 an
// hour, both directions together, the passings over a length L are Q L / min(u, v)
// (from the moving-observer result of Wardrop and Charlesworth 1954).
func TestParallelWay(t *testing.T) {
	for _, p := range []exposure.Pattern{exposure.DogWalks, exposure.WalkingTrips, exposure.WheelTrips, exposure.CarTraffic, exposure.TrainTraffic} {
		for _, offset := range []float64{4, 25, 120} {
			k := sketch.New()
			k.Street(osmdata.Path, sketch.Line(0, 0, 400, 0))
			k.Street(osmdata.Residential, sketch.Line(-2000, offset, 2400, offset))
			g := k.Net(t)
			st := &Streams{}
			st.AddNetwork(g, true, onStreet(g, &k.X.Streets[1], p, perDay60))
			st.Seal()
			rate, d := met(g, &k.X, st, sketch.EdgeOf(t, g, &k.X.Streets[0]), p)
			u := p.SpeedMPS()
			wantPS := perDay60 / 3600 * walker / min(u, walker)
			q := perDay60 / 3600.0
			ownPS := walker * (q/2*(1/walker+1/u) + q/2*math.Abs(1/walker-1/u))
			if math.Abs(rate/wantPS-1) > 1e-9 || math.Abs(ownPS/wantPS-1) > 1e-9 || math.Abs(d-offset) > 1e-6*offset {
				t.Errorf("%v at %v m: %v/s at %v m, want %v/s", p, offset, rate, d, wantPS)
			}
		}
	}
}

// At right angles the rate is q (1 + v^2/u^2), and a party that crosses the junction
// t0 seconds apart from the walker comes as near as |t0| u v / sqrt(u^2 + v^2).
func TestWayCrossingAtRightAngles(t *testing.T) {
	for _, p := range []exposure.Pattern{exposure.WalkingTrips, exposure.WheelTrips} {
		u := p.SpeedMPS()
		k := sketch.New()
		k.Street(osmdata.Path, sketch.Line(0, 0, 60, 0))
		k.Street(osmdata.Path, sketch.Line(80, -900, 80, 900)) // passes 20 m beyond the path's end
		g := k.Net(t)
		st := &Streams{}
		st.AddNetwork(g, true, onStreet(g, &k.X.Streets[1], p, perDay60))
		st.Seal()
		e := sketch.EdgeOf(t, g, &k.X.Streets[0])
		rate, d := met(g, &k.X, st, e, p)
		wantPS := perDay60 / 3600 * (1 + walker*walker/(u*u))
		// Such a party is nearest when the walker is s = v t0 u^2/(u^2+v^2) from the
		// crossing. Samples stand 25 to 75 m before it; distances are geometric means
		// within each bin, so that the mean is that at 50 m within a few per cent.
		t0 := 50 / walker * (u*u + walker*walker) / (u * u)
		wantM := t0 * u * walker / math.Hypot(u, walker)
		if math.Abs(rate/wantPS-1) > 1e-9 || math.Abs(d/wantM-1) > 0.03 {
			t.Errorf("%v: %v/s at %v m, want %v/s at about %v m", p, rate, d, wantPS, wantM)
		}
	}
}

// simulated counts closest approaches as they happen: parties start along the piece
// At every instant of a fine clock, the walker walks on straight, and an approach
// counts when the distance stops falling in the first second while the party is on
// the piece. It knows positions and nothing of the formula.
func simulated(at, dir, a, b plane.Point, u float64) (perParty float64, meanM float64) {
	const dt, h = 0.005, 1e-3
	run := a.DistanceM(b)
	t := b.Sub(a).Mul(1 / run)
	distance := func(start, clock float64) float64 {
		return a.Add(t.Mul(u * (clock - start))).DistanceM(at.Add(dir.Mul(walker * clock)))
	}
	n, sum := 0, 0.0
	for start := -run / u; start < 1; start += dt {
		falls := func(clock float64) bool { return distance(start, clock+h) < distance(start, clock-h) }
		lo, hi := max(0, start), min(1, start+run/u)
		if lo >= hi || !falls(lo) || falls(hi) {
			continue
		}
		for hi-lo > 1e-6 {
			if mid := (lo + hi) / 2; falls(mid) {
				lo = mid
			} else {
				hi = mid
			}
		}
		n++
		sum += distance(start, lo)
	}
	return float64(n) * dt, sum / max(1, float64(n))
}

func TestNearAgainstMovingParties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.SampledFrom([]exposure.Pattern{exposure.WalkingTrips, exposure.WheelTrips}).Draw(rt, "pattern")
		u := p.SpeedMPS()
		a := plane.Point{X: rapid.Float64Range(-40, 60).Draw(rt, "ax"), Y: rapid.Float64Range(8, 40).Draw(rt, "ay")}
		turn := rapid.Float64Range(0, 2*math.Pi).Draw(rt, "heading")
		run := rapid.Float64Range(60, 120).Draw(rt, "run")
		b := a.Add(plane.Point{X: run * math.Cos(turn), Y: run * math.Sin(turn)})
		s := sample{At: plane.Point{}, dir: plane.Point{X: 1}, WeightM: 1}
		var f flow
		f.halfPS[p] = 0.5
		f.settle()
		n := nearer{near: []nearby{newNearby(0, &strip{a: a, t: b.Sub(a).Mul(1 / run), lenM: run}, &f)}}
		n.meetAll(&s)
		rate, sum := 0.0, 0.0
		for i := range exposure.BinCount {
			r, d := n.bins[p].In(i)
			rate, sum = rate+r, sum+r*d
		}
		if rate > 3 {
			return // held by the bound where the relative motion is nearly across the stream
		}
		n1, d1 := simulated(s.At, s.dir, a, b, u)
		n2, d2 := simulated(s.At, s.dir, b, a, u)
		want := 0.5 * (n1 + n2)
		// In one second the walker and the place of approach move by a few metres, so
		// that near the ends of the piece part of the second counts.
		if nearEnd(s, a, b, u) {
			return
		}
		if math.Abs(rate-want) > 0.02*want+0.01 {
			rt.Fatalf("%v/s, simulated %v/s", rate, want)
		}
		if want > 0 && math.Abs(sum/rate-(n1*d1+n2*d2)/(n1+n2)) > 1.5 {
			rt.Fatalf("at %v m, simulated %v m", sum/rate, (n1*d1+n2*d2)/(n1+n2))
		}
	})
}

// nearEnd tells whether an approach lies within 8 m of an end of the piece, or just
// beyond it.
func nearEnd(s sample, a, b plane.Point, u float64) bool {
	run := a.DistanceM(b)
	t := b.Sub(a).Mul(1 / run)
	for _, along := range []plane.Point{t, t.Mul(-1)} {
		w := along.Mul(u).Sub(s.dir.Mul(walker))
		x := -a.Sub(s.At).Dot(w) / t.Dot(w)
		if math.Abs(x) < 8 || math.Abs(x-run) < 8 {
			return true
		}
	}
	return false
}

func TestWallsHideStreams(t *testing.T) {
	var atOffset float64 // of the rate, as near as the two ways are
	rate := func(prepare func(k *sketch.Map)) float64 {
		k := sketch.New()
		k.Street(osmdata.Path, sketch.Line(0, 0, 100, 0))
		k.Street(osmdata.Path, sketch.Line(-1000, 30, 1100, 30))
		if prepare != nil {
			prepare(k)
		}
		g := k.Net(t)
		st := &Streams{}
		st.AddNetwork(g, true, onStreet(g, &k.X.Streets[1], exposure.WalkingTrips, perDay60))
		st.Seal()
		e := sketch.EdgeOf(t, g, &k.X.Streets[0])
		n := newNearer(g, NewTerrain(&k.X, nil), st)
		total := n.edge(e)
		b, _ := exposure.BinOf(30)
		atOffset, _ = n.bins[exposure.WalkingTrips].In(b)
		atOffset /= total
		r, _ := met(g, &k.X, st, e, exposure.WalkingTrips)
		return r
	}
	open := rate(nil)
	if fenced := rate(func(k *sketch.Map) { k.Fence(sketch.Line(-50, 10, 150, 10)) }); fenced != open {
		t.Errorf("behind a fence %v/s, in the open %v/s", fenced, open)
	}
	if hidden := rate(func(k *sketch.Map) { k.Wall(sketch.Line(-50, 10, 150, 10)) }); hidden != 0 {
		t.Errorf("behind a wall %v/s", hidden)
	}
	rate(func(k *sketch.Map) { k.Wall(sketch.Line(-50, 10, 50, 10)) })
	// Half of them pass unseen, and some of those are nearest just as they are hidden.
	if atOffset < 0.49*open || atOffset > 0.9*open {
		t.Errorf("with a wall along half the way %v/s of %v/s", atOffset, open)
	}
	if tunnel := rate(func(k *sketch.Map) { k.X.Streets[1].Flags = osmdata.FlagTunnel }); tunnel != 0 {
		t.Errorf("from a tunnel %v/s", tunnel)
	}
	if tunnel := rate(func(k *sketch.Map) { k.X.Streets[0].Flags = osmdata.FlagTunnel }); tunnel != 0 {
		t.Errorf("in a tunnel %v/s", tunnel)
	}
}

// The own way is not in the bins: neither as the walker's edge nor as the road that
// motors drive on, but the same road beyond the junction is.
func TestOwnWayIsLeftOut(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 200, 0, 200, 200))
	k.Street(osmdata.Footway, sketch.Line(200, 0, 300, -100))
	walk := k.Net(t)
	motor, _, err := network.Build(k.X.Streets, nil, network.Options{MinIslandM: -1, Use: func(s *osmdata.Street) bool { return s.Motor }})
	if err != nil {
		t.Fatal(err)
	}
	first := int32(-1) // the edge along the x axis
	for e := range int32(walk.EdgeCount()) {
		if l := walk.EdgeLine(e); l[0].Y == 0 && l[1].Y == 0 {
			first = e
		}
	}
	st := &Streams{}
	st.AddNetwork(motor, false, [exposure.PatternCount][]float32{exposure.CarTraffic: even(motor.EdgeCount(), 100)})
	st.Seal()
	if len(st.strips) != 2 {
		t.Fatalf("%d strips of road", len(st.strips))
	}
	n := newNearer(walk, NewTerrain(&k.X, nil), st)
	n.found = []int32{0, 1}
	n.reach(first)
	if len(n.near) != 1 || n.near[0].mid.X != 200 || n.near[0].t.X != 0 {
		t.Errorf("%v of the own road count, want the strip round the bend", n.near)
	}
	st = &Streams{}
	st.AddNetwork(walk, true, [exposure.PatternCount][]float32{exposure.WalkingTrips: even(walk.EdgeCount(), 100)})
	st.AddNetwork(motor, false, [exposure.PatternCount][]float32{exposure.CarTraffic: even(motor.EdgeCount(), 100)})
	st.Seal()
	n = newNearer(walk, NewTerrain(&k.X, nil), st)
	for i := range st.strips {
		n.found = append(n.found, int32(i))
	}
	n.reach(first)
	if len(st.strips) != 3 || len(st.lanes) != 5 || len(n.near) != 2 {
		t.Errorf("of %d strips with %d lanes %d are left, want 2 of 3 with 5", len(st.strips), len(st.lanes), len(n.near))
	}
}

// Cutting the stream's way, or the walker's where samples stay put, changes no rate.
func TestNearDoesNotSeeCuts(t *testing.T) {
	gather := func(lines ...plane.Polyline) (rates [2]float64) {
		k := sketch.New()
		for _, l := range lines {
			k.Street(osmdata.Path, l)
		}
		g := k.Net(t)
		q := [exposure.PatternCount][]float32{exposure.WheelTrips: make([]float32, g.EdgeCount())}
		for e := range q[exposure.WheelTrips] {
			if g.EdgeLine(int32(e))[0].Y > 0 {
				q[exposure.WheelTrips][e] = 77
			}
		}
		st := &Streams{}
		st.AddNetwork(g, true, q)
		st.Seal()
		n := newNearer(g, NewTerrain(&k.X, nil), st)
		for e := range int32(g.EdgeCount()) {
			if g.EdgeLine(e)[0].Y <= 0 && g.EdgeLine(e)[1].Y <= 0 {
				n.edge(e)
				for b := range exposure.BinCount {
					r, d := n.bins[exposure.WheelTrips].In(b)
					rates[0] += r
					rates[1] += r * math.Log(max(d, 1e-9))
				}
			}
		}
		return rates
	}
	stream := sketch.Line(-40, 60, 30, 20, 170, 35)
	side := sketch.Line(80, 0, 80, -300) // makes a junction at a border of samples
	whole := gather(sketch.Line(0, 0, 160, 0), stream, sketch.Line(500, -500, 500, -800))
	cut := gather(sketch.Line(0, 0, 160, 0), sketch.Line(-40, 60, 30, 20), sketch.Line(30, 20, 100, 27.5), sketch.Line(100, 27.5, 170, 35), sketch.Line(500, -500, 500, -800))
	for i := range whole {
		if math.Abs(cut[i]/whole[i]-1) > 1e-9 {
			t.Errorf("stream cut: %v, whole %v", cut, whole)
		}
	}
	k := sketch.New()
	k.Street(osmdata.Path, sketch.Line(0, 0, 80, 0, 160, 0))
	k.Street(osmdata.Path, side)
	if g := k.Net(t); g.EdgeCount() != 3 {
		t.Fatalf("%d edges: the side way cuts nothing", g.EdgeCount())
	}
	a := gather(sketch.Line(0, 0, 80, 0, 160, 0), stream)
	b := gather(sketch.Line(0, 0, 80, 0, 160, 0), stream, side)
	sideOnly := b[0] - a[0]
	alone := gather(side, stream)
	if math.Abs(sideOnly/alone[0]-1) > 1e-6 {
		t.Errorf("a junction in the middle changes the rates: with the side way %v, without %v, it alone %v", b[0], a[0], alone[0])
	}
}

// Adding a stream never takes from any bin; twice the flow is twice the rate.
func TestStreamsAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := sketch.New()
		k.Street(osmdata.Path, sketch.Line(0, 0, 120, 0))
		for range rapid.IntRange(2, 4).Draw(rt, "ways") {
			a := plane.Point{X: rapid.Float64Range(-100, 200).Draw(rt, "x"), Y: rapid.Float64Range(3, 100).Draw(rt, "y")}
			k.Street(osmdata.Path, plane.Polyline{a, a.Add(plane.Point{X: rapid.Float64Range(-100, 100).Draw(rt, "dx"), Y: rapid.Float64Range(1, 90).Draw(rt, "dy")})})
		}
		g := k.Net(t)
		e := sketch.EdgeOf(t, g, &k.X.Streets[0])
		gather := func(streets []osmdata.Street, q float32) (rates [exposure.BinCount]float64) {
			st := &Streams{}
			for i := range streets {
				st.AddNetwork(g, true, onStreet(g, &streets[i], exposure.DogWalks, q))
			}
			st.Seal()
			n := newNearer(g, NewTerrain(&k.X, nil), st)
			n.edge(e)
			for b := range rates {
				rates[b], _ = n.bins[exposure.DogWalks].In(b)
			}
			return rates
		}
		few, all, double := gather(k.X.Streets[1:2], 10), gather(k.X.Streets[1:], 10), gather(k.X.Streets[1:], 20)
		for b := range all {
			if all[b] < few[b]*(1-1e-12) || math.Abs(double[b]-2*all[b]) > 1e-9 {
				rt.Fatalf("bin %d: %v of one stream, %v of all, %v of twice as much", b, few[b], all[b], double[b])
			}
		}
	})
}

// The field is the same for any number of workers.
func TestWorkersDoNotMatter(t *testing.T) {
	k := sketch.New()
	for i := range 20 {
		x := float64(i) * 53.7
		k.Street(osmdata.Residential, sketch.Line(x, 0, x+53.7, 0))
		k.Street(osmdata.Footway, sketch.Line(x, 0, x, 210+float64(i)))
		k.Street(osmdata.Footway, sketch.Line(x, 210+float64(i), x+20, 260))
		k.House(x+8, 6, 12)
		k.House(x+30, -21, 12)
	}
	k.Ground(osmdata.Park, 300, 100, 700, 400)
	g := k.Net(t)
	terr := NewTerrain(&k.X, nil)
	st := &Streams{}
	st.AddNetwork(g, true, [exposure.PatternCount][]float32{exposure.DogWalks: even(g.EdgeCount(), 20), exposure.CarTraffic: even(g.EdgeCount(), 300)})
	st.AddRail(sketch.Line(-100, -90, 1200, -60), 40)
	st.Seal()
	type field struct {
		left, right []exposure.Side
		fwd, back   []float32
		near        [exposure.PatternCount][][exposure.BinCount]exposure.Bin
	}
	measured := func(workers int) (f field) {
		ctx := context.Background()
		var err [3]error
		f.left, f.right, err[0] = Room(ctx, g, terr, nil, workers, nil)
		f.fwd, f.back, err[1] = Sight(ctx, g, terr, workers, nil)
		f.near, err[2] = Near(ctx, g, terr, st, workers, nil)
		for _, e := range err {
			if e != nil {
				t.Fatal(e)
			}
		}
		return f
	}
	one, eight := measured(1), measured(8)
	if !slices.Equal(one.left, eight.left) || !slices.Equal(one.right, eight.right) || !slices.Equal(one.fwd, eight.fwd) ||
		!slices.Equal(one.back, eight.back) {
		t.Error("room or sight depend on the number of workers")
	}
	for p := range one.near {
		if !slices.Equal(one.near[p], eight.near[p]) {
			t.Errorf("streams of %v depend on the number of workers", exposure.Pattern(p))
		}
	}
	if one.near[exposure.TrainTraffic][0] == ([exposure.BinCount]exposure.Bin{}) {
		t.Error("the railway is not met")
	}
}
