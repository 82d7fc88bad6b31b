package knowledge

import (
	"container/list"
	"context"
	"sync"

	"wideberth/routing"
)

// mostKeptBytes bounds what is kept of all accounts together. What is put away for
// lack of room is derived again when it is asked for.
const mostKeptBytes = 128 << 20

// shelf keeps what is known of the accounts that asked last, up to a size.
type shelf struct {
	most int // bytes

	mu    sync.Mutex // guards what follows, and bytes of every slot
	by    map[of]*slot
	order list.List // of *slot, the one that asked last in front
	bytes int
}

// of is what something is known of: an account, and a map.
type of struct {
	account string
	on      *routing.Planner
}

// slot holds what is known of one account on one map. Whoever uses known holds the lock.
type slot struct {
	of    of
	known *known
	busy  chan struct{} // holds one token while locked
	bytes int
	at    *list.Element // nil once it was put away
}

// lock waits for the slot as long as the context lasts.
func (s *slot) lock(ctx context.Context) error {
	select {
	case s.busy <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// slot is that of an account on a map, made if need be. Two requests of one that is put
// away between them derive it twice, and both are right.
func (h *shelf) slot(k of) *slot {
	h.mu.Lock()
	defer h.mu.Unlock()
	s := h.by[k]
	if s == nil {
		s = &slot{of: k, busy: make(chan struct{}, 1)}
		s.at = h.order.PushFront(s)
		if h.by == nil {
			h.by = map[of]*slot{}
		}
		h.by[k] = s
	}
	h.order.MoveToFront(s.at)
	return s
}

// release unlocks a slot and notes its size. Those that did not ask for longest are
// put away until all fit; the one in front stays, whatever its size.
func (h *shelf) release(s *slot) {
	n := emptyBytes
	if s.known != nil {
		n += s.known.bytes
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	<-s.busy
	if s.at == nil {
		return
	}
	h.bytes += n - s.bytes
	s.bytes = n
	for h.bytes > h.most && h.order.Len() > 1 {
		last := h.order.Remove(h.order.Back()).(*slot)
		last.at = nil
		delete(h.by, last.of)
		h.bytes -= last.bytes
	}
}

// drop puts away what is known on a map.
func (h *shelf) drop(p *routing.Planner) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for k, s := range h.by {
		if k.on != p {
			continue
		}
		h.order.Remove(s.at)
		s.at = nil
		delete(h.by, k)
		h.bytes -= s.bytes
	}
}
