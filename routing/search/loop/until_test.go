package loop

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

// TestLoopSearchesEnd: every search of a solver ends with its context wherever it is
// just then, and the solver is as good as new afterwards.
func TestLoopSearchesEnd(t *testing.T) {
	p := windowOf(suburbTown(), 25)
	s := NewSolver()
	var first Answer
	for _, p.Door = range doorsOf(&p, 20, 3) {
		var err error
		if first, err = s.Solve(p); err != nil {
			t.Fatal(err)
		}
		if first.Status == Found && first.Edges > smallCore {
			break
		}
	}
	if first.Status != Found {
		t.Fatal("no door has a loop")
	}
	for name, search := range map[string]func() error{
		"solve":          func() error { _, err := s.Solve(p); return err },
		"there and back": func() error { _, err := s.ThereAndBack(p); return err },
		"laps":           func() error { _, err := s.Laps(p); return err },
		"longest":        func() error { _, err := s.Longest(p, 2*first.Walk.Cost); return err },
		"others":         func() error { _, err := s.Others(p, []Walk{first.Walk}, 3); return err },
		"certify":        func() error { _, err := s.Certify(p, first.Walk, 0); return err },
	} {
		counting := newPatience(1 << 40)
		s.Until(counting)
		if err := search(); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		asked := 1<<40 - counting.left.Load()
		for _, share := range []int64{0, 1, 2, 3, 4} {
			s.Until(newPatience(asked * share / 5))
			if err := search(); !errors.Is(err, context.Canceled) {
				t.Errorf("%s, given up at %d of %d: %v", name, asked*share/5, asked, err)
			}
		}
	}
	s.Until(t.Context())
	again, err := s.Solve(p)
	if err != nil || !slices.Equal(again.Walk.Arcs, first.Walk.Arcs) {
		t.Errorf("afterwards another answer: %v", err)
	}
}
