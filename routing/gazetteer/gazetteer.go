package gazetteer

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"github.com/blevesearch/vellum"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Kind is what a place is.
type Kind uint8

// The kinds.
const (
	Settlement Kind = iota // a town, a village, a quarter
	Ground                 // a named park, wood, school: where something is, not an address
	Street                 // a street, or the part of it that lies in one town
	Door                   // a house number at a street
	Postcode
	kinds
)

// Town is a settlement. Reach weighs its claim on the places round it: of two
// settlements equally far off the one of larger reach has them; one of none only names
// itself.
type Town struct {
	Name  string
	At    plane.Point
	Reach float64
}

// Named is a place with a name of its own.
type Named struct {
	Name string
	At   plane.Point
}

// Sources are what an index is made from.
type Sources struct {
	Towns   []Town
	Grounds []Named
	Streets *network.Graph
	Doors   []osmdata.Address
	Country string // ISO 3166-1; how doors are called there
}

// Gazetteer is the index of a map's names. Immutable; may be shared.
type Gazetteer struct {
	names flatfile.Texts // by entry
	kind  []Kind
	at    []plane.Centimetres
	town  []int32        // by entry, in towns; -1 none
	code  flatfile.Texts // by entry: the postcode, "" if not known
	// telling is, by entry, how many words of its name are neither a direction nor a sort
	// of street.
	telling []uint8
	towns   []string

	numberFirst bool // "12 Weaver Row", and not "Weaver Row 12"

	doorAt []int32 // by entry, plus one: its first in door
	door   []int32 // in doors, by entry
	doors  []osmdata.Address

	edgeAt []int32 // by entry, plus one: its first in edge
	edge   []int32 // of the streets' graph, by entry
	graph  *network.Graph

	// words is every word that stands in a name, a town or a postcode, with its number;
	// its entries are in posting, each as entry << 2 | field.
	words     *vellum.FST
	fst       []byte
	postingAt []int32
	posting   []uint32
}

// field is where in an entry a word stands.
type field uint8

const (
	inName field = iota
	inTown
	inCode
)

const (
	// townReachM is how far a settlement of reach 1 names streets; our assumption.
	townReachM = 12_000
	// sameM is the side of the squares that join pieces of a street to one: those in
	// neighbouring squares of one town are the same street. Our assumption.
	sameM = 400
)

// New makes an index.
func New(src Sources) (*Gazetteer, error) {
	b := &builder{src: src, townOf: map[string]int32{}}
	b.towns()
	for _, n := range src.Grounds {
		if n.Name != "" {
			b.add(Ground, n.Name, n.At, b.nearest(n.At))
		}
	}
	b.streets()
	b.postcodes()
	return b.finish()
}

// builder is an index in the making.
type builder struct {
	src     Sources
	g       Gazetteer
	names   []string // by entry, as code
	code    []string
	townOf  map[string]int32
	cities  [][]string // by entry: other names of its town, from addresses
	doorsOf [][]int32  // by entry
	edgesOf [][]int32
}

func (b *builder) add(k Kind, name string, at plane.Point, town string) int {
	b.names, b.g.kind, b.g.at = append(b.names, name), append(b.g.kind, k), append(b.g.at, plane.Rounded(at))
	b.code = append(b.code, "")
	b.cities, b.doorsOf, b.edgesOf = append(b.cities, nil), append(b.doorsOf, nil), append(b.edgesOf, nil)
	n := int32(-1)
	if town != "" {
		var ok bool
		if n, ok = b.townOf[town]; !ok {
			n = int32(len(b.g.towns))
			b.townOf[town], b.g.towns = n, append(b.g.towns, town)
		}
	}
	b.g.town = append(b.g.town, n)
	return len(b.names) - 1
}

func (b *builder) towns() {
	for _, t := range b.src.Towns {
		if t.Name == "" {
			continue
		}
		of := b.nearest(t.At)
		if of == t.Name {
			of = ""
		}
		b.add(Settlement, t.Name, t.At, of)
	}
}

// nearest is the settlement that a place is said to lie in: the nearest by distance over
// reach. "" where there is none in reach.
func (b *builder) nearest(at plane.Point) (best string) {
	bestM := float64(townReachM)
	for _, t := range b.src.Towns {
		if t.Reach <= 0 {
			continue
		}
		if far := bestM * t.Reach * (1 + 1e-9); math.Abs(t.At.X-at.X) > far || math.Abs(t.At.Y-at.Y) > far {
			continue // without a root
		}
		if d := t.At.DistanceM(at) / t.Reach; d < bestM {
			best, bestM = t.Name, d
		}
	}
	return best
}

