package survey

import (
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/survey/sketch"
)

func lodging(k *sketch.Map, x, y float64, tags map[string]string) {
	sketch.Place(k, "lodging", x, y)
	k.X.Features[len(k.X.Features)-1].Tags = tags
}

// Hotels bring people where they stand, and where they are many the season counts;
// beside ski lifts nobody knows which.
func TestVisitors(t *testing.T) {
	marked := func(a *assignment) (n int) {
		f := a.field(a.ground.g)
		for _, m := range f.Marks {
			if m&exposure.Visitors != 0 {
				n++
			}
		}
		return n
	}
	plain, one, resort, ski := sketch.SmallTown(6), sketch.SmallTown(6), sketch.SmallTown(6), sketch.SmallTown(6)
	lodging(one, 240, 130, map[string]string{"tourism": "guest_house"})
	for _, k := range []*sketch.Map{resort, ski} {
		for range 3 {
			lodging(k, 240, 130, map[string]string{"tourism": "hotel", "rooms": "80"})
		}
	}
	for range winterResort {
		sketch.Place(ski, "ski_lift", 300, 300)
	}
	a, b, c, d := surveyed(t, plain, 1), surveyed(t, one, 1), surveyed(t, resort, 1), surveyed(t, ski, 1)
	if n, m := marked(a), marked(b); n != 0 || m != 0 {
		t.Errorf("%d edges with visitors without lodging, %d with a guest house", n, m)
	}
	if marked(c) != c.ground.g.EdgeCount() || marked(d) != 0 {
		t.Errorf("%d of %d edges of a resort are marked, %d beside ski lifts", marked(c), c.ground.g.EdgeCount(), marked(d))
	}
	if got := c.totals["legs of visitors"]; !about(got, 3*160*bedsTaken*visitorLegs, 1e-9) || c.totals["beds"] != 480 {
		t.Errorf("%g legs of visitors in %g beds", got, c.totals["beds"])
	}
	if p, q := a.totals["trips on foot"], d.totals["trips on foot"]; q < p+600 {
		t.Errorf("%g trips on foot without hotels, %g with them", p, q)
	}
}

func TestBeds(t *testing.T) {
	for _, c := range []struct {
		tags map[string]string
		want float64
	}{
		{map[string]string{"tourism": "hotel"}, 60}, {map[string]string{"tourism": "hotel", "rooms": "20"}, 40}, {map[string]string{"tourism": "hostel", "beds": "33"}, 33},
		{map[string]string{"tourism": "camp_site", "capacity": "100"}, 300}, {map[string]string{"tourism": "hotel", "rooms": "many"}, 60},
		{map[string]string{"tourism": "hotel", "rooms": "99999"}, mostBeds}, {map[string]string{"tourism": "hotel", "rooms": "-4"}, 60},
	} {
		if got := beds(&osmdata.Feature{Tags: c.tags}); got != c.want {
			t.Errorf("%v: %g beds, want %g", c.tags, got, c.want)
		}
	}
}
