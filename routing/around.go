package routing

import (
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Look asks what a piece of ground is like for one dog at one time.
type Look struct {
	Box    plane.Box
	Dog    exposure.Dog
	Depart time.Time
}

// EdgeHazard is what an edge is like.
type EdgeHazard struct {
	Edge        int32
	Name        string
	Line        plane.Polyline
	HazardPerS  float64 // expected reactions a second
	Level       Level
	Step        int          // 1 to 4 among the ground about; 0 where it was not compared
	Role        network.Role // what it is on a map
	LeftM       float64      // room along the geometry
	RightM      float64
	RoomDefault bool
	SightM      float64
	LevelDB     float64
	countedM    float64 // of its length that is no crossing, drive or service road
}

// EdgesIn lists the edges with a part in a box, ascending, at most most of them;
// the second result says that there are more.
func (p *Planner) EdgesIn(box plane.Box, most int) (edges []int32, more bool) {
	edges = p.land.Snap.Graph.InBox(box)
	if len(edges) > most {
		return edges[:most], true
	}
	return edges, false
}

// Hazards says what edges are like for a dog at a time.
func (p *Planner) Hazards(edges []int32, dog *exposure.Dog, at time.Time, fa *exposure.Factors) []EdgeHazard {
	f, g := p.land.Snap.Field, p.land.Snap.Graph
	hazard := f.Sums(dog, edges).Hazard(p.land.Clock.At(at), fa, nil)
	out := make([]EdgeHazard, len(edges))
	for i, e := range edges {
		part, b := &g.Parts[g.PartAt[e]], f.Sides(e, false)
		out[i] = EdgeHazard{Edge: e, Name: g.Names[part.Name], Line: g.EdgeLine(e), HazardPerS: float64(hazard[i]), Level: LevelOf(float64(hazard[i])),
			LeftM: float64(b.Left.LowM), RightM: float64(b.Right.LowM), RoomDefault: b.Left.Default && b.Right.Default,
			SightM: float64(min(f.SightFwdM[e], f.SightBackM[e])), LevelDB: float64(f.LevelDB[e])}
		out[i].Role, out[i].countedM = g.RoleOf(e)
		if out[i].Name == "" {
			out[i].Name = part.Sort()
		}
	}
	return out
}

// SourcesIn lists the fixed sources in a box, by number, at most most of them; the
// second result says that there are more.
func (p *Planner) SourcesIn(box plane.Box, most int) (ids []int32, more bool) {
	for i := range int32(p.land.Snap.Field.SourceCount()) {
		s := p.land.Snap.Field.Source(i)
		if len(s.Mix) > 0 && (box.Contains(s.At) || slices.ContainsFunc(s.Area, func(a plane.Polygon) bool { return a.Box().Intersects(box) })) {
			if len(ids) == most {
				return ids, true
			}
			ids = append(ids, i)
		}
	}
	return ids, false
}

// Breakdown is the hazard of one edge, taken apart.
type Breakdown struct {
	Name       string
	HazardPerS float64
	Terms      []BreakdownTerm // largest contribution first
	StrainPerS float64         // beside the hazard: what traffic and its noise count, at their price
	Traffic    []strain.Term   // what that of traffic is made of
	Dark       bool            // and whether the dark doubles it
	NoisePerS  float64         // what of the strain is road noise
	LevelDB    float64         // of the road noise by day, dB(A)
	Crossings  float64         // of wide roads without a crossing or signals, on the whole edge
}

// BreakdownTerm is one line of a breakdown with its name and share.
type BreakdownTerm struct {
	exposure.Term
	What  string
	Share float64
}

// Explain takes the hazard of an edge at a time apart.
func (p *Planner) Explain(e int32, dog *exposure.Dog, at time.Time, fa *exposure.Factors) Breakdown {
	g := p.land.Snap.Graph
	b := Breakdown{Name: g.Names[g.Parts[g.PartAt[e]].Name]}
	if b.Name == "" {
		b.Name = g.Parts[g.PartAt[e]].Sort()
	}
	terms := p.land.Snap.Field.Explain(e, dog, p.land.Clock.At(at), fa)
	for _, t := range terms {
		b.HazardPerS += t.HazardPerS
	}
	for _, t := range terms {
		b.Terms = append(b.Terms, BreakdownTerm{t, p.termWhat(&t), t.HazardPerS / max(b.HazardPerS, 1e-300)})
	}
	roadside := &p.land.Snap.Field.Roadside
	m := p.land.Clock.At(at)
	b.Traffic, b.Dark = roadside.Explain(e, m)
	b.LevelDB = float64(p.land.Snap.Field.LevelDB[e])
	b.NoisePerS = strain.NoiseAt(m).PerS(b.LevelDB)
	b.StrainPerS = b.NoisePerS
	for i := range b.Traffic {
		b.StrainPerS += b.Traffic[i].PerS
	}
	b.Crossings = roadside.Crossings(e, 0, g.LengthM[e], g.LengthM[e])
	return b
}

func (p *Planner) termWhat(t *exposure.Term) string {
	switch {
	case t.Source >= 0:
		return p.land.Snap.Field.Source(t.Source).Label()
	case t.Own:
		return t.Kind.Plural() + " on the way itself"
	case t.Pattern == exposure.GardenDogs:
		return t.Kind.Plural() + " beside the way"
	}
	return t.Kind.Plural() + " on other ways"
}

// EdgeAt is the edge nearest to a place; what is too far off is an *Infeasible.
func (p *Planner) EdgeAt(at plane.Point) (int32, error) {
	place, err := p.land.Place(at)
	return place.Edge, err
}
