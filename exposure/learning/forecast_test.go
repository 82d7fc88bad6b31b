package learning

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/exposure/hours"
)

// forecastField is a field of three edges: dog walks on the first and the second, which
// lies in a park, and a yard with dogs behind a fence, in sight of the last two.
func forecastField() *exposure.Field {
	const n = 3
	f := &exposure.Field{Left: make([]exposure.Side, n), Right: make([]exposure.Side, n), SightFwdM: []float32{90, 90, 90}, SightBackM: []float32{90, 90, 90},
		LevelDB: make([]float32, n), Place: []exposure.PlaceKind{exposure.PlaceResidential, exposure.PlacePark, exposure.PlacePark}, Marks: make([]exposure.Mark, n),
		TouchAt: []int32{0, 0, 1, 2},
		Touches: []exposure.Touch{{DistM: 12, Share: 1, InSight: true}, {DistM: 4, Share: 0.5, InSight: true}},
		Sources: []exposure.Source{{OSM: "way/1", As: "yard", Activity: hours.Dogs, Mix: []exposure.Presence{{Kind: exposure.DogBehindFence, Present: 0.4}}}}}
	for p := range exposure.PatternCount {
		f.OwnPerDay[p], f.Near[p] = make([]float32, n), make([][exposure.BinCount]exposure.Bin, n)
	}
	f.OwnPerDay[exposure.DogWalks] = []float32{80, 30, 0}
	return f
}

func lisa() *exposure.Dog {
	return &exposure.Dog{Name: "Lisa", ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 40, ReactionM: 15}}}
}

func momentAt(hour int) hours.Moment {
	c := &hours.Clock{Loc: time.UTC, Lat: 47, Lon: -7}
	return c.At(time.Date(2026, 11, 25, hour, 15, 0, 0, time.UTC))
}

func insideOf(list []Expected, k exposure.Kind) (sum float64) {
	for _, x := range list {
		if x.Kind == k {
			sum += x.Inside
		}
	}
	return sum
}

// TestForecastIsWhatThePlanTells: by kind, what a log is held against is what the
// dose of the same steps counts inside the working distance. The two are added up by
// different code.
func TestForecastIsWhatThePlanTells(t *testing.T) {
	f, d := forecastField(), lisa()
	steps := []exposure.Step{{Edge: 0, Seconds: 300, At: momentAt(8)}, {Edge: 1, Seconds: 120, At: momentAt(8)}, {Edge: 2, Seconds: 60, At: momentAt(8)}, {Edge: 1, Seconds: 200, At: momentAt(17)}}
	fa := &exposure.Factors{There: map[int32]float64{0: .7}}
	got, dose := Forecast(f, d, steps, fa), f.Along(d, steps, fa)
	for k := range exposure.KindCount {
		if sum, want := insideOf(got, k), dose.Kinds[k].Inside; math.Abs(sum-want) > 1e-9*(1+want) {
			t.Errorf("%v: forecast %g, dose %g", k, sum, want)
		}
	}
	if insideOf(got, exposure.DogOnLead) == 0 || insideOf(got, exposure.DogBehindFence) == 0 {
		t.Errorf("nothing to compare: %+v", got)
	}
	if !slices.IsSortedFunc(got, func(a, b Expected) int { return byName(a.Cell, b.Cell) }) {
		t.Errorf("not in the order of names: %+v", got)
	}
	for _, x := range got {
		if x.WorkingM != 40 || x.Kind == exposure.DogOnLead && x.Part == exposure.Evening && x.Place != exposure.PlacePark {
			t.Errorf("cell %+v", x)
		}
	}
}

// TestForecastStays: somebody who stays at a source is met once, where the chance was
// largest; streams add up with time.
func TestForecastStays(t *testing.T) {
	f, d := forecastField(), lisa()
	step := func(edge int32, seconds float64, hour int) exposure.Step {
		return exposure.Step{Edge: edge, Seconds: seconds, At: momentAt(hour)}
	}
	once, twice := Forecast(f, d, []exposure.Step{step(1, 100, 8)}, nil), Forecast(f, d, []exposure.Step{step(1, 100, 8), step(1, 100, 8)}, nil)
	if a, b := insideOf(once, exposure.DogBehindFence), insideOf(twice, exposure.DogBehindFence); a == 0 || a != b {
		t.Errorf("the yard passed twice counts %g, once %g", b, a)
	}
	if a, b := insideOf(once, exposure.DogOnLead), insideOf(twice, exposure.DogOnLead); math.Abs(b-2*a) > 1e-9 || a == 0 {
		t.Errorf("twice the time on the way meets %g, once %g", b, a)
	}
	morning, night := Forecast(f, d, []exposure.Step{step(2, 50, 8)}, nil), Forecast(f, d, []exposure.Step{step(2, 50, 2), step(2, 50, 8)}, nil)
	if a, b := insideOf(morning, exposure.DogBehindFence), insideOf(night, exposure.DogBehindFence); a != b {
		t.Errorf("a quiet hour before changes the yard from %g to %g", a, b)
	}
	for _, x := range night {
		if x.Kind == exposure.DogBehindFence && x.Part != exposure.Morning {
			t.Errorf("the yard counts in the %v, where the chance was smaller", x.Part)
		}
	}
}

// TestForecastIsBlindToWhatItTeaches: factors of walks leave it as it is; what people
// said of a source does not. Nothing walked is nothing, not nil.
func TestForecastIsBlindToWhatItTeaches(t *testing.T) {
	f, d := forecastField(), lisa()
	rapid.Check(t, func(rt *rapid.T) {
		steps := []exposure.Step{{Edge: int32(rapid.IntRange(0, 2).Draw(rt, "edge")), Seconds: rapid.Float64Range(1, 900).Draw(rt, "seconds"), At: momentAt(rapid.IntRange(0, 23).Draw(rt, "hour"))}}
		fa := &exposure.Factors{Walks: 9, Cells: map[exposure.Cell]exposure.Factor{{Kind: exposure.DogOnLead, Place: exposure.PlacePark, Part: exposure.PartOf(steps[0].At.Hour())}: {Mean: rapid.Float64Range(.1, 9).Draw(rt, "mean"), Shape: 4}}}
		if got, want := Forecast(f, d, steps, fa), Forecast(f, d, steps, nil); !slices.Equal(got, want) {
			rt.Errorf("taught %+v, else %+v", got, want)
		}
	})
	steps := []exposure.Step{{Edge: 1, Seconds: 60, At: momentAt(8)}}
	all, none := Forecast(f, d, steps, nil), Forecast(f, d, steps, &exposure.Factors{There: map[int32]float64{0: 0}})
	if insideOf(all, exposure.DogBehindFence) == 0 || insideOf(none, exposure.DogBehindFence) != 0 {
		t.Errorf("the yard that is not there counts: %+v", none)
	}
	if nothing := Forecast(f, d, nil, nil); nothing == nil || len(nothing) != 0 {
		t.Errorf("nothing walked: %#v", nothing)
	}
}
