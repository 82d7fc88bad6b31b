// Package parallel shares work among the cores: the one place where work of a
// request or of an import leaves its goroutine. It hides the workers, how work is
// handed out, and what becomes of an error or a panic in one of them.
package parallel

import (
	"context"
	"fmt"
	"iter"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Panic is the value with which a panic in a worker comes up in the caller, who can
// recover there: left in the goroutine of the worker it would end the program for
// everybody.
type Panic struct {
	Value any    // what the worker panicked with
	Stack []byte // of the worker
}

// Error tells the value and where the worker was, so that a log shows both.
func (p *Panic) Error() string { return fmt.Sprintf("panic: %v\n\n%s", p.Value, p.Stack) }

// Unwrap is the value where it is an error.
func (p *Panic) Unwrap() error {
	err, _ := p.Value.(error)
	return err
}

// For does pieces 0 to n-1 of some work on one worker a core and waits for them.
// The first error, or the end of ctx, keeps further pieces from being begun and is
// returned; nil means that all are done. A panic does the same and comes up in the
// caller as a *Panic.
func For(ctx context.Context, n int, work func(i int) error) error {
	return With(ctx, 0, n, func() func(int) error { return work })
}

// Do does some pieces of work at once, as For does.
func Do(ctx context.Context, pieces ...func() error) error {
	return For(ctx, len(pieces), func(i int) error { return pieces[i]() })
}

// With is For on so many workers, below 1 on one a core, each with scratch of its
// own: a worker calls begin once and does its pieces with the function it gets.
func With(ctx context.Context, workers, n int, begin func() func(i int) error) error {
	var next atomic.Int64
	c := crew{ctx: ctx}
	c.start(min(orCores(workers), n), func() {
		work := begin()
		for {
			i := int(next.Add(1)) - 1
			if i >= n || !c.goesOn() || c.failed(work(i)) {
				return
			}
		}
	})
	c.wg.Wait()
	return c.end()
}

// Each is With over what comes from a sequence, which is drawn from in the calling
// goroutine while the workers are busy.
func Each[T any](ctx context.Context, items iter.Seq[T], begin func() func(item T) error) error {
	c, handed := crew{ctx: ctx, stop: make(chan struct{})}, make(chan T)
	c.start(orCores(0), func() {
		work := begin()
		for item := range handed {
			if !c.goesOn() || c.failed(work(item)) {
				return
			}
		}
	})
	c.guard(func() {
		for item := range items {
			select {
			case handed <- item:
			case <-c.stop:
				return
			case <-ctx.Done():
				c.failed(ctx.Err())
				return
			}
		}
	})
	close(handed)
	c.wg.Wait()
	return c.end()
}

func orCores(workers int) int {
	if workers < 1 {
		return runtime.GOMAXPROCS(0)
	}
	return workers
}

// crew is some workers and what went wrong among them.
type crew struct {
	ctx  context.Context
	wg   sync.WaitGroup
	over atomic.Bool
	stop chan struct{} // closed when over is set, if not nil

	mu    sync.Mutex // guards what follows
	err   error
	panic *Panic
}

func (c *crew) start(workers int, work func()) {
	for range workers {
		c.wg.Go(func() { c.guard(work) })
	}
}

// guard keeps a panic of work for the caller, also where a mapped file was cut short under
// it.
func (c *crew) guard(work func()) {
	debug.SetPanicOnFault(true)
	done := false
	defer func() {
		if done {
			return
		}
		// A nil value: the worker left by runtime.Goexit, as a test that fails does.
		c.note(nil, &Panic{recover(), debug.Stack()})
	}()
	work()
	done = true
}

// goesOn tells whether another piece may be begun.
func (c *crew) goesOn() bool { return !c.over.Load() && !c.failed(c.ctx.Err()) }

// failed notes an error, if there is one.
func (c *crew) failed(err error) bool {
	if err != nil {
		c.note(err, nil)
	}
	return err != nil
}

func (c *crew) note(err error, p *Panic) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.err == nil {
		c.err = err
	}
	if c.panic == nil {
		c.panic = p
	}
	if !c.over.Swap(true) && c.stop != nil {
		close(c.stop)
	}
}

// end hands up what went wrong.
func (c *crew) end() error {
	if c.panic != nil {
		panic(c.panic)
	}
	return c.err
}