// piece is a place where a name is known from an edge or a door.
type piece struct {
	name   string // folded
	given  string
	at     plane.Point
	weight float64 // length in m; a door has none
	edge   int32   // -1: a door
	door   int32   // -1: an edge
	town   string
}

// streets makes an entry for each street in each town, from named edges and from
// doors: pieces of one name in one town that lie close together.
func (b *builder) streets() {
	byName, folded := map[string][]piece{}, map[string]string{}
	put := func(p piece) {
		var known bool
		if p.name, known = folded[p.given]; !known {
			p.name = joined(p.given)
			folded[p.given] = p.name
		}
		if p.name != "" {
			byName[p.name] = append(byName[p.name], p)
		}
	}
	if g := b.src.Streets; g != nil {
		var found []run
		for e := range int32(g.EdgeCount()) {
			found = runs(g, e, found[:0])
			for _, r := range found {
				at := g.EdgeLine(e).At((r.from + r.to) / 2)
				put(piece{given: g.Names[r.name], at: at, weight: r.to - r.from, edge: e, door: -1, town: b.nearest(at)})
			}
		}
	}
	for i := range b.src.Doors {
		d := &b.src.Doors[i]
		put(piece{given: d.Street, at: d.At, edge: -1, door: int32(i), town: b.nearest(d.At)})
	}
	names := make([]string, 0, len(byName))
	for n := range byName {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		for _, group := range clusters(byName[n]) {
			b.street(group)
		}
	}
}

// run is a piece of an edge with a name, in metres from its beginning.
type run struct {
	name     int32
	from, to float64
}

// runs appends to out the names that an edge bears, each with its longest run of parts. An
// edge has several where a street's name changes at no junction.
func runs(g *network.Graph, e int32, out []run) []run {
	parts := g.Parts[g.PartAt[e]:g.PartAt[e+1]]
	for i := 0; i < len(parts); {
		r := run{parts[i].Name, float64(parts[i].FromM), float64(g.LengthM[e])}
		for i++; i < len(parts); i++ {
			if parts[i].Name != r.name {
				r.to = float64(parts[i].FromM)
				break
			}
		}
		if g.Names[r.name] == "" || r.to <= r.from {
			continue
		}
		k := slices.IndexFunc(out, func(other run) bool { return other.name == r.name })
		switch {
		case k < 0:
			out = append(out, r)
		case r.to-r.from > out[k].to-out[k].from:
			out[k] = r
		}
	}
	return out
}

// street makes the entry of pieces that are one street. It lies where its longest piece
// has its middle.
func (b *builder) street(pieces []piece) {
	best := 0
	for i := range pieces {
		if pieces[i].weight > pieces[best].weight {
			best = i
		}
	}
	e := b.add(Street, pieces[best].given, pieces[best].at, pieces[best].town)
	cities, codes := map[string]int{}, map[string]int{}
	for _, p := range pieces {
		if p.door < 0 {
			b.edgesOf[e] = append(b.edgesOf[e], p.edge)
			continue
		}
		b.doorsOf[e] = append(b.doorsOf[e], p.door)
		d := &b.src.Doors[p.door]
		cities[d.City]++
		codes[d.Postcode]++
	}
	b.code[e] = most(codes)
	for city := range cities {
		if city != "" {
			b.cities[e] = append(b.cities[e], city)
		}
	}
	slices.Sort(b.cities[e])
}

// most is the text counted most often, the first of the alphabet where two are.
func most(counts map[string]int) (best string) {
	for text, n := range counts {
		if text != "" && (best == "" || n > counts[best] || n == counts[best] && text < best) {
			best = text
		}
	}
	return best
}

// clusters cuts pieces of one name into streets: of one town, and near one another.
func clusters(pieces []piece) (out [][]piece) {
	type square struct {
		town string
		x, y int32
	}
	in := map[square][]int{}
	of := func(p *piece) square {
		return square{p.town, int32(math.Floor(p.at.X / sameM)), int32(math.Floor(p.at.Y / sameM))}
	}
	for i := range pieces {
		s := of(&pieces[i])
		in[s] = append(in[s], i)
	}
	for i := range pieces {
		if _, left := in[of(&pieces[i])]; !left {
			continue
		}
		var group []int
		open := []square{of(&pieces[i])}
		for len(open) > 0 {
			s := open[len(open)-1]
			open = open[:len(open)-1]
			here, left := in[s]
			if !left {
				continue
			}
			delete(in, s)
			group = append(group, here...)
			for dx := int32(-1); dx <= 1; dx++ {
				for dy := int32(-1); dy <= 1; dy++ {
					open = append(open, square{s.town, s.x + dx, s.y + dy})
				}
			}
		}
		slices.Sort(group)
		street := make([]piece, len(group))
		for j, k := range group {
			street[j] = pieces[k]
		}
		out = append(out, street)
	}
	return out
}

