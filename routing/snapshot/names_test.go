package snapshot_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing/gazetteer"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// asked is a street of a map, a place 2 km off it, and what somebody types for it.
type asked struct {
	name  string
	near  plane.Point
	texts map[string]string // by how it is typed
}

// askedAbout draws named edges of a map.
func askedAbout(s *snapshot.Snapshot, n int, rng *rand.Rand) (out []asked) {
	g := s.Graph
	for len(out) < n {
		e := rng.Int32N(int32(g.EdgeCount()))
		name := g.Names[g.Parts[g.PartAt[e]].Name]
		if len(name) < 6 {
			continue
		}
		at := g.EdgeLine(e).At(0)
		low := []byte(strings.ToLower(name))
		k := 1 + rng.IntN(4)
		swapped := slices.Clone(low)
		swapped[k], swapped[k+1] = swapped[k+1], swapped[k]
		out = append(out, asked{name, plane.Point{X: at.X + 1400, Y: at.Y - 1400}, map[string]string{
			"whole": name, "begun": string(low[:5]), "swapped": string(swapped), "short": shortened.Replace(name)}})
	}
	return out
}

var shortened = strings.NewReplacer("Street", "St", "Road", "Rd", "Avenue", "Ave", "Drive", "Dr", "Lane", "Ln", "North ", "N ", "South ", "S ", "Court", "Ct", "Row", "row")

// found says how many of those asked for are among the first twelve, by how they are
// typed, and how long each search took.
func found(s *snapshot.Snapshot, list []asked) (share map[string]float64, took []time.Duration) {
	share = map[string]float64{}
	for _, a := range list {
		for how, text := range a.texts {
			begun := time.Now()
			got := s.Names.Find(text, &a.near, 12)
			took = append(took, time.Since(begun))
			if slices.ContainsFunc(got, func(f gazetteer.Found) bool { return strings.EqualFold(f.Name, a.name) }) {
				share[how] += 1 / float64(len(list))
			}
		}
	}
	return share, took
}

func TestTownStreetsAreFound(t *testing.T) {
	share, _ := found(maptest.Town(t), askedAbout(maptest.Town(t), 150, rand.New(rand.NewPCG(7, 8))))
	for how, least := range map[string]float64{"whole": 1, "begun": 1, "swapped": 0.9, "short": 1} {
		if share[how] < least-1e-9 {
			t.Errorf("typed %s: %.3f of the streets found", how, share[how])
		}
	}
}

func TestFiguresFindingAStart(t *testing.T) {
	maptest.Figures(t)
	s := maptest.Delaware(t)
	share, took := found(s, askedAbout(s, 500, rand.New(rand.NewPCG(1, 2))))
	slices.Sort(took)
	places, words := s.Names.Size()
	t.Logf("  %d places, %d words; street found among twelve, typed whole %.3f, five letters %.3f, two letters swapped %.3f, abbreviated %.3f",
		places, words, share["whole"], share["begun"], share["swapped"], share["short"])
	t.Logf("  search p50 %v, p95 %v, most %v", took[len(took)/2], took[len(took)*95/100], took[len(took)-1])
}
