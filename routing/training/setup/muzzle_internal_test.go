package setup

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/plantest"
	"wideberth/routing/search"
	"wideberth/routing/snapshot/maptest"
)

// TestMuzzles: the rule as it is stated, over everything that can be said of the two: where
// one of two dogs has bitten, neither goes without a muzzle that it was taught to wear;
// where the helper is none, a dog that has bitten does not; a trainer's word lifts it, and
// stands only where it lifts something.
func TestMuzzles(t *testing.T) {
	for bits := range 64 {
		is := func(n int) bool { return bits>>n&1 == 1 }
		w := Wish{Dog: maptest.Kessa(), Kind: exposure.DogOnLead, At: maptest.Morning, Helper: Helper{Bite: is(1), MuzzleTrained: is(3)}}
		w.Dog.Cautions.BiteHistory, w.Dog.Cautions.MuzzleTrained = is(0), is(2)
		if is(4) {
			w.Kind = exposure.Adult
			w.Dog.ByKind = map[exposure.Kind]exposure.Need{exposure.Adult: {WorkingM: 30, ReactionM: 10}}
		}
		if is(5) {
			w.Helper.Word = &Word{ID: "w", By: "Tess", Text: "I hold the line."}
		}
		twoDogs := !is(4)
		var lacks []string
		if (is(0) || is(1) && twoDogs) && !is(2) {
			lacks = append(lacks, "/dog/cautions/muzzle_trained")
		}
		if twoDogs && (is(0) || is(1)) && !is(3) {
			lacks = append(lacks, "/helper/muzzle_trained")
		}
		stands := w.Standing() != nil
		if stands != (len(lacks) > 0 && is(5)) {
			t.Errorf("%06b: a word stands: %v", bits, stands)
		}
		if is(5) {
			lacks = nil
		}
		err := w.fill()
		var wrong fault.Problems
		errors.As(err, &wrong)
		var told []string
		for _, p := range wrong {
			told = append(told, p.Pointer)
			if !strings.Contains(p.Mend, "in writing") {
				t.Errorf("%06b: %s", bits, p.Mend)
			}
		}
		if fmt.Sprint(told) != fmt.Sprint(lacks) {
			t.Errorf("%06b: %v, want %v", bits, err, lacks)
		}
	}
}

// TestNoGroundIsLookedForBeforeTheRule: a refused meeting costs no search.
func TestNoGroundIsLookedForBeforeTheRule(t *testing.T) {
	w := asked()
	w.Dog.Cautions.BiteHistory = true
	_, err := Find(t.Context(), plantest.Town(t), w, func(plane.Point) (float64, bool) {
		t.Error("somebody drives")
		return 0, false
	})
	var wrong fault.Problems
	if !errors.As(err, &wrong) || len(wrong) != 2 {
		t.Errorf("%v", err)
	}
}

// TestFindWithinWork: with all the work that it takes, a search finds what it finds without
// a bound; with less it says so, and what it has is some of that; whose context ended, it
// ends with that.
func TestFindWithinWork(t *testing.T) {
	p := plantest.Town(t)
	find := func(w *search.Work) (*Found, error) {
		wish := asked()
		wish.Work = w
		return Find(t.Context(), p, wish, everywhere(t))
	}
	free, err := find(nil)
	if err != nil || free.CutShort || len(free.Setups) == 0 {
		t.Fatalf("%+v, %v", free, err)
	}
	const plenty = 1_000_000_000
	work := search.NewWork(t.Context(), plenty)
	whole, err := find(work)
	if err != nil || whole.CutShort || len(whole.Setups) != len(free.Setups) || whole.LookedAt != free.LookedAt {
		t.Fatalf("with plenty: %+v, %v", whole, err)
	}
	did := plenty - work.Left()
	if want := int64(sieveSteps*len(p.Snapshot().Yards) + layoutSteps*whole.LookedAt); did != want {
		t.Errorf("%d steps, want %d", did, want)
	}
	for _, left := range []int64{0, sieveSteps * int64(len(p.Snapshot().Yards)), did - 1} {
		part, err := find(search.NewWork(t.Context(), left))
		if err != nil || !part.CutShort || part.LookedAt >= whole.LookedAt || len(part.Setups) > len(whole.Setups) {
			t.Errorf("with %d of %d steps: %+v, %v", left, did, part, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if found, err := find(search.NewWork(ctx, plenty)); !errors.Is(err, context.Canceled) || found != nil {
		t.Errorf("given up: %+v, %v", found, err)
	}
}
