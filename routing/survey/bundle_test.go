package survey

import (
	"math/rand/v2"
	"testing"

	"wideberth/osmdata"
	"wideberth/routing/survey/sketch"
)

// highStreet is a street with pavements on both sides and a path that leaves.
func highStreet(t testing.TB) (k *sketch.Map, street, left, right, away int32, b *bundles, lengths []float32) {
	k = sketch.New()
	k.Street(osmdata.Tertiary, sketch.Line(0, 0, 300, 0))
	k.Street(osmdata.Footway, sketch.Line(0, 8, 300, 8)).Flags |= osmdata.FlagPavement
	k.Street(osmdata.Footway, sketch.Line(0, -8, 300, -8, 300, -200)).Flags |= osmdata.FlagPavement // turns off
	k.Street(osmdata.Path, sketch.Line(0, 100, 300, 100))
	k.Street(osmdata.Footway, sketch.Line(150, -8, 150, 0, 150, 8)).Flags |= osmdata.FlagCrossing
	g := k.Net(t)
	x := k.X.Streets
	return k, sketch.EdgeOf(t, g, &x[0]), sketch.EdgeOf(t, g, &x[1]), sketch.EdgeOf(t, g, &x[2]), sketch.EdgeOf(t, g, &x[3]), findBundles(g), g.LengthM
}

// A street and its pavements share their people by length; nothing is lost, ways
// apart keep theirs.
func TestPavementsShareWithTheirStreet(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Tertiary, sketch.Line(0, 0, 300, 0))
	k.Street(osmdata.Footway, sketch.Line(0, 8, 300, 8)).Flags |= osmdata.FlagPavement
	k.Street(osmdata.Path, sketch.Line(0, 100, 300, 100))
	g := k.Net(t)
	street, pavement, path := sketch.EdgeOf(t, g, &k.X.Streets[0]), sketch.EdgeOf(t, g, &k.X.Streets[1]), sketch.EdgeOf(t, g, &k.X.Streets[2])
	passes := make([]float64, 3)
	passes[street], passes[pavement], passes[path] = 10, 50, 7
	findBundles(g).even(g, passes)
	if !about(passes[street], 30, 1e-6) || !about(passes[pavement], 30, 1e-6) || passes[path] != 7 {
		t.Errorf("street %g, pavement %g, path %g", passes[street], passes[pavement], passes[path])
	}
}

func TestBundlesConserve(t *testing.T) {
	k, street, left, right, away, b, _ := highStreet(t)
	g := k.Net(t)
	for seed := range uint64(5) {
		r := rand.New(rand.NewPCG(seed, 1))
		passes := make([]float64, g.EdgeCount())
		for e := range passes {
			passes[e] = 100 * r.Float64()
		}
		path, before := passes[away], passMetres(g, passes)
		b.even(g, passes)
		if !about(passMetres(g, passes), before, 1e-9) {
			t.Errorf("seed %d: %g metres become %g", seed, before, passMetres(g, passes))
		}
		if passes[away] != path {
			t.Error("a way apart has changed")
		}
		if passes[left] != passes[street] && !about(passes[left], passes[street], .05) {
			t.Errorf("the pavement has %g, the street %g", passes[left], passes[street])
		}
		_ = right
		b.even(g, passes)
	}
}

// Ways across a street, or along it but far off, are no pavements of it.
func TestBundlesLeaveOthersAlone(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 300, 0))
	k.Street(osmdata.Footway, sketch.Line(150, -60, 150, -2)).Flags |= osmdata.FlagPavement
	k.Street(osmdata.Footway, sketch.Line(0, 40, 300, 40)).Flags |= osmdata.FlagPavement
	b := findBundles(k.Net(t))
	if len(b.list) != 0 {
		t.Errorf("bundled %+v", b.list)
	}
}
