package beside

import (
	"context"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/network"
)

// state is the Delaware extract that the OSM reading module carries as its test data
// (© OpenStreetMap contributors) with its two networks; made once for all benchmarks.
type state struct {
	x           *osmdata.Extract
	walk, motor *network.Graph
	t           *Terrain
}

var delaware = sync.OnceValues(func() (*state, error) {
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		return nil, err
	}
	x, err := osmdata.Options{}.ReadFile(context.Background(), filepath.Join(strings.TrimSpace(string(dir)), "testdata", "delaware-latest.osm.pbf"))
	if err != nil {
		return nil, err
	}
	s := &state{x: x, t: NewTerrain(x, nil)}
	if s.walk, _, err = network.Build(x.Streets, x.Barred, network.Options{}); err != nil {
		return nil, err
	}
	s.motor, _, err = network.Build(x.Streets, nil, network.Options{Use: func(s *osmdata.Street) bool { return s.Motor }})
	return s, err
})

func wholeState(b *testing.B) *state {
	s, err := delaware()
	if err != nil {
		b.Skip("no Delaware extract: ", err)
	}
	return s
}

func even(n int, perDay float32) []float32 {
	out := make([]float32, n)
	for i := range out {
		out[i] = perDay
	}
	return out
}

// everywhere is a flow of every pattern on every way.
func (s *state) everywhere() *Streams {
	n, m := s.walk.EdgeCount(), s.motor.EdgeCount()
	st := &Streams{}
	st.AddNetwork(s.walk, true, [exposure.PatternCount][]float32{exposure.DogWalks: even(n, 20), exposure.WalkingTrips: even(n, 30),
		exposure.SchoolTrips: even(n, 5), exposure.WheelTrips: even(n, 5)})
	st.AddNetwork(s.motor, false, [exposure.PatternCount][]float32{exposure.CarTraffic: even(m, 500), exposure.HeavyTraffic: even(m, 20)})
	for _, l := range s.x.Rails {
		st.AddRail(l, 20)
	}
	st.Seal()
	return st
}

func BenchmarkDelawareTerrain(b *testing.B) {
	s := wholeState(b)
	for b.Loop() {
		NewTerrain(s.x, nil)
	}
}

func BenchmarkDelawareSamples(b *testing.B) {
	s := wholeState(b)
	n := 0
	for b.Loop() {
		sm := Sampler{G: s.walk}
		n = 0
		for e := range int32(s.walk.EdgeCount()) {
			n += len(sm.Samples(e))
		}
	}
	b.ReportMetric(float64(n), "samples")
}

func BenchmarkDelawareRoom(b *testing.B) {
	s := wholeState(b)
	byDefault := 0
	for b.Loop() {
		left, _, err := Room(context.Background(), s.walk, s.t, nil, 1, nil)
		if err != nil {
			b.Fatal(err)
		}
		byDefault = 0
		for _, l := range left {
			if l.Default {
				byDefault++
			}
		}
	}
	b.ReportMetric(float64(byDefault)/float64(s.walk.EdgeCount()), "default")
}

func BenchmarkDelawareSight(b *testing.B) {
	s := wholeState(b)
	for b.Loop() {
		if _, _, err := Sight(context.Background(), s.walk, s.t, 1, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDelawareNear(b *testing.B) {
	s := wholeState(b)
	st := s.everywhere()
	b.ResetTimer()
	for b.Loop() {
		if _, err := Near(context.Background(), s.walk, s.t, st, 1, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(st.strips)), "strips")
}
