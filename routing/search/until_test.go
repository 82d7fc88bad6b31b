package search

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"
	"testing"
)

// patience is a context that ends when it has been asked so many times.
type patience struct {
	context.Context
	left atomic.Int64
}

func newPatience(asked int64) *patience {
	p := &patience{Context: context.Background()}
	p.left.Store(asked)
	return p
}

func (p *patience) Err() error {
	if p.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// TestTimedSearchesEnd: with their context, and with their work counted in partial
// paths looked at, of which there are many more than are kept.
func TestTimedSearchesEnd(t *testing.T) {
	r := seeded(t, 7)
	const side = 24
	w := newPathWorld(t, side*side, roadLattice(r, side))
	q := w.timed(0, side*side-1, 1e5)
	q.Cost = [][]float32{w.cost, slices.Clone(w.cost)}
	for a := range q.Cost[1] {
		q.Cost[1][a] *= 0.2 + r.Float32()
	}
	q.ChangeS = []float64{1500}
	if _, err := w.router.Cheapest(q); err != nil {
		t.Fatal(err)
	}
	q.Work = NewWork(t.Context(), 1<<40)
	whole, proved, err := w.router.Front(q)
	if err != nil || !proved {
		t.Fatalf("%v, proved %v", err, proved)
	}
	did := 1<<40 - q.Work.Left()
	if did < 100_000 {
		t.Fatalf("only %d looked at: nothing to cut short", did)
	}
	q.Work = NewWork(t.Context(), did/3)
	cut, proved, err := w.router.Front(q)
	if err != nil || proved || len(cut) == 0 {
		t.Fatalf("with a third of the work: %d ways, proved %v, %v", len(cut), proved, err)
	}
	for _, way := range cut {
		w.mustLead(t, way.Arcs, q.From, q.To)
	}
	if q.Work.Left() != 0 || cut[len(cut)-1].Cost < whole[len(whole)-1].Cost-1e-9 {
		t.Errorf("%d work left, cheapest %v, in truth %v", q.Work.Left(), cut[len(cut)-1].Cost, whole[len(whole)-1].Cost)
	}
	for _, asked := range []int64{0, 1} {
		q.Work = NewWork(newPatience(asked), 1<<40)
		if _, _, err := w.router.Front(q); !errors.Is(err, context.Canceled) {
			t.Errorf("front, given up after %d: %v", asked, err)
		}
	}
	q.Work = NewWork(newPatience(0), 1<<40)
	if _, err := w.router.Cheapest(q); !errors.Is(err, context.Canceled) {
		t.Errorf("cheapest, given up: %v", err)
	}
}
