package gazetteer

import (
	"fmt"
	"math"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// TestTownsOfTowns: a settlement is told with the one that it lies in, itself not, and one
// without a name is none.
func TestTownsOfTowns(t *testing.T) {
	g := indexOf(t, Sources{Towns: []Town{{Name: "Weft", Reach: 2}, {Name: "Hemming", At: plane.Point{X: 900}, Reach: 0}, {At: plane.Point{X: 50}, Reach: 1}, {Name: "Selvage", At: plane.Point{X: 40_000}, Reach: 1}}})
	for text, want := range map[string]string{"weft": "", "hemming": "Weft", "selvage": ""} {
		found := g.Find(text, nil, 9)
		if len(found) != 1 || found[0].Kind != Settlement || found[0].Town != want {
			t.Errorf("%s: %+v, want town %q", text, found, want)
		}
	}
	if g.names.Len() != 3 {
		t.Errorf("settlements are %q", g.names.All())
	}
}

// TestPostcodesLieInTheMiddle: a postcode is found where its doors are on the mean, and in
// the town that is near there; a street has the one that most of its doors have.
func TestPostcodesLieInTheMiddle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := Sources{Towns: []Town{{Name: "Weft", Reach: 1}}}
		reach := rapid.Float64Range(-100, 100) // near enough to be one street
		var x, y, n [3]float64
		for i := range rapid.IntRange(1, 9).Draw(t, "doors") {
			code := rapid.IntRange(0, 2).Draw(t, "code")
			at := plane.Point{X: reach.Draw(t, "x"), Y: reach.Draw(t, "y")}
			x[code], y[code], n[code] = x[code]+at.X, y[code]+at.Y, n[code]+1
			src.Doors = append(src.Doors, osmdata.Address{Street: "Kiln Lane", Number: fmt.Sprint(i + 1), Postcode: fmt.Sprint("3120", code), At: at})
		}
		g, err := New(src)
		if err != nil {
			t.Fatal(err)
		}
		commonest := 0
		for code := range n {
			text := fmt.Sprint("3120", code)
			if n[code] > n[commonest] {
				commonest = code
			}
			var found []Found
			for _, f := range g.Find(text, nil, 9) {
				if f.Kind == Postcode {
					found = append(found, f)
				}
			}
			if n[code] == 0 {
				if len(found) > 0 {
					t.Fatalf("%s has no door and is found at %v", text, found)
				}
				continue
			}
			want := plane.Point{X: x[code] / n[code], Y: y[code] / n[code]}
			if len(found) != 1 || found[0].Name != text || found[0].At.DistanceM(want) > .00708 || found[0].Town != "Weft" {
				t.Fatalf("%s: %+v, want it at %v", text, found, want)
			}
		}
		if street := g.Find("kiln lane", nil, 1); len(street) != 1 || street[0].Code != fmt.Sprint("3120", commonest) {
			t.Fatalf("the street has %+v, most of its doors 3120%d", street, commonest)
		}
	})
}

// TestNearestDoorSlowly: the door next to a place is the nearest of all, none where none is
// as near as asked, and one that is exactly so far off is.
func TestNearestDoorSlowly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.Map(rapid.IntRange(-40, 40), func(n int) float64 { return float64(5 * n) })
		var src Sources
		for i := range rapid.IntRange(0, 8).Draw(t, "doors") {
			src.Doors = append(src.Doors, osmdata.Address{Street: "Kiln Lane", Number: fmt.Sprint(i), Postcode: "31200", At: plane.Point{X: coord.Draw(t, "x"), Y: coord.Draw(t, "y")}})
		}
		g, err := New(src)
		if err != nil {
			t.Fatal(err)
		}
		at := plane.Point{X: coord.Draw(t, "ax"), Y: coord.Draw(t, "ay")}
		least := math.Inf(1)
		for i := range src.Doors {
			least = min(least, src.Doors[i].At.DistanceM(at))
		}
		for _, within := range []float64{0, 50, least, math.Nextafter(least, 0), 1e6} {
			found, ok := g.Nearest(at, within)
			if ok != (least <= within && len(src.Doors) > 0) {
				t.Fatalf("within %g m: %v, the nearest is %g m off", within, ok, least)
			}
			if ok && (found.AwayM != least || found.At.DistanceM(at) != least || found.Kind != Door || found.Code != "31200" || found.Name == found.Number) {
				t.Fatalf("within %g m: %+v, the nearest is %g m off", within, found, least)
			}
		}
	})
}

// TestFoldingOfUnicode holds single letters against CaseFolding.txt of the Unicode
// Character Database (status C and F) and the decompositions of UnicodeData.txt; what
// has no decomposition there is ours, from the usual romanisations (from memory).
func TestFoldingOfUnicode(t *testing.T) {
	for text, want := range map[string]string{
		"\u00df": "ss", "\u1e9e": "ss", // F: sharp s, small and capital
		"\ufb01": "fi", "\ufb04": "ffl", "\ufb06": "st", // F: ligatures
		"\u0130": "i",      // F: capital i with a dot above comes apart into i and the dot
		"\u03a3": "\u03c3", // C: capital sigma
		"\u03c2": "\u03c3", // C: final sigma
		"\u212b": "a",      // angstrom sign: A with a ring
		"\u1e69": "s",      // s with dots below and above
		"\u01c5": "dz",     // dz with caron, title case
		"\uff21": "a",      // wide A
		"\u2163": "iv",     // roman numeral four
		"\u0141": "l", "\u00d8": "o", "\u00c6": "ae", "\u0152": "oe", "\u00de": "th", "\u00d0": "d", "\u0110": "d", "\u0126": "h", "\u0166": "t",
		"O\u2019Hara": "ohara", "O'Hara": "ohara", "a-b": "a b",
	} {
		if got := fold(text); got != want {
			t.Errorf("%q is folded to %q, want %q", text, got, want)
		}
	}
}

// TestFoldOfPlainLetters: a text of ASCII is folded as any other is.
func TestFoldOfPlainLetters(t *testing.T) {
	for c := range byte(utf8.RuneSelf) {
		text := "a" + string(rune(c)) + "Z"
		if got, ok := foldPlain(text); !ok || got != foldAny(text) {
			t.Errorf("%q is folded to %q, want %q", text, got, foldAny(text))
		}
	}
	if _, ok := foldPlain("é"); ok {
		t.Error("é is taken for ASCII")
	}
}
