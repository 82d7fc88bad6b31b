package reach_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
	"wideberth/routing/search"
	"wideberth/routing/snapshot/maptest"
)

// townAround is what is in reach of the town's door.
func townAround(t testing.TB, budgetM float64) *reach.Reach {
	t.Helper()
	land := town(t)
	door, err := land.Place(maptest.Door(land.Snap.Frame))
	if err != nil {
		t.Fatal(err)
	}
	r, err := land.Around(door, nil, budgetM)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// strolled draws a walk out by chance that does not turn about, and home by the shortest way.
func strolled(t testing.TB, r *reach.Reach, rng *rand.Rand, arcs int) []int32 {
	t.Helper()
	var walk []int32
	at := r.Door
	for range arcs {
		var next []int32
		for a := r.Star.First[at]; a < r.Star.First[at+1]; a++ {
			if len(walk) == 0 || r.Star.Twin[a] != walk[len(walk)-1] {
				next = append(next, a)
			}
		}
		if len(next) == 0 {
			break
		}
		walk = append(walk, next[rng.IntN(len(next))])
		at = r.Star.Head[walk[len(walk)-1]]
	}
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		t.Fatal(err)
	}
	tree, err := router.Reach([]search.Source{{Vertex: at}}, r.TimesS(1), search.Span{Cutoff: math.Inf(1)})
	if err != nil {
		t.Fatal(err)
	}
	defer tree.Release()
	return append(walk, tree.Path(nil, r.Door)...)
}

// TestMatchFindsShakenWalks: a walk whose line was drawn anew a few metres off is found
// again on ground that nowhere lies far from it, from door to door; the line itself is
// found with the walk's own length.
func TestMatchFindsShakenWalks(t *testing.T) {
	r := townAround(t, 2000)
	rng := rand.New(rand.NewPCG(31, 1))
	for i := range 12 {
		walk := strolled(t, r, rng, 8)
		line := r.Land.LineOfCourse(r.Course(walk))
		for _, shakeM := range []float64{0, 2.5} {
			shaken := slices.Clone(line)
			for k := range shaken {
				if k > 0 && k < len(shaken)-1 {
					shaken[k] = shaken[k].Add(plane.Point{X: shakeM * (2*rng.Float64() - 1), Y: shakeM * (2*rng.Float64() - 1)})
				}
			}
			got, err := r.Match(shaken, r.Door, r.Door)
			if err != nil {
				if shakeM == 0 {
					t.Errorf("walk %d of %.0f m is not found on its own ground", i, line.LengthM())
				}
				continue
			}
			if at := r.Star.Head[r.Star.Twin[got[0]]]; at != r.Door {
				t.Errorf("walk %d begins at vertex %d", i, at)
			}
			for k := 1; k < len(got); k++ {
				if r.Star.Head[got[k-1]] != r.Star.Head[r.Star.Twin[got[k]]] {
					t.Fatalf("walk %d leaps after %d arcs", i, k)
				}
			}
			if r.Star.Head[got[len(got)-1]] != r.Door {
				t.Errorf("walk %d does not come home", i)
			}
			again := r.Land.LineOfCourse(r.Course(got))
			if d := math.Abs(again.LengthM() - line.LengthM()); d > 0.05*line.LengthM()+12 {
				t.Errorf("walk %d of %.0f m is found as one of %.0f m, shaken by %g m", i, line.LengthM(), again.LengthM(), shakeM)
			}
			for m := 0.0; m < again.LengthM(); m += 10 {
				if _, _, d := shaken.Nearest(again.At(m)); d > 2*12 {
					t.Errorf("walk %d is found %.0f m off its line, shaken by %g m", i, d, shakeM)
					break
				}
			}
		}
	}
}

