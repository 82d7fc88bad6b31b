package osmdata_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// A square of 100 units: ways enter at three corners' neighbours, so that walkers
// cross between them, but not through the fountain's hole.
func TestSquaresAreCrossed(t *testing.T) {
	const square = `
n 1 0 0
n 2 50 0
n 3 100 0
n 4 100 50
n 5 100 100
n 6 0 100
n 12 50 -20
n 14 120 50
n 16 -20 120
w 10 1,2,3,4,5,6,1 highway=pedestrian area=yes name=Market
w 12 2,12 highway=footway
w 14 4,14 highway=footway
w 16 6,16 highway=footway
`
	across := func(x *osmdata.Extract, id int64) (pairs [][2]int64) {
		for _, s := range streets(x, id) {
			if s.Flags&osmdata.FlagAreaEdge == 0 || !s.Foot || s.Motor {
				t.Errorf("street of an area: %+v", s)
			}
			if len(s.Nodes) == 2 {
				pairs = append(pairs, [2]int64{s.Nodes[0], s.Nodes[1]})
			}
		}
		return pairs
	}
	x := read(t, square)
	if got, want := across(x, 10), [][2]int64{{2, 4}, {2, 6}, {4, 6}}; !slices.Equal(got, want) {
		t.Errorf("across the square: %v, want %v", got, want)
	}
	if edge := streets(x, 10)[0]; !slices.Equal(edge.Nodes, []int64{1, 2, 3, 4, 5, 6, 1}) {
		t.Errorf("edge %v", edge.Nodes)
	}
	x = read(t, strings.ReplaceAll(square, "area=yes", ""))
	if got := len(streets(x, 10)); got != 1 {
		t.Errorf("a closed pedestrian street without area tag: %d streets", got)
	}
	x = read(t, strings.Replace(square, "w 10 1,2,3,4,5,6,1 highway=pedestrian area=yes name=Market", `
n 21 30 40
n 22 70 40
n 23 70 70
n 24 30 70
w 10 1,2,3,4,5,6,1
w 11 21,22,23,24,21
r 10 outer:10,inner:11 type=multipolygon highway=pedestrian name=Market`, 1))
	if got, want := across(x, -10), [][2]int64{{2, 4}}; !slices.Equal(got, want) {
		t.Errorf("round the fountain: %v, want %v", got, want)
	}
}

// Lines across a random area stay inside it, join only entrances, and leave out no
// pair of entrances that see each other with a detour along the edge.
func TestLinesAcrossMatchTheSlowTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := &world{bounds: []float64{9.9, 49.9, 10.1, 50.1}}
		n := rapid.IntRange(4, 12).Draw(t, "corners")
		ring := worldWay{id: 1, tags: worldTags([]string{"highway=pedestrian", "area=yes"})}
		entrances := map[int64]bool{}
		for i := range int64(n) {
			a := 2 * math.Pi * float64(i) / float64(n)
			r := rapid.Float64Range(10, 60).Draw(t, "radius")
			w.nodes = append(w.nodes, worldNode{i + 1, 10 + r*math.Cos(a)*1.6e-4, 50 + r*math.Sin(a)*1e-4, nil})
			ring.refs = append(ring.refs, i+1)
			if rapid.Bool().Draw(t, "entrance") {
				entrances[i+1] = true
				w.nodes = append(w.nodes, worldNode{i + 101, 10 + 80*math.Cos(a)*1.6e-4, 50 + 80*math.Sin(a)*1e-4, nil})
				w.ways = append(w.ways, worldWay{i + 101, []int64{i + 1, i + 101}, worldTags([]string{"highway=footway"})})
			}
		}
		ring.refs = append(ring.refs, 1)
		w.ways = append(w.ways, ring)
		x, msg := result(w.xml())
		if x == nil {
			t.Fatal(msg)
		}
		drawn := map[[2]int64]bool{}
		var edge plane.Polyline
		for _, s := range streets(x, 1) {
			if len(s.Nodes) > 2 {
				edge = s.Line
				continue
			}
			drawn[[2]int64{s.Nodes[0], s.Nodes[1]}] = true
		}
		checkAcross(t, edge, entrances, drawn)
	})
}

// checkAcross asks many points of every possible line whether they are inside. Pairs
// that graze the edge are left to either judgement.
func checkAcross(t *rapid.T, edge plane.Polyline, entrances map[int64]bool, drawn map[[2]int64]bool) {
	ring := plane.Ring(edge[:len(edge)-1])
	alongM := make([]float64, len(edge))
	for i := 1; i < len(edge); i++ {
		alongM[i] = alongM[i-1] + edge[i].DistanceM(edge[i-1])
	}
	for i := range ring {
		for j := i + 1; j < len(ring); j++ {
			pair := [2]int64{int64(i + 1), int64(j + 1)}
			if !entrances[pair[0]] || !entrances[pair[1]] {
				if drawn[pair] {
					t.Fatalf("a line between %v, which are not both entrances", pair)
				}
				continue
			}
			inside, graze := 0, false
			const samples = 997
			for k := 1; k < samples; k++ {
				p := ring[i].Add(ring[j].Sub(ring[i]).Mul(float64(k) / samples))
				if ring.Contains(p) {
					inside++
				}
				if _, _, d := edge.Nearest(p); d < 0.05 && k > 20 && k < samples-20 {
					graze = true
				}
			}
			d := alongM[j] - alongM[i]
			detour := min(d, alongM[len(ring)]-d) / ring[i].DistanceM(ring[j])
			if graze || math.Abs(detour-1.1) < 1e-6 || inside > samples*97/100 && inside < samples-1 {
				continue
			}
			if want := inside == samples-1 && detour > 1.1; drawn[pair] != want {
				t.Fatalf("pair %v: drawn %v, but %d of %d points inside, detour %.2f", pair, drawn[pair], inside, samples-1, detour)
			}
		}
	}
}

