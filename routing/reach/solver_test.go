package reach

import (
	"sync/atomic"
	"testing"

	"wideberth/routing/search/loop"
)

// TestSolverOfAPanicIsDropped: a solver whose search ended in a panic is lent to
// nobody again, and the panic reaches whoever asked with its value.
func TestSolverOfAPanicIsDropped(t *testing.T) {
	land := &Land{found: new(atomic.Int64)}
	damaged := map[*loop.Solver]bool{}
	for range 50 {
		func() {
			defer func() {
				if got := recover(); got != "a slip" {
					t.Errorf("the panic became %v", got)
				}
			}()
			solver, done := land.Solver(t.Context())
			if damaged[solver] {
				t.Fatal("a damaged solver is lent again")
			}
			damaged[solver] = true
			defer done()
			panic("a slip")
		}()
	}
	for range 50 {
		solver, done := land.Solver(t.Context())
		if damaged[solver] {
			t.Fatal("a damaged solver is lent again")
		}
		done()
	}
}
