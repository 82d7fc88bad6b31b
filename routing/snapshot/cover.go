package snapshot

import (
	"cmp"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// CoverKind is a sort of thing beside the ways that one can step behind, or put
// between oneself and what comes.
type CoverKind uint8

// The sorts of cover.
const (
	Gate       CoverKind = iota // one that is not locked
	Entrance                    // of a building
	Drive                       // where one leaves the way
	ParkedCars                  // the edge of a car park
	Shelter                     // of a bus stop or on its own
	CoverKindCount
)

var coverWords = [CoverKindCount]string{"gate", "entrance", "drive", "parked_cars", "shelter"}

// String is the sort's name as in requests.
func (k CoverKind) String() string { return coverWords[k] }

// Cover is a place with cover, with the name of what it belongs to, "" if not known.
type Cover struct {
	Kind CoverKind
	Name string
	At   plane.Point
}

// coverRules ask the reader for what is cover and nothing else. Gates that are locked
// are none.
var coverRules = []osmdata.Rule{
	{Key: "barrier", Values: []string{"gate", "swing_gate", "kissing_gate", "wicket_gate", "entrance"}, As: "gate"},
	{Key: "entrance", Values: []string{"yes", "main", "home", "staircase", "shop"}, As: "entrance"},
	{Key: "amenity", Values: []string{"shelter"}, As: "shelter"},
}

// Spacing of what is kept, our assumptions: a car park's edge is walked along for less
// than this before there is a car; a door has the number of the nearest address about.
const (
	parkedEveryM = 20
	doorOfM      = 15
)

// coversOf lists what is cover in an extract, in the order of sort and place.
func coversOf(x *osmdata.Extract) (out []Cover) {
	doors := doorsOf(x.Addresses)
	add := func(k CoverKind, name string, at plane.Point) { out = append(out, Cover{k, name, at}) }
	for i := range x.Features {
		f := &x.Features[i]
		shut := f.Tags["access"] == "private" || f.Tags["access"] == "no" || f.Tags["locked"] == "yes"
		switch {
		case shut:
		case f.As == "gate":
			add(Gate, f.Name, f.Point)
		case f.As == "entrance":
			add(Entrance, cmp.Or(f.Name, doors.near(f.Point)), f.Point)
		case f.As == "shelter", f.As == "bus_stop" && f.Tags["shelter"] == "yes":
			add(Shelter, f.Name, f.Point)
		case f.As == "parking":
			for _, at := range edgePoints(f) {
				add(ParkedCars, f.Name, at)
			}
		}
	}
	for _, at := range driveMouths(x.Streets) {
		add(Drive, "", at)
	}
	slices.SortStableFunc(out, func(a, b Cover) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.At.X, b.At.X), cmp.Compare(a.At.Y, b.At.Y))
	})
	return out
}

// doors are addresses by the cell of a grid that they lie in.
type doors map[coverCell][]*osmdata.Address

func doorsOf(all []osmdata.Address) doors {
	out := doors{}
	for i := range all {
		c := cellOf(all[i].At)
		out[c] = append(out[c], &all[i])
	}
	return out
}

// near is the nearest address about a door: "12 Race Walk"; "" for none.
func (d doors) near(at plane.Point) (name string) {
	least, c := float64(doorOfM), cellOf(at)
	for x := c.x - 1; x <= c.x+1; x++ {
		for y := c.y - 1; y <= c.y+1; y++ {
			for _, a := range d[coverCell{x, y}] {
				if m := a.At.DistanceM(at); m < least {
					least, name = m, a.Number+" "+a.Street
				}
			}
		}
	}
	return name
}

// edgePoints are places along the outline of a car park, or where it is.
func edgePoints(f *osmdata.Feature) (out []plane.Point) {
	for i := range f.Areas {
		ring := plane.Polyline(append(slices.Clone(f.Areas[i].Outer), f.Areas[i].Outer[0]))
		n := math.Ceil(ring.LengthM() / parkedEveryM)
		for k := range int(n) {
			out = append(out, ring.At(ring.LengthM()*float64(k)/n))
		}
	}
	if out == nil {
		out = []plane.Point{f.Point}
	}
	return out
}

// driveMouths are where drives leave the ways that are none.
func driveMouths(streets []osmdata.Street) (out []plane.Point) {
	const drive = osmdata.FlagDrive | osmdata.FlagDriveway
	on := map[int64]bool{}
	for i := range streets {
		if s := &streets[i]; s.Flags&drive == 0 && s.Foot {
			for _, n := range s.Nodes {
				on[n] = true
			}
		}
	}
	for i := range streets {
		s := &streets[i]
		if s.Flags&drive == 0 || s.Flags&osmdata.FlagAisle != 0 {
			continue
		}
		for k, n := range s.Nodes {
			if on[n] {
				out = append(out, s.Line[k])
				delete(on, n)
			}
		}
	}
	return out
}

// coverCellM is the grid in which cover is looked up.
const coverCellM = 64

type coverCell struct{ x, y int32 }

// compare puts cells in rows from the south, each from the west.
func (c coverCell) compare(d coverCell) int {
	return cmp.Or(cmp.Compare(c.y, d.y), cmp.Compare(c.x, d.x))
}

// orderOfCovers lists covers by row and column of their cells.
func orderOfCovers(covers []Cover) []int32 {
	order := make([]int32, len(covers))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return cellOf(covers[a].At).compare(cellOf(covers[b].At)) })
	return order
}

func cellOf(at plane.Point) coverCell {
	return coverCell{int32(math.Floor(at.X / coverCellM)), int32(math.Floor(at.Y / coverCellM))}
}

// CoverNear lists the indexes of the cover within a distance of a place, nearest first.
func (gp *GroundPlan) CoverNear(at plane.Point, withinM float64) (out []int32) {
	gp.coverOnce.Do(func() {
		if gp.coverOrder == nil {
			gp.coverOrder = orderOfCovers(gp.Covers)
		}
	})
	low, high := cellOf(plane.Point{X: at.X - withinM, Y: at.Y - withinM}), cellOf(plane.Point{X: at.X + withinM, Y: at.Y + withinM})
	for y := low.y; y <= high.y; y++ {
		first, _ := slices.BinarySearchFunc(gp.coverOrder, coverCell{low.x, y}, func(i int32, c coverCell) int { return cellOf(gp.Covers[i].At).compare(c) })
		for _, i := range gp.coverOrder[first:] {
			c := &gp.Covers[i]
			if cellOf(c.At).compare(coverCell{high.x, y}) > 0 {
				break
			}
			if c.At.DistanceM(at) <= withinM {
				out = append(out, i)
			}
		}
	}
	slices.SortFunc(out, func(a, b int32) int {
		return cmp.Or(cmp.Compare(gp.Covers[a].At.DistanceM(at), gp.Covers[b].At.DistanceM(at)), cmp.Compare(a, b))
	})
	return out
}
