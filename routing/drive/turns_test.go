package drive_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// stubbed gives every corner of a random town two dead ends, so that each is a junction,
// and bans some turns.
func stubbed(r *rand.Rand, side int64) *town {
	t := randomTown(r, side)
	t.streets = t.streets[:len(t.streets)-1] // without the bridge
	for n := int64(1); n <= side*side; n++ {
		t.at[1000+n], t.at[2000+n] = t.at[n].Add(plane.Point{X: 130, Y: 170}), t.at[n].Add(plane.Point{X: -110, Y: 160})
		t.street(osmdata.Residential, 0, 30, n, 1000+n)
		t.street(osmdata.Residential, 0, 30, n, 2000+n)
	}
	byNode := map[int64][]int64{}
	for _, s := range t.streets {
		byNode[s.Nodes[0]] = append(byNode[s.Nodes[0]], s.ID)
		byNode[s.Nodes[1]] = append(byNode[s.Nodes[1]], s.ID)
	}
	for range 3 * side * side {
		via := 1 + r.Int64N(side*side)
		ways := byNode[via]
		t.turns = append(t.turns, osmdata.TurnBan{From: ways[r.IntN(len(ways))], To: ways[r.IntN(len(ways))], Via: via, Only: r.IntN(4) == 0})
	}
	return t
}

// directed is a street in one direction.
type directed struct {
	s        *osmdata.Street
	from, to int64
}

// turnsSlowly is the town as a graph whose nodes are directed streets and whose edges are
// the turns that nothing bans: what a ban means, word for word. Who arrives where
// something is banned for him does not turn round there.
func (t *town) turnsSlowly() (all []directed, g *simple.WeightedDirectedGraph) {
	for i := range t.streets {
		s := &t.streets[i]
		all = append(all, directed{s, s.Nodes[0], s.Nodes[1]})
		if s.Flags&osmdata.FlagOneWay == 0 {
			all = append(all, directed{s, s.Nodes[1], s.Nodes[0]})
		}
	}
	g = simple.NewWeightedDirectedGraph(0, math.Inf(1))
	for i := range all {
		g.AddNode(simple.Node(i))
	}
	for i, a := range all {
		for j, b := range all {
			if a.to == b.from && i != j && t.allowed(a, b) {
				g.SetWeightedEdge(simple.WeightedEdge{F: simple.Node(i), T: simple.Node(j), W: drivenS(b.s) + t.waits(b.to)})
			}
		}
	}
	return all, g
}

func (t *town) waits(node int64) float64 {
	if node >= 1000 {
		return 0 // the end of a dead end
	}
	return 3
}

func (t *town) allowed(a, b directed) bool {
	for _, ban := range t.turns {
		if ban.Via != a.to || ban.From != a.s.ID {
			continue
		}
		if a.s == b.s || ban.Only != (ban.To == b.s.ID) {
			return false
		}
	}
	return true
}

// Drives in towns with banned turns take what gonum's Dijkstra finds among the turns, and
// the bans make some of them longer.
func TestTurnBansAgainstGonum(t *testing.T) {
	compared, longer, closed := 0, 0, 0
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 77))
		world := stubbed(r, 5)
		free := *world
		free.turns = nil
		roads, without := world.roads(t, nil), free.roads(t, nil)
		all, g := world.turnsSlowly()
		for range 8 {
			from, to := &world.streets[r.IntN(len(world.streets))], &world.streets[r.IntN(len(world.streets))]
			if _, ok := roads.Kerb(middle(from), 1); !ok || from == to {
				continue // an island, which is left out
			}
			if _, ok := roads.Kerb(middle(to), 1); !ok {
				continue
			}
			want := math.Inf(1)
			for i, a := range all {
				if a.s != from {
					continue
				}
				tree := path.DijkstraFrom(simple.Node(i), g)
				for j, b := range all {
					if b.s == to { // its whole time and its junction are in the tree; half of the street is driven
						want = min(want, drivenS(from)/2+world.waits(a.to)+tree.WeightTo(int64(j))-drivenS(to)/2-world.waits(b.to))
					}
				}
			}
			got, bare := seconds(t, roads, middle(from), middle(to)), seconds(t, without, middle(from), middle(to))
			if math.IsInf(want, 1) != math.IsInf(got, 1) || !math.IsInf(want, 1) && math.Abs(got-want) > 1e-3*want {
				t.Fatalf("seed %d, street %d to %d: %.2f s, want %.2f", seed, from.ID, to.ID, got, want)
			}
			compared++
			switch {
			case math.IsInf(got, 1) && !math.IsInf(bare, 1):
				closed++
			case got > bare+1:
				longer++
			case got < bare-1e-3:
				t.Fatalf("seed %d: a ban shortens a drive from %g to %g s", seed, bare, got)
			}
		}
	}
	if compared < 80 || longer < 20 {
		t.Errorf("%d drives compared, %d of them longer by bans, %d closed", compared, longer, closed)
	}
}

// By hand: no left turn from the south into the west at a crossing leads round the block.
// What the map leaves open bans nothing: ways that run through the node, nodes off the
// network.
func TestTurnBansByHand(t *testing.T) {
	world := block()
	south, west := plane.Point{X: 1000, Y: 500}, plane.Point{X: 500, Y: 1000}
	free := seconds(t, world.roads(t, nil), south, west)
	world.at[14], world.at[15] = plane.Point{X: 1000, Y: 2500}, plane.Point{X: -2000, Y: 1000}
	world.street(osmdata.Residential, 0, 36, 4, 14) // on north: way 8
	world.turns = []osmdata.TurnBan{{From: 2, To: 3, Via: 4}}
	banned := seconds(t, world.roads(t, nil), south, west)
	const mps = 0.85 * 10
	if want := (500 + 1500 + 1500 + 500) / mps; free > 1000/mps+7 || math.Abs(banned-want) > 12 {
		t.Errorf("%.0f s without the ban, with it %.0f, want about %.0f by turning round in the north", free, banned, want)
	}
	if again := seconds(t, written(t, world.roads(t, nil)), south, west); again != banned {
		t.Errorf("from the file %g s, before %g", again, banned)
	}
	if other := seconds(t, world.roads(t, nil), west, south); math.Abs(other-free) > 4 {
		t.Errorf("the other way %.0f s, want %.0f: the ban holds one way", other, free)
	}
	for what, ban := range map[string]osmdata.TurnBan{"a way elsewhere": {From: 1, To: 3, Via: 4}, "a node elsewhere": {From: 2, To: 3, Via: 99}} {
		world.turns = []osmdata.TurnBan{ban}
		if got := seconds(t, world.roads(t, nil), south, west); math.Abs(got-free) > 4 {
			t.Errorf("%s: %.0f s, want %.0f", what, got, free)
		}
	}
}
