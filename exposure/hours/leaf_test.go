package hours_test

import (
	"testing"
	"time"

	"wideberth/exposure/hours"
)

// TestInLeaf: woods of the north have leaves in July and none in January, of the south
// the other way round, of the tropics always; a clock without a place knows none.
func TestInLeaf(t *testing.T) {
	for _, c := range []struct {
		lat, lon float64
		month    time.Month
		day      int
		want     bool
	}{
		{39.7, -75.5, time.July, 1, true}, {39.7, -75.5, time.January, 14, false}, {39.7, -75.5, time.April, 19, false}, {39.7, -75.5, time.April, 20, true},
		{39.7, -75.5, time.November, 4, true}, {39.7, -75.5, time.November, 5, false}, {39.7, -75.5, time.December, 2, false},
		{-37.8, 145, time.July, 1, false}, {-37.8, 145, time.January, 14, true}, {1.3, 103.8, time.January, 14, true}, {0, 0, time.July, 1, false},
	} {
		clock := &hours.Clock{Loc: time.UTC, Lat: c.lat, Lon: c.lon}
		if got := clock.At(time.Date(2026, c.month, c.day, 12, 0, 0, 0, time.UTC)).InLeaf(); got != c.want {
			t.Errorf("%g, %d %s: %v", c.lat, c.day, c.month, got)
		}
	}
}
