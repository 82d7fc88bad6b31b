package escape_test

import (
	"math/rand/v2"
	"testing"

	"wideberth/exposure"
	"wideberth/routing/escape"
	"wideberth/routing/snapshot/maptest"
)

// TestAsidesAreSoon: from what moves one steps aside within half a minute of walking, also
// well after the first step; from what stands only where one is.
func TestAsidesAreSoon(t *testing.T) {
	land := on(t, maptest.Town(t))
	const seed, soonS = 9, 30 // our assumption: later on it is no answer to what is here now
	rng := rand.New(rand.NewPCG(seed, 2))
	dog := maptest.Kessa()
	asides, latestS := 0, 0.0
	for _, at := range maptest.RandomDoors(land.Snap, 14, rng) {
		place, ok := threatNear(land, at, 30, rng)
		if !ok {
			continue
		}
		for _, speed := range []float64{0, 1.4} {
			calm, brisk, err := escape.WaysOut(land, at, escape.Threat{At: place, SpeedMPS: speed, Kind: exposure.DogOnLead}, &dog)
			if err != nil {
				t.Fatal(err)
			}
			for _, out := range []escape.WayOut{calm, brisk} {
				if out.Aside == "" {
					continue
				}
				asides++
				walkedS := out.Line.LengthM() / out.PaceMPS
				if latestS = max(latestS, walkedS); speed == 0 && walkedS > 0 {
					t.Errorf("aside of what stands after %.1f s", walkedS)
				}
			}
		}
	}
	if asides < 5 || latestS > soonS || latestS < soonS/2 {
		t.Errorf("%d asides, the latest after %.1f s (seed %d)", asides, latestS, seed)
	}
}
