package escape_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/escape"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// threatNear puts a threat on the network some way from a place, in sight of it.
func threatNear(land *reach.Land, at plane.Point, awayM float64, rng *rand.Rand) (plane.Point, bool) {
	g := land.Snap.Graph
	edges := g.InBox(plane.Box{Min: at, Max: at}.Grown(awayM + 5))
	for range 60 {
		if len(edges) == 0 {
			return plane.Point{}, false
		}
		line := g.EdgeLine(edges[rng.IntN(len(edges))])
		q := line.At(rng.Float64() * line.LengthM())
		if math.Abs(q.DistanceM(at)-awayM) < 3 && land.Snap.Ground.Visible(at, q) {
			return q, true
		}
	}
	return plane.Point{}, false
}

// TestWayOutKeepsItsWord replays each way out in a simulation in time that shares
// no code with the search: in what the threat does with nine chances in ten it is
// never nearer than the share kept, and in the end far enough or out of sight, for
// ten seconds where the threat moves.
func TestWayOutKeepsItsWord(t *testing.T) {
	land := on(t, maptest.Town(t))
	const seed = 5
	for _, speed := range []float64{0, 1.1, 1.4, 3} {
		rng := rand.New(rand.NewPCG(seed, 2))
		dog := maptest.Kessa()
		tried, held := 0, 0
		for _, at := range maptest.RandomDoors(land.Snap, 120, rng) {
			place, ok := threatNear(land, at, 25, rng)
			if !ok {
				continue
			}
			tried++
			threat := escape.Threat{At: place, SpeedMPS: speed, Kind: exposure.DogOnLead}
			calm, brisk, err := escape.WaysOut(land, at, threat, &dog)
			if err != nil {
				t.Fatal(err)
			}
			fates, err := escape.Foresee(land, at, threat, &dog)
			if err != nil {
				t.Fatal(err)
			}
			checkFates(t, fates, speed)
			for _, out := range []escape.WayOut{calm, brisk} {
				if out.Chance >= 0.9 {
					simulate(t, land, &out, fates, speed > 0)
				}
			}
			if brisk.Kept >= 0.7 {
				held++
			}
		}
		if tried < 40 || speed == 0 && held < tried*9/10 {
			t.Errorf("speed %.1f: %d of %d answered while keeping seven tenths of the distance (seed %d)", speed, held, tried, seed)
		}
	}
}

// checkFates holds what a threat may do against what can be: no faster than it
// is, and most of the chance told.
func checkFates(t *testing.T, fates []escape.Foreseen, speed float64) {
	t.Helper()
	sum := 0.0
	for _, f := range fates {
		sum += f.Chance
		for i := 1; i < len(f.At); i++ {
			if d := f.At[i].DistanceM(f.At[i-1]); d > speed+0.01 {
				t.Errorf("goes %.2f m in a second at %.1f m/s", d, speed)
			}
		}
	}
	if sum > 1+1e-9 || sum < 0.5 || len(fates) == 0 {
		t.Errorf("%d things that it may do, of chance %.2f", len(fates), sum)
	}
}

// simulate walks a way out against everything the threat may do, in tenths of a
// second: along the line, then off it to where one stands.
func simulate(t *testing.T, land *reach.Land, out *escape.WayOut, fates []escape.Foreseen, moves bool) {
	t.Helper()
	const tick, asideMPS, needM = 0.1, 1.0, 38
	me := func(s float64) plane.Point {
		long := out.Line.LengthM()
		if gone := s * out.PaceMPS; gone <= long {
			return out.Line.At(gone)
		}
		end := out.Line[len(out.Line)-1]
		left := (s - long/out.PaceMPS) * asideMPS
		return end.Add(out.Stand.Sub(end).Mul(math.Min(1, left/math.Max(end.DistanceM(out.Stand), 1e-9))))
	}
	good, all := 0.0, 0.0
	present := out.Line[0].DistanceM(fates[0].At[0])
	for _, f := range fates {
		all += f.Chance
		nearest, seenS := math.Inf(1), 0.0
		clearS := out.Seconds
		if clearS == escape.NoneInReach {
			clearS = 120
		}
		until := clearS
		if moves {
			until += 10
		}
		for s := 0.0; s <= math.Min(until, 119.9); s += tick {
			i := int(s)
			it := f.At[i].Add(f.At[i+1].Sub(f.At[i]).Mul(s - float64(i)))
			d := me(s).DistanceM(it)
			nearest = math.Min(nearest, d)
			if s >= clearS-tick/2 {
				if d < needM-0.5 && land.Snap.Ground.Visible(me(s), it) {
					seenS += tick
				}
			}
		}
		if !moves {
			seenS = 0
			if out.Stand.DistanceM(f.At[0]) < needM-0.5 && land.Snap.Ground.Visible(out.Stand, f.At[0]) {
				seenS = math.Inf(1)
			}
		}
		// Looks are two seconds apart: a glimpse between them is not noticed.
		if nearest >= out.Kept*present-0.05 && seenS <= 2 {
			good += f.Chance
		}
	}
	if good < 0.9*all-1e-9 {
		t.Errorf("holds with chance %.2f of %.2f: %s at %.1f m/s, %.0f s, promised to keep %.0f %% of %.1f m (nearest %.1f)",
			good, all, out.Means, out.PaceMPS, out.Seconds, 100*out.Kept, present, out.NearestM)
	}
}

