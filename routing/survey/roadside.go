package survey

import (
	"math"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
	"wideberth/routing/survey/homes"
)

const (
	// roadsideM is how near the middle of a road counts as beside it, in metres.
	roadsideM = 15.0
	// tieM is how much farther rounding may draw it: samples of a way lie every ten metres
	// from its beginning, and so just 15 m from a road that it begins at.
	tieM = 0.05
	// sameFlow is the share by which flows differ that are one.
	sameFlow = 1e-3
	// mappedShare is the share of a road's length beside drawn pavements from which
	// on the walk has those (our assumption).
	mappedShare = 0.5
	// helpM is how far from a junction a crossing or signals still help across it:
	// the length of a large junction's arm to its stop line (our assumption).
	helpM = 30.0
	// wideLanes is the number of lanes, both directions together, from which on a
	// road is wide.
	wideLanes = 4
	// townPerKM2 is the dwellings a km2, over a suburb's reach, from which on ground is
	// the inside of a town whatever the map says it is: the Degree of Urbanisation of
	// Eurostat and the UN calls 1,500 people a km2 an urban centre, about 600 dwellings;
	// spread suburbs reach that, so it is set higher (our assumption).
	townPerKM2 = 1000
)

// PavementsTold is the entry of the census with the share of the metres of main roads
// that say whether they have a pavement.
const PavementsTold = "share of main road metres with a tag for pavements"

// roadside tells of every edge what traffic runs on or beside it, what there is to
// walk on, and how often it crosses wide roads without help; telling is the share of the
// metres of main roads, all over the map, that say whether they have a pavement.
func roadside(x *osmdata.Extract, g *network.Graph, f *exposure.Field, motor *traffic, pavements *bundles, region strain.Region, telling float64) strain.Table {
	r := &roadsider{g: g, field: f, region: region, s: beside.Sampler{G: g, Frame: x.Frame}, telling: telling, sum: map[int32]float64{}}
	if motor != nil {
		r.ways = newByWay(motor.g, motor.aadt)
		r.homes = motor.homes
	}
	f.Census[PavementsTold] = r.telling
	r.findMapped(pavements)
	r.findRoads(motor)
	t := strain.Table{At: make([]int32, 1, g.EdgeCount()+1)}
	for e := range int32(g.EdgeCount()) {
		t.Stretches = append(t.Stretches, r.own(e)...)
		t.Stretches = append(t.Stretches, r.beside(e)...)
		t.At = append(t.At, int32(len(t.Stretches)))
	}
	t.Wide = wideCrossings(x, g)
	return t
}

// roadsider is what the edges are held against.
type roadsider struct {
	g       *network.Graph
	field   *exposure.Field
	region  strain.Region
	homes   *homes.Homes // nil where nothing is driven
	s       beside.Sampler
	telling float64   // share of the metres of main roads with a tag for pavements
	ways    byWay     // traffic along OSM ways
	mapped  []float64 // per edge: share of it beside drawn pavements
	roads   []strain.Stretch
	index   *plane.Index // IDs are indexes into roads
	found   []int32
	sum     map[int32]float64
}

// eachPart calls do for the parts of an edge with where each begins on it and its
// length in metres.
func eachPart(g *network.Graph, e int32, do func(p *network.Part, fromM, lengthM float64)) {
	for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
		to := float64(g.LengthM[e])
		if i+1 < g.PartAt[e+1] {
			to = float64(g.Parts[i+1].FromM)
		}
		from := float64(g.Parts[i].FromM)
		do(&g.Parts[i], from, to-from)
	}
}

// findMapped finds how much of each road has a pavement drawn beside it.
func (r *roadsider) findMapped(b *bundles) {
	r.mapped = make([]float64, r.g.EdgeCount())
	for e := range int32(r.g.EdgeCount()) {
		for _, s := range b.list[b.at[e]:b.at[e+1]] {
			r.mapped[s.street] += s.share * float64(r.g.LengthM[e]) / float64(r.g.LengthM[s.street])
		}
	}
}

