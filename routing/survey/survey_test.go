package survey

import (
	"context"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
	"wideberth/routing/survey/sketch"
)

func survey(t testing.TB, x *osmdata.Extract, g *network.Graph, workers int) *exposure.Field {
	t.Helper()
	f, err := Survey(context.Background(), x, g, Options{Workers: workers})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The whole field of the town: sound, the same for one worker and for eight, to
// the last bit.
func TestSurveyOfTheTown(t *testing.T) {
	x, g := sketch.Town(t)
	one, eight := survey(t, x, g, 1), survey(t, x, g, 8)
	for _, c := range []struct {
		name string
		a, b any
	}{
		{"flows", one.OwnPerDay, eight.OwnPerDay}, {"streams", one.Near, eight.Near}, {"room", one.Left, eight.Left},
		{"sight", one.SightFwdM, eight.SightFwdM}, {"levels", one.LevelDB, eight.LevelDB}, {"touches", one.Touches, eight.Touches},
		{"places", one.Place, eight.Place}, {"marks", one.Marks, eight.Marks}, {"sources", one.Sources, eight.Sources},
	} {
		if !reflect.DeepEqual(c.a, c.b) {
			t.Errorf("%s differ between one worker and eight", c.name)
		}
	}
	kindsOfPlace := map[exposure.PlaceKind]int{}
	for _, p := range one.Place {
		kindsOfPlace[p]++
	}
	if len(kindsOfPlace) < 3 {
		t.Errorf("kinds of place %v", kindsOfPlace)
	}
	found := map[string]bool{}
	for i := range one.Sources {
		found[one.Sources[i].As] = true
	}
	for _, as := range []string{"school", "playground", "dog_park", "skate_spot"} {
		if !found[as] {
			t.Errorf("no %s among the sources", as)
		}
	}
}

// What a trainer who knows the town would say: mornings have more dogs than late
// evenings everywhere, schools matter on school days, and the quiet tenth of the
// town is far below its middle.
func TestTownLooksRight(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	x, g := sketch.Town(t)
	f := survey(t, x, g, 2)
	clock := &hours.Clock{}
	at := func(day, hour, minute int) hours.Moment {
		return clock.At(time.Date(2026, time.November, day, hour, minute, 0, 0, time.UTC))
	}
	dogs := &exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 40, ReactionM: 20}}}
	children := &exposure.Dog{ByKind: map[exposure.Kind]exposure.Need{exposure.Child: {WorkingM: 30, ReactionM: 15}}}
	mean := func(d *exposure.Dog, m hours.Moment) (all float64) {
		for e, h := range f.Sums(d, nil).Hazard(m, nil, nil) {
			all += float64(h) * float64(g.LengthM[e])
		}
		return all
	}
	if a, b := mean(dogs, at(4, 8, 15)), mean(dogs, at(4, 21, 0)); a < 2*b {
		t.Errorf("dogs at 08:15 %g, at 21:00 %g", a, b)
	}
	if a, b := mean(children, at(4, 8, 15)), mean(children, at(8, 8, 15)); a < 2*b {
		t.Errorf("children at 08:15 on a school day %g, on a Sunday %g", a, b)
	}
	h := f.Sums(dogs, nil).Hazard(at(4, 17, 15), nil, nil)
	q := deciles(g, func(e int32) float64 { return float64(h[e]) * 1800 }, func(int32) bool { return true })
	if q[0] > .5*q[1] || q[1] < .05 || q[1] > 10 {
		t.Errorf("X in half an hour, 10, 50 and 90 %%: %.3f", q)
	}
}

