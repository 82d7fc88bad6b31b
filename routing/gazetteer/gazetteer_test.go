package gazetteer_test

import (
	"fmt"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/gazetteer"
	"wideberth/routing/network"
)

// mapped is a map of streets, each 200 m long, that lie where they are told to.
type mapped struct {
	src     gazetteer.Sources
	streets []osmdata.Street
}

func (m *mapped) street(name string, x, y float64) {
	id := int64(len(m.streets) + 1)
	m.streets = append(m.streets, osmdata.Street{ID: id, Name: name, Nodes: []int64{2 * id, 2*id + 1},
		Line: plane.Polyline{{X: x, Y: y}, {X: x + 200, Y: y}}, Class: osmdata.Residential, Foot: true})
}

func (m *mapped) graph(t testing.TB) *network.Graph {
	t.Helper()
	g, _, err := network.Build(m.streets, nil, network.Options{MinIslandM: -1})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func (m *mapped) names(t testing.TB) *gazetteer.Gazetteer {
	t.Helper()
	m.src.Streets = m.graph(t)
	g, err := gazetteer.New(m.src)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// first is the best place for a text, as name, town and kind.
func first(g *gazetteer.Gazetteer, text string, near *plane.Point) string {
	found := g.Find(text, near, 1)
	if len(found) == 0 {
		return ""
	}
	return found[0].Name
}

// TestPostalAbbreviations writes street suffixes and directions as the post does.
// Source: USPS Publication 28, appendices B and C1 (primary suffix and its standard
// abbreviation), from memory.
func TestPostalAbbreviations(t *testing.T) {
	suffixes := strings.Fields(`Alley=ALY Avenue=AVE Boulevard=BLVD Bypass=BYP Center=CTR Circle=CIR Court=CT Cove=CV Creek=CRK Crescent=CRES
		Crossing=XING Drive=DR Estates=ESTS Expressway=EXPY Field=FLD Freeway=FWY Garden=GDN Gardens=GDNS Glen=GLN Green=GRN Grove=GRV
		Heights=HTS Highway=HWY Hill=HL Hills=HLS Hollow=HOLW Junction=JCT Knoll=KNL Lake=LK Landing=LNDG Lane=LN Manor=MNR Meadows=MDWS
		Mill=ML Mount=MT Mountain=MTN Orchard=ORCH Park=PARK Parkway=PKWY Place=PL Plaza=PLZ Point=PT Ridge=RDG River=RIV Road=RD
		Route=RTE Spring=SPG Square=SQ Street=ST Terrace=TER Trail=TRL Turnpike=TPKE Valley=VLY View=VW Village=VLG Walk=WALK Woods=WDS`)
	var m mapped
	for i, s := range suffixes {
		long, _, _ := strings.Cut(s, "=")
		m.street("Kessel "+long, 0, float64(i)*1000)
	}
	for i, d := range []string{"North", "South", "East", "West", "Northeast", "Southwest"} {
		m.street(d+" Orrin Street", 5000, float64(i)*1000)
	}
	g := m.names(t)
	for _, s := range suffixes {
		long, short, _ := strings.Cut(s, "=")
		if got := first(g, "kessel "+short, nil); got != "Kessel "+long {
			t.Errorf("kessel %s: %q", short, got)
		}
	}
	for short, long := range map[string]string{"N": "North", "S.": "South", "e": "East", "W": "West", "NE": "Northeast", "SW": "Southwest"} {
		if got := first(g, short+" Orrin St", nil); got != long+" Orrin Street" {
			t.Errorf("%s Orrin St: %q", short, got)
		}
	}
}

// TestWaysToWrite finds one street by all that people write for it.
func TestWaysToWrite(t *testing.T) {
	for name, texts := range map[string][]string{
		"Öhrfeldstraße":           {"öhrfeldstraße", "OHRFELDSTRASSE", "Oehrfeldstrasse", "öhrfeldstr", "Öhrfeldstr.", "oehrfeldstr", "ohrf", "örhfeldstraße"},
		"Rue de l’Église":         {"rue de l'église", "rue de leglise", "EGLISE", "r. de l'eglise", "eglise rue"},
		"Carrer de la Llúdria":    {"c/ de la lludria", "carrer llúdria", "c lludria", "lludria"},
		"Łąkowa":                  {"lakowa", "ŁĄKOWA", "lakwoa"},
		"Saint Wendle's Lane":     {"st wendles ln", "st. wendle's lane", "saint wendles"},
		"Wilde-Pannenstraat":      {"wilde pannenstr", "pannenstraat", "wilde-pannenstraat"},
		"Οδός Ανεμώνων":           {"οδος ανεμωνων", "ΑΝΕΜΏΝΩΝ"},
		"Third Avenue":            {"3rd ave", "3RD AV", "third"},
		"Avinguda del Parc":       {"av del parc", "av. parc", "avda del parc"},
		"Thirty-Second Rifle Way": {"thirty second rifle", "rifle way"},
	} {
		var m mapped
		m.street(name, 0, 0)
		m.street("Ander Row", 0, 500)
		g := m.names(t)
		for _, text := range texts {
			if got := first(g, text, nil); got != name {
				t.Errorf("%q: %q, not %q", text, got, name)
			}
		}
	}
}

// TestHouseNumbers puts a number before and after, with and without letters.
func TestHouseNumbers(t *testing.T) {
	for country, want := range map[string]string{"US": "12a Kiln Street", "DE": "Kiln Street 12a"} {
		var m mapped
		m.src.Country = country
		m.src.Towns = []gazetteer.Town{{Name: "Ostby", Reach: 1}}
		m.street("Kiln Street", 0, 0)
		m.street("12th Street", 0, 900)
		m.src.Doors = []osmdata.Address{{Street: "Kiln St", Number: "12a", Postcode: "31200", City: "Greater Ostby", At: plane.Point{X: 150, Y: 10}},
			{Street: "Kiln Street", Number: "14-18", At: plane.Point{X: 160, Y: 10}}}
		g := m.names(t)
		for _, text := range []string{"12a kiln street", "Kiln St 12a", "kiln st 12 A", "12 a, kiln", "12a kiln st ostby", "12A Kiln Street, 31200 Greater Ostby", "31200 kiln 12a"} {
			got := g.Find(text, nil, 3)
			if len(got) == 0 || got[0].Name != want || got[0].Kind != gazetteer.Door || got[0].Number != "12a" || got[0].Missing != "" || got[0].At.X != 150 {
				t.Errorf("%s, %q: %+v", country, text, got)
			}
		}
		for _, text := range []string{"kiln st 14", "18 kiln st", "14-18 kiln st"} {
			if got := g.Find(text, nil, 1); len(got) == 0 || got[0].Number != "14-18" || got[0].Missing != "" {
				t.Errorf("%s, %q: %+v", country, text, got)
			}
		}
		if got := g.Find("99 kiln street", nil, 1); len(got) != 1 || got[0].Kind != gazetteer.Street || got[0].Missing != "99" {
			t.Errorf("a number the map lacks: %+v", got)
		}
		if got := g.Find("31200", nil, 1); len(got) != 1 || got[0].Kind != gazetteer.Postcode || got[0].Town != "Ostby" {
			t.Errorf("a postcode alone: %+v", got)
		}
		if got := g.Find("12th st", nil, 1); len(got) != 1 || got[0].Name != "12th Street" {
			t.Errorf("a street that begins with a digit: %+v", got)
		}
	}
}

// TestNearestFirst orders streets of one name by where they are nearest, and puts what was
// typed whole before what only begins so.
func TestNearestFirst(t *testing.T) {
	var m mapped
	m.src.Towns = []gazetteer.Town{{Name: "Ostby", Reach: 1}, {Name: "Vellen", At: plane.Point{X: 9000}, Reach: 1}, {Name: "Ostby Green", At: plane.Point{X: 300}}}
	m.street("Market Street", 0, 0)
	m.street("Market Street", 200, 0)
	m.street("Market Street", 9000, 0)
	m.street("North Market Street", 9100, 700)
	m.street("Marketplace Row", 8900, 0)
	m.street("Vellen Road", 8900, 400)
	m.src.Grounds = []gazetteer.Named{{Name: "Market Field", At: plane.Point{X: 4000}}}
	g := m.names(t)
	at := &plane.Point{X: 8950}
	var got []string
	for _, p := range g.Find("market st", at, 9) {
		got = append(got, fmt.Sprintf("%s, %s, %.0f m", p.Name, p.Town, p.AwayM))
	}
	want := []string{"Market Street, Vellen, 150 m", "North Market Street, Vellen, 743 m", "Market Street, Ostby, 8650 m"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, not %q", got, want)
	}
	if first(g, "vellen", at) != "Vellen" || first(g, "ostby", at) != "Ostby" {
		t.Error("a town typed whole is not the first")
	}
	if found := g.Find("market ostby", at, 9); len(found) != 2 || found[0].Town != "Ostby" || found[1].Town != "Ostby" {
		t.Errorf("a town beside the name: %+v", found)
	}
	if found := g.Find("market", at, 9); len(found) != 5 || found[4].Name != "Marketplace Row" {
		t.Errorf("what only begins so is last: %+v", found)
	}
}

// TestWhatFitsNothing is not answered by something else.
func TestWhatFitsNothing(t *testing.T) {
	var m mapped
	m.street("Kiln Street", 0, 0)
	g := m.names(t)
	for _, text := range []string{"", "   ", "...", "<b>nowhere</b>", "harbour view promenade", "🐕", strings.Repeat("q", 200), "\xff\xfe"} {
		if got := g.Find(text, nil, 5); len(got) != 0 {
			t.Errorf("%.20q finds %+v", text, got)
		}
	}
	empty, err := gazetteer.New(gazetteer.Sources{})
	if err != nil {
		t.Fatal(err)
	}
	if got := empty.Find("kiln", nil, 5); len(got) != 0 {
		t.Errorf("a map without names finds %+v", got)
	}
	if _, ok := empty.Nearest(plane.Point{}, 100); ok {
		t.Error("a map without doors has one near")
	}
}

// syllables make names that resemble one another.
var syllables = []string{"an", "bar", "cor", "del", "en", "fal", "gor", "hem", "is", "kar", "lo", "mir", "nor", "os"}

func drawName(t *rapid.T, label string) string {
	word := func(n int) string {
		w := strings.Join(rapid.SliceOfN(rapid.SampledFrom(syllables), n, n).Draw(t, label), "")
		return strings.ToUpper(w[:1]) + w[1:]
	}
	name := word(rapid.IntRange(2, 4).Draw(t, label+" syllables"))
	if rapid.Bool().Draw(t, label+" two words") {
		name += " " + word(2)
	}
	return name + " " + rapid.SampledFrom([]string{"Street", "Road", "Lane"}).Draw(t, label+" sort")
}

// TestTypedSoFar types names letter by letter, at the street: from the third letter on it
// is on the list, and of all that fit none is left out (a plain reading of every name).
func TestTypedSoFar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m mapped
		var all []string
		for i := range rapid.IntRange(2, 12).Draw(t, "streets") {
			name := drawName(t, "name")
			if slices.Contains(all, name) {
				continue
			}
			all = append(all, name)
			m.street(name, float64(i)*1000, 0)
		}
		g, _, err := network.Build(m.streets, nil, network.Options{MinIslandM: -1})
		if err != nil {
			t.Fatal(err)
		}
		m.src.Streets = g
		names, err := gazetteer.New(m.src)
		if err != nil {
			t.Fatal(err)
		}
		name := rapid.SampledFrom(all).Draw(t, "typed")
		text := strings.ToLower(name[:rapid.IntRange(3, len(name)).Draw(t, "letters")])
		var got []string
		for _, p := range names.Find(text, nil, 99) {
			if !p.Forgiven {
				got = append(got, p.Name)
			}
		}
		if !slices.Contains(got, name) {
			t.Fatalf("%q does not find %q but %q", text, name, got)
		}
		for _, other := range all {
			if fits := plainly(text, other); fits != slices.Contains(got, other) {
				t.Fatalf("%q and %q: fits %v, found %v", text, other, fits, !fits)
			}
		}
	})
}

