package search_test

import (
	"context"
	"errors"
	"testing"

	"wideberth/routing/search"
)

func TestWorkIsSpent(t *testing.T) {
	w := search.NewWork(t.Context(), 1000)
	for range 10 {
		if err := w.Spend(100); err != nil {
			t.Fatal(err)
		}
	}
	for range 3 {
		if err := w.Spend(1); !errors.Is(err, search.ErrWork) {
			t.Errorf("over the budget: %v", err)
		}
	}
	if w.Left() != 0 {
		t.Errorf("%d left", w.Left())
	}
}

// TestWorkEndsWithItsContext: at the first step, and later within a bounded number
// of steps.
func TestWorkEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	w := search.NewWork(ctx, 1<<40)
	if err := w.Spend(1); err != nil {
		t.Fatal(err)
	}
	cancel()
	steps := 0
	for ; steps < 1<<20; steps++ {
		if err := w.Spend(1); err != nil {
			if !errors.Is(err, context.Canceled) {
				t.Error(err)
			}
			break
		}
	}
	if steps > 1<<17 {
		t.Errorf("went on for %d steps", steps)
	}
	if err := w.Spend(1); err == nil {
		t.Error("goes on after it was ended")
	}
	if err := search.NewWork(ctx, 10).Spend(0); !errors.Is(err, context.Canceled) {
		t.Errorf("begun after the end: %v", err)
	}
}
