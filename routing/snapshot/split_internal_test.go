package snapshot

import (
	"context"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// However a map is split between parts that hold each place once, and in whatever order
// they come, what is joined of them is the field of the map.
func TestJoinedOfAnySplit(t *testing.T) {
	xml := row3(100)
	whole := imported(t, xml)
	for e := range whole.Field.LevelDB {
		whole.Field.LevelDB[e], whole.Field.SightFwdM[e] = float32(40+e), float32(10*e)
	}
	rapid.Check(t, func(t *rapid.T) {
		cuts := rapid.SliceOfN(rapid.Float64Range(-50, 700), 0, 3).Draw(t, "cuts")
		slices.Sort(cuts)
		var parts []Part
		for i := 0; i <= len(cuts); i++ {
			from, to := -180.0, 180.0
			if i > 0 {
				from, _ = whole.Frame.Inverse(plane.Point{X: cuts[i-1]})
			}
			if i < len(cuts) {
				to, _ = whole.Frame.Inverse(plane.Point{X: cuts[i]})
			}
			parts = append(parts, Part{whole, func(lon, _ float64) bool { return lon >= from && lon < to }})
		}
		parts = rapid.Permutation(parts).Draw(t, "order")
		s, err := Join(context.Background(), strings.NewReader(xml), "row.osm", ImportOptions{}, parts)
		if err != nil {
			t.Fatal(err)
		}
		if s.Odd[oddByWay]+s.Odd[oddAside] != 0 || !reflect.DeepEqual(s.Field, whole.Field) {
			t.Fatalf("levels %v of %v, oddities %v", s.Field.LevelDB, whole.Field.LevelDB, s.Odd)
		}
	})
}

// The share of an import that is done never falls and each stage has a name; broken off at
// any stage it gives an error and no snapshot, or was past caring and gives all of it.
func TestProgressOfAnImport(t *testing.T) {
	var stages []string
	last := 0.0
	tell := func(stage string, share float64) {
		if stage == "" || share < last-1e-9 || share > 1+1e-9 {
			t.Errorf("%q at %g after %g", stage, share, last)
		}
		last = share
		if !slices.Contains(stages, stage) {
			stages = append(stages, stage)
		}
	}
	if _, err := ImportFrom(context.Background(), strings.NewReader(row3(1)), "row.osm", ImportOptions{Progress: tell}); err != nil {
		t.Fatal(err)
	}
	if len(stages) < 6 {
		t.Errorf("stages %v", stages)
	}
	for _, at := range stages {
		ctx, cancel := context.WithCancel(context.Background())
		s, err := ImportFrom(ctx, strings.NewReader(row3(1)), "row.osm", ImportOptions{Progress: func(stage string, _ float64) {
			if stage == at {
				cancel()
			}
		}})
		cancel()
		if err == nil && s == nil || err != nil && (s != nil || ctx.Err() == nil) {
			t.Errorf("broken off at %q: %v, %v", at, s != nil, err)
		}
	}
}
