package api

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"
)

// must lets a request in at once.
func must(t *testing.T, g *gate, name string) (leave func()) {
	t.Helper()
	now, cancel := context.WithCancel(t.Context())
	cancel() // nobody waits with a context that has ended
	leave, err := g.enter(now, name)
	if err != nil {
		t.Fatalf("%s is not let in at once: %v", name, err)
	}
	return leave
}

// queued starts a request that waits, and gives where its leave comes when it is
// let in.
func queued(t *testing.T, g *gate, name string) <-chan func() {
	t.Helper()
	g.mu.Lock()
	before := g.waiting
	g.mu.Unlock()
	in := make(chan func(), 1)
	go func() {
		leave, err := g.enter(t.Context(), name)
		if err == nil {
			in <- leave
		} else if t.Context().Err() == nil {
			t.Errorf("%s: %v", name, err)
		}
	}()
	for {
		g.mu.Lock()
		now := g.waiting
		g.mu.Unlock()
		if now > before {
			return in
		}
		time.Sleep(time.Millisecond)
	}
}

// TestOneAskerLeavesAPlace: whoever asks with however many requests does not get the
// last place, which is there at once for somebody else.
func TestOneAskerLeavesAPlace(t *testing.T) {
	g := newGate(3, 100, time.Minute)
	must(t, g, "greedy")
	must(t, g, "greedy")
	queued(t, g, "greedy")
	queued(t, g, "greedy")
	leave := must(t, g, "other")
	leave()
	must(t, g, "third")
}

// TestWaitingTakesTurns: with one place only, somebody who comes behind twenty
// requests of another is next, not twenty-first.
func TestWaitingTakesTurns(t *testing.T) {
	g := newGate(1, 100, time.Minute)
	leave := must(t, g, "greedy")
	var greedy []<-chan func()
	for range 20 {
		greedy = append(greedy, queued(t, g, "greedy"))
	}
	other, third := queued(t, g, "other"), queued(t, g, "third")
	leave()
	leave = <-greedy[0] // it was there first
	leave()
	leave = <-other
	leave()
	leave = <-third
	leave()
	leave = <-greedy[1]
	leave()
}

func TestGateRefuses(t *testing.T) {
	g := newGate(1, 8, time.Minute)
	must(t, g, "greedy")
	for range 2 { // a quarter of eight
		queued(t, g, "greedy")
	}
	if _, err := g.enter(t.Context(), "greedy"); !errors.Is(err, errCrowd) {
		t.Errorf("a third of one asker: %v", err)
	}
	for i := range 6 {
		queued(t, g, fmt.Sprint("other ", i))
	}
	if _, err := g.enter(t.Context(), "late"); !errors.Is(err, errBusy) {
		t.Errorf("behind a full queue: %v", err)
	}
}

func TestWaitingEnds(t *testing.T) {
	g := newGate(2, 8, time.Millisecond)
	first, second := must(t, g, "one"), must(t, g, "two")
	if _, err := g.enter(t.Context(), "three"); !errors.Is(err, errBusy) {
		t.Errorf("out of patience: %v", err)
	}
	if _, err := g.enter(t.Context(), "one"); !errors.Is(err, errCrowd) {
		t.Errorf("out of patience behind one's own search: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	g.wait = time.Minute
	if _, err := g.enter(ctx, "three"); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	first()
	second()
	if g.in != 0 || g.waiting != 0 || len(g.turns) != 0 || len(g.askers) != 0 {
		t.Errorf("left behind: %d in, %d waiting, %d turns, %d askers", g.in, g.waiting, len(g.turns), len(g.askers))
	}
}

// TestGateUnderLoad: many askers at once. There are never more in than places, never
// more of one than its share, and in the end nobody is left.
func TestGateUnderLoad(t *testing.T) {
	g := newGate(4, 1000, time.Minute)
	var mu sync.Mutex // guards in and most
	in, most := map[string]int{}, 0
	var wg sync.WaitGroup
	for i := range 200 {
		name := fmt.Sprint(i % 7)
		if i%2 == 0 {
			name = "greedy"
		}
		wg.Go(func() {
			ctx, cancel := context.WithCancel(t.Context())
			if i%11 == 0 {
				cancel() // whoever does not want to wait
			}
			defer cancel()
			leave, err := g.enter(ctx, name)
			if err != nil {
				if !errors.Is(err, context.Canceled) {
					t.Errorf("%s: %v", name, err)
				}
				return
			}
			mu.Lock()
			in[name]++
			in[""]++
			most = max(most, in[""])
			if in[""] > 4 || in[name] > 3 {
				t.Errorf("%d in, %d of %s", in[""], in[name], name)
			}
			mu.Unlock()
			time.Sleep(100 * time.Microsecond)
			mu.Lock()
			in[name]--
			in[""]--
			mu.Unlock()
			leave()
		})
	}
	wg.Wait()
	if most < 2 || g.in != 0 || g.waiting != 0 || len(g.askers) != 0 || len(g.turns) != 0 {
		t.Errorf("most %d; left behind: %d in, %d waiting, %d askers, %d turns", most, g.in, g.waiting, len(g.askers), len(g.turns))
	}
}

func TestCrowd(t *testing.T) {
	c := newCrowd(2)
	for i, want := range []bool{true, true, false} {
		if got := c.enter("a"); got != want {
			t.Errorf("entry %d of a: %v, want %v", i+1, got, want)
		}
	}
	if !c.enter("b") {
		t.Error("b pays for a's crowd")
	}
	c.leave("a")
	if !c.enter("a") {
		t.Error("a place that was left is not free")
	}
	c.leave("a")
	c.leave("a")
	c.leave("b")
	if len(c.at) != 0 {
		t.Errorf("left behind: %v", c.at)
	}
}