// findRoads lays out everything that motors use, walkable or not. Under a bridge and
// over a tunnel one is not beside the road.
func (r *roadsider) findRoads(motor *traffic) {
	var segs []plane.Segment
	if motor != nil {
		g := motor.g
		for e := range int32(g.EdgeCount()) {
			eachPart(g, e, func(p *network.Part, fromM, lengthM float64) {
				if p.Class < osmdata.Motorway || p.Class > osmdata.LivingStreet || p.Flags&(osmdata.FlagBridge|osmdata.FlagTunnel) != 0 {
					return
				}
				r.roads = append(r.roads, strain.Stretch{SpeedKMH: float32(r.region.SpeedKMH(p.Class, p.SpeedMPS)),
					AADT: float32(motor.aadt[e]), Pavement: strain.Separate, Main: p.Class.Main()})
				line := g.EdgeLine(e).Cut(fromM, fromM+lengthM)
				for k := 1; k < len(line); k++ {
					segs = append(segs, plane.Segment{A: line[k-1], B: line[k], ID: int32(len(r.roads) - 1), Mask: 1})
				}
			})
		}
	}
	r.index = plane.NewIndex(segs, beside.StreamCellM)
}

// own is the traffic on a road that is walked along itself.
func (r *roadsider) own(e int32) (out []strain.Stretch) {
	centre := r.field.Place[e] == exposure.PlaceCentre || r.g.Class[e].Main() && r.inTown(r.g.EdgeLine(e).At(float64(r.g.LengthM[e])/2))
	built := centre || r.field.Place[e] == exposure.PlaceResidential
	eachPart(r.g, e, func(p *network.Part, fromM, lengthM float64) {
		if !isTrafficRoad(p.Class) {
			return
		}
		speedKMH := r.region.SpeedKMH(p.Class, p.SpeedMPS)
		if built {
			speedKMH = r.region.TownKMH(p.Class, p.SpeedMPS, centre)
		}
		road := strain.Road{
			Class: p.Class, Flags: p.Flags, SpeedKMH: speedKMH, BuiltUp: built,
			Mapped: r.mapped[e] >= mappedShare, Telling: r.telling >= strain.TellingShare,
		}
		s := strain.Stretch{Share: float32(lengthM / float64(r.g.LengthM[e])), SpeedKMH: float32(road.SpeedKMH), AADT: float32(r.ways.mean(p.Street, p, fromM+lengthM)),
			Pavement: road.Pavement(), Main: p.Class.Main()}
		if n := len(out); n > 0 && sameTraffic(&out[n-1], &s) {
			out[n-1].Share += s.Share
			return
		}
		out = append(out, s)
	})
	return out
}

// inTown tells whether homes lie so thick about a place that it is the inside of a town.
func (r *roadsider) inTown(at plane.Point) bool {
	return r.homes != nil && r.homes.DwellingsPerKM2(at) >= townPerKM2
}

// sameTraffic says whether two stretches differ only in their share: flows of one street
// that was cut differ by rounding.
func sameTraffic(a, b *strain.Stretch) bool {
	c := *b
	c.Share = a.Share
	if math.Abs(float64(a.AADT-b.AADT)) <= sameFlow*float64(a.AADT) {
		c.AADT = a.AADT
	}
	return *a == c
}

// isTrafficRoad says whether traffic runs on a class of street as a rule.
func isTrafficRoad(c osmdata.Class) bool { return c <= osmdata.Service }

// beside is the traffic beside an edge that is no road: at each sample the busiest
// road near by. Service roads are looked at too, as many run along a main road.
func (r *roadsider) beside(e int32) (out []strain.Stretch) {
	clear(r.sum)
	var order []int32
	for _, s := range r.s.Samples(e) {
		if p := &r.g.Parts[s.Part]; p.Flags&osmdata.FlagTunnel != 0 || isTrafficRoad(p.Class) && p.Class != osmdata.Service {
			continue
		}
		if road := r.busiest(s.At); road >= 0 {
			if r.sum[road] == 0 {
				order = append(order, road)
			}
			r.sum[road] += s.WeightM / float64(r.g.LengthM[e])
		}
	}
	for _, road := range order {
		s := r.roads[road]
		s.Share = float32(r.sum[road])
		at := -1
		for i := range out {
			if sameTraffic(&out[i], &s) {
				at = i
			}
		}
		if at >= 0 {
			out[at].Share += s.Share
		} else {
			out = append(out, s)
		}
	}
	return out
}

// busiest is the road with most traffic near a point, -1 for none.
func (r *roadsider) busiest(at plane.Point) int32 {
	r.found = r.index.Within(at, roadsideM+tieM, 1, r.found[:0])
	best := int32(-1)
	for _, k := range r.found {
		if road := r.index.Segment(k).ID; best < 0 || r.roads[road].AADT > r.roads[best].AADT {
			best = road
		}
	}
	return best
}

