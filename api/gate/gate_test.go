package gate

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"
)

// must lets a request in at once.
func must(t *testing.T, g *Gate, name string) (leave func()) {
	t.Helper()
	now, cancel := context.WithCancel(t.Context())
	cancel() // nobody waits with a context that has ended
	leave, err := g.Enter(now, name)
	if err != nil {
		t.Fatalf("%s is not let in at once: %v", name, err)
	}
	return leave
}

// queued starts a request that waits, and gives where its leave comes when it is
// let in.
func queued(t *testing.T, g *Gate, name string) <-chan func() {
	t.Helper()
	g.mu.Lock()
	before := g.waiting
	g.mu.Unlock()
	in := make(chan func(), 1)
	go func() {
		leave, err := g.Enter(t.Context(), name)
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
	g := New(3, 100, time.Minute)
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
	g := New(1, 100, time.Minute)
	leave := must(t, g, "greedy")
	var greedy []<-chan func()
	for range 20 {
		greedy = append(greedy, queued(t, g, "greedy"))
	}
	other, third := queued(t, g, "other"), queued(t, g, "third")
	leave() // the greedy one has just had its turn
	leave = <-other
	leave()
	leave = <-third
	leave()
	leave = <-greedy[0]
	leave()
	leave = <-greedy[1]
	leave()
}

func TestGateRefuses(t *testing.T) {
	g := New(1, 8, time.Minute)
	must(t, g, "greedy")
	for range 2 { // a quarter of eight
		queued(t, g, "greedy")
	}
	if _, err := g.Enter(t.Context(), "greedy"); !errors.Is(err, ErrCrowd) {
		t.Errorf("a third of one asker: %v", err)
	}
	for i := range 6 {
		queued(t, g, fmt.Sprint("other ", i))
	}
	if _, err := g.Enter(t.Context(), "late"); !errors.Is(err, ErrBusy) {
		t.Errorf("behind a full queue: %v", err)
	}
}

func TestWaitingEnds(t *testing.T) {
	g := New(2, 8, time.Millisecond)
	first, second := must(t, g, "one"), must(t, g, "two")
	if _, err := g.Enter(t.Context(), "three"); !errors.Is(err, ErrBusy) {
		t.Errorf("out of patience: %v", err)
	}
	if _, err := g.Enter(t.Context(), "one"); !errors.Is(err, ErrCrowd) {
		t.Errorf("out of patience behind one's own search: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	g.wait = time.Minute
	if _, err := g.Enter(ctx, "three"); !errors.Is(err, context.Canceled) {
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
	g := New(4, 1000, time.Minute)
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
			leave, err := g.Enter(ctx, name)
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

// TestOneAskerAtMostDoublesWaiting runs a gate under load by a clock that counts in
// searches, so that the load of the machine has no say: from asking until the search has
// ended, others need at most twice as long beside an asker who always asks for as much as
// is taken as they need without; and at the worst, where every search takes as long.
func TestOneAskerAtMostDoublesWaiting(t *testing.T) {
	for _, places := range []int{1, 2, 3, 9} {
		for _, others := range []int{1, 2, 3, 5, 12} {
			for _, even := range []bool{true, false} {
				worst, mean := sojourns(t, places, others, even, false)
				worstBeside, meanBeside := sojourns(t, places, others, even, true)
				t.Logf("%d places, %d askers, even %v: mean %.2f searches, beside a greedy one %.2f; at the worst %.2f and %.2f", places, others, even, mean, meanBeside, worst, worstBeside)
				most := 2 * mean
				if !even {
					most *= 1.1 // of what is drawn
				}
				if meanBeside > most || even && worstBeside > 2*worst {
					t.Errorf("%d places, %d askers, even %v: a greedy one makes %.2f searches %.2f, and %.2f at the worst %.2f", places, others, even, mean, meanBeside, worst, worstBeside)
				}
			}
		}
	}
}

// sojourns runs a gate with askers who ask again as soon as they were served, and gives
// how long 300 of their requests took, waiting and searching, in searches. All searches
// take as long, or as long as is drawn.
func sojourns(t *testing.T, places, others int, even, greedy bool) (worst, mean float64) {
	t.Helper()
	type search struct {
		name  string
		ends  float64
		leave func()
	}
	g := New(places, 48, time.Hour)
	rng := rand.New(rand.NewPCG(uint64(places), uint64(others)))
	called := make(chan search, 100)
	asked, waiting := map[string]float64{}, map[string]int{}
	var in []search // the next to end last
	var seen int64  // of those let in
	now, sum, served := 0.0, 0.0, 0
	admit := func() { // takes note of those who were let in
		g.mu.Lock()
		entered := g.entered
		g.mu.Unlock()
		batch := make([]search, entered-seen)
		for i := range batch {
			batch[i] = <-called
		}
		slices.SortFunc(batch, func(a, b search) int { return cmp.Compare(a.name, b.name) })
		for _, s := range batch {
			seen++
			waiting[s.name]--
			s.ends = now + 1
			if !even {
				s.ends = now + rng.ExpFloat64()
			}
			in = append(in, s)
		}
		slices.SortFunc(in, func(a, b search) int { return cmp.Or(cmp.Compare(b.ends, a.ends), cmp.Compare(a.name, b.name)) })
	}
	ask := func(name string) {
		asked[name] = now
		waiting[name]++
		all := seen
		for _, n := range waiting {
			all += int64(n)
		}
		go func() {
			if leave, err := g.Enter(t.Context(), name); err == nil {
				called <- search{name: name, leave: leave}
			}
		}()
		for there := int64(-1); there != all; runtime.Gosched() { // until it is in, or waits
			g.mu.Lock()
			there = g.entered + int64(g.waiting)
			g.mu.Unlock()
		}
		admit()
	}
	for served < 300 {
		for greedy && waiting["greedy"] < g.queueEach {
			ask("greedy")
		}
		for i := range others {
			name := fmt.Sprint(i)
			if waiting[name] == 0 && !slices.ContainsFunc(in, func(s search) bool { return s.name == name }) {
				ask(name)
			}
		}
		ended := in[len(in)-1]
		in, now = in[:len(in)-1], ended.ends
		if ended.name != "greedy" {
			served++
			worst, sum = max(worst, now-asked[ended.name]), sum+now-asked[ended.name]
		}
		ended.leave()
		admit()
	}
	return worst, sum / float64(served)
}

func TestCrowd(t *testing.T) {
	c := NewCrowd(2)
	for i, want := range []bool{true, true, false} {
		if got := c.Enter("a"); got != want {
			t.Errorf("entry %d of a: %v, want %v", i+1, got, want)
		}
	}
	if !c.Enter("b") {
		t.Error("b pays for a's crowd")
	}
	c.Leave("a")
	if !c.Enter("a") {
		t.Error("a place that was left is not free")
	}
	c.Leave("a")
	c.Leave("a")
	c.Leave("b")
	if len(c.at) != 0 {
		t.Errorf("left behind: %v", c.at)
	}
}
