package osmdata

import (
	"testing"
)

// Grounds by the community's main landuse, leisure and natural values; which of our
// kinds they fall under is our decision.
func TestGroundOf(t *testing.T) {
	tests := []struct {
		tags string
		kind GroundKind
		ok   bool
	}{
		{"leisure=park", Park, true},
		{"leisure=garden", Park, true},
		{"leisure=nature_reserve", Park, true},
		{"landuse=recreation_ground", Park, true},
		{"landuse=forest", Wood, true},
		{"natural=wood", Wood, true},
		{"landuse=meadow", Grass, true},
		{"landuse=farmland", Farmland, true},
		{"natural=water", Water, true},
		{"landuse=reservoir", Water, true},
		{"landuse=basin", Water, true},
		{"landuse=basin basin=infiltration", 0, false},
		{"natural=water layer=-1", 0, false},
		{"waterway=riverbank", Water, true},
		{"landuse=residential", Residentials, true},
		{"landuse=industrial", Industrial, true},
		{"landuse=commercial", Retail, true},
		{"amenity=grave_yard", Cemetery, true},
		{"natural=beach", Sand, true},
		{"natural=tree", 0, false},
		{"leisure=fitness_centre", 0, false},
		{"", 0, false},
		// The first tag that says a kind decides.
		{"landuse=basin basin=detention natural=grassland", Grass, true},
	}
	for _, tt := range tests {
		if k, ok := groundOf(tagsOf(tt.tags)); k != tt.kind || ok != tt.ok {
			t.Errorf("%q: %v %v, want %v %v", tt.tags, k, ok, tt.kind, tt.ok)
		}
	}
}

// Meadows and pasture are grazed, farmland unless a crop is named; what is planted is not.
func TestGrazed(t *testing.T) {
	for tags, want := range map[string]bool{
		"landuse=meadow": true, "landuse=meadow meadow=agricultural": true, "landuse=farmland": true, "landuse=farmland farmland=pasture": true,
		"landuse=farmland crop=corn": false, "landuse=farmland crop=grass": true, "landuse=farm crop=wheat farmland=pasture": true,
		"landuse=orchard": false, "landuse=grass": false, "leisure=park": false, "natural=heath": false, "": false,
	} {
		if got := grazed(tagsOf(tags)); got != want {
			t.Errorf("%q: grazed %v, want %v", tags, got, want)
		}
	}
}

func TestUnderground(t *testing.T) {
	for tags, want := range map[string]bool{
		"": false, "layer=1": false, "layer=-1": true, "location=underground": true, "location=roof": false,
		"tunnel=yes": true, "tunnel=no": false, "layer=x": false,
	} {
		if got := underground(tagsOf(tags)); got != want {
			t.Errorf("%q: %v, want %v", tags, got, want)
		}
	}
}

// Every kind of object matters by its main tag, and one that nobody asked for not.
func TestFacets(t *testing.T) {
	p := newPicker([]Rule{{Key: "shop", As: "shop"}})
	for tags, want := range map[string]facet{
		"highway=path":                      asStreet,
		"highway=hyperloop":                 asStreet, // unknown: to be counted
		"highway=proposed":                  0,
		"highway=bus_stop":                  0,
		"building=yes":                      asBuilding,
		"building=no":                       0,
		"barrier=fence":                     asBarrier | asObstacle,
		"barrier=gate":                      asBarrier,
		"railway=rail":                      asRail,
		"railway=abandoned":                 0,
		"waterway=river":                    asObstacle,
		"waterway=stream":                   0,
		"waterway=riverbank":                asGround,
		"natural=cliff":                     asObstacle,
		"natural=wood":                      asGround,
		"addr:housenumber=1":                asAddress,
		"place=town":                        asPlace,
		"place=sea":                         0,
		"shop=pet":                          asFeature,
		"shop=no":                           0,
		"building=shed shop=pet":            asBuilding | asFeature,
		"leisure=park shop=kiosk name=Park": asGround | asFeature,
		"name=Nothing":                      0,
		"":                                  0,
	} {
		if got := p.facets(tagsOf(tags)); got != want {
			t.Errorf("%q: %b, want %b", tags, got, want)
		}
	}
}

