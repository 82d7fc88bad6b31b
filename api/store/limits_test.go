package store_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

// TestEverythingIsBounded fills each kind of thing that people can make up to one
// below its limit, makes the last that fits, and is refused one more with the figure.
func TestEverythingIsBounded(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		account, dog, person := h.keeper.Account, fern.ID, h.handler.Person
		small := json.RawMessage(`{}`)
		number := 0
		key := func() string { number++; return fmt.Sprintf("k%d", number) }
		for _, c := range []struct {
			what   string
			limit  int
			have   int
			insert string
			args   []any
			make   func() error
		}{
			{"dogs", 1000, 1, `INSERT INTO dog (id, account, version, body, created, updated) SELECT 'd' || CAST(i AS TEXT), $1, 1, '{}', 0, 0 FROM n`, []any{account},
				func() error { return onlyErr(h.AddDog(ctx, h.trainer, profile("Miko"), said(profile("Miko")))) }},
			{"people", 500, 3, `INSERT INTO person (id, account, name, role, created) SELECT 'p' || CAST(i AS TEXT), $1, 'x', 'handler', 0 FROM n`, []any{account},
				func() error { return onlyErr(h.AddPerson(ctx, h.keeper, "Robin", kept.Handler, nil)) }},
			{"keys", 100, 0, `INSERT INTO token (id, hash, person, label, created, expires) SELECT 't' || CAST(i AS TEXT), 'h' || CAST(i AS TEXT), $1, '', 0, 0 FROM n`, []any{person},
				func() error { return second1(h.NewToken(ctx, h.keeper, person, "", 1)) }},
			{"plans", 500, 0, `INSERT INTO plan (id, dog, body, created) SELECT 'l' || CAST(i AS TEXT), $1, '{}', 0 FROM n`, []any{dog},
				func() error { return onlyErr(h.SavePlan(ctx, h.trainer, dog, "town", small)) }},
			{"walks", 20000, 0, `INSERT INTO walk (id, dog, key, print, started, body, created) SELECT 'w' || CAST(i AS TEXT), $1, CAST(i AS TEXT), '', 0, '{}', 0 FROM n`, []any{dog},
				func() error {
					return second1(h.AddWalk(ctx, h.trainer, dog, kept.WalkInput{Key: key(), Started: start.Add(-time.Hour)}, nil))
				}},
			{"meetings", 50000, 0, `INSERT INTO encounter (id, dog, key, print, walk, at, body, created) SELECT 'e' || CAST(i AS TEXT), $1, CAST(i AS TEXT), '', '', 0, '{}', 0 FROM n`, []any{dog},
				func() error {
					in := meeting(key())
					in.Walk = "" // those that fill up have no body to reckon with
					return second1(h.AddEncounter(ctx, h.trainer, dog, in, ""))
				}},
			{"reports", 1000, 0, `INSERT INTO report (id, account, mapped, ends, body, created) SELECT 'r' || CAST(i AS TEXT), $1, '', 0, '{"kind":"dogs"}', 0 FROM n`, []any{account},
				func() error { return onlyErr(h.AddReport(ctx, h.handler, barker())) }},
			{"words on sources", 5000, 0, `INSERT INTO report (id, account, mapped, ends, body, created) SELECT 'm' || CAST(i AS TEXT), $1, 'way/' || CAST(i AS TEXT), 0, '{}', 0 FROM n`, []any{account},
				func() error {
					return onlyErr(h.AddReport(ctx, h.handler, kept.ReportInput{Mapped: "way/9" + strings.Repeat("9", 1+number) + key()[1:], There: true}))
				}},
			{"documents of the kind visits", 2000, 0, `INSERT INTO document (account, kind, id, version, body, created, updated) SELECT $1, 'visits', CAST(i AS TEXT), 1, '{}', 0, 0 FROM n`, []any{account},
				func() error {
					return onlyErr(h.PutDocument(ctx, h.trainer, kept.Document{Kind: "visits", ID: key(), Dog: dog, Body: small}))
				}},
			{"documents of the kind outings", 1000, 0, `INSERT INTO document (account, kind, id, version, body, created, updated) SELECT $1, 'outings', CAST(i AS TEXT), 1, '{}', 0, 0 FROM n`, []any{account},
				func() error {
					return onlyErr(h.PutDocument(ctx, h.trainer, kept.Document{Kind: "outings", ID: key(), Body: small}))
				}},
			{"changes of distances", 20000, 0, `INSERT INTO distance_change (id, dog, seq, at, body) SELECT 'c' || CAST(i AS TEXT), $1, i, 0, '{}' FROM n`, []any{dog},
				func() error {
					d, err := h.Dog(ctx, h.trainer, dog)
					h.ok(err)
					p := d.Profile
					p.Needs["dogs"].WorkingM = ptr(*p.Needs["dogs"].WorkingM + 1)
					return onlyErr(h.SetDog(ctx, h.trainer, dog, d.Version, p, said(p)))
				}},
		} {
			h.ok(h.FillForTest(ctx, c.limit-c.have-1, c.insert, c.args...))
			if err := c.make(); err != nil {
				t.Errorf("%s: the last that fits: %v", c.what, err)
			}
			err := c.make()
			want(t, c.what+": one more", err, store.ErrLimit)
			if err != nil && (!strings.Contains(err.Error(), fmt.Sprint(c.limit)) || !strings.Contains(err.Error(), c.what)) {
				t.Errorf("%s: told without figure or name: %v", c.what, err)
			}
		}
	})
}

