package search_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// realMap is the Delaware extract that the OSM module carries as test data
// (© OpenStreetMap contributors) with a field of costs drawn over it: by class
// of street, higher near schools, parks, pitches and random hot spots.
type realMap struct {
	g     *network.Graph
	frame plane.Frame
	p     search.LoopProblem
	err   error
}

// walkingSpeedMPS turns length into time in these tests.
const walkingSpeedMPS = 1.3

var delaware = sync.OnceValue(func() *realMap {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		return &realMap{err: err}
	}
	rules := []osmdata.Rule{
		{Key: "amenity", Values: []string{"school"}, As: "school"},
		{Key: "leisure", Values: []string{"park", "pitch", "playground"}, As: "leisure"},
	}
	path := filepath.Join(strings.TrimSpace(string(out)), "testdata", "delaware-latest.osm.pbf")
	x, err := osmdata.ReadFile(context.Background(), path, rules, nil)
	if err != nil {
		return &realMap{err: err}
	}
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{
		Use: func(s *osmdata.Street) bool { return s.Foot && s.Flags&osmdata.FlagDriveway == 0 },
	})
	if err != nil {
		return &realMap{err: err}
	}
	m := &realMap{g: g, frame: x.Frame}
	m.drawCosts(x.Features)
	return m
})

// classRate is what the class of a street adds to the rate of trouble, per
// 1000 s of walking: an invented field with realistic contrasts.
var classRate = map[osmdata.Class]float64{
	osmdata.Trunk: 1.2, osmdata.Primary: 1, osmdata.Secondary: .8, osmdata.Tertiary: .4, osmdata.Unclassified: .2,
	osmdata.Residential: .1, osmdata.LivingStreet: .08, osmdata.Service: .12, osmdata.Pedestrian: .4,
	osmdata.Cycleway: .25, osmdata.Footway: .05, osmdata.Path: .03, osmdata.Steps: .05,
}

type hotSpot struct {
	at             plane.Point
	reachM, height float64
}

// hotSpotCellM is the size of the squares that hot spots are looked up by.
const hotSpotCellM = 800

func (m *realMap) drawCosts(features []osmdata.Feature) {
	r := rand.New(rand.NewPCG(2024, 6))
	cells := map[[2]int][]hotSpot{}
	add := func(s hotSpot) {
		cx, cy := int(math.Floor(s.at.X/hotSpotCellM)), int(math.Floor(s.at.Y/hotSpotCellM))
		for dx := -1; dx <= 1; dx++ {
			for dy := -1; dy <= 1; dy++ {
				c := [2]int{cx + dx, cy + dy}
				cells[c] = append(cells[c], s)
			}
		}
	}
	for _, f := range features {
		add(hotSpot{f.Point, 70 + 120*r.Float64(), 0.5 + r.ExpFloat64()})
	}
	for range len(m.g.Vertex) / 60 {
		add(hotSpot{m.g.Vertex[r.IntN(len(m.g.Vertex))], 50 + 150*r.Float64(), r.ExpFloat64()})
	}
	arcs := m.g.Star.ArcCount()
	m.p = search.LoopProblem{Graph: &m.g.Star, TimeS: make([]float32, arcs), Cost: [][]float32{make([]float32, arcs)}}
	for a := range arcs {
		e := m.g.ArcEdge[a]
		line := m.g.EdgeLine(e)
		at := line.At(line.LengthM() / 2)
		rate := 0.05 + classRate[m.g.Class[e]]
		for _, s := range cells[[2]int{int(math.Floor(at.X / hotSpotCellM)), int(math.Floor(at.Y / hotSpotCellM))}] {
			d := at.DistanceM(s.at) / s.reachM
			rate += s.height * math.Exp(-d*d/2)
		}
		m.p.TimeS[a] = m.g.LengthM[e] / walkingSpeedMPS
		m.p.Cost[0][a] = float32(rate/1000) * m.p.TimeS[a]
	}
}

// places are the centres of the towns that doors are drawn in.
var places = map[string][2]float64{
	"Wilmington": {-75.5466, 39.7447},
	"Newark":     {-75.7497, 39.6837},
	"Dover":      {-75.5244, 39.1582},
}

// doors draws vertices within 4 km of a town's centre.
func (m *realMap) doors(place string, n int, seed uint64) []int32 {
	c := places[place]
	centre := m.frame.Forward(c[0], c[1])
	var near []int32
	for v, at := range m.g.Vertex {
		if at.DistanceM(centre) <= 4000 {
			near = append(near, int32(v))
		}
	}
	r := rand.New(rand.NewPCG(seed, 3))
	doors := make([]int32, n)
	for i := range doors {
		doors[i] = near[r.IntN(len(near))]
	}
	return doors
}