// The public ways to see a survey: it tells a truthful progress, and stops.
func TestSurveyProgressAndStop(t *testing.T) {
	k := sketch.SmallTown(7)
	g := k.Net(t)
	last, stages := 0.0, map[string]bool{}
	_, err := Survey(context.Background(), &k.X, g, Options{Workers: 2, Progress: func(stage string, share float64) {
		if share < last-1e-12 || share > 1+1e-9 {
			t.Errorf("%s: share %g after %g", stage, share, last)
		}
		last, stages[stage] = share, true
	}})
	if err != nil || last < .97 || len(stages) != 7 {
		t.Errorf("ended at %g after %v: %v", last, stages, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Survey(ctx, &k.X, g, Options{}); !errors.Is(err, context.Canceled) || !strings.HasPrefix(err.Error(), "survey: ") {
		t.Errorf("stopped: %v", err)
	}
}

// A map of paths alone, without a home, a road or a place, is a field too.
func TestSurveyOfNothing(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Path, sketch.Line(0, 0, 900, 0))
	f := survey(t, &k.X, k.Net(t), 1)
	for p := range f.OwnPerDay {
		if f.OwnPerDay[p][0] != 0 {
			t.Errorf("%g %s a day", f.OwnPerDay[p][0], exposure.Pattern(p))
		}
	}
	if len(f.Sources) != 0 || f.Marks[0]&exposure.FewPlaces == 0 {
		t.Errorf("sources %v, marks %b", f.Sources, f.Marks[0])
	}
}

// A map drawn in another frame, as a part of a larger one is, has the same flows:
// squares hang on the earth and draws on OSM's nodes.
func TestSurveyInAnotherFrame(t *testing.T) {
	k, moved := sketch.SmallTown(6), sketch.SmallTown(6)
	moved.X.Frame = plane.NewFrame(0.05, -0.03)
	at := func(p plane.Point) plane.Point {
		return moved.X.Frame.Forward(k.X.Frame.Inverse(p))
	}
	for i := range moved.X.Streets {
		for j := range moved.X.Streets[i].Line {
			moved.X.Streets[i].Line[j] = at(moved.X.Streets[i].Line[j])
		}
	}
	for i := range moved.X.Features {
		ft := &moved.X.Features[i]
		ft.Point = at(ft.Point)
		for _, a := range ft.Areas {
			for j := range a.Outer {
				a.Outer[j] = at(a.Outer[j])
			}
		}
	}
	a, b := surveyed(t, k, 2), surveyed(t, moved, 2)
	middle := func(a *assignment, e int32) plane.Point {
		return a.ground.g.EdgeLine(e).At(float64(a.ground.g.LengthM[e]) / 2)
	}
	for p := range a.flows {
		for e, q := range a.flows[p] {
			found := false
			for f, r := range b.flows[p] { // the order of edges differs
				if at(middle(a, int32(e))).DistanceM(middle(b, int32(f))) < .01 {
					found = true
					if !about(r+.01, q+.01, 1e-3) {
						t.Errorf("edge %d has %g %s, in another frame %g", e, q, exposure.Pattern(p), r)
					}
				}
			}
			if !found {
				t.Fatalf("edge %d is not in the other frame", e)
			}
		}
	}
}

// A shopping street and a park are told from plain ground.
func TestPlaceKinds(t *testing.T) {
	k := sketch.New()
	shop := k.Street(osmdata.Unclassified, sketch.Line(0, 0, 100, 0))
	k.Street(osmdata.Residential, sketch.Line(0, 500, 100, 500))
	k.Street(osmdata.Path, sketch.Line(0, 1000, 100, 1000))
	k.Street(osmdata.Path, sketch.Line(0, 2000, 100, 2000))
	k.Street(osmdata.Service, sketch.Line(0, 3000, 100, 3000))
	sketch.Place(k, "shop", 20, 5)
	sketch.Place(k, "shop", 60, 5)
	k.Ground(osmdata.Wood, -50, 900, 150, 1100)
	k.Ground(osmdata.Residentials, -50, 900, 150, 1100)
	k.Ground(osmdata.Industrial, -50, 2900, 150, 3100)
	g := k.Net(t)
	shops := shopsByEdge(&k.X, g)
	if shops[sketch.EdgeOf(t, g, shop)] != 2 {
		t.Errorf("shops %v", shops)
	}
	got := beside.PlaceKinds(&k.X, g, shops)
	for i, want := range []exposure.PlaceKind{exposure.PlaceCentre, exposure.PlaceResidential, exposure.PlaceWoods, exposure.PlaceOpen, exposure.PlaceIndustry} {
		if e := sketch.EdgeOf(t, g, &k.X.Streets[i]); got[e] != want {
			t.Errorf("street %d lies in %s, want %s", i, got[e], want)
		}
	}
}
