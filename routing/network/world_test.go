package network_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// world is a hand-drawn map: nodes are the characters of a drawing, 100 m apart
// across and down, ways are words of them.
type world struct {
	at     map[rune]plane.Point
	barred osmdata.Barred
	ways   []osmdata.Street
}

// draw reads the drawing's letters and makes a walkable path of each word of ways.
func draw(drawing string, ways string) *world {
	w := &world{at: map[rune]plane.Point{}, barred: osmdata.Barred{}}
	for y, row := range strings.Split(drawing, "\n") {
		for x, c := range row {
			if c != ' ' {
				w.at[c] = plane.Point{X: float64(100 * x), Y: float64(-100 * y)}
			}
		}
	}
	for i, word := range strings.Fields(ways) {
		s := osmdata.Street{ID: int64(i + 1), Class: osmdata.Path, Foot: true, Name: "Way " + word}
		for _, c := range word {
			s.Nodes = append(s.Nodes, int64(c))
			s.Line = append(s.Line, w.at[c])
		}
		w.ways = append(w.ways, s)
	}
	return w
}

// whole keeps islands of any size.
var whole = network.Options{MinIslandM: -1}

func (w *world) build(t *testing.T) (*network.Graph, network.Stats) {
	t.Helper()
	g, st, err := network.Build(w.ways, w.barred, whole)
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Check(); err != nil {
		t.Fatal(err)
	}
	return g, st
}

