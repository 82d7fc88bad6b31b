package homes

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// Homes against people. Where a map has few or no buildings, homes are spread along
// streets, which makes too few of them in a dense town. Settlements and boundaries
// that say how many people live in them mend that: homes spread along streets are
// scaled to fit; homes in mapped buildings are left, and the answer says how far
// both lie apart. All numbers are our assumption.
const (
	scaleLeast   = 0.5 // homes along streets are changed by no more than this,
	scaleMost    = 4.0 // or this
	scaleSlack   = 1.2 // nor at all where people and homes agree within this
	townPerKM2   = 2000.0
	townSpread   = 1.3 // a settlement reaches so much farther than a disc of townPerKM2
	leastPeople  = 100
	mostPeople   = 5e7
	wholeInside  = 0.9 // share of a settlement without a boundary that must lie in the map's hull
	discSamples  = 64
	leastOwnArea = 1e4 // m2
)

// people is what settlements say against the homes there.
type people struct {
	said, housed float64 // after scaling, over all settlements that were held
	added        float64 // dwellings
}

// settlement is ground with a known number of people.
type settlement struct {
	people float64
	areaM2 float64
	area   []plane.Polygon // empty: a disc
	at     plane.Point
	reachM float64
}

// holds tells whether a place lies in the settlement.
func (s *settlement) holds(p plane.Point) bool {
	if len(s.area) == 0 {
		return s.at.DistanceM(p) <= s.reachM
	}
	return slices.ContainsFunc(s.area, func(g plane.Polygon) bool { return g.Contains(p) })
}

func (s *settlement) box() plane.Box {
	box := plane.Box{Min: s.at, Max: s.at}.Grown(s.reachM)
	for _, g := range s.area {
		box = box.Union(g.Box())
	}
	return box
}

// settlements lists them, smallest first, bounded ones before discs: what a larger
// one has beyond those inside it is its own.
func settlements(x *osmdata.Extract) (out []settlement) {
	var hull plane.Hull
	for i := range x.Features {
		ft := &x.Features[i]
		if ft.As != exposure.Settlement {
			continue
		}
		n, ok := peopleOf(ft.Tags["population"])
		if !ok {
			continue
		}
		s := settlement{people: n, at: ft.Point}
		if s.areaM2 = 1e4 * plane.AreaHa(ft.Areas); s.areaM2 >= leastOwnArea {
			s.area = ft.Areas
		} else {
			s.areaM2 = n / townPerKM2 * 1e6
			s.reachM = townSpread * math.Sqrt(s.areaM2/math.Pi)
			if hull == nil {
				hull = hullOf(x)
			}
			if !s.liesIn(hull) {
				continue
			}
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b settlement) int {
		return cmp.Or(cmp.Compare(bitOf(len(a.area) == 0), bitOf(len(b.area) == 0)), cmp.Compare(a.areaM2, b.areaM2))
	})
	return out
}

func bitOf(b bool) int {
	if b {
		return 1
	}
	return 0
}

// hullOf is the hull of an extract's streets.
func hullOf(x *osmdata.Extract) plane.Hull {
	var points []plane.Point
	for i := range x.Streets {
		l := x.Streets[i].Line
		points = append(points, l[0], l[len(l)-1])
	}
	return plane.HullOf(points)
}

// liesIn tells whether a hull has about all of a settlement without a boundary.
func (s *settlement) liesIn(h plane.Hull) bool {
	if len(h) < 3 {
		return false
	}
	inside, ring := 0, plane.Ring(h)
	for i := range discSamples { // on a sunflower's spiral, even over the disc
		r, phi := s.reachM*math.Sqrt((float64(i)+.5)/discSamples), float64(i)*math.Pi*(3-math.Sqrt(5))
		if ring.Contains(s.at.Add(plane.Point{X: r * math.Cos(phi), Y: r * math.Sin(phi)})) {
			inside++
		}
	}
	return float64(inside) >= wholeInside*discSamples
}

// peopleOf reads a population tag: 12345, 12,345 or 12 345.
func peopleOf(text string) (float64, bool) {
	n, err := strconv.ParseFloat(strings.NewReplacer(",", "", " ", "", "'", "").Replace(text), 64)
	return n, err == nil && n >= leastPeople && n <= mostPeople
}

// hold scales homes spread along streets to the people of the settlements.
func (h *Homes) hold(x *osmdata.Extract, persons float64) {
	list := settlements(x)
	if len(list) == 0 || persons <= 0 {
		return
	}
	points := make([]plane.Segment, len(h.list))
	for i := range h.list {
		points[i] = plane.Segment{A: h.list[i].at, B: h.list[i].at, ID: int32(i), Mask: 1}
	}
	index := plane.NewIndex(points, tileM)
	done := make([]bool, len(h.list))
	for i := range list {
		h.holdOne(&list[i], index, done, persons)
	}
}

// holdOne scales the homes of one settlement that no smaller one has.
func (h *Homes) holdOne(s *settlement, index *plane.Index, done []bool, persons float64) {
	var own []int32
	var fixed, loose, before float64
	for _, i := range index.InBox(s.box(), 1, nil) {
		hm := &h.list[i]
		if !s.holds(hm.at) {
			continue
		}
		n := hm.houses + hm.flats
		switch {
		case done[i]:
			before += n
		case int(i) < h.fromStreet:
			loose += n
			own = append(own, i)
		default:
			fixed += n
			own = append(own, i)
		}
	}
	want := s.people/persons - before - fixed
	factor := 1.0
	if all := before + fixed + loose; loose > 0 && (s.people/persons > scaleSlack*all || s.people/persons*scaleSlack < all) {
		factor = min(scaleMost, max(scaleLeast, want/loose))
	}
	for _, i := range own {
		done[i] = true
		if int(i) < h.fromStreet {
			h.list[i].houses *= factor
			h.list[i].flats *= factor
		}
	}
	h.people.added += (factor - 1) * loose
	if len(own) > 0 && before == 0 { // innermost ones, so that nobody is told of twice
		h.people.said += s.people
		h.people.housed += persons * (fixed + factor*loose)
	}
}
