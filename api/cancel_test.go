package api_test

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"runtime/pprof"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"wideberth/api"
	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/errand"
	"wideberth/routing/escape"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/training"
	"wideberth/testdata"
)

// patience is a context that ends when it has been asked so many times.
type patience struct {
	context.Context
	left atomic.Int64
}

func newPatience(asked int64) *patience {
	p := &patience{Context: context.Background()}
	p.left.Store(asked)
	return p
}

func (p *patience) Err() error {
	if p.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// atWork lists goroutines that are searching now.
func atWork() string {
	var all bytes.Buffer
	_ = pprof.Lookup("goroutine").WriteTo(&all, 2) // to a buffer: it cannot fail
	var out []string
	for _, g := range strings.Split(all.String(), "\n\n") {
		if strings.Contains(g, "wideberth/routing") && !strings.Contains(g, "api_test.atWork") {
			out = append(out, g)
		}
	}
	return strings.Join(out, "\n\n")
}

// TestSearchesEndWithTheirContext gives up every operation that plans, at several
// moments: each ends with the context's error, and nothing goes on behind it.
func TestSearchesEndWithTheirContext(t *testing.T) {
	p, err := town()
	if err != nil {
		t.Fatal(err)
	}
	door := p.Frame().Forward(testdata.DoorLon, testdata.DoorLat)
	dog := exposure.Dog{Name: "Kessa", ByKind: map[exposure.Kind]exposure.Need{}, ByCategory: map[exposure.Category]exposure.Need{
		exposure.Dogs: {WorkingM: 38, ReactionM: 15}, exposure.People: {WorkingM: 25, ReactionM: 10}}}
	depart := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
	to := p.Frame().Forward(testdata.DoorLon+0.006, testdata.DoorLat+0.004)
	wish := func(shape routing.Shape) routing.Wish {
		w := routing.Wish{Shape: shape, From: door, Minutes: 45, Depart: depart, Dog: dog}
		if shape == routing.Way {
			w.To = &to
		}
		if shape == routing.LongestCalm {
			w.MaxX = 2
		}
		return w
	}
	plan := func(shape routing.Shape) func(context.Context) error {
		return func(ctx context.Context) error { _, err := p.Plan(ctx, wish(shape)); return err }
	}
	whole, err := p.Plan(t.Context(), wish(routing.Loop))
	if err != nil {
		t.Fatal(err)
	}
	day := outing.Wish{Gate: door, Start: depart, Minutes: 120, People: []outing.Person{{Name: "Ada"}, {Name: "Sam"}}}
	for _, name := range []string{"Bram", "Oro", "Tilly"} {
		d := dog
		d.Name = name
		day.Dogs = append(day.Dogs, outing.Dog{Dog: d, Minutes: 20})
	}
	table, err := outing.Plan(t.Context(), p, day)
	if err != nil {
		t.Fatal(err)
	}
	visits := training.Wish{From: door, Dog: dog, Kinds: []exposure.Kind{exposure.DogOnLead}, MaxX: 2,
		Times: []time.Time{depart, depart.Add(10 * time.Hour), depart.Add(24 * time.Hour)}}
	sequence, err := training.Visits(t.Context(), p, visits)
	if err != nil || len(sequence.Visits) == 0 {
		t.Fatalf("%d visits, %v", len(sequence.Visits), err)
	}
	stand := sequence.Visits[0]
	for name, search := range map[string]func(ctx context.Context) error{
		"loop": plan(routing.Loop), "there and back": plan(routing.ThereAndBack), "way": plan(routing.Way), "longest calm": plan(routing.LongestCalm),
		"proof": func(ctx context.Context) error { _, err := p.Prove(ctx, wish(routing.Loop)); return err },
		"week":  func(ctx context.Context) error { _, err := p.Week(ctx, wish(routing.Loop), 12); return err },
		"where": func(ctx context.Context) error {
			_, err := errand.New(p).Where(ctx, p, errand.Errand{Wish: wish(routing.Loop), DriveMinutes: 10})
			return err
		},
		"told again": func(ctx context.Context) error {
			_, err := p.Tell(ctx, wish(routing.Loop), []routing.Given{whole.Walks[0].Given()})
			return err
		},
		"ways out": func(ctx context.Context) error {
			_, err := escape.WaysOutAlong(ctx, p.Land(), whole.Walks[0].Line, exposure.DogOnLead, &dog)
			return err
		},
		"visits": func(ctx context.Context) error { _, err := training.Visits(ctx, p, visits); return err },
		"visit again": func(ctx context.Context) error {
			_, err := training.Again(ctx, p, visits, training.Revisit{At: stand.At, Source: stand.Watched.Source, Arrive: stand.Arrive, StayS: stand.StayS})
			return err
		},
		"vantages": func(ctx context.Context) error {
			_, err := training.Vantages(ctx, p, training.VantageWish{From: door, Dog: dog, Kinds: visits.Kinds, Multiple: 2, At: depart})
			return err
		},
		"outing": func(ctx context.Context) error { _, err := outing.Plan(ctx, p, day); return err },
		"outing day": func(ctx context.Context) error {
			_, err := outing.Replan(ctx, p, day, outing.Day{Now: depart, Before: table.Rows})
			return err
		},
		"outing told": func(ctx context.Context) error {
			_, err := outing.Retold(ctx, p, day, table.Rows)
			return err
		},
		"replay": func(ctx context.Context) error {
			walks, rules := table.Replay()
			_, err := replay.Check(ctx, walks, rules, 50, 1)
			return err
		},
	} {
		counting := newPatience(1 << 40)
		if err := search(counting); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		asked := 1<<40 - counting.left.Load()
		if asked < 1 {
			t.Errorf("%s never asks whether it is still wanted", name)
		}
		for share := range int64(5) {
			if err := search(newPatience(asked * share / 6)); !errors.Is(err, context.Canceled) {
				t.Errorf("%s, given up at %d of %d: %v", name, asked*share/6, asked, err)
			}
			if left := atWork(); left != "" {
				t.Fatalf("%s was given up and goes on:\n%s", name, left)
			}
		}
	}
}

// TestNobodySearchesForWhoHasGone: a client that hangs up in the middle of a long
// search frees its place for the next.
func TestNobodySearchesForWhoHasGone(t *testing.T) {
	srv := httptest.NewServer(server(t, api.Options{Searches: 1, Wait: time.Minute, Deadline: 10 * time.Minute}).Handler())
	defer srv.Close()
	ctx, hangUp := context.WithCancel(t.Context())
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, srv.URL+"/v1/weeks", strings.NewReader(wish(`,"minutes":120,"hours":336`+kessa)))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	gone := make(chan error, 1)
	go func() {
		res, err := http.DefaultClient.Do(req)
		if err == nil {
			res.Body.Close()
		}
		gone <- err
	}()
	for atWork() == "" {
		select {
		case err := <-gone:
			t.Fatalf("answered before it could be given up: %v", err)
		case <-time.After(time.Millisecond):
		}
	}
	hangUp()
	if err := <-gone; !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	// the one place is free at once, though half an hour of searching was asked for
	if res, body := do(t, srv.Config.Handler, "POST", "/v1/plans", "", wish(`,"minutes":10`+kessa)); res.StatusCode != http.StatusOK {
		t.Errorf("status %d: %s", res.StatusCode, clip(body))
	}
	for atWork() != "" {
		time.Sleep(time.Millisecond)
	}
}
