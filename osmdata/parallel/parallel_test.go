package parallel_test

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"wideberth/osmdata/parallel"
)

var errOurs = errors.New("ours")

// ways are the package's verbs, seen as one: do each piece of n once, with work.
var ways = map[string]func(ctx context.Context, n int, work func(i int) error) error{
	"For": parallel.For,
	"Do": func(ctx context.Context, n int, work func(i int) error) error {
		pieces := make([]func() error, n)
		for i := range pieces {
			pieces[i] = func() error { return work(i) }
		}
		return parallel.Do(ctx, pieces...)
	},
	"With": func(ctx context.Context, n int, work func(i int) error) error {
		return parallel.With(ctx, 3, n, func() func(int) error { return work })
	},
	"Each": func(ctx context.Context, n int, work func(i int) error) error {
		return parallel.Each(ctx, upTo(n), func() func(int) error { return work })
	},
}

func upTo(n int) iter.Seq[int] {
	return func(yield func(int) bool) {
		for i := 0; i < n && yield(i); i++ {
		}
	}
}

func each(t *testing.T, test func(t *testing.T, do func(ctx context.Context, n int, work func(i int) error) error)) {
	for name, do := range ways {
		t.Run(name, func(t *testing.T) { test(t, do) })
	}
}

func TestEveryPieceOnce(t *testing.T) {
	each(t, func(t *testing.T, do func(context.Context, int, func(int) error) error) {
		for _, n := range []int{0, 1, 2, 7, 1000} {
			hits := make([]int32, n)
			err := do(t.Context(), n, func(i int) error { atomic.AddInt32(&hits[i], 1); return nil })
			if err != nil || slices.ContainsFunc(hits, func(h int32) bool { return h != 1 }) {
				t.Errorf("%d pieces: %v, hits %v", n, err, hits)
			}
		}
	})
}

// TestFirstError: an error comes back, and soon nothing is begun any more.
func TestFirstError(t *testing.T) {
	each(t, func(t *testing.T, do func(context.Context, int, func(int) error) error) {
		var did atomic.Int64
		err := do(t.Context(), 1<<20, func(i int) error {
			did.Add(1)
			if i >= 5 {
				return fmt.Errorf("piece %d: %w", i, errOurs)
			}
			return nil
		})
		if most := int64(5 + max(3, runtime.GOMAXPROCS(0))); !errors.Is(err, errOurs) || did.Load() > most {
			t.Errorf("%v after %d pieces, at most %d had begun", err, did.Load(), most)
		}
	})
}

func TestGivenUp(t *testing.T) {
	each(t, func(t *testing.T, do func(context.Context, int, func(int) error) error) {
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		var did atomic.Int64
		err := do(ctx, 1<<20, func(int) error { did.Add(1); cancel(); return nil })
		if most := int64(max(3, runtime.GOMAXPROCS(0))); !errors.Is(err, context.Canceled) || did.Load() > most {
			t.Errorf("%v after %d pieces, at most %d had begun", err, did.Load(), most)
		}
		if err := do(ctx, 1, func(int) error { t.Error("begun after it was given up"); return nil }); !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
	})
}

// TestPanicComesUp: a panic in a worker is the caller's, with the worker's stack,
// after all workers have ended.
func TestPanicComesUp(t *testing.T) {
	each(t, func(t *testing.T, do func(context.Context, int, func(int) error) error) {
		var running atomic.Int64
		defer func() {
			p, ok := recover().(*parallel.Panic)
			if !ok || !errors.Is(p, errOurs) || !strings.Contains(p.Error(), "ours") || !strings.Contains(string(p.Stack), "parallel_test.go") {
				t.Errorf("came up as %v", p)
			}
			if n := running.Load(); n != 0 {
				t.Errorf("%d still at work", n)
			}
		}()
		err := do(t.Context(), 1<<20, func(i int) error {
			running.Add(1)
			defer running.Add(-1)
			if i == 7 {
				panic(errOurs)
			}
			return nil
		})
		t.Error("nothing came up, but", err)
	})
}

// TestPanicOfTheSequence: what hands out may panic too, and nobody stays behind.
func TestPanicOfTheSequence(t *testing.T) {
	defer func() {
		if p, ok := recover().(*parallel.Panic); !ok || p.Value != "the sequence's" || p.Unwrap() != nil {
			t.Errorf("came up as %v", p)
		}
	}()
	err := parallel.Each(t.Context(), func(func(int) bool) { panic("the sequence's") }, func() func(int) error { return func(int) error { return nil } })
	t.Error("nothing came up, but", err)
}

// TestScratch: no two workers share what begin makes, and there are no more workers
// than asked for.
func TestScratch(t *testing.T) {
	for _, workers := range []int{1, 2, 5} {
		var mu sync.Mutex // guards scratches
		var scratches []*int
		err := parallel.With(t.Context(), workers, 500, func() func(int) error {
			own := new(int)
			mu.Lock()
			scratches = append(scratches, own)
			mu.Unlock()
			return func(int) error { *own++; return nil } // the race detector sees it if shared
		})
		sum := 0
		for _, s := range scratches {
			sum += *s
		}
		if err != nil || sum != 500 || len(scratches) > workers {
			t.Errorf("%d workers: %v, %d scratches, %d pieces", workers, err, len(scratches), sum)
		}
	}
}

func ExampleFor() {
	squares := make([]int, 5)
	err := parallel.For(context.Background(), len(squares), func(i int) error {
		squares[i] = i * i
		return nil
	})
	fmt.Println(squares, err)
	// Output: [0 1 4 9 16] <nil>
}
