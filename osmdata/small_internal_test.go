package osmdata

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/osm"
)

func tagList(list string) (out osm.Tags) {
	for t := range strings.FieldsSeq(list) {
		k, v, _ := strings.Cut(t, "=")
		out = append(out, osm.Tag{Key: k, Value: v})
	}
	return out
}

// TestFacetsOneByOne: in which ways an object matters, tag by tag, and all of them together;
// what matters to nobody has none.
func TestFacetsOneByOne(t *testing.T) {
	p := newPicker([]Rule{{Key: "leisure", Values: []string{"dog_park"}, As: "dog_park"}, {Key: "shop", As: "shop"}, {Key: "amenity", Values: []string{"place_of_worship"}, Also: []Match{{Key: "religion", Values: []string{"christian"}}}, As: "church"}})
	for list, want := range map[string]facet{
		"highway=residential": asStreet, "highway=proposed": 0, "highway=crossing": asCrossing, "highway=traffic_signals": asCrossing,
		"building=yes": asBuilding, "building=no": 0, "barrier=gate": asBarrier, "barrier=fence": asBarrier | asObstacle, "railway=rail": asRail, "railway=abandoned": 0,
		"waterway=river": asObstacle, "addr:housenumber=7": asAddress, "place=village": asPlace, "natural=cliff": asObstacle, "leisure=dog_park": asFeature,
		"shop=bakery": asFeature, "shop=no": 0, "amenity=place_of_worship": 0, "amenity=place_of_worship religion=christian": asFeature, "religion=christian amenity=place_of_worship": asFeature, "amenity=place_of_worship religion=none": 0,
		"name=Nook": 0, "": 0,
	} {
		got := p.facets(tagList(list)) &^ (asGround)
		if strings.HasPrefix(list, "highway=crossing") || strings.HasPrefix(list, "highway=traffic") {
			got &= asCrossing
		}
		if got != want {
			t.Errorf("%q matters as %b, want %b", list, got, want)
		}
	}
	both := p.facets(tagList("building=yes shop=bakery addr:housenumber=7 highway=residential"))
	if want := asBuilding | asFeature | asAddress | asStreet; both != want {
		t.Errorf("together %b, want %b", both, want)
	}
}

// TestFirstRuleByLookingAtAll: of rules and tags drawn by chance the first rule that holds is
// found, whatever the order of the tags.
func TestFirstRuleByLookingAtAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 12))
	keys, values := []string{"a", "b", "c"}, []string{"x", "y", "no", ""}
	found, none := 0, 0
	for range 400 {
		var rules []Rule
		for range 1 + rng.IntN(5) {
			r := Rule{Key: keys[rng.IntN(3)]}
			for range rng.IntN(3) {
				r.Values = append(r.Values, values[rng.IntN(2)])
			}
			if rng.IntN(2) == 0 {
				m := Match{Key: keys[rng.IntN(3)]}
				if rng.IntN(2) == 0 {
					m.Values = []string{values[rng.IntN(2)]}
				}
				r.Also = []Match{m}
			}
			rules = append(rules, r)
		}
		has := map[string]string{}
		for _, k := range keys {
			if rng.IntN(3) > 0 {
				has[k] = values[rng.IntN(4)]
			}
		}
		holds := func(key string, of []string) bool {
			v, there := has[key]
			if len(of) == 0 {
				return there && v != "" && v != "no"
			}
			return there && slices.Contains(of, v)
		}
		want := slices.IndexFunc(rules, func(r Rule) bool {
			ok := holds(r.Key, r.Values)
			for _, m := range r.Also {
				ok = ok && holds(m.Key, m.Values)
			}
			return ok
		})
		var tags osm.Tags
		for _, k := range slices.Sorted(maps.Keys(has)) {
			tags = append(tags, osm.Tag{Key: k, Value: has[k]})
		}
		rng.Shuffle(len(tags), func(i, j int) { tags[i], tags[j] = tags[j], tags[i] })
		p := newPicker(rules)
		if got := p.rule(tags); got != want {
			t.Fatalf("of %+v rule %d holds for %v, want %d", rules, got, tags, want)
		}
		if want < 0 {
			none++
		} else {
			found++
		}
		if (p.facets(tags)&asFeature != 0) != (want >= 0) {
			t.Fatalf("a rule holds, and nobody wants %v", tags)
		}
	}
	if found < 100 || none < 50 {
		t.Errorf("%d times a rule, %d times none", found, none)
	}
}

