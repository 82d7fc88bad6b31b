package knowledge

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"maps"
	mrand "math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/store/pgtest"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// pg is the throw-away PostgreSQL server, nil where Debian's package is not
// installed; pgWhy says why it is missing.
var (
	pg    *pgtest.Server
	pgWhy error
)

func TestMain(m *testing.M) {
	pg, pgWhy = pgtest.Start(false)
	code := m.Run()
	if pg != nil {
		pg.Stop()
	}
	os.Exit(code)
}

// postgres is the URL of a new, empty database.
func postgres(t testing.TB) string {
	t.Helper()
	return pg.Fresh(t, pgWhy)
}

// on is a planner on a map.
func on(t testing.TB, snap *snapshot.Snapshot) *routing.Planner {
	t.Helper()
	p, err := routing.NewPlanner(snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// shelter is an account on a database of its own, with a clock that tests move.
type shelter struct {
	t       testing.TB
	where   string
	ms      atomic.Int64
	planner *routing.Planner
	*store.Store
	who  store.Who
	fern kept.Dog
}

var morning = time.Date(2026, 11, 25, 7, 0, 0, 0, time.UTC)

func (s *shelter) now() time.Time          { return time.UnixMilli(s.ms.Load()).UTC() }
func (s *shelter) advance(d time.Duration) { s.ms.Add(d.Milliseconds()) }

func (s *shelter) ok(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// open opens the database once more, as another server would.
func (s *shelter) open() *store.Store {
	s.t.Helper()
	m, err := store.Open(s.t.Context(), s.where, store.Options{Now: s.now, Rand: rand.Reader, Count: Count})
	s.ok(err)
	s.t.Cleanup(func() { _ = m.Close() })
	return m
}

func newShelter(t testing.TB, where string) *shelter {
	t.Helper()
	return newShelterOn(t, on(t, maptest.Town(t)), where)
}

func newShelterOn(t testing.TB, p *routing.Planner, where string) *shelter {
	t.Helper()
	s := &shelter{t: t, where: where, planner: p}
	s.ms.Store(morning.UnixMilli())
	s.Store = s.open()
	var err error
	s.who, err = s.CreateAccount(t.Context(), "Alder House", "Kit")
	s.ok(err)
	s.fern = s.dog(s.who, "Fern")
	return s
}

func (s *shelter) dog(w store.Who, name string) kept.Dog {
	s.t.Helper()
	p := kept.Profile{Name: name, Needs: map[string]*dogfile.Need{"dogs": {WorkingM: ptr(38.0), ReactionM: ptr(15.0)}}}
	said, err := Distances(&p)
	s.ok(err)
	d, err := s.AddDog(s.t.Context(), w, p, said)
	s.ok(err)
	return d
}

// base is one server's knowledge.
func (s *shelter) base(m *store.Store) *Base { return New(m, s.now) }

// report adds a source east of the door of examples.
func (s *shelter) report(eastM float64, change func(*kept.ReportInput)) kept.Report {
	s.t.Helper()
	in := kept.ReportInput{Kind: "dog_behind_fence", What: "behind the gate", Lat: ptr(testdata.DoorLat), Lon: ptr(testdata.DoorLon + eastM/75_700), Number: 2, There: true}
	if change != nil {
		change(&in)
	}
	r, err := s.AddReport(s.t.Context(), s.who, in)
	s.ok(err)
	return r
}

// walk logs a walk of which all is told, and what was met on it.
func (s *shelter) walk(w store.Who, dog kept.Dog, key string, met int) {
	s.t.Helper()
	ctx := s.t.Context()
	_, _, err := s.AddWalk(ctx, w, dog.ID, kept.WalkInput{Key: key, Started: s.now().Add(-time.Hour), AllTold: true},
		[]kept.Expected{{Kind: "dog_on_lead", Place: "residential", Part: "morning", Inside: 1.5, WorkingM: 38}, {Kind: "child", Place: "park", Part: "evening", Inside: 0.5, WorkingM: 20}})
	s.ok(err)
	for i := range met {
		_, _, err := s.AddEncounter(ctx, w, dog.ID, kept.EncounterInput{Key: fmt.Sprint(key, "/", i), Walk: key, Kind: "dog_on_lead", At: s.now().Add(-time.Hour), Nearest: "exact", DistanceM: ptr(20.0)}, "residential")
		s.ok(err)
	}
}

// each runs a test on both databases.
func each(t *testing.T, f func(t *testing.T, s *shelter)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { f(t, newShelter(t, filepath.Join(t.TempDir(), "memory.db"))) })
	t.Run("postgres", func(t *testing.T) { f(t, newShelter(t, postgres(t))) })
}

// view is what Of gives, in a form that can be compared.
type view struct {
	Plain   bool
	Walks   int
	Cells   map[exposure.Cell]exposure.Factor
	There   map[string]float64 // by source
	Sources []exposure.Source  // reported ones, in order
	Hazard  []float32          // about the door
}

func (s *shelter) view(b *Base, w store.Who) view {
	s.t.Helper()
	p, fa, err := b.Of(s.t.Context(), w, s.planner)
	s.ok(err)
	v := view{Plain: p == s.planner && fa == nil, There: map[string]float64{}}
	f := p.Snapshot().Field
	for i := s.planner.Snapshot().Field.SourceCount(); i < f.SourceCount(); i++ {
		v.Sources = append(v.Sources, *f.Source(int32(i)))
	}
	if fa != nil {
		v.Walks, v.Cells = fa.Walks, fa.Cells
		for i, x := range fa.There {
			v.There[f.Source(i).OSM] = x
		}
	}
	edges := s.planner.Snapshot().Graph.InBox(s.planner.Snapshot().Bounds)
	dog := s.fern.Model()
	v.Hazard = f.Sums(dog, edges[:min(400, len(edges))]).Hazard(p.Clock().At(morning), fa, nil)
	return v
}

// TestNothingLearntIsThePlainPlanner: an account without walks and reports, or with
// none that count, plans as if there were no store.
func TestNothingLearntIsThePlainPlanner(t *testing.T) {
	s := newShelter(t, filepath.Join(t.TempDir(), "memory.db"))
	b := s.base(s.Store)
	if v := s.view(b, s.who); !v.Plain {
		t.Errorf("a new account has learnt %+v", v)
	}
	r := s.report(10, nil)
	if v := s.view(b, s.who); v.Plain || len(v.Sources) != 1 {
		t.Errorf("a report is learnt as %+v", v)
	}
	s.advance(400 * 24 * time.Hour) // it fades
	if v := s.view(b, s.who); !v.Plain {
		t.Errorf("a faded report counts: %+v", v)
	}
	_, err := s.State(t.Context(), s.who, r.ID, true)
	s.ok(err)
	if v := s.view(b, s.who); v.Plain {
		t.Error("confirmed again, it does not count")
	}
	s.ok(s.DeleteReport(t.Context(), s.who, r.ID))
	if v := s.view(b, s.who); !v.Plain {
		t.Errorf("deleted, it counts: %+v", v)
	}
}

// TestReportsBecomeSources: each form of a report is the source that it tells of.
func TestReportsBecomeSources(t *testing.T) {
	s := newShelter(t, filepath.Join(t.TempDir(), "memory.db"))
	yard := s.report(10, nil)
	bells := s.report(20, func(in *kept.ReportInput) { in.Kind, in.What, in.Number = "bells", " ", 5 })
	lot := s.report(30, func(in *kept.ReportInput) {
		in.Kind, in.Hours = "construction", "Mo-Fr 07:00-17:00"
		in.Area = [][2]float64{{testdata.DoorLon, testdata.DoorLat}, {testdata.DoorLon + .001, testdata.DoorLat}, {testdata.DoorLon, testdata.DoorLat + .001}}
	})
	by := map[string]exposure.Source{}
	for _, src := range s.view(s.base(s.Store), s.who).Sources {
		by[src.OSM] = src
	}
	if x := by["report/"+yard.ID]; x.Name != "behind the gate" || x.RadiusM != kept.DefaultReportRadiusM || !slices.Equal(x.Mix, []exposure.Presence{{Kind: exposure.DogBehindFence, Present: 2}}) || !x.Reported() {
		t.Errorf("the yard %+v", x)
	}
	if x := by["report/"+bells.ID]; x.Name != "bells" || !slices.Equal(x.Mix, []exposure.Presence{{Kind: exposure.Bells, PerDay: 5}}) {
		t.Errorf("the bells, which have no name and come in events: %+v", x)
	}
	// Half of 0.001 degrees of latitude times 0.001 of longitude at 47.2 degrees north, in square metres.
	if x := by["report/"+lot.ID]; len(x.Area) != 1 || x.AreaM2 < 4100 || x.AreaM2 > 4300 || x.Hours == "" || !x.Area[0].Contains(x.At) {
		t.Errorf("the building site %+v", x)
	}
	if len(by) != 3 {
		t.Errorf("%d sources", len(by))
	}
}

// TestKeptIsDerived: whatever is done at whichever server, and whatever time it is,
// what a server has kept is what it would derive anew from the rows. Two servers share
// the database; each has its own view of it.
func TestKeptIsDerived(t *testing.T) {
	each(t, func(t *testing.T, s *shelter) {
		ctx := t.Context()
		second := s.open()
		bases := []*Base{s.base(s.Store), s.base(second)}
		stores := []*store.Store{s.Store, second}
		seed := mrand.Uint64()
		t.Logf("seed %d", seed)
		rng := mrand.New(mrand.NewPCG(seed, 1))
		mapped := s.planner.Snapshot().Field.Source(3).OSM
		other, err := s.CreateAccount(ctx, "Birch House", "Robin")
		s.ok(err)
		did := map[string]int{}
		for i := range 60 {
			m := stores[rng.IntN(2)]
			reports, err := m.Reports(ctx, s.who)
			s.ok(err)
			one := func() string { return reports[rng.IntN(len(reports))].ID }
			deed := [...]string{"walk", "report", "ending", "mapped", "word", "delete", "hours", "weeks", "nothing"}[rng.IntN(9)]
			if len(reports) == 0 && (deed == "word" || deed == "delete") {
				deed = "report"
			}
			did[deed]++
			switch deed {
			case "walk":
				s.walk(s.who, s.fern, fmt.Sprint("w", i), rng.IntN(4))
			case "report":
				s.report(rng.Float64()*60, nil)
			case "ending":
				s.report(rng.Float64()*60, func(in *kept.ReportInput) { in.Ends = s.now().Add(24 * time.Hour) })
			case "mapped":
				_, err = m.AddReport(ctx, s.who, kept.ReportInput{Mapped: mapped, There: rng.IntN(2) == 0})
			case "word":
				_, err = m.State(ctx, s.who, one(), rng.IntN(2) == 0)
			case "delete":
				err = m.DeleteReport(ctx, s.who, one())
			case "hours":
				s.advance(time.Duration(rng.IntN(30)) * time.Hour)
			case "weeks":
				s.advance(time.Duration(rng.IntN(60*24)) * time.Hour)
			}
			s.ok(err)
			want := s.view(s.base(m), s.who)
			for n, b := range bases {
				if got := s.view(b, s.who); !reflect.DeepEqual(got, want) {
					t.Fatalf("step %d, %s: server %d has kept %+v, the rows teach %+v", i, deed, n, short(got), short(want))
				}
				if v := s.view(b, other); !v.Plain {
					t.Fatalf("step %d, %s: another account learns %+v", i, deed, short(v))
				}
			}
		}
		if len(did) < 6 {
			t.Errorf("only %v was done", did)
		}
	})
}

// short is a view without its long parts.
func short(v view) view {
	v.Hazard, v.Cells = v.Hazard[:3], nil
	return v
}

// TestDerivedOncePerState: as long as the rows stand nothing is made anew, neither
// factors nor planner; words that fade move what is thought of a source only; and a
// report is laid on the map once, however often something else is said.
func TestDerivedOncePerState(t *testing.T) {
	s := newShelter(t, filepath.Join(t.TempDir(), "memory.db"))
	ctx := t.Context()
	b := s.base(s.Store)
	s.walk(s.who, s.fern, "w1", 2)
	s.report(10, nil)
	look := func() (*routing.Planner, *exposure.Factors, map[string]*exposure.Laid) {
		t.Helper()
		p, fa, err := b.Of(ctx, s.who, s.planner)
		s.ok(err)
		laid := map[string]*exposure.Laid{}
		for _, src := range b.kept.by[of{s.who.Account, s.planner}].known.spoken {
			laid[src.report] = src.laid
		}
		return p, fa, laid
	}
	cells := func(fa *exposure.Factors) uintptr { return reflect.ValueOf(fa.Cells).Pointer() }
	p, fa, laid := look()
	s.advance(36 * time.Hour)
	q, fb, _ := look()
	if q != p || cells(fa) != cells(fb) {
		t.Error("nothing was changed, and planner or factors are new")
	}
	if a, b := slices.Collect(maps.Values(fa.There)), slices.Collect(maps.Values(fb.There)); len(a) != 1 || len(b) != 1 || !(b[0] < a[0]) {
		t.Errorf("a day and a half later %v is %v: words fade", a, b)
	}
	added := s.report(40, nil)
	q, _, more := look()
	if q == p || len(more) != 2 {
		t.Errorf("another report: the planner is the old one, %d are laid", len(more))
	}
	for id, l := range laid {
		if more[id] != l {
			t.Errorf("report %s was laid on the map again", id)
		}
	}
	s.ok(s.DeleteReport(ctx, s.who, added.ID))
	if _, _, left := look(); len(left) != 1 {
		t.Errorf("%d reports are kept", len(left))
	}
}

// TestManyAskAtOnce: people of several accounts ask and change at once, each gets
// what is theirs; run it with the race detector.
func TestManyAskAtOnce(t *testing.T) {
	s := newShelter(t, filepath.Join(t.TempDir(), "memory.db"))
	ctx := t.Context()
	b := s.base(s.Store)
	b.kept.most = 3 * emptyBytes // some are put away all the time
	type asker struct {
		who store.Who
		dog kept.Dog
	}
	var askers []asker
	for i := range 4 {
		w, err := s.CreateAccount(ctx, fmt.Sprint("house ", i), "Kit")
		s.ok(err)
		askers = append(askers, asker{w, s.dog(w, "Oro")})
	}
	var all sync.WaitGroup
	for i, a := range askers {
		for range 2 {
			all.Go(func() {
				for n := range 5 {
					p, fa, err := b.Of(ctx, a.who, s.planner)
					if err != nil {
						t.Error(err)
						return
					}
					if extra := p.Snapshot().Field.SourceCount() - s.planner.Snapshot().Field.SourceCount(); extra > 0 && i%2 == 0 || fa != nil && len(fa.Cells) > 0 && i%2 == 1 {
						t.Errorf("house %d has learnt what others know: %d sources, %+v", i, extra, fa)
					}
					if i%2 == 0 {
						_, _, err = s.AddWalk(ctx, a.who, a.dog.ID, kept.WalkInput{Key: fmt.Sprint(n), Started: s.now(), AllTold: true}, []kept.Expected{{Kind: "child", Place: "park", Part: "morning", Inside: 1, WorkingM: 20}})
					} else {
						_, err = s.AddReport(ctx, a.who, kept.ReportInput{Kind: "runner", Lat: ptr(testdata.DoorLat), Lon: ptr(testdata.DoorLon), There: true})
					}
					if err != nil {
						t.Error(err)
						return
					}
				}
			})
		}
	}
	all.Wait()
	for i, a := range askers {
		v, fresh := s.view(b, a.who), s.view(s.base(s.Store), a.who)
		if !reflect.DeepEqual(v, fresh) || (i%2 == 0) != (v.Walks == 5) || (i%2 == 1) != (len(v.Sources) == 10) {
			t.Errorf("house %d: %+v, anew %+v", i, short(v), short(fresh))
		}
	}
}

// TestErrorsAreNotKept: what could not be derived is tried again; who is not there
// has learnt nothing.
func TestErrorsAreNotKept(t *testing.T) {
	s := newShelter(t, filepath.Join(t.TempDir(), "memory.db"))
	b := s.base(s.Store)
	s.report(10, nil)
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := b.Of(gone, s.who, s.planner); !errors.Is(err, context.Canceled) {
		t.Errorf("nobody waits any more: %v", err)
	}
	if v := s.view(b, s.who); len(v.Sources) != 1 {
		t.Errorf("asked again: %+v", short(v))
	}
	if v := s.view(b, store.Who{Account: "nobody"}); !v.Plain {
		t.Errorf("an account that is not there: %+v", short(v))
	}
	// Who waits for another's look gives up with their request.
	slot := b.kept.slot(of{s.who.Account, s.planner})
	s.ok(slot.lock(t.Context()))
	soon, cancel := context.WithCancel(t.Context())
	time.AfterFunc(time.Millisecond, cancel)
	if _, _, err := b.Of(soon, s.who, s.planner); !errors.Is(err, context.Canceled) {
		t.Errorf("behind a slot that is held: %v", err)
	}
	b.kept.release(slot)
	if v := s.view(b, s.who); len(v.Sources) != 1 {
		t.Errorf("after it was released: %+v", v)
	}
}
