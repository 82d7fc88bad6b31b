package beside

import (
	"context"
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/exposure/sound"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// touched lists the touches of each edge of a sketch.
func touched(t testing.TB, k *sketch.Map, workers int) ([]int32, []exposure.Touch, []exposure.Source) {
	t.Helper()
	list := Sources(&k.X)
	at, out, err := Touches(context.Background(), k.Net(t), NewTerrain(&k.X, nil), list, workers, nil)
	if err != nil {
		t.Fatal(err)
	}
	return at, out, list
}

// A straight way past a playground: the shares of the distances add up, the
// nearest is the offset to the ground's edge, not to its middle.
func TestTouchesOfAnArea(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Footway, sketch.Line(0, 0, 1000, 0))
	sketch.Area(k, "playground", 480, 30, 40)
	_, ts, list := touched(t, k, 1)
	if len(list) != 1 || list[0].AreaM2 != 1600 {
		t.Fatalf("sources %+v", list)
	}
	least, share, within100 := math.Inf(1), 0.0, 0.0
	for _, x := range ts {
		least = min(least, float64(x.DistM))
		share += float64(x.Share)
		if x.DistM <= 100 {
			within100 += float64(x.Share)
		}
		if !x.InSight || x.DropDB != 0 {
			t.Errorf("nothing stands between, yet %+v", x)
		}
	}
	// Heard to 400 m: a chord of 2 sqrt(400^2 - 30^2) and the 40 m of the ground.
	if want := (2*math.Sqrt(heardM*heardM-900) + 40) / 1000; !nearly(share, want, .03) {
		t.Errorf("in reach over %.3f of the way, want %.3f", share, want)
	}
	if want := (2*math.Sqrt(1e4-900) + 40) / 1000; !nearly(within100, want, .2) {
		t.Errorf("within 100 m over %.3f of the way, want about %.3f", within100, want)
	}
	if least < 30 || least > 33 {
		t.Errorf("nearest %.1f m, want 30", least)
	}
}

// Behind a row of houses a playground is heard, not seen; a fence hides nothing,
// and a wall round the ground itself is its edge.
func TestTouchesBehindWalls(t *testing.T) {
	for _, c := range []struct {
		name   string
		build  func(k *sketch.Map)
		sees   bool
		dropDB float32
	}{
		{"open", func(*sketch.Map) {}, true, 0},
		{"row of houses", func(k *sketch.Map) { k.Wall(sketch.Line(-500, 15, 1500, 15)) }, false, float32(sound.SolidScreen)},
		{"fence", func(k *sketch.Map) { k.Fence(sketch.Line(-500, 15, 1500, 15)) }, true, 0},
		{"wall round the ground", func(k *sketch.Map) { k.Wall(sketch.Line(480, 30, 520, 30, 520, 70, 480, 70, 480, 30)) }, true, 0},
	} {
		k := sketch.New()
		k.Street(osmdata.Footway, sketch.Line(460, 0, 540, 0))
		sketch.Area(k, "playground", 480, 30, 40)
		c.build(k)
		_, ts, _ := touched(t, k, 1)
		if len(ts) == 0 {
			t.Fatalf("%s: no touches", c.name)
		}
		for _, x := range ts {
			if x.InSight != c.sees || x.DropDB != c.dropDB {
				t.Errorf("%s: %+v", c.name, x)
			}
		}
	}
}

func TestTouchesInsideAndAtPoints(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Path, sketch.Line(0, 0, 60, 0))
	sketch.Area(k, "dog_park", -100, -100, 300)
	_, ts, _ := touched(t, k, 1)
	if len(ts) != 1 || ts[0].DistM != 0 || !nearly(float64(ts[0].Share), 1, 1e-6) || !ts[0].InSight {
		t.Errorf("inside: %+v", ts)
	}
	k = sketch.New()
	k.Street(osmdata.Path, sketch.Line(0, 0, 60, 0))
	sketch.Place(k, "school", 30, 100) // 60 m assumed round the point
	_, ts, list := touched(t, k, 1)
	for _, x := range ts {
		if x.DistM < 40 || x.DistM > 45 {
			t.Errorf("a school as a point: %+v", x)
		}
	}
	if len(ts) == 0 || list[0].RadiusM != 60 {
		t.Errorf("touches %+v, sources %+v", ts, list)
	}
}

// The slow twin: every sample against every source, no cells.
func TestTouchesAgainstAllPairs(t *testing.T) {
	k := sketch.SmallTown(6)
	sketch.Area(k, "pitch", 100, 500, 60)
	g := k.Net(t)
	list := Sources(&k.X)
	at, ts, _ := touched(t, k, 3)
	for e := range int32(g.EdgeCount()) {
		got := map[int32]float64{}
		for _, x := range ts[at[e]:at[e+1]] {
			got[x.Source] += float64(x.Share)
		}
		s := Sampler{G: g}
		want, total := map[int32]float64{}, 0.0
		for _, p := range s.Samples(e) {
			total += p.WeightM
			for i := range list {
				d := math.Inf(1)
				for _, a := range list[i].Area {
					d = min(d, a.DistanceM(p.At))
				}
				if len(list[i].Area) == 0 {
					d = max(0, p.At.DistanceM(list[i].At)-float64(list[i].RadiusM))
				}
				if d <= reachM(&list[i]) {
					want[int32(i)] += p.WeightM
				}
			}
		}
		for i := range list {
			if !nearly(got[int32(i)]+1, want[int32(i)]/total+1, 1e-5) {
				t.Errorf("edge %d, source %s: share %g, want %g", e, list[i].As, got[int32(i)], want[int32(i)]/total)
			}
		}
	}
}

func TestNearest(t *testing.T) {
	s := &exposure.Source{Area: []plane.Polygon{{Outer: sketch.Footprint(0, 0, 100).Outer, Holes: []plane.Ring{sketch.Footprint(40, 40, 20).Outer}}}}
	for _, c := range []struct{ x, y, want float64 }{{10, 10, 0}, {-30, 50, 30}, {50, 45, 5}, {130, 140, 50}} {
		if d, at := nearest(s, plane.Point{X: c.x, Y: c.y}); !nearly(d, c.want, 1e-9) || math.Abs(at.DistanceM(plane.Point{X: c.x, Y: c.y})-d) > 1e-9 {
			t.Errorf("from %g %g: %g m at %v, want %g", c.x, c.y, d, at, c.want)
		}
	}
}

func nearly(got, want, tol float64) bool { return math.Abs(got-want) <= tol*max(1e-9, math.Abs(want)) }
