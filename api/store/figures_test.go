package store_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// TestFiguresLogWrites prints how long an acknowledged log takes with twenty
// people logging at once, each as fast as it can, beside one alone. With SQLite
// every commit waits for the disk; the tests' PostgreSQL does not.
func TestFiguresLogWrites(t *testing.T) {
	if os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("measures and prints figures; set WIDEBERTH_FIGURES=1 (make figures)")
	}
	for _, c := range []struct {
		name  string
		where func(t testing.TB) string
	}{{"SQLite", newFile}, {"PostgreSQL", postgres}} {
		t.Run(c.name, func(t *testing.T) {
			for _, people := range []int{1, 20} {
				took := logWrites(t, newHouse(t, c.where(t)), people, 2000/people)
				at := func(q float64) float64 { return float64(took[int(q*float64(len(took)-1))].Microseconds()) / 1000 }
				fmt.Printf("  %-10s log write, %2d at once, %d writes: p50 %.2f ms, p95 %.2f ms, p99 %.2f ms\n", c.name, people, len(took), at(.5), at(.95), at(.99))
			}
		})
	}
}

// logWrites lets people log at once and gives how long each write took, sorted.
func logWrites(t *testing.T, h *house, people, each int) []time.Duration {
	fern := h.dog("Fern")
	took := make([][]time.Duration, people)
	var wg sync.WaitGroup
	for p := range people {
		wg.Go(func() {
			for i := range each {
				in := meeting(fmt.Sprintf("p%d/%d", p, i))
				in.Walk, in.Note = fmt.Sprintf("w%d", p), strings.Repeat("n", 100)
				begin := time.Now()
				if _, _, err := h.AddEncounter(t.Context(), h.trainer, fern.ID, in, "park"); err != nil {
					t.Error(err)
					return
				}
				took[p] = append(took[p], time.Since(begin))
			}
		})
	}
	wg.Wait()
	all := slices.Concat(took...)
	slices.Sort(all)
	return all
}
