package store_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// TestAClockThatIsBehind: a server whose clock stands a week behind refuses true logs
// for now only, with both times, keeps nothing of them, and takes the same once its
// clock is right; what is wrong whatever the clock says it refuses for good.
func TestAClockThatIsBehind(t *testing.T) {
	each(t, func(t *testing.T, h *house) {
		ctx := t.Context()
		fern := h.dog("Fern")
		at := start.Add(days(7))
		walk := kept.WalkInput{Key: "w1", Started: at}
		met := meeting("e1")
		met.At = at
		send := func() (walked, logged error) {
			_, _, walked = h.AddWalk(ctx, h.trainer, fern.ID, walk, nil)
			_, _, logged = h.AddEncounter(ctx, h.trainer, fern.ID, met, "")
			return walked, logged
		}
		walked, logged := send()
		for name, err := range map[string]error{"a walk": walked, "a meeting": logged} {
			want(t, name, err, kept.ErrAhead)
			var wrong fault.Problems
			if errors.As(err, &wrong) {
				t.Errorf("%s is wrong for good: %v", name, err)
			}
			if err == nil || !strings.Contains(err.Error(), at.Format(time.RFC3339)) || !strings.Contains(err.Error(), start.Format(time.RFC3339)) {
				t.Errorf("%s: %v names not both times", name, err)
			}
		}
		both := walk
		both.Started, both.Note = at, strings.Repeat("n", 1001)
		_, _, err := h.AddWalk(ctx, h.trainer, fern.ID, both, nil)
		wantProblem(t, "ahead and wrong", err, "/note")
		h.advance(days(7))
		walked, logged = send()
		h.ok(walked)
		h.ok(logged)
		there, _, err := h.AddWalk(ctx, h.trainer, fern.ID, walk, nil)
		h.ok(err)
		track := []kept.TrackPoint{{Lat: 47, Lon: 7}, {Lat: 47, Lon: 7, At: h.now().Add(25 * time.Hour)}}
		_, err = h.Attach(ctx, h.trainer, there.ID, track, nil)
		want(t, "a track", err, kept.ErrAhead)
		h.advance(days(1))
		_, err = h.Attach(ctx, h.trainer, there.ID, track, nil)
		h.ok(err)
		_, fresh, err := h.AddWalk(ctx, h.trainer, fern.ID, walk, nil)
		if err != nil || fresh {
			t.Errorf("sent again it is new: %v, %v", fresh, err)
		}
	})
}
