package routing_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/survey"
	"wideberth/testdata"
)

// townTile is the town as the block of a tile: the same map with a wider box, so that it
// lies in another frame.
func townTile(t *testing.T, maxLon string) *bytes.Reader {
	t.Helper()
	const stated = `maxlon="-6.9821833"`
	packed, err := gzip.NewReader(bytes.NewReader(testdata.Town()))
	if err != nil {
		t.Fatal(err)
	}
	town, err := io.ReadAll(packed)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(town, []byte(stated)) {
		t.Fatal("the town states another box")
	}
	return bytes.NewReader(bytes.Replace(town, []byte(stated), []byte(`maxlon="`+maxLon+`"`), 1))
}

// joinedTown is the town put together from two tiles that surveyed half of it each, all
// three in frames of their own.
func joinedTown(t *testing.T) *snapshot.Snapshot {
	t.Helper()
	ctx, o := context.Background(), snapshot.ImportOptions{Country: "", Tool: "test"}
	const middle = -7.0009
	halves := []func(lon, lat float64) bool{
		func(lon, _ float64) bool { return lon < middle },
		func(lon, _ float64) bool { return lon >= middle },
	}
	var shares []*survey.Share
	for _, core := range halves {
		o.Core = core
		share, err := snapshot.Glance(ctx, townTile(t, "-6.98"), o)
		if err != nil {
			t.Fatal(err)
		}
		shares = append(shares, share)
	}
	o.Whole = survey.Gather(shares)
	var parts []snapshot.Part
	for i, core := range halves {
		o.Core = core
		s, err := snapshot.ImportFrom(ctx, townTile(t, []string{"-6.975", "-6.97"}[i]), "town.osm", o)
		if err != nil {
			t.Fatal(err)
		}
		parts = append(parts, snapshot.Part{From: s, Holds: core})
	}
	o.Core = nil
	s, err := snapshot.Join(ctx, townTile(t, "-6.965"), "town.osm", o, parts)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A tile joined from what its neighbours surveyed plans the walks of the whole map, with
// the reactions that the whole map expects.
func TestJoinedTilePlansAsTheWhole(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	joined := joinedTown(t)
	if breaches := joined.Check(); len(breaches) > 0 {
		t.Fatal(breaches)
	}
	whole, tile := plantest.Town(t), plantest.On(t, joined)
	if whole.Frame() == tile.Frame() {
		t.Fatal("both lie in one frame, so that nothing was shown of it")
	}
	rng := rand.New(rand.NewPCG(6, 1))
	starts := []plane.Point{maptest.Door(whole.Frame())}
	g := whole.Snapshot().Graph
	for len(starts) < 5 {
		starts = append(starts, g.Vertex[rng.IntN(len(g.Vertex))])
	}
	same := 0
	for _, from := range starts {
		w := routing.Wish{Shape: routing.Loop, From: from, Minutes: 25, Dog: maptest.Kessa(), Depart: maptest.Morning, Walks: 1}
		a, err := whole.Plan(context.Background(), w)
		w.From = tile.Frame().Forward(whole.Frame().Inverse(from))
		b, other := tile.Plan(context.Background(), w)
		if err != nil || other != nil {
			if (err == nil) != (other == nil) {
				t.Errorf("from %v: %v, joined %v", from, err, other)
			}
			continue
		}
		p, q := &a.Walks[0], &b.Walks[0]
		// In one frame both are the same to the last digit that is kept; in two, cells of 5 m of
		// public green ground lie otherwise, and what passes just at the border of a bin.
		if math.Abs(p.LengthM-q.LengthM) > .2 || len(p.Legs) != len(q.Legs) || math.Abs(p.ExpectedReactions-q.ExpectedReactions) > .02*p.ExpectedReactions {
			t.Errorf("from %v: %.1f m, %d legs, X %.4f; joined %.1f m, %d legs, X %.4f", from, p.LengthM, len(p.Legs), p.ExpectedReactions, q.LengthM, len(q.Legs), q.ExpectedReactions)
			continue
		}
		same++
	}
	if same < 3 {
		t.Errorf("%d starts of %d have a walk", same, len(starts))
	}
}
