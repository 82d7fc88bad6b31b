package api

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"
)

// errBusy says that more is asked for than can be searched now.
var errBusy = errors.New("busy")

// errCrowd says that one asker asks for more at once than is theirs.
var errCrowd = errors.New("crowd")

// gate bounds the searches at once and the requests that wait for one, and shares
// both fairly. One asker, that is one account, never has the last place where there
// are several. A place that gets free goes to whoever of those who wait has the fewest
// searches running, and among equals to who has waited longest since asking or since
// their last search ended, however many requests each has: so nobody's asking more than
// doubles what another waits and searches.
type gate struct {
	places, each           int // searches at once, in all and of one asker
	queue, queueEach       int // requests that wait, in all and of one asker
	wait                   time.Duration
	mu                     sync.Mutex // guards what follows
	in, waiting            int
	askers                 map[string]*asker
	turns                  []*asker // those with somebody waiting, the longest first
	entered, full, crowded int64    // requests let in, and refused by reason
}

// asker is an account at the gate.
type asker struct {
	name    string
	in      int
	waiting []*ticket
}

// ticket is a request that waits.
type ticket struct {
	called chan struct{} // closed when its turn has come
}

// newGate makes a gate for so many searches. An asker may wait with a quarter of the
// queue.
func newGate(searches, queue int, wait time.Duration) *gate {
	return &gate{places: searches, each: max(1, searches-1), queue: queue, queueEach: max(1, queue/4), wait: wait, askers: map[string]*asker{}}
}

// enter waits for a place; the function that it gives must be called when the search
// has ended.
func (g *gate) enter(ctx context.Context, name string) (leave func(), err error) {
	g.mu.Lock()
	a := g.askers[name]
	if a == nil {
		a = &asker{name: name}
		g.askers[name] = a
	}
	if g.in < g.places && a.in < g.each && len(a.waiting) == 0 {
		g.take(a)
		g.mu.Unlock()
		return func() { g.leave(a) }, nil
	}
	if err := g.refuse(a); err != nil {
		g.forget(a)
		g.mu.Unlock()
		return nil, err
	}
	t := &ticket{make(chan struct{})}
	if a.waiting = append(a.waiting, t); len(a.waiting) == 1 {
		g.turns = append(g.turns, a)
	}
	g.waiting++
	g.mu.Unlock()
	return g.await(ctx, a, t)
}

// refuse says why one more may not wait, nil if it may.
func (g *gate) refuse(a *asker) error {
	switch {
	case len(a.waiting) >= g.queueEach:
		g.crowded++
		return errCrowd
	case g.waiting >= g.queue:
		g.full++
		return errBusy
	}
	return nil
}

// await waits for a ticket's turn, for the end of patience, or of the request.
func (g *gate) await(ctx context.Context, a *asker, t *ticket) (leave func(), err error) {
	timer := time.NewTimer(g.wait)
	defer timer.Stop()
	select {
	case <-t.called:
		return func() { g.leave(a) }, nil
	case <-timer.C:
		err = errBusy
	case <-ctx.Done():
		err = ctx.Err()
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	i := slices.Index(a.waiting, t)
	if i < 0 { // called meanwhile
		return func() { g.leave(a) }, nil
	}
	a.waiting = slices.Delete(a.waiting, i, i+1)
	g.waiting--
	if len(a.waiting) == 0 {
		g.turns = slices.DeleteFunc(g.turns, func(x *asker) bool { return x == a })
	}
	if errors.Is(err, errBusy) {
		g.full++
		if a.in >= g.each {
			err = errCrowd // their own searches were in the way
		}
	}
	g.forget(a)
	return nil, err
}

func (g *gate) take(a *asker) {
	g.in++
	a.in++
	g.entered++
}

// leave frees a place and calls whose turn it is.
func (g *gate) leave(a *asker) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.in--
	a.in--
	g.forget(a)
	if i := slices.Index(g.turns, a); i >= 0 { // behind all others
		g.turns = append(slices.Delete(g.turns, i, i+1), a)
	}
	for g.in < g.places {
		next := g.next()
		if next == nil {
			return
		}
		t := next.waiting[0]
		next.waiting = next.waiting[1:]
		if len(next.waiting) == 0 {
			g.turns = slices.DeleteFunc(g.turns, func(x *asker) bool { return x == next })
		}
		g.waiting--
		g.take(next)
		close(t.called)
	}
}

// next is whose turn it is, nil if it is nobody's.
func (g *gate) next() (best *asker) {
	for _, x := range g.turns {
		if x.in < g.each && (best == nil || x.in < best.in) {
			best = x
		}
	}
	return best
}

// forget drops an asker who neither searches nor waits.
func (g *gate) forget(a *asker) {
	if a.in == 0 && len(a.waiting) == 0 && g.askers[a.name] == a {
		delete(g.askers, a.name)
	}
}

// crowd bounds the requests of each asker that are under way at once, of any sort.
type crowd struct {
	most int
	mu   sync.Mutex // guards at
	at   map[string]int
}

func newCrowd(most int) *crowd { return &crowd{most: most, at: map[string]int{}} }

// enter counts a request; leave must be called if it may go on.
func (c *crowd) enter(name string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at[name] >= c.most {
		return false
	}
	c.at[name]++
	return true
}

func (c *crowd) leave(name string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at[name]--; c.at[name] == 0 {
		delete(c.at, name)
	}
}
