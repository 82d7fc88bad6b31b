package parking

import (
	"math"
	"strings"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
)

// Name is what a spot is called, as much of it as tells it apart. At least one of
// Head, Street and Settlement is there, or Nth.
type Name struct {
	Head       string // its own name, or that of the park or wood it lies at
	Street     string // near it; with a head only where two share it
	Settlement string // the nearest that people name a place by
	Toward     string // where it lies from the settlement: "north", "northeast" ...; "" where that tells nothing
	AwayM      float64
	Nth        int // among those that nothing else tells apart, from 2 on, or of those without any name; else 0
}

// How names are found, in metres; our assumption.
const (
	groundM     = 60
	streetM     = 200
	insideM     = 3_000  // from a settlement's middle, up to which one says that it lies there
	settlementM = 12_000 // how far the nearest one may be
	stepM       = 500    // distances told apart in names
)

// generic are words that name no place, alone or together, in the languages of most
// maps.
var generic = map[string]bool{"parking": true, "lot": true, "car": true, "park": true, "parks": true, "carpark": true, "public": true, "free": true,
	"visitor": true, "disabled": true, "handicapped": true, "accessible": true, "staff": true, "street": true, "visitors": true, "visitor's": true, "guest": true, "overflow": true, "main": true, "area": true, "the": true, "and": true, "trail": true, "access": true,
	"parkplatz": true, "parkplaats": true, "parkeerplaats": true, "parcheggio": true, "aparcamiento": true, "estacionamiento": true,
	"estacionamento": true, "parkering": true, "parkoviste": true, "p": true, "north": true, "south": true, "east": true, "west": true, "upper": true, "lower": true}

// telling says that a name names a place.
func telling(own string) bool {
	for _, word := range strings.FieldsFunc(strings.ToLower(own), func(r rune) bool { return strings.ContainsRune(" -/.,()#", r) }) {
		if len(word) > 2 && !generic[word] && strings.Trim(word, "0123456789") != "" {
			return true
		}
	}
	return false
}

// name gives every spot a name of its own.
func name(snap *snapshot.Snapshot, green *green, spots []Spot, own []string) {
	n := namer{snap, green}
	full := make([]Name, len(spots))
	for i := range spots {
		full[i] = n.full(spots[i].Start.At, own[i])
	}
	level := make([]int, len(spots))
	for range levels {
		alike := map[Name][]int{}
		for i := range spots {
			spots[i].Name = full[i].cut(level[i])
			alike[spots[i].Name] = append(alike[spots[i].Name], i)
		}
		for _, group := range alike {
			if len(group) > 1 {
				for _, i := range group {
					level[i]++
				}
			}
		}
	}
	nth := map[Name]int{}
	for i := range spots {
		key := spots[i].Name
		if nth[key]++; nth[key] > 1 || key == (Name{}) {
			spots[i].Name.Nth = nth[key]
		}
	}
}

// levels is how many forms a name has, each with more to tell it apart by.
const levels = 4

// cut leaves out what a level does not need.
func (n Name) cut(level int) Name {
	out := n
	if level < 1 && n.Head != "" {
		out.Street = ""
	}
	if level < 2 && n.AwayM <= insideM {
		out.Toward = ""
	}
	if level < 3 && n.AwayM <= insideM || out.Toward == "" {
		out.AwayM = 0
	}
	out.AwayM = math.Round(out.AwayM/stepM) * stepM
	return out
}

// green is the open ground of a map that people drive to: parks, woods, beaches.
type green struct {
	grounds []osmdata.Ground
	of      []int32 // those of grounds that are green
	boxes   []plane.Box
}

func newGreen(snap *snapshot.Snapshot) *green {
	g := &green{grounds: snap.Ground.AllGrounds()}
	for i := range g.grounds {
		if k := g.grounds[i].Kind; k == osmdata.Park || k == osmdata.Wood || k == osmdata.Sand {
			g.of, g.boxes = append(g.of, int32(i)), append(g.boxes, g.grounds[i].Area.Box().Grown(groundM))
		}
	}
	return g
}

// near calls do for the grounds at a place, with how far each lies.
func (g *green) near(at plane.Point, do func(ground *osmdata.Ground, distM float64)) {
	for k, i := range g.of {
		if !g.boxes[k].Contains(at) {
			continue
		}
		if d := g.grounds[i].Area.DistanceM(at); d <= groundM {
			do(&g.grounds[i], d)
		}
	}
}

// beside says that some of it lies at a place.
func (g *green) beside(at plane.Point) (yes bool) {
	g.near(at, func(*osmdata.Ground, float64) { yes = true })
	return yes
}

// name is the name of the nearest that has one.
func (g *green) name(at plane.Point) (best string) {
	bestM := math.Inf(1)
	g.near(at, func(ground *osmdata.Ground, d float64) {
		if ground.Name != "" && d < bestM {
			best, bestM = ground.Name, d
		}
	})
	return best
}

// namer knows what lies about.
type namer struct {
	snap  *snapshot.Snapshot
	green *green
}

// full is everything that a place can be named by.
func (n *namer) full(at plane.Point, own string) Name {
	name := Name{Street: n.street(at)}
	if telling(own) {
		name.Head = own
	} else {
		name.Head = n.green.name(at)
	}
	if s := n.settlement(at); s != nil {
		name.Settlement, name.AwayM = s.Name, s.At.DistanceM(at)
		name.Toward = compass(s.At, at)
		if strings.EqualFold(name.Settlement, name.Head) {
			name.Head = ""
		}
	}
	return name
}

// street is the name of the nearest street, or of another way where no street has one.
func (n *namer) street(at plane.Point) (best string) {
	g := n.snap.Graph
	bestM := math.Inf(1)
	for _, e := range g.InBox(plane.Box{Min: at, Max: at}.Grown(streetM)) {
		name := g.Names[g.Parts[g.PartAt[e]].Name]
		if name == "" {
			continue
		}
		_, _, d := g.EdgeLine(e).Nearest(at)
		if d > streetM {
			continue
		}
		if g.Class[e] > osmdata.LivingStreet {
			d += streetM
		}
		if d < bestM {
			best, bestM = name, d
		}
	}
	return best
}

// settlement is the nearest that people name a place by, where there is none near the
// nearest of any kind; nil if there is none.
func (n *namer) settlement(at plane.Point) (best *snapshot.Settlement) {
	bestM := math.Inf(1)
	for i := range n.snap.Ground.Places {
		s := &n.snap.Ground.Places[i]
		d := s.At.DistanceM(at)
		if d > settlementM {
			continue
		}
		if s.Kind < snapshot.Suburb {
			d += settlementM
		}
		if d < bestM {
			best, bestM = s, d
		}
	}
	return best
}

// winds are the directions, clockwise from the north.
var winds = [8]string{"north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"}

// compass is where one place lies from another.
func compass(from, to plane.Point) string {
	turn := math.Atan2(to.X-from.X, to.Y-from.Y) / (2 * math.Pi) * 8
	return winds[(int(math.Round(turn))+8)%8]
}
