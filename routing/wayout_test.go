package routing_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// threatNear puts a threat on the network some way from a place, in sight of it.
func threatNear(p *routing.Planner, at plane.Point, awayM float64, rng *rand.Rand) (plane.Point, bool) {
	g := p.Snapshot().Graph
	edges := g.InBox(plane.Box{Min: at, Max: at}.Grown(awayM + 5))
	for range 60 {
		if len(edges) == 0 {
			return plane.Point{}, false
		}
		line := g.EdgeLine(edges[rng.IntN(len(edges))])
		q := line.At(rng.Float64() * line.LengthM())
		if math.Abs(q.DistanceM(at)-awayM) < 3 && p.Snapshot().Ground.Visible(at, q) {
			return q, true
		}
	}
	return plane.Point{}, false
}

// TestWayOutKeepsItsWord replays each way out against a threat that stands, in a
// simulation that shares no code with the search: never nearer than the share
// kept, and at the end far enough or out of sight.
func TestWayOutKeepsItsWord(t *testing.T) {
	p := planner(t)
	const seed = 5
	rng := rand.New(rand.NewPCG(seed, 2))
	dog := kessa()
	tried, held := 0, 0
	for _, at := range randomDoors(p, 120, rng) {
		threat, ok := threatNear(p, at, 25, rng)
		if !ok {
			continue
		}
		tried++
		calm, brisk, err := p.WaysOut(at, routing.Threat{At: threat, Kind: exposure.DogOnLead}, &dog)
		if err != nil {
			t.Fatal(err)
		}
		for _, out := range []routing.WayOut{calm, brisk} {
			if out.Aside == "" && out.Kept > 0 {
				checkStanding(t, p, &out, threat, 38)
			}
		}
		if brisk.Kept >= 0.7 {
			held++
		}
	}
	if tried < 40 || held < tried*9/10 {
		t.Errorf("%d of %d standing threats answered while keeping seven tenths of the distance (seed %d)", held, tried, seed)
	}
}

func checkStanding(t *testing.T, p *routing.Planner, out *routing.WayOut, threat plane.Point, needM float64) {
	t.Helper()
	line := out.Line
	nearest := line[0].DistanceM(threat)
	present := nearest
	for s := 0.0; s <= out.Seconds; s += 0.25 {
		at := line.At(math.Min(s*out.PaceMPS, line.LengthM()))
		if p.Snapshot().Ground.Visible(at, threat) {
			nearest = math.Min(nearest, at.DistanceM(threat))
		}
	}
	if nearest < out.Kept*present-1.5 {
		t.Errorf("comes to %.1f m of %.1f, promised to keep %.0f %%", nearest, present, 100*out.Kept)
	}
	end := line[len(line)-1]
	if end.DistanceM(threat) < needM-0.5 && p.Snapshot().Ground.Visible(end, threat) {
		t.Errorf("ends %.1f m from it and in sight; %.0f m are needed", end.DistanceM(threat), needM)
	}
}

// TestBriskerIsNeverWorse: more pace keeps at least as much of the distance, and a
// threat that stands is easier than one that comes.
func TestBriskerIsNeverWorse(t *testing.T) {
	p := planner(t)
	rng := rand.New(rand.NewPCG(8, 3))
	dog := kessa()
	worse, tried := 0, 0
	for _, at := range randomDoors(p, 80, rng) {
		threat, ok := threatNear(p, at, 25, rng)
		if !ok {
			continue
		}
		tried++
		_, stands, err := p.WaysOut(at, routing.Threat{At: threat, Kind: exposure.DogOnLead}, &dog)
		if err != nil {
			t.Fatal(err)
		}
		calm, brisk, err := p.WaysOut(at, routing.Threat{At: threat, SpeedMPS: 1.4, Kind: exposure.DogOnLead}, &dog)
		if err != nil {
			t.Fatal(err)
		}
		if brisk.Kept < calm.Kept-1e-9 || stands.Kept < brisk.Kept-0.101 {
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
	p := small(t, "cul-de-sac")
	g := p.Snapshot().Graph
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
	dog := kessa()
	at, threat := line.At(2), line.At(math.Min(30, line.LengthM()-1))
	calm, _, err := p.WaysOut(at, routing.Threat{At: threat, SpeedMPS: 1.4, Kind: exposure.DogOnLead}, &dog)
	if err != nil {
		t.Fatal(err)
	}
	if calm.Means != routing.StepAside || calm.Aside == "" {
		t.Errorf("at the end of a cul-de-sac with the way barred: %+v", calm)
	}
}

// TestFiguresWaysOut measures ways out from random places of a city.
func TestFiguresWaysOut(t *testing.T) {
	figures(t)
	p := delaware(t)
	rng := rand.New(rand.NewPCG(4, 4))
	dog := kessa()
	for _, speed := range []float64{0, 1.4, 3} {
		var ms []float64
		kept := map[bool]int{}
		means := map[routing.Means]int{}
		for _, at := range doors(p, 400, 9) {
			threat, ok := threatNear(p, at, 25, rng)
			if !ok {
				continue
			}
			begin := time.Now()
			_, brisk, err := p.WaysOut(at, routing.Threat{At: threat, SpeedMPS: speed, Kind: exposure.DogOnLead}, &dog)
			if err != nil {
				t.Fatal(err)
			}
			ms = append(ms, float64(time.Since(begin).Microseconds())/1000)
			kept[brisk.Kept >= 0.9]++
			means[brisk.Means]++
		}
		sort.Float64s(ms)
		fmt.Printf("  ways out, threat at 25 m coming at %.1f m/s, both paces: p50 %.2f ms, p99 %.2f ms; nine tenths of the distance kept in %d of %d; %v\n",
			speed, quantile(ms, .5), quantile(ms, .99), kept[true], len(ms), means)
	}
}