// needDelaware skips unless slow tests are asked for.
func needDelaware(t testing.TB) *realMap {
	if os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Skip("reads the whole Delaware extract, about 10 s: set WIDEBERTH_SLOW=1 to run")
	}
	m := delaware()
	if m.err != nil {
		t.Fatal(m.err)
	}
	return m
}

func window(p search.LoopProblem, minutes float64) search.LoopProblem {
	p.MinS, p.MaxS = minutes*60*0.97, minutes*60*1.10
	return p
}

// quantile of a sorted slice.
func quantile(x []float64, q float64) float64 { return x[int(q*float64(len(x)-1))] }

func TestNoDoorInDelawareIsMissed(t *testing.T) {
	m := needDelaware(t)
	s := search.NewLoopSolver()
	for place := range places {
		for _, minutes := range []float64{20, 30, 45, 60} {
			t.Run(fmt.Sprintf("%s %.0f min", place, minutes), func(t *testing.T) {
				p := window(m.p, minutes)
				var took []float64
				count := map[search.LoopStatus]int{}
				chains := 0
				for _, p.Door = range m.doors(place, 200, 1) {
					start := time.Now()
					a, err := s.Solve(p)
					if err != nil {
						t.Fatal(err)
					}
					took = append(took, time.Since(start).Seconds()*1000)
					count[a.Status]++
					chains += a.Edges
					if a.Status == search.LoopUnknown {
						t.Errorf("door %d: nothing found and nothing proved", p.Door)
					}
				}
				slices.Sort(took)
				t.Logf("%d loops, %d without a cycle, %d cannot fill the window; mean %d chains; p50 %.2f p99 %.2f ms",
					count[search.LoopFound], count[search.LoopNoCycle], count[search.LoopWindowUnfilled],
					chains/200, quantile(took, .5), quantile(took, .99))
			})
		}
	}
}

func TestCertificatesInDelaware(t *testing.T) {
	m := needDelaware(t)
	s := search.NewLoopSolver()
	for _, work := range []int{search.DefaultProofWork, 5 * search.DefaultProofWork} {
		p := window(m.p, 30)
		var took []float64
		best, within5, within25, better := 0, 0, 0, 0
		for _, p.Door = range m.doors("Wilmington", 200, 2) {
			a, err := s.Solve(p)
			if err != nil || a.Status != search.LoopFound {
				continue
			}
			start := time.Now()
			proof, err := s.Certify(p, a.Loop, work)
			if err != nil {
				t.Fatal(err)
			}
			took = append(took, time.Since(start).Seconds()*1000)
			if proof.Gap == 0 {
				best++
			}
			if proof.Gap <= .05 {
				within5++
			}
			if proof.Gap <= .25 {
				within25++
			}
			if proof.Best.Minimised() < a.Loop.Minimised()*(1-1e-9) {
				better++
				t.Logf("door %d: the proof found %.3f %% better", p.Door, 100*(1-proof.Best.Minimised()/a.Loop.Minimised()))
			}
		}
		slices.Sort(took)
		n := float64(len(took))
		t.Logf("work %d: %.0f %% best, %.0f %% within 5 %%, %.0f %% within 25 %%, %d improved; p50 %.1f p90 %.1f p99 %.1f ms",
			work, 100*float64(best)/n, 100*float64(within5)/n, 100*float64(within25)/n, better,
			quantile(took, .5), quantile(took, .9), quantile(took, .99))
		if float64(best) < .6*n || float64(within5) < .8*n {
			t.Errorf("work %d: %d of %.0f proved best, %d within 5 %%; want 60 %% and 80 %%", work, best, n, within5)
		}
	}
}

func BenchmarkDelawareLoops(b *testing.B) {
	m := needDelaware(b)
	for _, minutes := range []float64{30, 60} {
		b.Run(fmt.Sprintf("Wilmington%.0f", minutes), func(b *testing.B) {
			p := window(m.p, minutes)
			doors := m.doors("Wilmington", 200, 1)
			s := search.NewLoopSolver()
			var took []float64
			b.ReportAllocs()
			b.ResetTimer()
			for i := range b.N {
				p.Door = doors[i%len(doors)]
				start := time.Now()
				if _, err := s.Solve(p); err != nil {
					b.Fatal(err)
				}
				took = append(took, time.Since(start).Seconds()*1000)
			}
			slices.Sort(took)
			b.ReportMetric(quantile(took, .5), "p50-ms")
			b.ReportMetric(quantile(took, .99), "p99-ms")
		})
	}
}