// edges writes the network as words: the ends of each edge and its length, sorted.
func edges(g *network.Graph) string {
	var out []string
	for e := range g.EdgeArc {
		a := g.EdgeArc[e]
		ends := []rune{rune(g.VertexNode[g.Star.Head[a]]), rune(g.VertexNode[g.Star.Head[g.Star.Twin[a]]])}
		slices.Sort(ends)
		out = append(out, fmt.Sprintf("%s%.0f", string(ends), g.LengthM[e]))
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

func TestTinyWorlds(t *testing.T) {
	for _, c := range []struct {
		name, drawing, ways string
		prepare             func(*world)
		want                string
	}{
		{"a crossing", " a\nbcd\n e", "bcd ace", nil, "ac100 bc100 cd100 ce100"},
		{"a bridge over, no shared node", " a\nbcd\n e", "bcd ae", nil, "ae200 bd200"},
		{"two ways end to end are one edge", "abcd", "ab dcb", nil, "ad300"},
		{"a cul-de-sac with a turning loop", "ab c\n  d", "ab bcdb", nil, "ab100 bb483"},
		{"two paths round a pond", "abcd\n ef", "abcd bef fc", nil, "ab100 bc100 bc300 cd100"},
		{"a ring without a junction keeps one vertex", "ab\ncd", "abdca", nil, "aa400"},
		{"a ring in two ways too", "ab\ncd", "abd dca", nil, "aa400"},
		{"there and back on one way", "abc", "abcb", nil, "ac200"},
		{"a figure of eight", "ab\n cd\n e", "abcdecb", nil, "ac200 cc341"},
		{"drawn twice", "abc", "abc cba ab", nil, "ac200"},
		{"a gate that nobody passes", "abc", "abc", func(w *world) { w.barred['b'] = true }, "ab100 bc100"},
		{"a gate at a junction", " d\nabc", "abc bd", func(w *world) { w.barred['b'] = true }, "ab100 bc100 bd100"},
		{"two nodes at one place", "abcd", "ab bc cd", func(w *world) {
			w.ways[1].Line[1] = w.ways[1].Line[0]
			w.ways[2].Line[0] = w.ways[1].Line[0]
		}, "ad300"},
		{"a doubled node at a junction", "abc\n d", "abxc xd", func(w *world) {
			w.ways[0].Line[2], w.ways[1].Line[0] = w.at['b'], w.at['b']
		}, "ab100 bc100 bd100"},
		{"not for feet", "abc", "ab bc", func(w *world) { w.ways[1].Foot = false }, "ab100"},
		{"the border of the extract ends an edge", "abc", "ab bc", func(w *world) { w.ways[0].Flags = osmdata.FlagOpenEnd }, "ab100 bc100"},
	} {
		w := draw(c.drawing, c.ways)
		if c.prepare != nil {
			c.prepare(w)
		}
		if g, _ := w.build(t); edges(g) != c.want {
			t.Errorf("%s: %s, want %s", c.name, edges(g), c.want)
		}
	}
}

func TestBarredNodesAreNotPassed(t *testing.T) {
	w := draw("abc", "abc")
	w.barred['b'] = true
	g, st := w.build(t)
	if st.Components != 2 || st.Barred != 1 || g.Star.VertexCount() != 4 {
		t.Errorf("%d components, %d vertices: the gate is passed", st.Components, g.Star.VertexCount())
	}
}

func TestIslands(t *testing.T) {
	w := draw("abcd e\n     f\n\ng   h", "abcd ef gh")
	for _, c := range []struct {
		name    string
		minM    float64
		want    string
		islands int
	}{
		{"by default below 300 m", 0, "ad300 gh400", 1},
		{"all kept", -1, "ad300 ef100 gh400", 0},
		{"larger", 301, "gh400", 2},
	} {
		g, st, err := network.Build(w.ways, nil, network.Options{MinIslandM: c.minM})
		if err != nil {
			t.Fatal(err)
		}
		if edges(g) != c.want || st.Islands != c.islands {
			t.Errorf("%s: %s with %d islands dropped, want %s and %d", c.name, edges(g), st.Islands, c.want, c.islands)
		}
	}
	if _, _, err := network.Build(w.ways, nil, network.Options{MinIslandM: 999}); !errors.Is(err, network.ErrNoStreets) {
		t.Errorf("nothing left: %v", err)
	}
	if _, _, err := network.Build(nil, nil, network.Options{}); !errors.Is(err, network.ErrNoStreets) {
		t.Errorf("nothing given: %v", err)
	}
}

// A chain of three ways: a short flight of steps between two streets, the last of
// them drawn against the chain.
func TestParts(t *testing.T) {
	w := draw("abcd  e", "abc cd ed")
	w.ways[0].Class, w.ways[1].Class, w.ways[2].Class = osmdata.Residential, osmdata.Steps, osmdata.Footway
	w.ways[1].Flags, w.ways[0].Name, w.ways[2].Name = osmdata.FlagUnpaved, "Mill Row", "Mill Row"
	g, _ := w.build(t)
	if g.EdgeCount() != 1 || len(g.Parts) != 3 {
		t.Fatalf("%d edges with %d parts", g.EdgeCount(), len(g.Parts))
	}
	want := []struct {
		street        int64
		from, streetM float32
		name          string
		reverse       bool
	}{{1, 0, 0, "Mill Row", false}, {2, 200, 0, "Way cd", false}, {3, 300, 300, "Mill Row", true}}
	if g.VertexNode[0] != 'a' { // the edge runs the other way
		want[0], want[2] = want[2], want[0]
		want[0].from, want[0].streetM, want[0].reverse = 0, 0, false
		want[1].from, want[1].streetM, want[1].reverse = 300, 100, true
		want[2].from, want[2].streetM, want[2].reverse = 400, 200, true
	}
	for i, p := range g.Parts {
		x := want[i]
		if p.Street != x.street || p.FromM != x.from || p.StreetM != x.streetM || g.Names[p.Name] != x.name || p.Reverse() != x.reverse {
			t.Errorf("part %d is %+v, want %+v", i, p, x)
		}
	}
	if g.Class[0] != osmdata.Footway || g.Flags[0] != osmdata.FlagUnpaved {
		t.Errorf("class %d flags %b: not the longest run's class and the union of flags", g.Class[0], g.Flags[0])
	}
}

// Where the map cuts one way at a node without a junction, one part goes on.
func TestPartsGoOnThroughLostJunctions(t *testing.T) {
	w := draw("abcd\n x", "abcd bx")
	w.ways[1].Foot = false
	g, _ := w.build(t)
	if len(g.Parts) != 1 {
		t.Errorf("%d parts", len(g.Parts))
	}
}

func TestMotorNetwork(t *testing.T) {
	w := draw("abc", "ab bc")
	w.ways[0].Motor, w.ways[0].Foot = true, false
	g, _, err := network.Build(w.ways, nil, network.Options{MinIslandM: -1, Use: func(s *osmdata.Street) bool { return s.Motor }})
	if err != nil {
		t.Fatal(err)
	}
	if got := edges(g); got != "ab100" {
		t.Errorf("motor network %s", got)
	}
}
