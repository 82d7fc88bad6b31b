package yard

import (
	"context"
	"math"
	"math/bits"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Distances in metres that decide what a cell is (our assumptions, from a measured
// prototype but for barrierM: a line that crosses between two neighbouring middles lies
// within half a cell of one of them, so no step from cell to cell leads across it).
const (
	barrierM = CellM/2 + 0.1 // from what stops steps
	streetM  = 8.0           // from a street with traffic, and from lanes outside the car park
	laneM    = 14.0          // a bay lies so near to its lane
	lotM     = 90.0          // a car park reaches so far from its middle
	pathM    = 6.0           // a footway and its verge
	carM     = 80.0          // a place for a car lies so near to a way
	leastOf  = 20            // open cells under which a yard is not worth keeping
)

// Ground is what a survey of yards looks at.
type Ground struct {
	Network   *network.Graph
	Field     *exposure.Field
	Areas     []osmdata.Ground
	Buildings []plane.Polygon
	Roads     []plane.Polyline // with motor traffic, that may not be walked along
	Barriers  *plane.Index     // with osmdata.Block as mask
}

// Survey makes the yards of places where cars are left; those without open ground are
// left out. The order is that of the places.
func (g *Ground) Survey(ctx context.Context, cars []plane.Point) ([]Yard, error) {
	all := make([]*Yard, len(cars))
	areas := newBoxes(len(g.Areas), func(i int) plane.Box { return g.Areas[i].Area.Box() })
	houses := newBoxes(len(g.Buildings), func(i int) plane.Box { return g.Buildings[i].Box() })
	roads := newBoxes(len(g.Roads), func(i int) plane.Box { return g.Roads[i].Box() })
	kept := g.kept()
	keeps := newBoxes(len(kept), func(i int) plane.Box { return kept[i].Box() })
	err := parallel.With(ctx, 0, len(cars), func() func(i int) error {
		return func(i int) error {
			if _, near := g.Network.Near(cars[i], carM); !near {
				return nil
			}
			d := draft{Ground: g, y: &Yard{Car: cars[i]}}
			if !d.open(areas) {
				return nil
			}
			d.pass()
			d.close(kept, keeps, houses, roads)
			if d.y.Count(Grass) >= leastOf {
				all[i] = d.y
			}
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	var out []Yard
	for _, y := range all {
		if y != nil {
			out = append(out, *y)
		}
	}
	return out, nil
}

// openSources are the fixed sources on whose ground one may stay while nobody is there.
var openSources = []string{"pitch", "park"}

// kept is the ground that others have to themselves, whatever else lies there: schools,
// playgrounds, dog parks and the like.
func (g *Ground) kept() (out []plane.Polygon) {
	for i := range int32(g.Field.SourceCount()) {
		if s := g.Field.Source(i); !slices.Contains(openSources, s.As) {
			out = append(out, s.Area...)
		}
	}
	return out
}

// draft is a yard that is being made.
type draft struct {
	*Ground
	y *Yard
}

func (d *draft) box() plane.Box {
	return plane.Box{Min: d.y.Car, Max: d.y.Car}.Grown(CellM * Across / 2)
}

// open marks what lies in open areas and in no other; false if nothing does.
func (d *draft) open(areas *boxes) (some bool) {
	var never []int32
	lawn := map[int]bool{} // grass among houses and works is somebody's
	for _, i := range areas.in(d.box()) {
		switch a := &d.Areas[i]; {
		case a.Standing == osmdata.StandingPublic:
			d.each(&a.Area, func(cell int) { d.y.Set(cell, Public); some = true })
		case a.Standing == osmdata.StandingUnknown && a.Kind != osmdata.Wood:
			d.each(&a.Area, func(cell int) {
				if d.y.Cell(cell) < Grass {
					d.y.Set(cell, Grass)
				}
				some = true
			})
		case a.Kind == osmdata.Residentials || a.Kind == osmdata.Industrial || a.Kind == osmdata.Retail:
			d.each(&a.Area, func(cell int) { lawn[cell] = true })
		default:
			never = append(never, i)
		}
	}
	if !some {
		return false
	}
	for _, i := range never {
		d.each(&d.Areas[i].Area, d.shut)
	}
	for cell := range lawn {
		if d.y.Cell(cell) == Grass {
			d.y.Set(cell, Closed)
		}
	}
	return true
}

func (d *draft) shut(cell int) { d.y.Set(cell, Closed) }

// each calls f for every cell whose middle lies in an area, row by row between the places
// where its outlines cross: what plane.Polygon.Contains says of each.
func (d *draft) each(a *plane.Polygon, f func(cell int)) {
	x0, y0, x1, y1 := d.span(a.Box())
	if x0 > x1 || y0 > y1 {
		return
	}
	in := d.within(a.Outer, x0, y0, x1, y1)
	for _, hole := range a.Holes {
		for j, row := range d.within(hole, x0, y0, x1, y1) {
			in[j] &^= row
		}
	}
	for j := y0; j <= y1; j++ {
		for row := in[j]; row != 0; row &= row - 1 {
			f(j*Across + bits.TrailingZeros64(row))
		}
	}
}

// within are the cells of a range whose middles lie in a ring, by row, a bit for each.
func (d *draft) within(ring plane.Ring, x0, y0, x1, y1 int) (in [Across]uint64) {
	lowY, highY := d.y.Middle(y0*Across).Y, d.y.Middle(y1*Across).Y
	for k, from := 0, len(ring)-1; k < len(ring); k, from = k+1, k {
		a, b := ring[k], ring[from]
		if a.Y > highY && b.Y > highY || a.Y <= lowY && b.Y <= lowY {
			continue
		}
		for j := y0; j <= y1; j++ {
			p := d.y.Middle(j*Across + x0)
			if (a.Y > p.Y) == (b.Y > p.Y) {
				continue
			}
			// All cells to the left of the crossing change sides.
			at := (b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y) + a.X
			for i := x0; i <= x1 && d.y.Middle(j*Across+i).X < at; i++ {
				in[j] ^= 1 << i
			}
		}
	}
	return in
}

// span is the range of cells whose middles lie in a box.
func (d *draft) span(b plane.Box) (x0, y0, x1, y1 int) {
	lo, hi := b.Min.Sub(d.y.Corner()), b.Max.Sub(d.y.Corner())
	return int(math.Ceil(math.Max(0, lo.X/CellM))), int(math.Ceil(math.Max(0, lo.Y/CellM))),
		int(math.Floor(math.Min(Across-1, hi.X/CellM))), int(math.Floor(math.Min(Across-1, hi.Y/CellM)))
}

// pass marks lanes of the car park and footways, and closes what lies beside streets.
func (d *draft) pass() {
	var streets []plane.Polyline
	for _, e := range d.Network.InBox(d.box().Grown(laneM)) {
		class, flags, line := d.Network.Class[e], d.Network.Flags[e], d.Network.EdgeLine(e)
		switch {
		case flags&(osmdata.FlagBridge|osmdata.FlagTunnel) != 0:
		case class == osmdata.Service:
			d.along(line, laneM, func(cell int) {
				if d.y.Cell(cell) == Closed && d.y.Middle(cell).DistanceM(d.y.Car) <= lotM {
					d.y.Set(cell, Passed)
				}
			})
			streets = append(streets, line)
		case class > osmdata.Service:
			d.along(line, pathM, func(cell int) {
				if d.y.Cell(cell) == Closed {
					d.y.Set(cell, Passed)
				}
			})
		default:
			streets = append(streets, line)
		}
	}
	for _, line := range streets {
		d.along(line, streetM, func(cell int) {
			if d.y.Cell(cell) >= Grass {
				d.y.Set(cell, Closed)
			}
		})
	}
}

// along calls f for every cell whose middle lies so near to a line.
func (d *draft) along(line plane.Polyline, nearM float64, f func(cell int)) {
	for k := 1; k < len(line); k++ {
		a, b := line[k-1], line[k]
		x0, y0, x1, y1 := d.span(plane.EmptyBox().With(a).With(b).Grown(nearM))
		for j := y0; j <= y1; j++ {
			for i := x0; i <= x1; i++ {
				cell := j*Across + i
				m := d.y.Middle(cell)
				if at, _ := plane.NearestOnSegment(m, a, b); at.DistanceM(m) <= nearM {
					f(cell)
				}
			}
		}
	}
}

// close shuts what is built on, kept by others, beside a barrier or a road.
func (d *draft) close(kept []plane.Polygon, keeps, houses, roads *boxes) {
	for _, i := range keeps.in(d.box()) {
		d.each(&kept[i], d.shut)
	}
	for _, i := range houses.in(d.box()) {
		d.each(&d.Buildings[i], d.shut)
	}
	for _, i := range roads.in(d.box().Grown(streetM)) {
		d.along(d.Roads[i], streetM, d.shut)
	}
	var near []int32
	for _, i := range d.Barriers.InBox(d.box().Grown(barrierM), uint8(osmdata.BlocksWay), near) {
		s := d.Barriers.Segment(i)
		d.along(plane.Polyline{s.A, s.B}, barrierM, d.shut)
	}
}