// TestBriskerIsNeverWorse: more pace keeps at least as much of the distance, and a
// threat that stands is easier than one that comes.
func TestBriskerIsNeverWorse(t *testing.T) {
	land := on(t, maptest.Town(t))
	rng := rand.New(rand.NewPCG(8, 3))
	dog := maptest.Kessa()
	worse, tried := 0, 0
	for _, at := range maptest.RandomDoors(land.Snap, 80, rng) {
		threat, ok := threatNear(land, at, 25, rng)
		if !ok {
			continue
		}
		tried++
		_, stands, err := escape.WaysOut(land, at, escape.Threat{At: threat, Kind: exposure.DogOnLead}, &dog)
		if err != nil {
			t.Fatal(err)
		}
		calm, brisk, err := escape.WaysOut(land, at, escape.Threat{At: threat, SpeedMPS: 1.4, Kind: exposure.DogOnLead}, &dog)
		if err != nil {
			t.Fatal(err)
		}
		if brisk.Kept < calm.Kept-1e-9 || stands.Kept < brisk.Kept-1e-9 {
			worse++
		}
		if calm.Means == "" || brisk.Means == "" || len(brisk.Line) == 0 {
			t.Errorf("no answer: %+v", brisk)
		}
	}
	if tried < 25 || worse > tried/20 {
		t.Errorf("%d of %d are worse with more pace or against a standing threat", worse, tried)
	}
}

func TestCulDeSacMeansAside(t *testing.T) {
	land := on(t, maptest.World(t, "cul-de-sac"))
	g := land.Snap.Graph
	dead := int32(-1)
	for v := range g.Vertex {
		if g.Star.First[v+1]-g.Star.First[v] == 1 {
			dead = int32(v)
		}
	}
	if dead < 0 {
		t.Fatal("the world has no dead end")
	}
	a := g.Star.First[dead]
	line := g.EdgeLine(g.ArcEdge[a])
	if g.EdgeArc[g.ArcEdge[a]] != a {
		line = line.Reversed()
	}
	dog := maptest.Kessa()
	at, threat := line.At(2), line.At(math.Min(30, line.LengthM()-1))
	calm, _, err := escape.WaysOut(land, at, escape.Threat{At: threat, SpeedMPS: 1.4, Kind: exposure.DogOnLead}, &dog)
	if err != nil {
		t.Fatal(err)
	}
	if calm.Means != escape.StepAside || calm.Aside == "" {
		t.Errorf("at the end of a cul-de-sac with the way barred: %+v", calm)
	}
}

// TestNothingAboutMeansAway: with nothing else on the map the way out of a threat
// that stands leads straight away from it along the way.
func TestNothingAboutMeansAway(t *testing.T) {
	land := on(t, maptest.World(t, "crossing"))
	g := land.Snap.Graph
	line := g.EdgeLine(0)
	if line.LengthM() < 90 {
		t.Fatalf("the arm is %.0f m long", line.LengthM())
	}
	if len(g.InBox(plane.Box{Min: line[0], Max: line[0]}.Grown(3))) == 1 {
		line = line.Reversed() // the centre first
	}
	dog := maptest.Kessa()
	at, threat := line.At(40), line.At(15)
	calm, brisk, err := escape.WaysOut(land, at, escape.Threat{At: threat, Kind: exposure.DogOnLead}, &dog)
	if err != nil {
		t.Fatal(err)
	}
	for _, out := range []escape.WayOut{calm, brisk} {
		if out.Means != escape.GoBack || out.Turn != network.TurnBack || out.Kept != 0.9 || out.Aside != "" {
			t.Errorf("%+v", out)
		}
		if want := (38 - 25) / out.PaceMPS; math.Abs(out.Seconds-want) > 10/out.PaceMPS {
			t.Errorf("%.1f s to 38 m at %.1f m/s, want about %.1f", out.Seconds, out.PaceMPS, want)
		}
	}
	far, _, err := escape.WaysOut(land, line.At(80), escape.Threat{At: threat, Kind: exposure.DogOnLead}, &dog)
	if err != nil || far.Means != escape.Stay || far.Seconds != 0 {
		t.Errorf("65 m off, with 38 needed: %+v, %v", far, err)
	}
	near, _, err := escape.WaysOut(land, line.At(60), escape.Threat{At: threat, SpeedMPS: 1.4, Kind: exposure.DogOnLead}, &dog)
	if err != nil || near.Means == escape.Stay {
		t.Errorf("45 m off and coming, with 38 needed: %+v, %v", near, err)
	}
}

// TestFiguresWaysOut measures ways out from random places of a city.
func TestFiguresWaysOut(t *testing.T) {
	maptest.Figures(t)
	land := on(t, maptest.Delaware(t))
	rng := rand.New(rand.NewPCG(4, 4))
	dog := maptest.Kessa()
	for _, speed := range []float64{0, 1.4, 3} {
		var ms []float64
		kept := map[bool]int{}
		means := map[escape.Means]int{}
		for _, at := range maptest.Doors(land.Snap, 400, 9) {
			threat, ok := threatNear(land, at, 25, rng)
			if !ok {
				continue
			}
			begin := time.Now()
			_, brisk, err := escape.WaysOut(land, at, escape.Threat{At: threat, SpeedMPS: speed, Kind: exposure.DogOnLead}, &dog)
			if err != nil {
				t.Fatal(err)
			}
			ms = append(ms, float64(time.Since(begin).Microseconds())/1000)
			kept[brisk.Kept >= 0.9]++
			means[brisk.Means]++
		}
		sort.Float64s(ms)
		fmt.Printf("  ways out, threat at 25 m coming at %.1f m/s, both paces: p50 %.2f ms, p99 %.2f ms; nine tenths of the distance kept in %d of %d; %v\n",
			speed, maptest.Quantile(ms, .5), maptest.Quantile(ms, .99), kept[true], len(ms), means)
	}
}
