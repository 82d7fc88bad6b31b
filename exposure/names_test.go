package exposure

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// TestNamesFindWhatTheyName: every kind and category is found by its name, as itself or
// as all its kinds; no two have one name, or one plural.
func TestNamesFindWhatTheyName(t *testing.T) {
	names, plurals := map[string]bool{}, map[string]bool{}
	for k := range KindCount {
		name := k.String()
		got, c, isKind, err := ParseKindOrCategory(name)
		if got != k || c != k.Category() || !isKind || err != nil {
			t.Errorf("%s is found as %v of %v: %v", name, got, c, err)
		}
		if all, err := ParseKinds(name); err != nil || !slices.Equal(all, []Kind{k}) {
			t.Errorf("%s stands for %v: %v", name, all, err)
		}
		if names[name] || plurals[k.Plural()] || k.Plural() == "" {
			t.Errorf("%s, several of which are %q: another has that name", name, k.Plural())
		}
		names[name], plurals[k.Plural()] = true, true
	}
	left := int(KindCount)
	for c := range CategoryCount {
		if names[c.String()] {
			t.Errorf("%s is a kind and a category", c)
		}
		_, got, isKind, err := ParseKindOrCategory(c.String())
		if got != c || isKind || err != nil {
			t.Errorf("%s is found as %v: %v", c, got, err)
		}
		all, err := ParseKinds(c.String())
		if err != nil {
			t.Errorf("%s: %v", c, err)
		}
		for _, k := range all {
			if k.Category() != c {
				t.Errorf("%s stands for %s", c, k)
			}
		}
		left -= len(all)
	}
	if left != 0 {
		t.Errorf("%d kinds stand in no category, or in two", left)
	}
}

// TestUnknownNamesSayWhatThereIs: whichever was asked for, and however long the name.
func TestUnknownNamesSayWhatThereIs(t *testing.T) {
	var unknown *UnknownNameError
	for _, name := range []string{"", "peeple", "dogs ", "\x00", strings.Repeat("dog", 3000)} {
		_, err := ParseKinds(name)
		if !errors.As(err, &unknown) || unknown.What != "kind or category" || unknown.Name != name || len(unknown.All) != int(KindCount)+int(CategoryCount) {
			t.Errorf("%.20q: %v", name, err)
			continue
		}
		if len(unknown.Near) == 0 || len(err.Error()) > 800 {
			t.Errorf("%.20q: %d names near it, %d letters", name, len(unknown.Near), len(err.Error()))
		}
	}
}

// TestCellsAreFoundByTheirNames: what learnt factors are kept under; names that are no
// longer in use are dropped.
func TestCellsAreFoundByTheirNames(t *testing.T) {
	for k := range KindCount {
		for p := range PlaceKindCount {
			for d := range dayPartNames {
				want := Cell{k, p, DayPart(d)}
				if got, ok := ParseCell(k.String(), p.String(), dayPartNames[d]); !ok || got != want {
					t.Fatalf("%+v is found as %+v", want, got)
				}
			}
		}
	}
	k, p, d := KindCount.last(), PlacePark.String(), dayPartNames[0]
	for _, c := range [][3]string{{"dragon", p, d}, {k.String(), "sea", d}, {k.String(), p, "teatime"}, {}} {
		if _, ok := ParseCell(c[0], c[1], c[2]); ok {
			t.Errorf("%q is a cell", c)
		}
	}
}

// last is the last kind there is.
func (k Kind) last() Kind { return k - 1 }

// TestInherited: a kind's own comes first, then its category's.
func TestInherited(t *testing.T) {
	by := map[string]int{"dogs": 1, "dog_off_lead": 2, "traffic": 3}
	for _, c := range []struct {
		name, under string
		want        int
		ok          bool
	}{{"dog_off_lead", "dog_off_lead", 2, true}, {"dog_on_lead", "dogs", 1, true}, {"dogs", "dogs", 1, true}, {"car", "traffic", 3, true}, {"adult", "people", 0, false}, {"dragon", "", 0, false}} {
		if got, under, ok := Inherited(by, c.name); got != c.want || ok != c.ok || ok && under != c.under {
			t.Errorf("%s: %d under %q, %v", c.name, got, under, ok)
		}
	}
}

// TestNearestOfASource: of a round one to its rim, of areas to the nearest of them, by
// every point of a fine walk round them.
func TestNearestOfASource(t *testing.T) {
	round := &Source{At: plane.Point{X: 10, Y: 0}, RadiusM: 4, As: "playground"}
	for _, c := range []struct{ x, want float64 }{{0, 6}, {6, 0}, {10, 0}, {20, 6}} {
		if d, toward := round.Nearest(plane.Point{X: c.x}); math.Abs(d-c.want) > 1e-6 || toward != round.At {
			t.Errorf("from %g m: %g m, want %g", c.x, d, c.want)
		}
	}
	areas := &Source{Name: "Lower Mead", As: "park", Area: []plane.Polygon{square(0, 0, 20), square(200, 0, 20)}}
	rapid.Check(t, func(t *rapid.T) {
		at := plane.Point{X: rapid.Float64Range(-100, 300).Draw(t, "x"), Y: rapid.Float64Range(-100, 100).Draw(t, "y")}
		got, toward := areas.Nearest(at)
		want, inside := math.Inf(1), false
		for _, a := range areas.Area {
			inside = inside || a.Contains(at)
			for i := range a.Outer {
				from, to := a.Outer[i], a.Outer[(i+1)%len(a.Outer)]
				for s := range 201 {
					want = min(want, at.DistanceM(from.Add(to.Sub(from).Mul(float64(s)/200))))
				}
			}
		}
		if inside {
			want = 0
		}
		if got > want+1e-6 || got < want-0.2 {
			t.Fatalf("from %v: %g m, by walking round %g", at, got, want)
		}
		if far := at.DistanceM(toward); (at.X < 105) != (toward.X < 105) && far > 60 && math.Abs(at.X-110) > 25 {
			t.Fatalf("from %v it lies toward %v", at, toward)
		}
	})
	if areas.Label() != "Lower Mead" || round.Label() != SourceNoun("playground") || round.Label() == "" {
		t.Errorf("they are called %q and %q", areas.Label(), round.Label())
	}
}

// TestBinsGiveBackWhatWasAdded: rates add up, distances are the geometric mean.
func TestBinsGiveBackWhatWasAdded(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	var b Bins
	rates, logs := [BinCount]float64{}, [BinCount]float64{}
	for range 500 {
		d, rate := rng.Float64()*1.2*BinMaxM, rng.ExpFloat64()*1e-4
		at := At(d)
		b.Add(rate, at)
		if bin, ok := BinOf(d); ok {
			rates[bin] += rate
			logs[bin] += rate * math.Log(max(d, binMinM))
		}
	}
	for i := range BinCount {
		rate, dM := b.In(i)
		if math.Abs(rate-rates[i]) > 1e-12 || rates[i] > 0 && math.Abs(math.Log(dM)-logs[i]/rates[i]) > 1e-9 {
			t.Errorf("bin %d: %g a second at %g m, want %g at %g", i, rate, dM, rates[i], math.Exp(logs[i]/rates[i]))
		}
	}
	if rate, dM := new(Bins).In(0); rate != 0 || dM != 0 {
		t.Errorf("nothing is %g a second at %g m", rate, dM)
	}
}