// TestBodiesAreBounded: each body has its own limit, and all of an account together.
func TestBodiesAreBounded(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		body := func(bytes int) json.RawMessage { return json.RawMessage(`"` + strings.Repeat("x", bytes-2) + `"`) }
		put := func(kind kept.DocumentKind, bytes int) error {
			return onlyErr(h.PutDocument(ctx, h.trainer, kept.Document{Kind: kind, Body: body(bytes)}))
		}
		h.ok(onlyErr(h.SavePlan(ctx, h.trainer, fern.ID, "town", body(store.MostPlanBytes))))
		wantProblem(t, "a longer plan", onlyErr(h.SavePlan(ctx, h.trainer, fern.ID, "town", body(store.MostPlanBytes+1))), "/body")
		h.ok(put("visits", store.MostVisitsBytes))
		wantProblem(t, "a longer sequence", put("visits", store.MostVisitsBytes+1), "/body")
		h.ok(put("outings", store.MostOutingBytes))
		wantProblem(t, "a longer timetable", put("outings", store.MostOutingBytes+1), "/body")

		h.ok(h.FillForTest(ctx, 1, `INSERT INTO plan (id, dog, body, bytes, created) SELECT 'sham', $1, '{}', $2, 0 FROM n`, fern.ID, store.MostAccountBytes-6<<20))
		want(t, "more than an account may have", onlyErr(h.SavePlan(ctx, h.trainer, fern.ID, "town", body(store.MostPlanBytes))), nil)
		want(t, "a timetable more", put("outings", store.MostOutingBytes), store.ErrLimit)
		h.ok(put("visits", 10_000))
		other := h.account("Birch House")
		h.ok(onlyErr(h.PutDocument(ctx, other, kept.Document{Kind: "outings", Body: body(store.MostOutingBytes)})))
	})
}

