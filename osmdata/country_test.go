package osmdata_test

import (
	"bytes"
	"testing"

	"wideberth/osmdata"
)

// An extract says by its addresses and settlements which country it lies in: most of
// those that name one decide, odd values do not count, and half is not most.
func TestCountryOfAnExtract(t *testing.T) {
	const base = `
n 1 0 0
n 2 0 60
`
	for _, c := range []struct{ name, nodes, want string }{
		{"nobody names one", "", ""},
		{"addresses", "n 3 10 0 addr:housenumber=1 addr:street=Low addr:country=de\nn 4 10 9 addr:housenumber=2 addr:street=Low addr:country=DE\nn 5 10 20 addr:housenumber=3 addr:street=Low addr:country=FR", "DE"},
		{"a settlement", "n 3 10 0 place=town name=Low is_in:country_code=CZ", "CZ"},
		{"half each", "n 3 10 0 addr:housenumber=1 addr:street=Low addr:country=DE\nn 4 10 9 addr:housenumber=2 addr:street=Low addr:country=FR", ""},
		{"no codes", "n 3 10 0 place=town name=Low is_in:country_code=Germany addr:country=D1", ""},
	} {
		world := parseWorld(t, base+c.nodes+"\nw 100 1,2 highway=residential\n")
		x, err := osmdata.Options{}.Read(t.Context(), bytes.NewReader(world.pbf()))
		if err != nil {
			t.Fatal(err)
		}
		if got := x.Countries.Most(); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	for want, c := range map[string]osmdata.Countries{"DE": {"DE": 4}, "": {"DE": 4, "FR": 1}} {
		if got := c.Alone(); got != want || (osmdata.Countries{}).Alone() != "" {
			t.Errorf("of %v alone %q, want %q", c, got, want)
		}
	}
	if got := (osmdata.Countries{"DE": 1}).Most(); got != "DE" {
		t.Errorf("one address: %q", got)
	}
}
