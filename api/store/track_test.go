package store_test

import (
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

var path3 = []kept.TrackPoint{{Lat: 39.75, Lon: -75.55, At: start.Add(-time.Hour)}, {Lat: 39.7501, Lon: -75.5502}, {Lat: 39.7503, Lon: -75.5504, At: start.Add(-50 * time.Minute)}}

func (h *house) walk(dog kept.Dog, started time.Time) kept.Walk {
	h.t.Helper()
	walk, _, err := h.AddWalk(h.t.Context(), h.trainer, dog.ID, kept.WalkInput{Started: started}, nil)
	h.ok(err)
	return walk
}

func TestTracks(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		walk := h.walk(fern, start.Add(-time.Hour))
		want(t, "no track yet", onlyErr(h.Track(ctx, h.trainer, walk.ID)), store.ErrNotFound)
		kept, err := h.Attach(ctx, h.trainer, walk.ID, path3, nil)
		h.ok(err)
		got, err := h.Track(ctx, h.trainer, walk.ID)
		h.ok(err)
		if !kept || len(got) != 3 || got[1] != path3[1] || !got[2].At.Equal(path3[2].At) {
			t.Errorf("kept %v: %+v", kept, got)
		}
		_, err = h.Attach(ctx, h.trainer, walk.ID, path3[:2], nil)
		h.ok(err)
		if got, err := h.Track(ctx, h.trainer, walk.ID); err != nil || len(got) != 2 {
			t.Errorf("a track in the place of another: %+v, %v", got, err)
		}
		if w, err := h.Walk(ctx, h.trainer, walk.ID); err != nil || !w.Track {
			t.Errorf("walk %+v, %v", w, err)
		}
		h.ok(h.DetachTrack(ctx, h.trainer, walk.ID))
		want(t, "deleted", onlyErr(h.Track(ctx, h.trainer, walk.ID)), store.ErrNotFound)
		want(t, "deleted twice", h.DetachTrack(ctx, h.trainer, walk.ID), store.ErrNotFound)
		wantProblem(t, "an empty track", onlyErr(h.Attach(ctx, h.trainer, walk.ID, nil, nil)), "")
	})
}

// TestTracksAreKeptSoLongOnly: after the days that the account wishes a track is
// not shown, and after the next sweep not there.
func TestTracksAreKeptSoLongOnly(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		old, young := h.walk(fern, start.Add(-days(300))), h.walk(fern, start.Add(-days(10)))
		for _, w := range []kept.Walk{old, young} {
			_, err := h.Attach(ctx, h.trainer, w.ID, path3, nil)
			h.ok(err)
		}
		h.advance(days(100))
		want(t, "after 400 days, before the sweep", onlyErr(h.Track(ctx, h.trainer, old.ID)), store.ErrNotFound)
		gone, err := h.PurgeTracks(ctx)
		h.ok(err)
		if gone != 1 {
			t.Errorf("%d tracks swept, want 1", gone)
		}
		if _, err := h.Track(ctx, h.trainer, young.ID); err != nil {
			t.Errorf("after 110 days: %v", err)
		}
		set := kept.DefaultSettings()
		set.KeepTracksDays = 0
		h.ok(h.SetSettings(ctx, h.keeper, set))
		if gone, err = h.PurgeTracks(ctx); err != nil || gone != 0 {
			t.Errorf("the setting itself should have swept: %d left, %v", gone, err)
		}
		kept, err := h.Attach(ctx, h.trainer, young.ID, path3, nil)
		h.ok(err)
		if kept {
			t.Error("kept although the account keeps none")
		}
		if _, err := h.Walk(ctx, h.trainer, old.ID); err != nil {
			t.Errorf("the walk itself: %v", err)
		}
	})
}