// plainly says whether each word typed begins one of a name, but for "r" and the like,
// which may stand for more: those texts are not drawn.
func plainly(text, name string) bool {
	have := strings.Fields(strings.ToLower(name))
	typed := strings.Fields(text)
	for i, w := range typed {
		ok := slices.ContainsFunc(have, func(h string) bool {
			return h == w || strings.HasPrefix(h, w) && (i == len(typed)-1 || len(w) >= 3) || abbreviates(w, h)
		})
		if !ok {
			return false
		}
	}
	return true
}

func abbreviates(w, h string) bool {
	return w == "st" && h == "street" || w == "str" && h == "street" || w == "rd" && h == "road" || w == "ln" && h == "lane"
}

// TestOneLetterWrong spoils one letter of a name of four or more: left out, doubled,
// another, or two swapped.
func TestOneLetterWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m mapped
		word := drawName(t, "name")
		m.street(word, 0, 0)
		m.street("Zwyqq Xob", 0, 500)
		g, _, err := network.Build(m.streets, nil, network.Options{MinIslandM: -1})
		if err != nil {
			t.Fatal(err)
		}
		m.src.Streets = g
		names, err := gazetteer.New(m.src)
		if err != nil {
			t.Fatal(err)
		}
		typed := []byte(strings.ToLower(strings.Fields(word)[0]))
		i := rapid.IntRange(0, len(typed)-2).Draw(t, "at")
		switch rapid.IntRange(0, 3).Draw(t, "fault") {
		case 0:
			typed = slices.Delete(typed, i, i+1)
		case 1:
			typed = slices.Insert(typed, i, typed[i])
		case 2:
			typed[i] = 'y'
		case 3:
			typed[i], typed[i+1] = typed[i+1], typed[i]
		}
		if len(typed) < 4 {
			t.Skip("too short to be forgiven")
		}
		if got := first(names, string(typed), nil); got != word {
			t.Fatalf("%q finds %q, not %q", typed, got, word)
		}
	})
}

