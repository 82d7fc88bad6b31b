package training

import (
	"math"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// Rules of open ground that one can turn away over. From a measured prototype, all of
// them our assumption.
const (
	openM       = 25.0 // so far without a thing in the way
	openStepM   = 6.25 // looked at in such steps
	vergeM      = 10.0 // nearer, whatever lies beside the way may be stepped on
	ownRoadM    = 4.0  // the road that one stands at lies within this
	rayApartDeg = 15.0
	mostRayDeg  = 75.0 // to either side of straight away
	wideOpenDeg = 60.0 // so much of it does without any way
)

// grounds is what the ground about a view is.
type grounds struct {
	areas []area
	mains []plane.Polyline // main roads, which nobody is sent across
}

// area is ground of one kind with the box that holds it.
type area struct {
	*osmdata.Ground
	box plane.Box
}

// groundOf is the ground about a view.
func (s *scout) groundOf(v *view) *grounds {
	if v.ground == nil {
		g := s.groundAbout(v.box().Grown(s.hi*v.WorkingM + openM))
		v.ground = &g
	}
	return v.ground
}

// groundAbout lists what the map says of the ground within a box.
func (s *scout) groundAbout(box plane.Box) (g grounds) {
	snap := s.p.Land().Snap
	if s.areas == nil {
		grounds := snap.Ground.AllGrounds()
		for i := range grounds {
			a := &grounds[i]
			s.areas = append(s.areas, area{a, a.Area.Box()})
		}
	}
	for _, a := range s.areas {
		if a.box.Intersects(box) {
			g.areas = append(g.areas, a)
		}
	}
	for i := range snap.Ground.Roads {
		if r := &snap.Ground.Roads[i]; r.Class.Main() && r.Line.Box().Intersects(box) {
			g.mains = append(g.mains, r.Line)
		}
	}
	for _, e := range snap.Graph.InBox(box) {
		if snap.Graph.Class[e].Main() {
			g.mains = append(g.mains, snap.Graph.EdgeLine(e))
		}
	}
	s.spend(len(snap.Ground.AllGrounds()) + len(snap.Ground.Roads))
	return g
}

// at says whether a place lies in water, and whether one may step there: in a park,
// wood, meadow, cemetery or on sand, or where nothing is mapped. Whose ground that is
// the map does not tell.
func (g *grounds) at(p plane.Point) (water, open bool) {
	green, theirs := false, false
	for i := range g.areas {
		a := &g.areas[i]
		if !a.box.Contains(p) || !a.Area.Contains(p) {
			continue
		}
		switch a.Kind {
		case osmdata.Water:
			return true, false
		case osmdata.Cemetery:
			green = true
		case osmdata.Park, osmdata.Wood, osmdata.Grass, osmdata.Sand:
			green = green || a.Standing != osmdata.StandingNever
			theirs = theirs || a.Standing == osmdata.StandingNever
		default:
			theirs = true
		}
	}
	return false, green || !theirs
}

// opens looks over the half of the ground that lies away from what is watched: how many
// degrees in one piece are open, and the open ray that leads most directly away.
func (s *scout) opens(g *grounds, at, toward plane.Point) (deg float64, ray plane.Polyline) {
	away := at.Sub(toward)
	if away.NormM() == 0 {
		return 0, nil
	}
	away = away.Mul(1 / away.NormM())
	run, straight := 0.0, math.Inf(1)
	for turn := -mostRayDeg; turn <= mostRayDeg; turn += rayApartDeg {
		sin, cos := math.Sincos(turn * math.Pi / 180)
		d := plane.Point{X: away.X*cos - away.Y*sin, Y: away.X*sin + away.Y*cos}
		if !s.openAlong(g, at, d) {
			run = 0
			continue
		}
		run += rayApartDeg
		deg = max(deg, run)
		if math.Abs(turn) < straight {
			straight, ray = math.Abs(turn), plane.Polyline{at, at.Add(d.Mul(openM))}
		}
	}
	return deg, ray
}

// openAlong says that the ground is open from a place in a direction.
func (s *scout) openAlong(g *grounds, at, d plane.Point) bool {
	for m := openStepM; m <= openM; m += openStepM {
		if water, open := g.at(at.Add(d.Mul(m))); water || !open && m >= vergeM {
			return false
		}
	}
	end := at.Add(d.Mul(openM))
	if !s.p.Land().Snap.Ground.Index().Visible(at, end, uint8(osmdata.BlocksWay)) {
		return false
	}
	begin := at.Add(d.Mul(ownRoadM))
	for _, line := range g.mains {
		for i := 1; i < len(line); i++ {
			if crosses(begin, end, line[i-1], line[i]) {
				return false
			}
		}
	}
	return true
}

// crosses says that two straight pieces cross each other.
func crosses(a, b, c, d plane.Point) bool {
	ab, cd := b.Sub(a), d.Sub(c)
	return ab.Cross(c.Sub(a))*ab.Cross(d.Sub(a)) <= 0 && cd.Cross(a.Sub(c))*cd.Cross(b.Sub(c)) <= 0
}