// TestLimitHoldsAtOnce: of many who take the last places at the same time, on two
// servers of one database, no more get one than there are.
func TestLimitHoldsAtOnce(t *testing.T) {
	url := postgres(t)
	h := newHouse(t, url)
	second := open(t, url, h.clock)
	ctx := t.Context()
	h.ok(h.FillForTest(ctx, 995, `INSERT INTO dog (id, account, version, body, created, updated) SELECT 'd' || CAST(i AS TEXT), $1, 1, '{}', 0, 0 FROM n`, h.keeper.Account))
	var took, refused atomic.Int64
	var wg sync.WaitGroup
	for i := range 20 {
		s := []*store.Store{h.Store, second}[i%2]
		wg.Go(func() {
			err := onlyErr(s.AddDog(ctx, h.trainer, profile("Miko"), said(profile("Miko"))))
			if err == nil {
				took.Add(1)
				return
			}
			want(t, "one of many", err, store.ErrLimit)
			refused.Add(1)
		})
	}
	wg.Wait()
	if took.Load() != 5 || refused.Load() != 15 {
		t.Errorf("%d took a place and %d were refused, want 5 and 15", took.Load(), refused.Load())
	}
}

// TestListsAndExportsTakeLittleMemory: lists come without bodies, and an export of
// 60 MB goes out without being in memory.
func TestListsAndExportsTakeLittleMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	h := newHouse(t, newFile(t))
	fern := h.dog("Fern")
	ctx := t.Context()
	h.ok(h.FillForTest(ctx, 120, `INSERT INTO plan (id, dog, body, bytes, created) SELECT 'l' || CAST(i AS TEXT), $1, $2, $3, i FROM n`,
		fern.ID, `{"id":"x","dog":"y","body":"`+strings.Repeat("x", store.MostPlanBytes-100)+`"}`, store.MostPlanBytes))
	plans, err := h.Plans(ctx, h.trainer, fern.ID)
	h.ok(err)
	if len(plans) != 120 || plans[0].ID != "l120" || plans[0].Bytes != store.MostPlanBytes {
		t.Fatalf("%d plans, first %+v", len(plans), plans[0])
	}
	peak := heapPeak(func() {
		var n counter
		h.ok(h.Export(ctx, h.trainer, fern.ID, store.ExportJSON, &n))
		if n < 60_000_000 {
			t.Errorf("only %d bytes", n)
		}
	})
	if peak > 24<<20 {
		t.Errorf("an export of 60 MB took %d MB", peak>>20)
	}
	peak = heapPeak(func() { h.ok(onlyErr(h.Plans(ctx, h.trainer, fern.ID))) })
	if peak > 4<<20 {
		t.Errorf("the list took %d MB", peak>>20)
	}
}

type counter int64

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}

// heapPeak is how far the heap grows while f runs, looked at often.
func heapPeak(f func()) uint64 {
	runtime.GC()
	var before runtime.MemStats
	runtime.ReadMemStats(&before)
	ctx, stop := context.WithCancel(context.Background())
	peak := make(chan uint64)
	go func() {
		most := uint64(0)
		for ctx.Err() == nil {
			var now runtime.MemStats
			runtime.ReadMemStats(&now)
			most = max(most, now.HeapAlloc)
			time.Sleep(time.Millisecond)
		}
		peak <- most
	}()
	f()
	stop()
	most := <-peak
	return most - min(most, before.HeapAlloc)
}

// TestExportThatBreaksOff: somebody who hangs up ends the export, and leaves nothing
// open behind.
func TestExportThatBreaksOff(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		f := h.full("Fern")
		for form := range store.ExportGPX + 1 {
			want(t, "an export that nobody reads", h.Export(t.Context(), h.trainer, f.dog.ID, form, &hangUp{after: 10}), io.ErrClosedPipe)
		}
		for range 20 { // more than there are connections
			h.ok(onlyErr(h.Dog(t.Context(), h.trainer, f.dog.ID)))
		}
		if text := h.export(f.dog.ID, store.ExportJSON); !json.Valid(text) || !bytes.HasSuffix(text, []byte("}\n")) {
			t.Errorf("afterwards: %s", text)
		}
	})
}

type hangUp struct{ after int }

func (w *hangUp) Write(p []byte) (int, error) {
	if w.after -= len(p); w.after < 0 {
		return 0, io.ErrClosedPipe
	}
	return len(p), nil
}