func TestSides(t *testing.T) {
	tests := []struct {
		tags                     string
		pavement, separate, none bool
	}{
		{"", false, false, false},
		{"sidewalk=both", true, false, false},
		{"sidewalk=right", true, false, false},
		{"sidewalk=lane", true, false, false},
		{"sidewalk=no", false, false, true},
		{"sidewalk=none", false, false, true},
		{"sidewalk=separate", false, true, false},
		{"sidewalk:left=separate sidewalk:right=no", false, true, true},
		{"sidewalk:left=yes sidewalk:right=separate", true, true, false},
		{"sidewalk:both=no", false, false, true},
		{"sidewalk=perhaps", false, false, false},
	}
	for _, tt := range tests {
		p, s, n := sides(tagsOf(tt.tags))
		if p != tt.pavement || s != tt.separate || n != tt.none {
			t.Errorf("%q: %v %v %v, want %v %v %v", tt.tags, p, s, n, tt.pavement, tt.separate, tt.none)
		}
	}
}

func TestReadAccess(t *testing.T) {
	tests := []struct {
		in    string
		p     passage
		known bool
	}{
		{"", unsaid, true},
		{"unknown", unsaid, true},
		{"yes", allowed, true},
		{"permissive", permissive, true},
		{"yes; permissive", permissive, true},
		{"destination;no", denied, true},
		{"yes;maybe", allowed, false},
		{"maybe", unsaid, false},
	}
	for _, tt := range tests {
		if p, known := readAccess(tt.in); p != tt.p || known != tt.known {
			t.Errorf("readAccess(%q) = %v, %v, want %v, %v", tt.in, p, known, tt.p, tt.known)
		}
	}
}

func TestRootElement(t *testing.T) {
	tests := []struct{ in, name, attributes string }{
		{"<osm>", "osm", ""},
		{"<osm/>", "osm", ""},
		{"\ufeff <?xml version='1.0'?>\n<!-- <a> > -->\n<osm version=\"0.6\" x='y'>", "osm", "version=\"0.6\" x='y'"},
		{"<!DOCTYPE html><html>", "html", ""},
		{"<osm version=", "", ""},
		{"<!-- never ends <osm>", "", ""},
		{"<", "", ""},
		{"", "", ""},
		{"plain", "", ""},
	}
	for _, tt := range tests {
		if name, attributes := rootElement([]byte(tt.in)); name != tt.name || attributes != tt.attributes {
			t.Errorf("%q: %q %q, want %q %q", tt.in, name, attributes, tt.name, tt.attributes)
		}
	}
}

func TestTimestamp(t *testing.T) {
	for attributes, want := range map[string]string{
		`version="0.6" timestamp="2018-03-01T21:43:02Z"`:  "2018-03-01T21:43:02Z",
		`timestamp='2018-03-01T22:43:02+01:00' generator`: "2018-03-01T21:43:02Z",
		`timestamp="yesterday"`:                           "0001-01-01T00:00:00Z",
		`version="0.6"`:                                   "0001-01-01T00:00:00Z",
	} {
		if got := timestamp(attributes).Format("2006-01-02T15:04:05Z07:00"); got != want {
			t.Errorf("%s: %s, want %s", attributes, got, want)
		}
	}
}

// Reports of pieces joined in order read as one: counts add up, the first three
// samples stay.
func TestReportsAdd(t *testing.T) {
	whole, first, second := newReport(), newReport(), newReport()
	for i, r := range []*Report{first, first, second, second, second} {
		obj := object("way", int64(i))
		r.Note("odd", obj)
		whole.Note("odd", obj)
	}
	second.Note("rare", "node/1")
	whole.Note("rare", "node/1")
	sum := newReport()
	sum.add(first)
	sum.add(second)
	for _, kind := range []string{"odd", "rare"} {
		a, b := sum.Odd[kind], whole.Odd[kind]
		if a.Count != b.Count || len(a.Samples) != len(b.Samples) || a.Samples[len(a.Samples)-1] != b.Samples[len(b.Samples)-1] {
			t.Errorf("%s: %+v, want %+v", kind, a, b)
		}
	}
	if len(first.Odd["odd"].Samples) != 2 {
		t.Error("adding changed what was added")
	}
}
