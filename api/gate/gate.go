// Package gate lets requests in: so many searches at once, each asker in turn, and so
// many requests of one asker under way. It hides who waits and whose turn it is, and
// knows nothing of what is asked.
package gate

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"
)

// ErrBusy says that more is asked for than can be searched now.
var ErrBusy = errors.New("busy")

// ErrCrowd says that one asker asks for more at once than is theirs.
var ErrCrowd = errors.New("crowd")

// Gate bounds the searches at once and the requests that wait for one, and shares
// both fairly. One asker, that is one account, never has the last place where there
// are several. A place that gets free goes to whoever of those who wait has the fewest
// searches running, and among equals to who has waited longest since asking or since
// their last search ended, however many requests each has: so nobody's asking more than
// doubles what another waits and searches.
type Gate struct {
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

// New makes a gate for so many searches. An asker may wait with a quarter of the
// queue.
func New(searches, queue int, wait time.Duration) *Gate {
	return &Gate{places: searches, each: max(1, searches-1), queue: queue, queueEach: max(1, queue/4), wait: wait, askers: map[string]*asker{}}
}

// Load is how much goes on at a gate.
type Load struct {
	Places, Queue          int   // searches that may run at once, requests that may wait
	In, Waiting            int   // of these now
	Entered, Full, Crowded int64 // requests since the beginning: let in, refused as it was full, or as the asker had their share
}

// Load says how much goes on.
func (g *Gate) Load() Load {
	g.mu.Lock()
	defer g.mu.Unlock()
	return Load{Places: g.places, Queue: g.queue, In: g.in, Waiting: g.waiting, Entered: g.entered, Full: g.full, Crowded: g.crowded}
}

// Enter waits for a place; the function that it gives must be called when the search
// has ended.
func (g *Gate) Enter(ctx context.Context, name string) (leave func(), err error) {
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
func (g *Gate) refuse(a *asker) error {
	switch {
	case len(a.waiting) >= g.queueEach:
		g.crowded++
		return ErrCrowd
	case g.waiting >= g.queue:
		g.full++
		return ErrBusy
	}
	return nil
}

// await waits for a ticket's turn, for the end of patience, or of the request.
func (g *Gate) await(ctx context.Context, a *asker, t *ticket) (leave func(), err error) {
	timer := time.NewTimer(g.wait)
	defer timer.Stop()
	select {
	case <-t.called:
		return func() { g.leave(a) }, nil
	case <-timer.C:
		err = ErrBusy
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
	if errors.Is(err, ErrBusy) {
		g.full++
		if a.in >= g.each {
			err = ErrCrowd // their own searches were in the way
		}
	}
	g.forget(a)
	return nil, err
}

func (g *Gate) take(a *asker) {
	g.in++
	a.in++
	g.entered++
}

// leave frees a place and calls whose turn it is.
func (g *Gate) leave(a *asker) {
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
func (g *Gate) next() (best *asker) {
	for _, x := range g.turns {
		if x.in < g.each && (best == nil || x.in < best.in) {
			best = x
		}
	}
	return best
}

// forget drops an asker who neither searches nor waits.
func (g *Gate) forget(a *asker) {
	if a.in == 0 && len(a.waiting) == 0 && g.askers[a.name] == a {
		delete(g.askers, a.name)
	}
}

// Crowd bounds the requests of each asker that are under way at once, of any sort.
type Crowd struct {
	most int
	mu   sync.Mutex // guards at
	at   map[string]int
}

// NewCrowd makes a bound of so many requests each.
func NewCrowd(most int) *Crowd { return &Crowd{most: most, at: map[string]int{}} }

// Enter counts a request; leave must be called if it may go on.
func (c *Crowd) Enter(name string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at[name] >= c.most {
		return false
	}
	c.at[name]++
	return true
}

// Leave ends a request that Enter let in.
func (c *Crowd) Leave(name string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at[name]--; c.at[name] == 0 {
		delete(c.at, name)
	}
}