// TestFarPlacesAreLeftOut: what lies more than ten degrees from the middle is left out and
// noted, be it few or many; bounds follow what is left, and stated ones as wide as the globe
// give way.
func TestFarPlacesAreLeftOut(t *testing.T) {
	for _, c := range []struct {
		what   string
		lons   []float64
		lats   []float64
		stated *osm.Bounds
		left   []int64
		odd    []string
		west   float64
	}{
		{"a town", []float64{7, 7.1, 7.2}, []float64{47, 47, 47}, nil, []int64{1, 2, 3}, nil, 7},
		{"a stray at nought", []float64{27, 27.1, 27.2, 0}, []float64{47, 47, 47, 0}, nil, []int64{1, 2, 3}, []string{oddFar, oddWide}, 17.1},
		{"stated, and a stray", []float64{7, 7.1, 27}, []float64{47, 47, 47}, &osm.Bounds{MinLon: 6.5, MaxLon: 7.5, MinLat: 46.5, MaxLat: 47.5}, []int64{1, 2}, []string{oddFar}, 6.5},
		{"stated as the globe", []float64{7, 7.1}, []float64{47, 47}, &osm.Bounds{MinLon: -180, MaxLon: 180, MinLat: -90, MaxLat: 90}, []int64{1, 2}, []string{oddBounds}, 7},
		{"nothing", nil, nil, nil, nil, nil, 0},
	} {
		h := newHarvest(nil)
		h.bounds = c.stated
		for i := range c.lons {
			h.ids, h.lons, h.lats = append(h.ids, int64(i+1)), append(h.lons, int32(math.Round(c.lons[i]*1e7))), append(h.lats, int32(math.Round(c.lats[i]*1e7)))
		}
		b := &builder{h: h, x: &Extract{Report: h.report}, streets: streetReader{report: h.report}}
		if err := b.frame(t.Context()); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(h.ids, c.left) || len(h.lons) != len(c.left) || len(b.at) != len(c.left) {
			t.Errorf("%s: left are %v, want %v", c.what, h.ids, c.left)
		}
		odd := slices.Sorted(maps.Keys(h.report.Odd))
		want := slices.Sorted(slices.Values(c.odd))
		if !slices.Equal(odd, want) {
			t.Errorf("%s: odd are %q, want %q", c.what, odd, want)
		}
		if math.Abs(b.x.West-c.west) > 1e-6 {
			t.Errorf("%s: it begins at %g degrees, want %g", c.what, b.x.West, c.west)
		}
		for i, p := range b.at {
			lon, lat := b.x.Frame.Inverse(p)
			if math.Abs(lon-float64(h.lons[i])/1e7) > 1e-7 || math.Abs(lat-float64(h.lats[i])/1e7) > 1e-7 {
				t.Errorf("%s: place %d comes back at %g, %g", c.what, i, lon, lat)
			}
		}
		for i, id := range c.left {
			if b.index(id) != i {
				t.Errorf("%s: node %d is found at %d", c.what, id, b.index(id))
			}
		}
		if b.index(99) != -1 {
			t.Errorf("%s: a node that is not there is found", c.what)
		}
		if _, ok := b.place(99); ok {
			t.Errorf("%s: a node that is not there has a place", c.what)
		}
	}
}

// TestPiecesCoverAll: parallel work does every number once, in pieces that follow each other.
func TestPiecesCoverAll(t *testing.T) {
	for _, n := range []int{0, 1, 2, 7, 100} {
		done := make([]int, n)
		if err := inParallel(t.Context(), n, func(_, from, to int) {
			for i := from; i < to; i++ {
				done[i]++ // pieces share no number
			}
		}); err != nil {
			t.Fatal(err)
		}
		if slices.ContainsFunc(done, func(k int) bool { return k != 1 }) {
			t.Errorf("of %d: %v", n, done)
		}
	}
}

// TestCountriesOfAddresses: codes of two letters in whatever case, the first key that says
// one; more than half of all decide, and half do not.
func TestCountriesOfAddresses(t *testing.T) {
	var c Countries
	for _, list := range []string{"addr:country=de", "addr:country=DE", "is_in:country_code=AT", "addr:country=Germany", "addr:country=D1", "addr:country=", "ISO3166-1:alpha2=DE addr:country=AT", "name=X"} {
		c.add(tagList(list))
	}
	if want := (Countries{"DE": 2, "AT": 2}); !maps.Equal(c, want) {
		t.Errorf("named are %v, want %v", c, want)
	}
	if c.Most() != "" {
		t.Errorf("half of them decide for %q", c.Most())
	}
	c.merge(Countries{"AT": 1, "CH": 1})
	if want := (Countries{"DE": 2, "AT": 3, "CH": 1}); !maps.Equal(c, want) || c.Most() != "" {
		t.Errorf("together %v, %q", c, c.Most())
	}
	c.merge(Countries{"AT": 1})
	if c.Most() != "AT" { // four of seven
		t.Errorf("most name AT: %q", c.Most())
	}
	var none Countries
	if none.Most() != "" {
		t.Error("nobody names a country")
	}
	none.merge(Countries{"CH": 1})
	if none.Most() != "CH" {
		t.Errorf("one names %q", none.Most())
	}
}
