package exposure

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

var testMagic = [8]byte{'f', 'i', 'e', 'l', 'd', 't', 's', 't'}

func written(t testing.TB, f *Field) []byte {
	path := filepath.Join(t.TempDir(), "field")
	w, err := flatfile.Create(path, testMagic, 1)
	if err != nil {
		t.Fatal(err)
	}
	f.Encode(w, "field.")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func read(t testing.TB, data []byte) (*Field, error) {
	path := filepath.Join(t.TempDir(), "field")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	file, err := flatfile.Open(path, testMagic, 1)
	if err != nil {
		return nil, err
	}
	return Decode(file, "field.")
}

// townField is a random field with areas, holes, text and totals.
func townField() *Field {
	f := randomField(rand.New(rand.NewPCG(6, 6)), 150)
	f.Sources[0].Area = []plane.Polygon{square(0, 0, 20), {Outer: square(99, 9, 30).Outer, Holes: []plane.Ring{square(99, 9, 3).Outer}}}
	f.Sources[0].Name, f.Sources[0].Assumed = "Lower Mead ß", true
	f.Left[4].Default = true
	f.Census = map[string]float64{"dwellings": 467000.5, "tours lost": 3}
	return f
}

func TestFieldRoundTrip(t *testing.T) {
	f := townField()
	g, err := read(t, written(t, f))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		got, want any
	}{
		{"own", g.OwnPerDay, f.OwnPerDay},
		{"sight", g.SightFwdM, f.SightFwdM}, {"back", g.SightBackM, f.SightBackM}, {"level", g.LevelDB, f.LevelDB},
		{"place", g.Place, f.Place}, {"marks", g.Marks, f.Marks}, {"soft", g.SoftShare, f.SoftShare}, {"touch-at", g.TouchAt, f.TouchAt},
		{"sources", g.Sources, f.Sources}, {"census", g.Census, f.Census},
	} {
		if !reflect.DeepEqual(c.got, c.want) {
			t.Errorf("%s comes back changed", c.name)
		}
	}
	for e := range int32(f.EdgeCount()) {
		for p := range PatternCount {
			if got := g.NearBins(p, e); got != f.Near[p][e] {
				t.Errorf("%s beside edge %d comes back as %v, was %v", p, e, got, f.Near[p][e])
			}
		}
		for i, is := range []Side{g.left(e), g.right(e)} {
			was := []Side{f.Left[e], f.Right[e]}[i]
			if apart(is.LowM, was.LowM) > .0051 || apart(is.LeastM, was.LeastM) > .0051 || is.Default != was.Default {
				t.Errorf("room beside edge %d comes back as %+v, was %+v", e, is, was)
			}
		}
		is, was := slices.Collect(g.TouchesOf(e)), slices.Collect(f.TouchesOf(e))
		if len(is) != len(was) {
			t.Fatalf("edge %d has %d touches, had %d", e, len(is), len(was))
		}
		for i, x := range is {
			y := was[i]
			if apart(x.DistM, y.DistM) > .0051 || apart(x.Share, y.Share) > .00001 || apart(x.DropDB, y.DropDB) > .0626 ||
				x.Source != y.Source || x.InSight != y.InSight || x.Bare != y.Bare {
				t.Errorf("touch %d of edge %d comes back as %+v, was %+v", i, e, x, y)
			}
		}
	}
	m := at(t, schoolMorning)
	were := allHazards(f, wary(), m)
	for e, h := range allHazards(g, wary(), m) {
		if apart(h, were[e]) > .02*float64(were[e]) {
			t.Errorf("the hazard of edge %d is %g after the round trip, was %g", e, h, were[e])
		}
	}
}

func apart(a, b float32) float64 { return math.Abs(float64(a) - float64(b)) }

func TestEmptyFieldRoundTrip(t *testing.T) {
	g, err := read(t, written(t, emptyField(0)))
	if err != nil || g.EdgeCount() != 0 {
		t.Fatalf("%v, %v", g, err)
	}
}

func TestFieldRefused(t *testing.T) {
	// What a file keeps as whole numbers of steps is a sound number whatever was written.
	held := map[string]bool{"room": true, "touch beyond the edge": true, "traffic beside": true}
	for _, c := range []struct {
		name, want string
		break_     func(f *Field)
	}{
		{"NaN flow", "NaN", func(f *Field) { f.OwnPerDay[CarTraffic][3] = float32(math.NaN()) }},
		{"negative flow", "-1", func(f *Field) { f.OwnPerDay[DogWalks][3] = -1 }},
		{"missing edge", "149 entries", func(f *Field) { f.LevelDB = f.LevelDB[1:] }},
		{"place", "place kind", func(f *Field) { f.Place[0] = 99 }},
		{"room", "room", func(f *Field) { f.Left[0].LowM = float32(math.NaN()) }},
		{"touch of no source", "touch", func(f *Field) { f.Touches[0].Source = 999 }},
		{"touch beyond the edge", "touch", func(f *Field) { f.Touches[0].Share = 7 }},
		{"touch-at", "touch-at", func(f *Field) { f.TouchAt[3], f.TouchAt[4] = f.TouchAt[4]+1, f.TouchAt[3] }},
		{"touches left over", "touch-at", func(f *Field) { f.Touches = append(f.Touches, Touch{}) }},
		{"soft ground", "soft", func(f *Field) { f.SoftShare[0] = 2 }},
		{"traffic beside", "strain", func(f *Field) { f.Roadside.Stretches[0].Share = 3 }},
		{"crossings missing", "strain", func(f *Field) { f.Roadside.Wide = f.Roadside.Wide[1:] }},
		{"activity", "activity", func(f *Field) { f.Sources[0].Activity = 200 }},
		{"kind", "of kind", func(f *Field) { f.Sources[0].Mix = []Presence{{Kind: 77}} }},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := townField()
			c.break_(f)
			if err := f.Check(); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("check: %v, want %q", err, c.want)
			}
			if held[c.name] {
				if g, err := read(t, written(t, f)); err != nil || g.Check() != nil {
					t.Errorf("it is not held: %v", err)
				}
				return
			}
			if _, err := read(t, written(t, f)); !errors.Is(err, flatfile.ErrDamaged) {
				t.Errorf("decode: %v", err)
			}
		})
	}
}

// A file with a section missing is refused and named.
func TestFieldWithoutASection(t *testing.T) {
	path := filepath.Join(t.TempDir(), "field")
	w, err := flatfile.Create(path, testMagic, 1)
	if err != nil {
		t.Fatal(err)
	}
	flatfile.Put(w, "field.own-dog_walks", []float32{1})
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	data, _ := os.ReadFile(path)
	if _, err := read(t, data); !errors.Is(err, flatfile.ErrMissing) {
		t.Errorf("%v", err)
	}
}

// Whatever lies in a file, decoding must answer with an error or a field that
// passes its check and can be used.
func FuzzDecodeField(f *testing.F) {
	good := written(f, townField())
	f.Add(good, uint32(0), byte(0))
	f.Fuzz(func(t *testing.T, data []byte, at uint32, value byte) {
		if len(data) > 0 {
			data[int(at)%len(data)] = value
		}
		g, err := read(t, data)
		if err != nil {
			return
		}
		if err := g.Check(); err != nil {
			t.Fatal(err)
		}
		g.Sums(wary(), nil)
	})
}
