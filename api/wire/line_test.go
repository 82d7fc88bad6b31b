package wire_test

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protowire"
	"pgregory.net/rapid"

	"wideberth/api/wire"
	"wideberth/osmdata/plane"
	"wideberth/routing/atlas"
)

// lined is an address whose only walk has a line.
func lined(line string) *wire.Given {
	return &wire.Given{Walks: []wire.GivenWalk{{Line: line}}}
}

// varints are numbers as Protocol Buffers' own library writes them: zigzag varints.
func varints(steps ...int64) string {
	var b []byte
	for _, s := range steps {
		b = protowire.AppendVarint(b, protowire.EncodeZigZag(s))
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

// TestLinesAreReadAsWritten: by the reference library for Protocol Buffers' varints, to
// a step of a millionth of a degree.
func TestLinesAreReadAsWritten(t *testing.T) {
	f := plane.NewFrame(-75.55, 39.74)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 40).Draw(t, "corners")
		var steps []int64
		var at, last [2]int64
		var want []plane.Point
		for range n {
			at[0] = -75_550_000 + rapid.Int64Range(-2000, 2000).Draw(t, "lon")
			at[1] = 39_740_000 + rapid.Int64Range(-2000, 2000).Draw(t, "lat")
			steps, last = append(steps, at[0]-last[0], at[1]-last[1]), at
			want = append(want, f.Forward(float64(at[0])/1e6, float64(at[1])/1e6))
		}
		got, ok := lined(varints(steps...)).Lines(f)
		if length := plane.Polyline(want).LengthM(); ok != (length <= 30_000) {
			t.Fatalf("a line of %g m is read: %v", length, ok)
		}
		if !ok {
			return
		}
		if len(got) != 1 || len(got[0]) != n {
			t.Fatalf("%d corners were written", n)
		}
		for i := range want {
			if got[0][i].DistanceM(want[i]) > 1e-6 {
				t.Fatalf("corner %d lies at %v, was written at %v", i, got[0][i], want[i])
			}
		}
	})
}

// TestAWalksLineComesBack: the line in the address of a plan is that of its walk.
func TestAWalksLineComesBack(t *testing.T) {
	p, plan := planned(t)
	g := wire.NewGiven(plan, p.Land(), wire.WishBody{})
	lines, ok := g.Lines(p.Land().Snap.Frame)
	if !ok || len(lines) != len(plan.Walks) {
		t.Fatalf("%d lines of %d walks", len(lines), len(plan.Walks))
	}
	for i := range lines {
		if len(lines[i]) != len(plan.Walks[i].Line) {
			t.Fatalf("walk %d: %d corners of %d", i, len(lines[i]), len(plan.Walks[i].Line))
		}
		for k := range lines[i] {
			if d := lines[i][k].DistanceM(plan.Walks[i].Line[k]); d > 0.1 {
				t.Fatalf("walk %d, corner %d: %g m off", i, k, d)
			}
		}
	}
}

func TestLinesThatAreNone(t *testing.T) {
	f := plane.NewFrame(-75.55, 39.74)
	for what, line := range map[string]string{
		"empty":            "",
		"not base64url":    "a+b/",
		"one corner":       varints(-75_550_000, 39_740_000),
		"off the earth":    varints(-75_550_000, 39_740_000, 400_000_000, 0),
		"round the world":  varints(-75_550_000, 39_740_000, 90_000_000, 0),
		"a cut number":     base64.RawURLEncoding.EncodeToString([]byte{0x80, 0x80}),
		"an endless one":   base64.RawURLEncoding.EncodeToString([]byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}),
		"padded as others": varints(-75_550_000, 39_740_000, 10, 10) + "=",
	} {
		if lines, ok := lined(line).Lines(f); ok {
			t.Errorf("%s: read as %v", what, lines)
		}
	}
}

// FuzzLine: whatever is sent, a line that is read has corners on the earth and a
// length that can be matched.
func FuzzLine(f *testing.F) {
	f.Add(varints(-75_550_000, 39_740_000, 10, 10))
	f.Add(varints(0, 0, math.MaxInt64, math.MinInt64))
	frame := plane.NewFrame(-75.55, 39.74)
	f.Fuzz(func(t *testing.T, line string) {
		lines, ok := lined(line).Lines(frame)
		if !ok {
			return
		}
		if m := lines[0].LengthM(); len(lines[0]) < 2 || !(m <= 30_000) {
			t.Errorf("%d corners, %g m", len(lines[0]), m)
		}
	})
}

// TestStartOfAPlan: at the wish's door, else where the first walk begins; nothing of what
// is no plan.
func TestStartOfAPlan(t *testing.T) {
	walks := `"walks":[{"legs":[{"geometry":{"type":"LineString","coordinates":[]}},{"geometry":{"type":"LineString","coordinates":[[-75.5,39.7],[-75.6,39.8]]}}]}]`
	for _, c := range []struct {
		plan string
		want wire.LatLon
		ok   bool
	}{
		{`{"given":{"wish":{"from":{"lat":1.5,"lon":2.5}}},` + walks + `}`, wire.LatLon{Lat: 1.5, Lon: 2.5}, true},
		{`{` + walks + `}`, wire.LatLon{Lat: 39.7, Lon: -75.5}, true},
		{`{"walks":[]}`, wire.LatLon{}, false},
		{`{"walks":"none"}`, wire.LatLon{}, false},
		{`{`, wire.LatLon{}, false},
	} {
		if at, ok := wire.StartOf(json.RawMessage(c.plan)); at != c.want || ok != c.ok {
			t.Errorf("%s begins at %+v, %v", c.plan, at, ok)
		}
	}
}

func TestMapsThere(t *testing.T) {
	at := time.Date(2026, 11, 1, 2, 0, 0, 0, time.FixedZone("", 7200))
	got := wire.NewMapsThere([]*atlas.Tile{
		{Name: "Upper Mead", Zone: "UTC", Country: "XX", Licence: "invented", MapTime: at, Core: [4]float64{1, 2, 3, 4}},
		{Name: "Lower Mead"},
	})
	want := `[{Upper Mead [1 2 3 4] UTC XX 2026-11-01T00:00:00Z invented} {Lower Mead [0 0 0 0]    }]`
	if text := fmt.Sprint(got); text != want {
		t.Errorf("%s, want %s", text, want)
	}
}