// wideNodes gives the nodes at which a wide road can be crossed without help, with
// what of a crossing each is: one carriageway of a divided road is half of it.
func wideNodes(x *osmdata.Extract) map[int64]float32 {
	wide := map[int64]float32{}
	help := newHelp(x)
	for i := range x.Streets {
		s := &x.Streets[i]
		part := wideness(s)
		if part == 0 {
			continue
		}
		for k, n := range s.Nodes {
			if !help.near(n, s.Line[k]) {
				wide[n] = max(wide[n], part)
			}
		}
	}
	return wide
}

// wideness is 1 for a wide road, a half for one carriageway of one, else 0.
func wideness(s *osmdata.Street) float32 {
	if !s.Motor || !s.Class.Main() || s.Flags&osmdata.FlagLink != 0 {
		return 0
	}
	lanes := float64(s.Lanes)
	oneWay := s.Flags&osmdata.FlagOneWay != 0
	if lanes == 0 {
		if lanes = usualLanes[s.Class]; oneWay {
			lanes /= 2
		}
	}
	switch {
	case lanes >= wideLanes:
		return 1
	case oneWay && 2*lanes >= wideLanes:
		return 0.5
	}
	return 0
}

// help finds crossings and signals.
type help struct {
	nodes map[int64]bool // crossings that are ways of their own end or begin here
	cells map[helpTile][]plane.Point
}

func newHelp(x *osmdata.Extract) *help {
	h := &help{nodes: map[int64]bool{}, cells: map[helpTile][]plane.Point{}}
	for _, c := range x.Crossings {
		h.nodes[c.Node] = true
		h.cells[helpCell(c.At)] = append(h.cells[helpCell(c.At)], c.At)
	}
	for i := range x.Streets {
		s := &x.Streets[i]
		if s.Flags&osmdata.FlagCrossing == 0 {
			continue
		}
		for k, n := range s.Nodes {
			h.nodes[n] = true
			h.cells[helpCell(s.Line[k])] = append(h.cells[helpCell(s.Line[k])], s.Line[k])
		}
	}
	return h
}

// helpTile is a cell of helpM.
type helpTile struct{ x, y int32 }

func helpCell(p plane.Point) helpTile {
	return helpTile{int32(math.Floor(p.X / helpM)), int32(math.Floor(p.Y / helpM))}
}

// near says whether a crossing or signals are at or near a node.
func (h *help) near(node int64, at plane.Point) bool {
	if h.nodes[node] {
		return true
	}
	c := helpCell(at)
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for _, p := range h.cells[helpTile{c.x + dx, c.y + dy}] {
				if p.DistanceM(at) <= helpM {
					return true
				}
			}
		}
	}
	return false
}

// wideCrossings counts by edge the crossings of wide roads without help. An edge
// that is part of a wide road itself crosses none: who walks along it stays on his
// side.
func wideCrossings(x *osmdata.Extract, g *network.Graph) []strain.Wide {
	nodes := wideNodes(x)
	along := map[int64][]wideAt{}
	for i := range x.Streets {
		s := &x.Streets[i]
		if !s.Foot || wideness(s) > 0 {
			continue
		}
		at := 0.0
		for k, n := range s.Nodes {
			if k > 0 {
				at += s.Line[k-1].DistanceM(s.Line[k])
			}
			if part := nodes[n]; part > 0 {
				along[s.ID] = append(along[s.ID], wideAt{at, part})
			}
		}
	}
	out := make([]strain.Wide, g.EdgeCount())
	for e := range int32(g.EdgeCount()) {
		eachPart(g, e, func(p *network.Part, fromM, lengthM float64) {
			for _, w := range along[p.Street] {
				lo, hi := beside.OnWay(p, fromM, fromM+lengthM)
				if w.atM < lo-beside.OverlapM || w.atM > hi+beside.OverlapM {
					continue
				}
				d := fromM + w.atM - lo
				if p.Reverse() {
					d = fromM + hi - w.atM
				}
				switch {
				case d < beside.OverlapM:
					out[e].Begin = max(out[e].Begin, w.part/2)
				case d > float64(g.LengthM[e])-beside.OverlapM:
					out[e].End = max(out[e].End, w.part/2)
				default:
					out[e].Along += w.part
				}
			}
		})
	}
	return out
}

// wideAt is a place along a way where it meets a wide road.
type wideAt struct {
	atM  float64
	part float32
}
