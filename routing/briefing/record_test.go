package briefing

import (
	"slices"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/escape"
)

// TestAdopterIsTold: how walks went, from where the dog works and whether that was learnt,
// what it is calm about, a bite, and the caution as the last word; with no walk nothing is
// said of how they go, and never "0 of 0".
func TestAdopterIsTold(t *testing.T) {
	r := &Record{Dog: "Oro", Days: 90, Walks: 14, Calm: 12, Bitten: true, Works: []Works{{Of: "dogs", WorkingM: 20, Learnt: true}, {Of: "child", WorkingM: 25}, {Of: "adult", Calm: true}, {Of: "wheels", Calm: true}}}
	want := []string{
		"Oro: 12 of 14 walks in the last 90 days went calmly, without barking, lunging or freezing.",
		"Works from 20 m away from dogs, learnt from its walks.",
		"Works from 25 m away from children, as was said of it.",
		"", "It has snapped or bitten", "not a promise",
	}
	got := (Words{}).Adopter(r)
	if len(got) != len(want) {
		t.Fatalf("%q", got)
	}
	for i := range want {
		if !strings.Contains(plain(got[i]), want[i]) {
			t.Errorf("%q, want %q", got[i], want[i])
		}
	}
	if calm := plain(got[3]); !strings.HasPrefix(calm, "Calm about ") || strings.Count(calm, ",") != 1 {
		t.Errorf("%q", calm)
	}
	us := (Words{Units: US}).Adopter(r)
	if !strings.Contains(plain(us[1]), "66 ft") {
		t.Errorf("20 m in feet: %q", us[1]) // 65.6
	}
	r.Walks, r.Calm, r.Works, r.Bitten = 0, 0, nil, false
	if got = (Words{}).Adopter(r); len(got) != 2 || !strings.Contains(got[0], "nothing is said") || !strings.Contains(got[1], "aversive") {
		t.Errorf("%q", got)
	}
	r.Walks = 1
	if got = (Words{}).Adopter(r); !strings.Contains(got[0], "0 of 1 walk in") {
		t.Errorf("%q", got)
	}
}

// TestCommonNouns: words that differ between the Englishes change for who reads the other;
// names of places never do, whatever they sound like.
func TestCommonNouns(t *testing.T) {
	us, gb := Words{Units: US}, Words{}
	for _, w := range []Words{us, gb} {
		for _, name := range []string{"Pavement Lane", "Lead Works", "Car Park Café", "Theatre Row"} {
			if got := w.Called(name); got != name {
				t.Errorf("%s became %s", name, got)
			}
			if got := w.Met(name, exposure.DogOnLead); got != name {
				t.Errorf("%s became %s", name, got)
			}
		}
	}
	noun := exposure.DogOnLead.Plural()
	if got := us.Common(noun); !strings.Contains(got, "leash") || strings.Contains(got, "lead") {
		t.Errorf("in American: %s", got)
	}
	if gb.Common(noun) != noun {
		t.Errorf("in British: %s", gb.Common(noun))
	}
	for _, where := range []string{" on ", " near "} {
		if got := us.Met(noun+where+"Lead Street", exposure.DogOnLead); got != us.Common(noun)+where+"Lead Street" {
			t.Errorf("%q", got)
		}
	}
	if us.Lang() != "en-US" || gb.Lang() != "en-GB" {
		t.Error("languages are told by their tags (BCP 47)")
	}
}

// TestHelperIsNamed by its kind; one that has no word by its name as it is.
func TestHelperIsNamed(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range exposure.Dogs.Kinds() {
		got := (Words{}).HelperName(k.String())
		if strings.Contains(got, "_") || seen[got] {
			t.Errorf("%s is called %q", k, got)
		}
		seen[got] = true
	}
	if got := (Words{}).HelperName("a tortoise"); !strings.Contains(got, "a tortoise") {
		t.Errorf("%q", got)
	}
}

// TestWaysOutOfLegs: cover where there is no way out, none where there is neither, at once
// where nothing has to be walked; a side and its seconds else, each side in its own words. A
// way out that is not there is never told as one of no seconds.
func TestWaysOutOfLegs(t *testing.T) {
	w := Words{}
	leg := func(s float64, side string, cover int) *routing.Leg {
		l := &routing.Leg{WayOutS: s, WayOutSide: side}
		l.Cover = make([]escape.Cover, cover)
		return l
	}
	none, here := w.wayOut(leg(-1, "", 0)), w.wayOut(leg(0, "", 0))
	left, right := w.wayOut(leg(20, "left", 0)), w.wayOut(leg(20, "right", 0))
	told := []string{none, here, left, right}
	for i, a := range told {
		if a == "" || strings.HasPrefix(a, "out.") || slices.Contains(told[i+1:], a) {
			t.Errorf("%q among %q", a, told)
		}
	}
	if strings.ContainsAny(none, "0123456789") || !strings.Contains(left, "20") || w.wayOut(leg(40, "left", 0)) == left {
		t.Errorf("%q, %q", none, left)
	}
	if got := w.wayOut(leg(20, "up", 0)); got != none {
		t.Errorf("to no side: %q", got)
	}
	need := exposure.Need{WorkingM: 30}
	if got := w.legWayOut(leg(-1, "", 0), need); got != "" {
		t.Errorf("what is not known is told: %q", got)
	}
	if got := w.legWayOut(leg(20, "left", 0), need); got != left {
		t.Errorf("%q", got)
	}
}
