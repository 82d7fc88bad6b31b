package routing

import (
	"slices"
	"testing"

	"wideberth/routing/search/loop"
)

// TestVaried: of walks that cost nearly the same one of a form not yet taken comes
// first; a dearer one never does. Turns stand for forms here.
func TestVaried(t *testing.T) {
	walk := func(sum float64, f form) loop.Walk { return loop.Walk{Cost: sum, Turns: int(f)} }
	formOf := func(l *loop.Walk) form { return form(l.Turns) }
	for _, c := range []struct {
		what  string
		found []loop.Walk
		n     int
		want  []float64
	}{
		{"another form at 4 % more", []loop.Walk{walk(1, round), walk(1.2, round), walk(1.248, outAndHome)}, 2, []float64{1, 1.248}},
		{"another form at 6 % more", []loop.Walk{walk(1, round), walk(1.2, round), walk(1.272, outAndHome)}, 2, []float64{1, 1.2}},
		{"the one passed over comes next", []loop.Walk{walk(1, round), walk(1.2, round), walk(1.248, tailed)}, 3, []float64{1, 1.248, 1.2}},
		{"all of one form: by their sums", []loop.Walk{walk(1, laps), walk(1.4, laps), walk(1.2, laps), walk(1.3, laps)}, 3, []float64{1, 1.2, 1.3}},
		{"each form once before any twice", []loop.Walk{walk(1, round), walk(1.2, round), walk(1.21, outAndHome), walk(1.22, outAndHome), walk(1.23, tailed)}, 4, []float64{1, 1.21, 1.23, 1.2}},
		{"fewer than asked for", []loop.Walk{walk(1, round)}, 3, []float64{1}},
	} {
		var got []float64
		for _, l := range varied(slices.Clone(c.found), c.n, formOf) {
			got = append(got, l.Cost)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}
