package osmdata

import (
	"testing"

	"github.com/paulmach/osm"
)

// Boundaries name their country by ISO 3166-1, parts of it by ISO 3166-2; neither becomes
// an area of the map.
func TestBordered(t *testing.T) {
	h := newHarvest(nil)
	for tags, want := range map[string]string{
		"boundary=administrative admin_level=2 ISO3166-1=de":                        "DE",
		"boundary=administrative admin_level=2 ISO3166-1:alpha2=FR ISO3166-1=XXX":   "FR",
		"boundary=administrative admin_level=4 ISO3166-2=CH-BS":                     "CH",
		"boundary=administrative admin_level=6 name=Nowhere":                        "",
		"boundary=administrative admin_level=2 ISO3166-1:alpha3=DEU":                "",
		"boundary=maritime ISO3166-1=DE":                                            "",
		"boundary=administrative admin_level=2 country_code_iso3166_1_alpha_2=  ad": "",
	} {
		r := &osm.Relation{ID: 1, Tags: append(tagsOf(tags), osm.Tag{Key: "type", Value: "boundary"}), Members: osm.Members{{Type: osm.TypeWay, Ref: 8}}}
		if got := bordered(r.Tags); got != want || h.wantRelation(r) != (want != "") {
			t.Errorf("%q bounds %q, want %q; wanted %t", tags, got, want, h.wantRelation(r))
		}
		h.addRelation(r)
	}
	if len(h.borders) != 3 || h.borders["CH"] != 1 || len(h.rels) != 0 || len(h.wanted) != 0 {
		t.Errorf("counted %v, %d areas, %d ways", h.borders, len(h.rels), len(h.wanted))
	}
}
