package store_test

import (
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/store/pgtest"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

func TestMain(m *testing.M) {
	if path := os.Getenv("WIDEBERTH_KILL_CHILD"); path != "" {
		os.Exit(writeUntilKilled(path))
	}
	pg, pgWhy = pgtest.Start(false)
	code := m.Run()
	if pg != nil {
		pg.Stop()
	}
	os.Exit(code)
}

// clock is a time that tests move; safe for concurrent use.
type clock struct{ ms atomic.Int64 }

var start = time.Date(2026, 11, 25, 7, 0, 0, 0, time.UTC)

func newClock() *clock {
	c := &clock{}
	c.ms.Store(start.UnixMilli())
	return c
}

func (c *clock) now() time.Time          { return time.UnixMilli(c.ms.Load()).UTC() }
func (c *clock) advance(d time.Duration) { c.ms.Add(d.Milliseconds()) }
func (c *clock) options() store.Options {
	return store.Options{Now: c.now, Rand: rand.Reader, Count: countAll}
}
func days(n int) time.Duration    { return time.Duration(n) * 24 * time.Hour }
func ptr[T any](v T) *T           { return &v }
func newFile(t testing.TB) string { return filepath.Join(t.TempDir(), "memory.db") }
func open(t testing.TB, where string, c *clock) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), where, c.options())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}

// house is an opened store with one account and its people.
type house struct {
	*store.Store
	*clock
	t                        testing.TB
	where                    string
	keeper, trainer, handler store.Who
}

// each runs a test on both databases.
func each(t *testing.T, f func(t *testing.T, h *house)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { f(t, newHouse(t, newFile(t))) })
	t.Run("postgres", func(t *testing.T) { f(t, newHouse(t, postgres(t))) })
}

func newHouse(t testing.TB, where string) *house {
	t.Helper()
	c := newClock()
	h := &house{Store: open(t, where, c), clock: c, t: t, where: where}
	h.keeper = h.account("Alder House")
	h.trainer = h.person(kept.Trainer)
	h.handler = h.person(kept.Handler)
	return h
}

func (h *house) account(name string) store.Who {
	h.t.Helper()
	w, err := h.CreateAccount(h.t.Context(), name, "Kit")
	h.ok(err)
	return w
}

func (h *house) person(r kept.Role) store.Who {
	h.t.Helper()
	id, err := h.AddPerson(h.t.Context(), h.keeper, string(r)+" one", r, nil)
	h.ok(err)
	return store.Who{Account: h.keeper.Account, Person: id, Role: r}
}

func (h *house) ok(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

// dog adds a dog that works at 38 m from other dogs.
func (h *house) dog(name string) kept.Dog {
	h.t.Helper()
	d, err := h.AddDog(h.t.Context(), h.trainer, profile(name), said(profile(name)))
	h.ok(err)
	return d
}

func profile(name string) kept.Profile {
	return kept.Profile{Name: name, Needs: map[string]*dogfile.Need{
		"dogs": {WorkingM: ptr(38.0), ReactionM: ptr(15.0)}, "adult": nil}}
}

// said are the distances of a profile that names them all; R is half of W where it is
// left out.
func said(p kept.Profile) map[string]kept.Distance {
	out := map[string]kept.Distance{}
	for name, f := range p.Needs {
		d := kept.Distance{Calm: f == nil, From: "said"}
		if f != nil {
			d.Need = exposure.Need{WorkingM: *f.WorkingM, ReactionM: *f.WorkingM / 2}
			if f.ReactionM != nil {
				d.ReactionM = *f.ReactionM
			}
			d.Prior = kept.Prior{Need: d.Need, LogSD: 0.4, Known: true}
		}
		out[name] = d
	}
	return out
}

// countAll counts every meeting in each cell of its kind, and nothing while a draft
// is left. It stands for the statistics, which are no concern of the store.
func countAll(expected []kept.Expected, met []kept.Encounter) []float64 {
	out := make([]float64, len(expected))
	for _, e := range met {
		if e.Kind == "" {
			return nil
		}
		for i := range expected {
			if expected[i].Kind == e.Kind {
				out[i]++
			}
		}
	}
	return out
}

func expect(kind, place string, inside float64) kept.Expected {
	return kept.Expected{Kind: kind, Place: place, Part: "morning", Inside: inside, WorkingM: 38}
}

// give lets a handler see dogs.
func (h *house) give(w store.Who, dogs ...string) {
	h.t.Helper()
	h.ok(h.SetPerson(h.t.Context(), h.keeper, w.Person, "Sam", w.Role, dogs))
}

func want(t testing.TB, what string, err, target error) {
	t.Helper()
	if !errors.Is(err, target) {
		t.Errorf("%s: error %v, want %v", what, err, target)
	}
}

// wantProblem asks for a fault of one field.
func wantProblem(t testing.TB, what string, err error, pointer string) {
	t.Helper()
	var ps fault.Problems
	if !errors.As(err, &ps) {
		t.Errorf("%s: error %v, want a problem with %s", what, err, pointer)
		return
	}
	for _, p := range ps {
		if p.Pointer == pointer {
			if p.Mend == "" {
				t.Errorf("%s: no mend for %s", what, pointer)
			}
			return
		}
	}
	t.Errorf("%s: problems %v, none with %s", what, ps, pointer)
}
