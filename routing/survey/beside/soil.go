package beside

import (
	"math"
	"slices"
	"strings"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

const (
	// verge is how far to the side ground still counts as under the dog's feet, in
	// metres, on ways for feet; beside a road it begins at the kerb.
	vergeM = 3.0
	// indoorsM is the length inside a building from which on a way leads through it; a
	// tagged passage under a house is one from archM on (our assumption).
	indoorsM = 20.0
	archM    = 40.0
	// buildingCellM is the cell of the index of buildings.
	buildingCellM = 64.0
)

// promenades are words in the names of walks along the water, where dogs are often
// forbidden in the season (our assumption).
var promenades = []string{"boardwalk", "promenade", "esplanade", "lungomare", "paseo mar"}

// precinctSorts are features whose ground has rules of its own for who does not belong
// there.
var precinctSorts = []string{exposure.Campus, "school", "kindergarten", "hospital", "kennel"}

// Precincts gives a test for points on ground with rules of its own: works, campuses,
// schools, hospitals, cemeteries, and further kinds of ground that are named. It is not
// safe for concurrent use.
func Precincts(x *osmdata.Extract, further ...osmdata.GroundKind) func(plane.Point) bool {
	r := newRaster(x.Frame)
	for i := range x.Grounds {
		if k := x.Grounds[i].Kind; k == osmdata.Cemetery || k == osmdata.Industrial || slices.Contains(further, k) {
			r.fill(x.Grounds[i].Area)
		}
	}
	for i := range x.Features {
		if !slices.Contains(precinctSorts, x.Features[i].As) {
			continue
		}
		for _, a := range x.Features[i].Areas {
			r.fill(a)
		}
	}
	return r.eye().contains
}

// MarkGround sets how much of each edge is soft ground, and marks edges that lead
// through buildings, those where dogs may be forbidden, and those on ground with rules
// of its own.
func MarkGround(x *osmdata.Extract, g *network.Graph, f *exposure.Field) {
	earth := plane.NewEarth(x.Frame)
	green, ruled := newRasterOn(earth), newRasterOn(earth)
	for i := range x.Grounds {
		switch x.Grounds[i].Kind {
		case osmdata.Park, osmdata.Wood, osmdata.Grass, osmdata.Sand:
			green.fill(x.Grounds[i].Area)
		}
		if x.Grounds[i].DogRules {
			ruled.fill(x.Grounds[i].Area)
		}
	}
	m := groundMarker{g: g, s: Sampler{G: g, Frame: x.Frame}, green: green.eye(), ruled: ruled.eye(), precinct: Precincts(x), buildings: newBuildingIndex(x)}
	f.SoftShare = make([]float32, g.EdgeCount())
	for e := range int32(g.EdgeCount()) {
		soft, marks := m.edge(e)
		f.SoftShare[e] = float32(soft)
		f.Marks[e] |= marks
	}
}

type groundMarker struct {
	g            *network.Graph
	s            Sampler
	green, ruled *eye
	precinct     func(plane.Point) bool
	buildings    *buildingIndex
}

// edge measures one edge: its share of soft ground and its marks.
func (m *groundMarker) edge(e int32) (soft float64, marks exposure.Mark) {
	softM, ruledM, ownM, insideM, archedM, all := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
	for _, s := range m.s.Samples(e) {
		p := &m.g.Parts[s.Part]
		all += s.WeightM
		if m.soft(&s, p) {
			softM += s.WeightM
		}
		if m.ruled.contains(s.At) || m.promenade(p) {
			ruledM += s.WeightM
		}
		if p.Class >= osmdata.Service && p.Flags&osmdata.FlagSidewalk == 0 && m.precinct(s.At) {
			ownM += s.WeightM
		}
		if p.Class > osmdata.Service && p.Flags&osmdata.FlagBridge == 0 && m.buildings.contains(s.At) {
			insideM += s.WeightM
			if p.Flags&osmdata.FlagTunnel != 0 {
				archedM += s.WeightM
			}
		}
	}
	if ruledM > all/2+tieM {
		marks |= exposure.DogRules
	}
	if ownM > all/2+tieM {
		marks |= exposure.Precinct
	}
	if insideM-archedM >= indoorsM || insideM >= archM {
		marks |= exposure.Indoors
	}
	return min(1, softM/all), marks
}

// soft tells whether the dog has grass, earth or wood under its feet or right
// beside: an unpaved way, a path of unknown surface, or green ground at the side.
func (m *groundMarker) soft(s *sample, p *network.Part) bool {
	unknown := p.Flags&osmdata.FlagPaved == 0
	switch {
	case p.Flags&(osmdata.FlagBridge|osmdata.FlagTunnel) != 0:
		return false
	case p.Flags&osmdata.FlagUnpaved != 0:
		return true
	case unknown && (p.Class == osmdata.Path || p.Class == osmdata.Track || p.Class == osmdata.Bridleway):
		return true
	}
	aside := halfWidthM(p.Class, p.Flags, p.WidthM(), p.Lanes()) + vergeM
	normal := plane.Point{X: -s.dir.Y, Y: s.dir.X}
	return m.green.contains(s.At.Add(normal.Mul(aside))) || m.green.contains(s.At.Add(normal.Mul(-aside)))
}

// promenade tells by its name whether a way is a walk along the water.
func (m *groundMarker) promenade(p *network.Part) bool {
	if p.Class <= osmdata.Service || p.Name == 0 {
		return false
	}
	name := strings.ToLower(m.g.Names[p.Name])
	return slices.ContainsFunc(promenades, func(word string) bool { return strings.Contains(name, word) })
}

// buildingIndex finds the building at a point.
type buildingIndex struct {
	list  []osmdata.Building
	cells map[tile][]int32
}

func newBuildingIndex(x *osmdata.Extract) *buildingIndex {
	b := &buildingIndex{list: x.Buildings, cells: map[tile][]int32{}}
	for i := range x.Buildings {
		if use := x.Buildings[i].Use; use == "roof" || use == "carport" || use == "canopy" {
			continue
		}
		box := x.Buildings[i].Area.Box()
		lo, hi := buildingCell(box.Min), buildingCell(box.Max)
		for cx := lo.x; cx <= hi.x; cx++ {
			for cy := lo.y; cy <= hi.y; cy++ {
				b.cells[tile{cx, cy}] = append(b.cells[tile{cx, cy}], int32(i))
			}
		}
	}
	return b
}

func buildingCell(p plane.Point) tile {
	return tile{int32(math.Floor(p.X / buildingCellM)), int32(math.Floor(p.Y / buildingCellM))}
}

func (b *buildingIndex) contains(p plane.Point) bool {
	return slices.ContainsFunc(b.cells[buildingCell(p)], func(i int32) bool { return b.list[i].Area.Contains(p) })
}
