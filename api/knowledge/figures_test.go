package knowledge

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// Where the figures are taken: doors within a kilometre of a place in Wilmington.
const (
	figuresLon, figuresLat = -75.55, 39.745
	figuresReachM          = 1000
)

// figuresDoors are places to start from near the place.
func figuresDoors(p *routing.Planner, n int) []plane.Point {
	at := p.Frame().Forward(figuresLon, figuresLat)
	edges := p.Snapshot().Graph.InBox(plane.Box{Min: at, Max: at}.Grown(figuresReachM))
	rng := rand.New(rand.NewPCG(7, 7))
	out := make([]plane.Point, n)
	for i := range out {
		line := p.Snapshot().Graph.EdgeLine(edges[rng.IntN(len(edges))])
		out[i] = line.At(rng.Float64() * line.LengthM())
	}
	return out
}

// planning asks for thirty-minute loops as a server does, knowledge included.
type planning struct {
	base    *Base
	planner *routing.Planner
	who     store.Who
	wish    routing.Wish
}

// newPlanning is an account with so many reports about the place.
func newPlanning(t testing.TB, p *routing.Planner, reports int) *planning {
	t.Helper()
	s := newShelterOn(t, p, filepath.Join(t.TempDir(), "memory.db"))
	rng := rand.New(rand.NewPCG(8, 8))
	for range reports {
		in := kept.ReportInput{Kind: "dog_behind_fence", Lat: ptr(figuresLat + rng.NormFloat64()*.003), Lon: ptr(figuresLon + rng.NormFloat64()*.004), Number: 1, There: true}
		_, err := s.AddReport(t.Context(), s.who, in)
		s.ok(err)
	}
	return &planning{s.base(s.Store), p, s.who, routing.Wish{Shape: routing.Loop, Minutes: 30, Dog: *s.fern.Model(), Depart: time.Date(2026, 11, 25, 17, 0, 0, 0, p.Zone())}}
}

func (p *planning) plan(t testing.TB, from plane.Point) {
	t.Helper()
	planner, fa, err := p.base.Of(t.Context(), p.who, p.planner)
	if err != nil {
		t.Fatal(err)
	}
	w := p.wish
	w.From, w.Factors = from, fa
	var none *reach.Infeasible
	if _, err := planner.Plan(t.Context(), w); err != nil && !errors.As(err, &none) {
		t.Fatal(err)
	}
}

// BenchmarkPlan plans from the same doors for accounts with more and more reports.
// Take as many rounds as there are doors, or a multiple: -benchtime 200x.
func BenchmarkPlan(b *testing.B) {
	p := on(b, maptest.Delaware(b))
	doors := figuresDoors(p, 200)
	for _, reports := range []int{0, 1, 10, 100} {
		account := newPlanning(b, p, reports)
		account.plan(b, doors[0]) // what is derived once is derived
		b.Run(fmt.Sprintf("%d reports", reports), func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				account.plan(b, doors[i%len(doors)])
			}
		})
	}
}

// TestFiguresReports prints what reports add to a plan. Accounts take turns at each
// door, so that a busy machine is busy for all alike; the middle of the ratios is
// told, as a report beside a door may make another walk the best, and another search.
func TestFiguresReports(t *testing.T) {
	maptest.Figures(t)
	p := on(t, maptest.Delaware(t))
	doors := figuresDoors(p, 200)
	counts := []int{0, 0, 1, 10, 100}
	accounts := make([]*planning, len(counts))
	for i, n := range counts {
		accounts[i] = newPlanning(t, p, n)
		accounts[i].plan(t, doors[0])
	}
	took, bytes := make([][]float64, len(counts)), make([]float64, len(counts))
	var before, after runtime.MemStats
	for d, from := range doors {
		for turn := range counts {
			i := (turn + d) % len(counts)
			runtime.ReadMemStats(&before)
			begun := time.Now()
			accounts[i].plan(t, from)
			took[i] = append(took[i], time.Since(begun).Seconds())
			runtime.ReadMemStats(&after)
			bytes[i] += float64(after.TotalAlloc - before.TotalAlloc)
		}
	}
	for i, n := range counts {
		ratios := make([]float64, len(took[i]))
		sum := 0.0
		for d := range ratios {
			ratios[d] = took[i][d] / took[0][d]
			sum += took[i][d]
		}
		slices.Sort(ratios)
		fmt.Printf("  plan of 30 min, %3d reports: %.1f ms, %.2f MB, middle ratio to none %.3f, allocation %.3f\n",
			n, 1000*sum/float64(len(ratios)), bytes[i]/float64(len(ratios))/1e6, ratios[len(ratios)/2], bytes[i]/bytes[0])
	}
	a, b := exposureOf(accounts[2]), exposureOf(accounts[0])
	if a.SourceCount() != b.SourceCount()+1 {
		t.Errorf("the account with a report plans on %d sources, the other on %d", a.SourceCount(), b.SourceCount())
	}
}

func exposureOf(p *planning) *exposure.Field {
	planner, _, err := p.base.Of(context.Background(), p.who, p.planner)
	if err != nil {
		return nil
	}
	return planner.Snapshot().Field
}
