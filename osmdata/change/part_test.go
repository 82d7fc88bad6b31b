package change_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/change"

	"github.com/paulmach/osm"
)

// TestPartsThatStay: parts of an extract in which nothing changed are handed over as they
// stand, and with what is laid over the others they are the map that osmium-tool makes.
func TestPartsThatStay(t *testing.T) {
	xml := filepath.Join(t.TempDir(), "many.osm")
	if err := os.WriteFile(xml, many(), 0o600); err != nil {
		t.Fatal(err)
	}
	packed := xml + ".pbf"
	osmium(t, "sort", xml, "-o", packed)
	const node, way = `<node id="%d" version="2" lat="51" lon="9"/>`, `<way id="%d" version="2"><nd ref="1"/><nd ref="7"/></way>`
	for name, c := range map[string]struct {
		changes string
		stay    int // of 3 parts with nodes and 2 with ways
	}{
		"nothing":               {"", 5},
		"one node":              {fmt.Sprintf(`<modify>`+node+`</modify>`, 9000), 4},
		"first and last":        {fmt.Sprintf(`<modify>`+node+node+way+`</modify>`, 1, 18000, 9000), 2},
		"new behind all":        {fmt.Sprintf(`<create>`+node+way+`</create>`, 20000, 20000), 3},
		"new before all":        {fmt.Sprintf(`<create>`+node+way+`</create>`, -7, -7), 3},
		"of a kind that is not": {`<create><relation id="4" version="1"><member type="way" ref="1" role="outer"/></relation></create>`, 5},
		"gone, and none such":   {`<delete><node id="8000" version="2"/><node id="70000" version="2"/></delete>`, 3},
		"older than the map":    {`<delete><way id="9000" version="0"/></delete>`, 4},
	} {
		osc := filepath.Join(t.TempDir(), "a.osc")
		if err := os.WriteFile(osc, []byte("<osmChange version=\"0.6\">"+c.changes+"</osmChange>"), 0o600); err != nil {
			t.Fatal(err)
		}
		stay := 0
		var got []string
		object := func(o osm.Object) error { got = append(got, opl(o)); return nil }
		err := change.Of(opened(t, packed), laidOver(t, c.changes)).EachPart(t.Context(), func(p osmdata.Part) error {
			stay++
			for o, err := range p.Objects(t.Context()) {
				if err != nil {
					return err
				}
				_ = object(o) // which has none
			}
			return nil
		}, object)
		if err != nil {
			t.Fatal(err)
		}
		if stay != c.stay {
			t.Errorf("%s: %d parts stay, want %d", name, stay, c.stay)
		}
		want := osmium(t, "apply-changes", packed, osc, "-f", "opl")
		compare(t, got, want)
	}
}

// TestPartsByChance: the same for changes of all sorts, against changes that are laid over
// all objects one by one.
func TestPartsByChance(t *testing.T) {
	xml := filepath.Join(t.TempDir(), "many.osm")
	if err := os.WriteFile(xml, many(), 0o600); err != nil {
		t.Fatal(err)
	}
	packed := xml + ".pbf"
	osmium(t, "sort", xml, "-o", packed)
	e := opened(t, packed)
	rng := rand.New(rand.NewPCG(20261130, 1))
	for range 3 {
		var b strings.Builder
		for range 1 + rng.IntN(6) {
			id, version := rng.IntN(25000), rng.IntN(4)
			switch rng.IntN(4) {
			case 0:
				fmt.Fprintf(&b, `<modify><node id="%d" version="%d" lat="51" lon="9"/></modify>`, id, version)
			case 1:
				fmt.Fprintf(&b, `<delete><node id="%d" version="%d"/></delete>`, id, version)
			case 2:
				fmt.Fprintf(&b, `<create><way id="%d" version="%d"><nd ref="1"/><nd ref="2"/></way></create>`, id, version)
			case 3:
				fmt.Fprintf(&b, `<delete><way id="%d" version="%d"/></delete><create><relation id="%d" version="1"><tag k="type" v="route"/></relation></create>`, id, version, id)
			}
		}
		set := laidOver(t, b.String())
		var got, want []string
		object := func(o osm.Object) error { got = append(got, opl(o)); return nil }
		if err := change.Of(e, set).EachPart(t.Context(), func(p osmdata.Part) error {
			for _, o := range collect(t, p.Objects(t.Context())) {
				_ = object(o) // which has none
			}
			return nil
		}, object); err != nil {
			t.Fatal(err)
		}
		for _, o := range collect(t, set.Over(change.Of(e, nil).Objects(t.Context()))) {
			want = append(want, opl(o))
		}
		if !slices.Equal(got, want) {
			t.Fatalf("%s: %d objects, want %d", b.String(), len(got), len(want))
		}
	}
}

// TestPartsEnd: whoever takes the parts, or the objects, can end it; of XML all are objects.
func TestPartsEnd(t *testing.T) {
	town := opened(t, writeTown(t))
	full, objects := errors.New("no room"), 0
	set := laidOver(t, `<delete><node id="21" version="2"/></delete>`)
	part := func(osmdata.Part) error { t.Error("a part of XML"); return nil }
	if err := change.Of(town, set).EachPart(t.Context(), part, func(osm.Object) error { objects++; return nil }); err != nil || objects != 16 {
		t.Errorf("%d objects, %v", objects, err)
	}
	if err := change.Of(town, set).EachPart(t.Context(), part, func(osm.Object) error { return full }); !errors.Is(err, full) {
		t.Errorf("%v", err)
	}
	packed := filepath.Join(t.TempDir(), "town.osm.pbf")
	osmium(t, "sort", writeTown(t), "-o", packed)
	e := opened(t, packed)
	if err := change.Of(e, set).EachPart(t.Context(), func(osmdata.Part) error { return full }, func(osm.Object) error { return nil }); !errors.Is(err, full) {
		t.Errorf("%v", err)
	}
	for range change.Of(e, nil).Objects(t.Context()) {
		break
	}
	for _, p := range e.Parts() {
		for range p.Objects(t.Context()) {
			break
		}
	}
}
