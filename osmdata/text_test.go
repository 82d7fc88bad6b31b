package osmdata_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"wideberth/osmdata"
)

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"Weaver Row":                   "Weaver Row",
		"":                             "",
		"\u202eteertS":                 "teertS", // right-to-left override
		"\u2067Row\u2069 12":           "Row 12",
		"We\u200baver\ufeff Row":       "Weaver Row",
		"Weaver\nRow\x00\x1b[31m":      "Weaver Row[31m",
		"Weaver\u2028Row":              "Weaver Row",
		"a\u200db":                     "ab", // a joiner that joins nothing
		"می\u200cخواهم":                "می\u200cخواهم",
		"क्\u200dष":                    "क्\u200dष",
		"👩\u200d🌾":                     "👩\u200d🌾",
		"Rue de l’Église, Gr\u00fcner": "Rue de l’Église, Gr\u00fcner",
		"\xffRow":                      "�Row",
		"\u200e\u200f":                 "",
	} {
		if got := osmdata.Plain(in); got != want {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
	if got := osmdata.PlainLines("one\ntwo\u202e\tthree\n"); got != "one\ntwo\tthree\n" {
		t.Errorf("prose became %q", got)
	}
}

// TestPlainAlways: whatever comes, what goes out is text without any of Unicode's
// characters of the property Bidi_Control (PropList.txt, as Go's tables have it), and
// cleaning it again changes nothing.
func TestPlainAlways(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.SampledFrom([]rune("a م\u200c\u200d\u200b\u202e\n\x00\u00ad"))),
			rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) })).Draw(rt, "text")
		for name, f := range map[string]func(string) string{"line": osmdata.Plain, "lines": osmdata.PlainLines} {
			out := f(in)
			if !utf8.ValidString(out) || strings.ContainsFunc(out, func(r rune) bool { return unicode.Is(unicode.Bidi_Control, r) }) {
				rt.Fatalf("%s: %q became %q", name, in, out)
			}
			if again := f(out); again != out {
				rt.Fatalf("%s: %q, and again %q", name, out, again)
			}
		}
	})
}

// TestNamesAreRead: the names of a map are plain, and a value longer than
// OpenStreetMap takes is cut and counted.
func TestNamesAreRead(t *testing.T) {
	w := parseWorld(t, "n 1 0 0\nn 2 10 0\nw 1 1,2 highway=residential name=\u202ewoR~revaeW\u200b\nn 3 20 0\nw 2 2,3 highway=residential name="+strings.Repeat("é", 300))
	written := strings.NewReplacer(`\u202e`, "\u202e", `\u200b`, "\u200b").Replace(string(w.xml())) // which quotes them as Go does
	for kind, data := range map[string][]byte{"XML": []byte(written), "PBF": w.pbf()} {
		x, err := osmdata.Options{}.Read(t.Context(), bytes.NewReader(data))
		if err != nil {
			t.Fatal(kind, err)
		}
		if x.Streets[0].Name != "woR revaeW" || x.Streets[1].Name != strings.Repeat("é", 255) {
			t.Errorf("%s: names %q, %q", kind, x.Streets[0].Name, x.Streets[1].Name)
		}
		if odd := x.Report.Odd["value longer than the map's database takes, cut"]; odd == nil || odd.Count != 1 || odd.Samples[0] != "way/2" {
			t.Errorf("%s: counted %+v", kind, odd)
		}
	}
}

// TestTooLongForOneMap: streets that are longer together than what can be worked on are
// refused in words before any memory is spent on them, however small the file is.
func TestTooLongForOneMap(t *testing.T) {
	var b strings.Builder
	const ways = 50 // of 800 steps of 13 km each, to and fro
	b.WriteString(`<osm version="0.6">`)
	for i := range 801 {
		fmt.Fprintf(&b, `<node id="%d" lat="%.5f" lon="%.4f"/>`, i+1, float64(i)*1e-4, 0.117*float64(i%2))
	}
	for w := range ways {
		fmt.Fprintf(&b, `<way id="%d"><tag k="highway" v="residential"/>`, w+1)
		for i := range 801 {
			fmt.Fprintf(&b, `<nd ref="%d"/>`, i+1)
		}
		b.WriteString(`</way>`)
	}
	b.WriteString(`</osm>`)
	_, err := osmdata.Options{}.Read(t.Context(), strings.NewReader(b.String()))
	if !errors.Is(err, osmdata.ErrTooLong) || !strings.Contains(err.Error(), "at most 500000 km") {
		t.Errorf("%d kB: %v", b.Len()>>10, err)
	}
}

// TestFarPlaces: one place far off does not make a small map a large one, and a
// street to it ends where it was.
func TestFarPlaces(t *testing.T) {
	w := parseWorld(t, "n 1 0 0\nn 2 10 0\nn 3 20 0\nw 1 1,2,3 highway=residential\nn 4 1500000 0\nw 2 3,4 highway=residential\nn 5 5000 0\nw 3 1,5 highway=residential")
	for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		x, err := osmdata.Options{}.Read(t.Context(), bytes.NewReader(data))
		if err != nil {
			t.Fatal(kind, err)
		}
		longest := 0.0
		for _, s := range x.Streets {
			longest = max(longest, s.Line.LengthM())
		}
		if longest > 20000 {
			t.Errorf("%s: a street of %.0f m", kind, longest)
		}
		for _, odd := range []string{"place too far from the others, left out", "street with a gap too long for one, cut there"} {
			if x.Report.Odd[odd] == nil {
				t.Errorf("%s: %q is not told: %v", kind, odd, x.Report.Odd)
			}
		}
	}
}
