package routing_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/osm/osmpbf"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// bareScan reads an extract with one decoder and throws everything away: the
// yardstick of an import.
func bareScan(t testing.TB, path string) time.Duration {
	t.Helper()
	begin := time.Now()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s := osmpbf.New(context.Background(), f, 1)
	defer s.Close()
	for s.Scan() {
	}
	if s.Err() != nil {
		t.Fatal(s.Err())
	}
	return time.Since(begin)
}

// TestFiguresImport measures an import of the state against a bare scan in the
// same run, and opening its snapshot.
func TestFiguresImport(t *testing.T) {
	maptest.Figures(t)
	path := maptest.DelawarePath(t)
	out := filepath.Join(t.TempDir(), "state.wb")
	var ratios []float64
	for range 3 {
		scan := bareScan(t, path)
		begin := time.Now()
		snap, err := snapshot.Import(context.Background(), path, snapshot.ImportOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if err := snap.WriteFile(out); err != nil {
			t.Fatal(err)
		}
		ratios = append(ratios, float64(time.Since(begin))/float64(scan))
	}
	var opens []time.Duration
	for range 5 {
		begin := time.Now()
		if _, err := snapshot.Open(out); err != nil {
			t.Fatal(err)
		}
		opens = append(opens, time.Since(begin))
	}
	info, err := os.Stat(out)
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(ratios)
	slices.Sort(opens)
	fmt.Printf("  import of the state / bare one-decoder scan: median %.1f (%.1f to %.1f); snapshot %.1f MB, opened in %d ms\n",
		ratios[1], ratios[0], ratios[2], float64(info.Size())/1e6, opens[2].Milliseconds())
}

// TestFiguresLoops measures loops from random doors: how often there is one, how
// long the answer takes, and what knowing the exposure is worth against a search
// that knows only length.
func TestFiguresLoops(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	for _, minutes := range []float64{20, 30, 45, 60} {
		var took []float64
		var ratio []float64
		found, none, back := 0, 0, 0
		for _, at := range maptest.Doors(p.Snapshot(), 200, 1) {
			w := routing.Wish{Shape: routing.Loop, From: at, Minutes: minutes, Dog: maptest.Kessa(), Depart: time.Date(2026, 11, 25, 17, 0, 0, 0, p.Zone())}
			begin := time.Now()
			plan, err := p.Plan(context.Background(), w)
			took = append(took, float64(time.Since(begin).Microseconds())/1000)
			var inf *reach.Infeasible
			switch {
			case errors.As(err, &inf):
				none++
				continue
			case err != nil:
				t.Fatal(err)
			case plan.Walks[0].Shape == routing.Loop:
				found++
			default:
				back++
			}
			blind := w
			blind.Dog = exposure.Dog{Name: "indifferent", SpeedMPS: 1.2}
			other, err := p.Plan(context.Background(), blind)
			if err == nil && other.Walks[0].Shape == routing.Loop && plan.Walks[0].Shape == routing.Loop {
				x := p.Judge(w, &other.Walks[0])
				ratio = append(ratio, plan.Walks[0].ExpectedReactions/max(x, 1e-12))
			}
		}
		fmt.Printf("  loops of %2.0f min from 200 doors: %d loops, %d other shapes, %d none; p50 %.1f ms, p95 %.1f ms, p99 %.1f ms; X against length only: median %.2f\n",
			minutes, found, back, none, maptest.Quantile(took, .5), maptest.Quantile(took, .95), maptest.Quantile(took, .99), maptest.Quantile(ratio, .5))
	}
}

// TestFiguresLevels shows how the walkable length of the state falls into the
// four levels at a busy and at a quiet hour.
func TestFiguresLevels(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	dog := maptest.Kessa()
	all, _ := p.EdgesIn(p.Snapshot().Bounds, 1<<30)
	for _, hour := range []time.Time{time.Date(2026, 11, 25, 8, 15, 0, 0, p.Zone()), time.Date(2026, 11, 25, 21, 0, 0, 0, p.Zone())} {
		var length [4]float64
		sum := 0.0
		for _, e := range p.Hazards(all, &dog, hour, nil) {
			m := e.Line.LengthM()
			length[e.Level] += m
			sum += m
		}
		fmt.Printf("  share of walkable length at %s: calm %.0f %%, some %.0f %%, tight %.0f %%, hard %.0f %%\n",
			hour.Format("15:04"), 100*length[0]/sum, 100*length[1]/sum, 100*length[2]/sum, 100*length[3]/sum)
	}
}

// TestFiguresCosts measures the two halves of a cost array: what depends on the
// dog, and the hours.
func TestFiguresCosts(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	dog := maptest.Kessa()
	for _, k := range []exposure.Category{exposure.People, exposure.Traffic, exposure.Sounds} {
		dog.ByCategory[k] = exposure.Need{WorkingM: 30, ReactionM: 12}
	}
	f := p.Snapshot().Field
	edges := make([]int32, 5000)
	for i := range edges {
		edges[i] = int32(40_000 + i)
	}
	begin := time.Now()
	const runs = 200
	for range runs {
		f.Sums(&dog, edges)
	}
	perSum := time.Since(begin) / runs
	sums := f.Sums(&dog, edges)
	out := make([]float32, len(edges))
	begin = time.Now()
	for hour := range 168 {
		out = sums.Hazard(p.Clock().At(time.Date(2026, 11, 23, hour, 0, 0, 0, p.Zone())), nil, out)
	}
	fmt.Printf("  cost arrays of 5,000 edges, all kinds: dog %.2f ms, a week of 168 hours %.1f ms\n", float64(perSum.Microseconds())/1000, float64(time.Since(begin).Microseconds())/1000)
}
