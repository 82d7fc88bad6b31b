package homes

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// A line comes back from its text to what is kept of a degree, and the text is short.
func TestLinesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var l Line
		lon, lat := rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-90, 90).Draw(t, "lat")
		for range rapid.IntRange(0, 40).Draw(t, "n") {
			lon, lat = lon+rapid.Float64Range(-.001, .001).Draw(t, "dx"), lat+rapid.Float64Range(-.001, .001).Draw(t, "dy")
			l = append(l, [2]float64{lon, lat})
		}
		text, err := json.Marshal(l)
		if err != nil {
			t.Fatal(err)
		}
		var back Line
		if err := json.Unmarshal(text, &back); err != nil || len(back) != len(l) {
			t.Fatalf("%d places of %d: %v", len(back), len(l), err)
		}
		for i := range l {
			if math.Abs(back[i][0]-l[i][0]) > .51e-7 || math.Abs(back[i][1]-l[i][1]) > .51e-7 {
				t.Fatalf("%v became %v", l[i], back[i])
			}
		}
		again, err := json.Marshal(back)
		if err != nil || string(again) != string(text) {
			t.Fatalf("%s became %s", text, again)
		}
		if most := 30 + 8*len(l); len(text) > most {
			t.Fatalf("%d letters for %d places", len(text), len(l))
		}
	})
	for _, text := range []string{`"!"`, `"A"`, `"gA"`, `"gICAgICAgICAgICA"`, `7`} {
		var l Line
		if err := json.Unmarshal([]byte(text), &l); err == nil {
			t.Errorf("%s is taken for %v", text, l)
		}
	}
}

// A part is told of the settlements whose ground or disc may have homes of its own, in the
// order of the whole, and of no others.
func TestAbout(t *testing.T) {
	square := func(lon, lat, deg float64) []Line {
		return []Line{{{lon, lat}, {lon + deg, lat}, {lon + deg, lat + deg}, {lon, lat + deg}}}
	}
	w := &Whole{Settlements: []Settlement{
		{OSM: "within", Area: square(7.02, 47.02, .01)}, {OSM: "beside", Area: square(7.2, 47, .1)}, {OSM: "about", Area: square(0, 40, 20)},
		{OSM: "corner", Area: square(7.05, 47.05, .1)}, {OSM: "disc", At: [2]float64{7.12, 47.02}, ReachM: 2000}, {OSM: "small disc", At: [2]float64{7.12, 47.02}, ReachM: 1000},
	}}
	got := ""
	for _, s := range w.About(Box{7, 47, 7.1, 47.1}).Settlements {
		got += s.OSM + " "
	}
	if want := "within about corner disc "; got != want {
		t.Errorf("told of %q, want %q", got, want)
	}
	if n := len(w.About(Box{}).Settlements); n != 0 || len(w.Settlements) != 6 {
		t.Errorf("without homes told of %d, %d are left", n, len(w.Settlements))
	}
}

// The box of a share is about all of its homes.
func TestShareBox(t *testing.T) {
	f := plane.NewFrame(-7, 47.3)
	line := plane.Polyline{{X: -400, Y: 0}, {X: 400, Y: 300}}
	x := &osmdata.Extract{Frame: f, Streets: []osmdata.Street{{ID: 1, Class: osmdata.Residential, Foot: true, Line: line, Nodes: []int64{1, 2}}}}
	s := ShareOf(x, 2, func(float64, float64) bool { return false })
	west, south := f.Inverse(plane.Point{X: -400, Y: 0})
	east, north := f.Inverse(plane.Point{X: 400, Y: 300})
	if b := s.Homes; !(b[0] > west && b[0] < west+.001 && b[1] > south && b[2] < east && b[3] < north && b[2]-b[0] > .009 && b[3]-b[1] > .0025) {
		t.Errorf("%v, the street %g %g %g %g", b, west, south, east, north)
	}
	if len(s.Border) != 0 {
		t.Errorf("of an empty core the border %v is told", s.Border)
	}
}