// TestMatchRefusesOtherGround: a line that is not walked here is refused: one that lies
// aside, one that leaves the ways, one that ends elsewhere, and one that is much longer.
func TestMatchRefusesOtherGround(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 190, 0)
	on := func(xy ...float64) (l plane.Polyline) {
		for i := 0; i < len(xy); i += 2 {
			l = append(l, maptest.On(s, xy[i], xy[i+1]))
		}
		return l
	}
	for _, c := range []struct {
		what  string
		line  plane.Polyline
		edges []float64 // a point on each edge that is walked, nil for a refusal
	}{
		{"round the block", on(190, 0, 150, 0, 150, 150, 300, 150, 300, 0, 225, 0, 190, 0), []float64{170, 0, 150, 75, 225, 150, 300, 75, 262, 0, 210, 0}},
		{"the other way", on(190, 0, 225, 0, 300, 0, 300, 150, 150, 150, 150, 0, 190, 0), []float64{210, 0, 262, 0, 300, 75, 225, 150, 150, 75, 170, 0}},
		{"round the block, drawn 3 m aside", on(190, 0, 153, 0, 153, 150, 303, 150, 303, 0, 190, 0), []float64{170, 0, 150, 75, 225, 150, 300, 75, 262, 0, 210, 0}},
		{"round the service road", on(190, 0, 225, 0, 225, -90, 300, -90, 300, 0, 225, 0, 190, 0), []float64{210, 0, 262, -90, 262, 0, 210, 0}},
		{"there and back", on(190, 0, 300, 0, 300, 150, 300, 0, 190, 0), []float64{210, 0, 262, 0, 300, 75, 300, 75, 262, 0, 210, 0}},
		{"25 m aside", on(190, 0, 175, 25, 175, 125, 275, 125, 275, 25, 225, 25, 190, 0), nil},
		{"across a garden", on(190, 0, 150, 0, 150, 75, 300, 75, 300, 0, 190, 0), nil},
		{"one way only", on(190, 0, 150, 0, 150, 150), nil},
		{"nowhere", on(190, 0, 190.5, 0), nil},
		{"a street that is not there", on(190, 0, 150, 0, 150, 150, 150, 300, 300, 300, 300, 150, 300, 0, 190, 0), nil},
	} {
		arcs, err := r.Match(c.line, r.Door, r.Door)
		if c.edges == nil {
			if !errors.Is(err, reach.ErrOtherGround) {
				t.Errorf("%s: %v by %v", c.what, err, r.Course(arcs))
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		var got, want []int32
		for _, a := range arcs {
			got = append(got, r.Piece[a].Edge)
		}
		for i := 0; i < len(c.edges); i += 2 {
			want = append(want, maptest.EdgeAt(t, s, c.edges[i], c.edges[i+1]))
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: along the edges %v, want %v", c.what, got, want)
		}
	}
	// The end may be another vertex than the door.
	corner, best := int32(-1), math.Inf(1)
	for v, home := range r.Home {
		if home >= 0 && s.Graph.Vertex[home].DistanceM(maptest.On(s, 150, 150)) < best {
			corner, best = int32(v), s.Graph.Vertex[home].DistanceM(maptest.On(s, 150, 150))
		}
	}
	if arcs, err := r.Match(on(190, 0, 150, 0, 150, 150), r.Door, corner); err != nil || len(arcs) != 2 {
		t.Errorf("to the corner: %v, %v", arcs, err)
	}
	if _, err := r.Match(on(190, 0, 150, 0, 150, 130), r.Door, corner); !errors.Is(err, reach.ErrOtherGround) {
		t.Errorf("a line that ends 20 m before the corner: %v", err)
	}
}

// TestPartsOfAPiece: the parts of a piece make the piece, in walking order, each within
// the run of its part of the edge.
func TestPartsOfAPiece(t *testing.T) {
	land := town(t)
	g := land.Snap.Graph
	rng := rand.New(rand.NewPCG(7, 2))
	several := 0
	for e := range int32(g.EdgeCount()) {
		cuts := []float32{0, g.LengthM[e], rng.Float32() * g.LengthM[e], rng.Float32() * g.LengthM[e]}
		for _, d := range []reach.Directed{{Edge: e, FromM: cuts[0], ToM: cuts[1]}, {Edge: e, FromM: cuts[1], ToM: cuts[0]}, {Edge: e, FromM: cuts[2], ToM: cuts[3]}} {
			parts := land.Parts(reach.Piece{Directed: d})
			at, sum := d.FromM, 0.0
			for _, p := range parts {
				if p.FromM != at || p.Against() != d.Against() || p.Edge != e {
					t.Fatalf("a part of %+v is %+v, and does not follow at %g m", d, p.Directed, at)
				}
				at, sum = p.ToM, sum+math.Abs(float64(p.ToM-p.FromM))
				// The slow twin: the part in force in the middle is the last that begins before.
				middle := (p.FromM + p.ToM) / 2
				for k := g.PartAt[e+1] - 1; ; k-- {
					if g.Parts[k].FromM <= middle {
						if p.Part != &g.Parts[k] {
							t.Fatalf("at %g m of edge %d the part from %g m is in force, told is that from %g m", middle, e, g.Parts[k].FromM, p.Part.FromM)
						}
						break
					}
				}
			}
			if at != d.ToM || math.Abs(sum-math.Abs(float64(d.ToM-d.FromM))) > 1e-2 {
				t.Fatalf("the parts of %+v end at %g m and make %g m", d, at, sum)
			}
			if len(parts) > 1 {
				several++
			}
			line := land.LineOf(d)
			full := g.EdgeLine(e)
			if a, b := line[0].DistanceM(full.At(float64(d.FromM))), line[len(line)-1].DistanceM(full.At(float64(d.ToM))); a > 0.02 || b > 0.02 {
				t.Fatalf("%+v is drawn from %.2f m off to %.2f m off", d, a, b)
			}
			if m := math.Abs(float64(d.ToM - d.FromM)); math.Abs(line.LengthM()-m) > 0.02 {
				t.Fatalf("%+v is drawn with %.2f m of %.2f m", d, line.LengthM(), m)
			}
		}
		if whole := land.LineOf(reach.Directed{Edge: e, ToM: g.LengthM[e]}); !slices.Equal(whole, g.EdgeLine(e)) {
			t.Fatalf("all of edge %d is drawn otherwise than the edge", e)
		}
	}
	if several < 50 {
		t.Errorf("only %d pieces have several parts", several)
	}
}
