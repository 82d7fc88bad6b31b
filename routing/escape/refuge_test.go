package escape_test

import (
	"math"
	"testing"

	"wideberth/routing/escape"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// soonest is the slow twin of the search for refuges: the seconds at 1.6 m/s from the
// middle of an arc to every vertex within a minute, by its head and by its tail, by
// relaxing all arcs until nothing changes.
func soonest(r *reach.Reach, arc int32) (byHead, byTail []float64) {
	brisk := r.TimesS(1.6)
	from := func(v int32) []float64 {
		at := make([]float64, r.Star.VertexCount())
		for i := range at {
			at[i] = math.Inf(1)
		}
		at[v] = float64(brisk[arc]) / 2
		for changed := true; changed; {
			changed = false
			for v := range int32(len(at)) {
				for a := r.Star.First[v]; a < r.Star.First[v+1]; a++ {
					if to := at[v] + float64(brisk[a]); to <= 60 && to < at[r.Star.Head[a]]-1e-9 {
						at[r.Star.Head[a]], changed = to, true
					}
				}
			}
		}
		return at
	}
	return from(r.Star.Head[arc]), from(r.Star.Head[r.Star.Twin[arc]])
}

// TestRefugesAgainstAllPlaces: who has enough room stays; else the refuge is the soonest
// of all places with enough within a minute, a step off the line at 1 m/s among it; and
// where none has enough, none within a minute has more than 1.2 times the room told. The
// way begins at the end of the arc from which it is the shorter.
func TestRefugesAgainstAllPlaces(t *testing.T) {
	s := maptest.Town(t)
	land := on(t, s)
	door, err := land.Place(maptest.Door(s.Frame))
	if err != nil {
		t.Fatal(err)
	}
	r, err := land.Around(door, nil, 1500)
	if err != nil {
		t.Fatal(err)
	}
	f, err := escape.NewRefuges(r)
	if err != nil {
		t.Fatal(err)
	}
	enough, short := 0, 0
	for arc := int32(0); arc < int32(r.Star.ArcCount()); arc += 9 {
		byHead, byTail := soonest(r, arc)
		for _, needM := range []float64{8, 20, 45, 1e6} {
			here := escape.Refuge{Seconds: 1, Where: "left", RoomM: s.Field.RoomM(r.Piece[arc].Edge)}
			got := f.From(arc, needM, here)
			if here.RoomM >= needM {
				if got != here {
					t.Errorf("arc %d, need %g: %+v, with enough room where one stands", arc, needM, got)
				}
				continue
			}
			bestS, most := math.Inf(1), here.RoomM
			for v := range byHead {
				for a := r.Star.First[v]; a < r.Star.First[v+1]; a++ {
					at := math.Min(byHead[v], byTail[v])
					if at > 60 {
						continue
					}
					room := s.Field.RoomM(r.Piece[a].Edge)
					if most = math.Max(most, room); room >= needM {
						bestS = math.Min(bestS, at+needM)
					}
				}
			}
			if math.IsInf(bestS, 1) {
				short++
				if got.RoomM >= needM || got.RoomM*1.2 < most-1e-9 || (got.Seconds < 0) != (got.Where == "") || got.Seconds < 0 && got.RoomM != here.RoomM || got.Seconds >= 0 && got.RoomM <= 1.2*here.RoomM || got.Seconds == 0 {
					t.Errorf("arc %d, need %g: %+v, and there is room of %.1f m", arc, needM, got, most)
				}
				continue
			}
			enough++
			if got.RoomM < needM || math.Abs(got.Seconds-bestS) > 1e-3 {
				t.Errorf("arc %d, need %g: %+v, the soonest takes %.2f s", arc, needM, got, bestS)
			}
			end := map[string][]float64{"ahead": byHead, "back": byTail}[got.Where]
			if end == nil {
				t.Fatalf("arc %d: the way begins %q", arc, got.Where)
			}
			there := false
			for v := range end {
				for a := r.Star.First[v]; a < r.Star.First[v+1]; a++ {
					there = there || math.Abs(end[v]+needM-got.Seconds) < 1e-3 && s.Field.RoomM(r.Piece[a].Edge) == got.RoomM
				}
			}
			if !there {
				t.Errorf("arc %d, need %g: no such place is reached %s in %.2f s", arc, needM, got.Where, got.Seconds)
			}
		}
	}
	if enough < 20 || short < 20 {
		t.Errorf("%d refuges with enough room and %d without: too much alike", enough, short)
	}
}