// TestKept writes an index, reads it, and asks both the same; and spoils each of its
// numbers in turn.
func TestKept(t *testing.T) {
	var m mapped
	m.src.Country = "US"
	m.src.Towns = []gazetteer.Town{{Name: "Ostby", Reach: 1}}
	m.street("Kiln Street", 0, 0)
	m.street("Mill Lane", 500, 0)
	m.src.Doors = []osmdata.Address{{Street: "Kiln Street", Number: "3", Postcode: "31200", At: plane.Point{X: 20}}}
	g := m.names(t)
	path := filepath.Join(t.TempDir(), "names")
	magic := [8]byte{'n', 'a', 'm', 'e', 's'}
	w, err := flatfile.Create(path, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	g.Encode(w, "name.")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	again, err := gazetteer.Decode(f, "name.", "US", m.src.Streets, m.src.Doors)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"kiln", "3 kiln st", "mil", "klin street", "31200", "ostby"} {
		a, b := g.Find(text, &plane.Point{X: 1}, 9), again.Find(text, &plane.Point{X: 1}, 9)
		if len(a) == 0 || !reflect.DeepEqual(a, b) {
			t.Errorf("%q: %+v, read again %+v", text, a, b)
		}
	}
	if _, err := gazetteer.Decode(f, "name.", "US", m.src.Streets, nil); err == nil {
		t.Error("an index of doors that are not there is taken")
	}
	var small mapped
	small.street("Kiln Street", 0, 0)
	if _, err := gazetteer.Decode(f, "name.", "US", small.graph(t), m.src.Doors); err == nil {
		t.Error("an index of another map's streets is taken")
	}
	if _, err := gazetteer.Decode(f, "other.", "US", m.src.Streets, m.src.Doors); err == nil {
		t.Error("sections that are not there are taken")
	}
}