// postcodes makes an entry for each postcode that doors have, in their middle.
func (b *builder) postcodes() {
	type sum struct {
		x, y float64
		n    int
	}
	sums := map[string]*sum{}
	for i := range b.src.Doors {
		d := &b.src.Doors[i]
		if d.Postcode == "" {
			continue
		}
		s := sums[d.Postcode]
		if s == nil {
			s = &sum{}
			sums[d.Postcode] = s
		}
		s.x, s.y, s.n = s.x+d.At.X, s.y+d.At.Y, s.n+1
	}
	codes := make([]string, 0, len(sums))
	for c := range sums {
		codes = append(codes, c)
	}
	slices.Sort(codes)
	for _, c := range codes {
		s := sums[c]
		at := plane.Point{X: s.x / float64(s.n), Y: s.y / float64(s.n)}
		b.add(Postcode, c, at, b.nearest(at))
	}
}

// finish makes the words' index.
func (b *builder) finish() (*Gazetteer, error) {
	g := &b.g
	g.doors, g.graph, g.numberFirst = b.src.Doors, b.src.Streets, numberFirst[b.src.Country]
	g.doorAt, g.edgeAt = make([]int32, 1, len(b.names)+1), make([]int32, 1, len(b.names)+1)
	g.names, g.code = flatfile.TextsOf(b.names), flatfile.TextsOf(b.code)
	words := map[string][]uint32{}
	put := func(e int, f field, text string) {
		for _, w := range split(text) {
			words[w] = append(words[w], uint32(e)<<2|uint32(f))
		}
	}
	for e := range b.names {
		g.door = append(g.door, b.doorsOf[e]...)
		g.doorAt = append(g.doorAt, int32(len(g.door)))
		g.edge = append(g.edge, b.edgesOf[e]...)
		g.edgeAt = append(g.edgeAt, int32(len(g.edge)))
		put(e, inName, b.names[e])
		g.telling = append(g.telling, telling(b.names[e]))
		if t := g.town[e]; t >= 0 {
			put(e, inTown, g.towns[t])
		}
		for _, city := range b.cities[e] {
			put(e, inTown, city)
		}
		if b.code[e] != "" {
			put(e, inCode, b.code[e])
		}
	}
	sorted := make([]string, 0, len(words))
	for w := range words {
		sorted = append(sorted, w)
	}
	slices.Sort(sorted)
	var out bytes.Buffer
	fst, err := vellum.New(&out, nil)
	if err != nil {
		return nil, fmt.Errorf("index of names: %w", err)
	}
	g.postingAt = append(g.postingAt, 0)
	for i, w := range sorted {
		if err := fst.Insert([]byte(w), uint64(i)); err != nil {
			return nil, fmt.Errorf("index of names: word %q: %w", w, err)
		}
		list := words[w]
		slices.Sort(list)
		list = slices.Compact(list)
		g.posting = append(g.posting, list...)
		g.postingAt = append(g.postingAt, int32(len(g.posting)))
	}
	if err := fst.Close(); err != nil {
		return nil, fmt.Errorf("index of names: %w", err)
	}
	g.fst = out.Bytes()
	if g.words, err = vellum.Load(g.fst); err != nil {
		return nil, fmt.Errorf("index of names: %w", err)
	}
	return g, nil
}

// numberFirst are the countries where a house number stands before its street. Source: the
// addressing systems that the Universal Postal Union publishes by country, from memory.
var numberFirst = map[string]bool{"AU": true, "CA": true, "FR": true, "GB": true, "IE": true, "IN": true, "LU": true, "MC": true, "MT": true,
	"NZ": true, "SG": true, "US": true, "ZA": true}

// called is what people say for a door.
func (g *Gazetteer) called(street, number string) string {
	if g.numberFirst {
		return number + " " + street
	}
	return street + " " + number
}

func telling(name string) (n uint8) {
	for _, w := range split(name) {
		if !generic(w) && n < math.MaxUint8 {
			n++
		}
	}
	return n
}

// Size is the number of places and of words.
func (g *Gazetteer) Size() (places, words int) { return g.names.Len(), len(g.postingAt) - 1 }
