package survey

import (
	"context"
	"math"
	"testing"

	"wideberth/exposure/hours"
	"wideberth/exposure/sound"
	"wideberth/osmdata"
	"wideberth/routing/survey/beside"
	"wideberth/routing/survey/sketch"
)

// levelsOf gives the levels of a sketch with a fixed traffic on all motor streets.
func levelsOf(t testing.TB, k *sketch.Map, aadt float64, workers int) ([]float32, *traffic) {
	t.Helper()
	tr := drive(t, k)
	if tr != nil {
		for e := range tr.aadt {
			tr.aadt[e] = aadt
		}
	}
	out, err := levels(context.Background(), k.Net(t), beside.NewTerrain(&k.X, nil), tr, workers, nil)
	if err != nil {
		t.Fatal(err)
	}
	return out, tr
}

// A path beside a long straight road has the level of an endless line of its
// traffic, whatever pieces the road is drawn in (the emission and the line are
// checked against their published cases where they are made).
func TestLevelBesideARoad(t *testing.T) {
	for _, d := range []float64{10, 40, 100} {
		k := sketch.New()
		line := sketch.Line()
		for x := -20000.0; x <= 20000; x += 400 {
			line = append(line, sketch.Line(x, 0)...)
		}
		k.Street(osmdata.Primary, line).SpeedMPS = 50 / 3.6
		path := k.Street(osmdata.Path, sketch.Line(-20, d, 20, d))
		out, _ := levelsOf(t, k, 12000, 1)
		flow := 0.0
		for h := 7; h < 19; h++ { // the day of Directive 2002/49/EC, Annex I
			flow += hours.ShapeOf(hours.Cars).Busy[h] / 12
		}
		want := sound.Traffic{LightPerHour: 12000 * flow * .93, HeavyPerHour: 12000 * flow * .07, SpeedMPS: 50 / 3.6}.LAeq(d, sound.InTheOpen)
		got := float64(out[sketch.EdgeOf(t, k.Net(t), path)])
		// The air's absorption and the road beyond the reach are left out; both small.
		if math.Abs(got-want) > .8 {
			t.Errorf("%g m beside the road: %.2f dB, want %.2f", d, got, want)
		}
	}
}

// Distance and a screen quieten; a place without roads has the floor.
func TestLevelFalls(t *testing.T) {
	at := func(y float64, wall bool) float32 {
		k := sketch.New()
		k.Street(osmdata.Primary, sketch.Line(-2000, 0, 2000, 0))
		path := k.Street(osmdata.Path, sketch.Line(-20, y, 20, y))
		if wall {
			k.Wall(sketch.Line(-3000, 8, 3000, 8))
		}
		out, _ := levelsOf(t, k, 10000, 2)
		return out[sketch.EdgeOf(t, k.Net(t), path)]
	}
	near, far, screened, away := at(20, false), at(80, false), at(20, true), at(900, false)
	if !(near > far+5) || math.Abs(float64(near-screened)-float64(sound.SolidScreen)) > .1 || away != levelFloorDB {
		t.Errorf("near %.1f, far %.1f, screened %.1f, away %.1f dB", near, far, screened, away)
	}
	k := sketch.New()
	k.Street(osmdata.Path, sketch.Line(0, 0, 900, 0))
	if out, _ := levelsOf(t, k, 0, 1); out[0] != levelFloorDB {
		t.Errorf("no road at all: %g dB", out[0])
	}
}

// On the road itself the walker is beside the traffic, not in it.
func TestLevelOnTheRoad(t *testing.T) {
	k := sketch.New()
	road := k.Street(osmdata.Secondary, sketch.Line(-3000, 0, 3000, 0))
	out, _ := levelsOf(t, k, 6000, 1)
	got := float64(out[sketch.EdgeOf(t, k.Net(t), road)])
	if got < 60 || got > 78 {
		t.Errorf("beside 6,000 vehicles a day: %.1f dB", got)
	}
}