func TestManyEntrancesAreBounded(t *testing.T) {
	var w strings.Builder
	var ring []string
	for i := range 60 {
		a := 2 * math.Pi * float64(i) / 60
		id := 1 + i
		ring = append(ring, itoa(id))
		w.WriteString("n " + itoa(id) + " " + ftoa(50*math.Cos(a)) + " " + ftoa(50*math.Sin(a)) + "\n")
		w.WriteString("n " + itoa(100+id) + " " + ftoa(70*math.Cos(a)) + " " + ftoa(70*math.Sin(a)) + "\n")
		w.WriteString("w " + itoa(100+id) + " " + itoa(id) + "," + itoa(100+id) + " highway=footway\n")
	}
	w.WriteString("w 1 " + strings.Join(ring, ",") + ",1 highway=pedestrian area=yes\n")
	x := read(t, w.String())
	if n := len(streets(x, 1)) - 1; n == 0 || n > 120 {
		t.Errorf("%d lines across, want 1 to 120", n)
	}
	if x.Report.Odd["pedestrian area with more entrances than are joined"] == nil {
		t.Error("entrances left out are not counted")
	}
}

func TestMultipolygons(t *testing.T) {
	const base = `
n 1 0 0
n 2 40 0
n 3 40 40
n 4 0 40
n 11 10 10
n 12 20 10
n 13 20 20
n 14 10 20
n 21 60 0
n 22 70 0
n 23 70 10
n 31 61 1
w 1 1,2 highway=path
`
	wood := func(x *osmdata.Extract) (areas []float64, holes int) {
		for _, g := range x.Grounds {
			if g.Kind == osmdata.Wood {
				areas = append(areas, g.Area.AreaM2())
				holes += len(g.Area.Holes)
			}
		}
		return areas, holes
	}
	const unitM2 = 7.1696 * 11.1229 // of one square unit at 50 N
	tests := []struct {
		name, world string
		areas       []float64 // square units
		holes       int
	}{
		{"whole ways with a hole", "w 10 1,2,3,4,1\nw 11 11,14,13,12,11\nr 5 outer:10,inner:11 type=multipolygon natural=wood", []float64{1500}, 1},
		{"pieces in any direction", "w 10 1,2,3\nw 11 1,4,3\nr 5 outer:11,outer:10 type=multipolygon natural=wood", []float64{1600}, 0},
		{"roles left out", "w 10 1,2,3,4,1\nr 5 :10 type=multipolygon natural=wood", []float64{1600}, 0},
		{"two outer rings", "w 10 1,2,3,4,1\nw 11 21,22,23,21\nr 5 outer:10,outer:11 type=multipolygon natural=wood", []float64{1600, 50}, 0},
		{"island in a hole's ring", "w 10 1,2,3,4,1\nw 12 21,22,23,21\nw 11 11,12,13,14,11\nr 5 outer:10,outer:12,inner:11 type=multipolygon natural=wood", []float64{1500, 50}, 1},
		{"the outer way says the same", "w 10 1,2,3,4,1 natural=wood\nw 11 11,12,13,14,11\nr 5 outer:10,inner:11 type=multipolygon natural=wood", []float64{1500}, 1},
		{"a broken relation leaves its way", "w 10 1,2,3,4,1 natural=wood\nr 5 outer:99 type=multipolygon natural=wood", []float64{1600}, 0},
		{"a member twice", "w 10 1,2,3\nw 11 3,4,1\nr 5 outer:10,outer:11,outer:10 type=multipolygon natural=wood", []float64{1600}, 0},
		{"a boundary", "w 10 1,2,3,4,1\nr 5 outer:10 type=boundary natural=wood", []float64{1600}, 0},
		{"a route is no area", "w 10 1,2,3,4,1\nr 5 outer:10 type=route natural=wood", nil, 0},
		{"a way of an area", "w 10 1,2,3,4,1 natural=wood", []float64{1600}, 0},
		{"area=no", "w 10 1,2,3,4,1 natural=wood area=no", nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			x := read(t, base+tt.world)
			areas, holes := wood(x)
			if len(areas) != len(tt.areas) || holes != tt.holes {
				t.Fatalf("areas %v holes %d, want %v %d", areas, holes, tt.areas, tt.holes)
			}
			for i, a := range areas {
				if math.Abs(a/unitM2-tt.areas[i]) > 0.002*tt.areas[i] {
					t.Errorf("area %d: %v units, want %v", i, a/unitM2, tt.areas[i])
				}
			}
		})
	}
}