func TestNearestDoor(t *testing.T) {
	var m mapped
	m.street("Kiln Street", 0, 0)
	m.src.Doors = []osmdata.Address{{Street: "Kiln Street", Number: "3", At: plane.Point{X: 20}}, {Street: "Kiln Street", Number: "5", At: plane.Point{X: 50}}}
	g := m.names(t)
	if p, ok := g.Nearest(plane.Point{X: 44}, 60); !ok || p.Number != "5" || math.Abs(p.AwayM-6) > 1e-9 {
		t.Errorf("%+v, %v", p, ok)
	}
	if p, ok := g.Nearest(plane.Point{X: 120}, 60); ok {
		t.Errorf("70 m off: %+v", p)
	}
}

// FuzzFind asks for anything; it must end, within the number asked for, best first.
func FuzzFind(f *testing.F) {
	var m mapped
	m.src.Towns = []gazetteer.Town{{Name: "Ostby", Reach: 1}}
	m.street("Kiln Street", 0, 0)
	m.street("Saint Wendle's Lane", 500, 0)
	m.street("Ärmelgasse", 900, 0)
	m.src.Doors = []osmdata.Address{{Street: "Kiln Street", Number: "3", Postcode: "31200", At: plane.Point{X: 20}}}
	g := m.names(f)
	for _, text := range []string{"kiln st 3", "st wendles ln ostby", "aermelg", "31200", "1 2 3 4 5 6 7 8 9 10 11 12 13 14", "e\u0301\u0301", "ﬃ", "\x00"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		found := g.Find(text, &plane.Point{X: 100}, 4)
		if len(found) > 4 {
			t.Fatalf("%d found", len(found))
		}
		for _, p := range found {
			if p.Name == "" || math.IsNaN(p.AwayM) || p.AwayM < 0 {
				t.Fatalf("%+v", p)
			}
		}
	})
}
