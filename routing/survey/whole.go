package survey

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/survey/homes"
)

// Share is what a part of a map tells of the whole.
type Share struct {
	Homes     homes.Share
	Borders   osmdata.Countries // whose boundaries run through it
	Countries osmdata.Countries // that its addresses and settlements name
	MainM     float64           // of its main roads for feet,
	ToldM     float64           // and of those that say whether they have a pavement
}

// Whole is what the survey of a part of a map must know of the whole, besides its
// surroundings. About says what of it a part needs.
type Whole struct {
	Homes   *homes.Whole
	Country string  // of all the map, "" where it is not known to be one
	Telling float64 // share of the metres of main roads that say whether they have a pavement
}

// ShareOf is what an extract with the habits of a country tells of the whole map that it
// is a part of. Homes and streets count that lie in its core; those of all parts' cores
// are the whole's.
func ShareOf(x *osmdata.Extract, country string, core func(lonDeg, latDeg float64) bool) *Share {
	s := &Share{Homes: homes.ShareOf(x, exposure.HabitsOf(country).Persons, core), Borders: x.Borders, Countries: x.Countries}
	s.MainM, s.ToldM = mainRoads(x, core)
	return s
}

// mainRoads gives the metres of main roads for feet that begin in the core, and of those
// that say whether they have a pavement.
func mainRoads(x *osmdata.Extract, core func(lonDeg, latDeg float64) bool) (allM, toldM float64) {
	for i := range x.Streets {
		s := &x.Streets[i]
		if !s.Foot || !s.Class.Main() || core != nil && !core(x.Frame.Inverse(s.Line[0])) {
			continue
		}
		long := s.Line.LengthM()
		allM += long
		if s.Flags&(osmdata.FlagSidewalk|osmdata.FlagNoSidewalk) != 0 {
			toldM += long
		}
	}
	return allM, toldM
}

// leastShare is what the share of main roads that tell of pavements is kept to: what is told
// to all parts of a map should not change with every road.
const leastShare = 0.0001

// telling is a share of metres, 0 of none.
func telling(allM, toldM float64) float64 {
	if allM == 0 {
		return 0
	}
	return math.Round(toldM/allM/leastShare) * leastShare
}

// mostOf is the share of addresses that must name one country for it to be the whole
// map's; our assumption.
const mostOf = 0.99

// Gather puts the shares of all parts of a map together.
func Gather(shares []*Share) *Whole {
	g := &Gatherer{}
	for _, s := range shares {
		g.Add(s)
	}
	return g.Whole()
}

// Gatherer puts shares together one after the other. The zero value is good.
type Gatherer struct {
	homes          homes.Gatherer
	borders, named osmdata.Countries
	mainM, toldM   float64
}

// Add adds the share of a part.
func (g *Gatherer) Add(s *Share) {
	if g.borders == nil {
		g.borders, g.named = osmdata.Countries{}, osmdata.Countries{}
	}
	g.homes.Add(&s.Homes)
	g.mainM, g.toldM = g.mainM+s.MainM, g.toldM+s.ToldM
	for code, n := range s.Borders {
		g.borders[code] += n
	}
	for code, n := range s.Countries {
		g.named[code] += n
	}
}

// Whole is what all that was added comes to.
func (g *Gatherer) Whole() *Whole {
	w := &Whole{Homes: g.homes.Whole(), Country: g.borders.Alone(), Telling: telling(g.mainM, g.toldM)}
	if total := 0; w.Country == "" && len(g.borders) == 0 {
		for _, n := range g.named {
			total += n
		}
		if most := g.named.Most(); float64(g.named[most]) >= mostOf*float64(total) {
			w.Country = most
		}
	}
	return w
}

// About is what the part of a share must know of the whole: of what lies somewhere only
// that which meets its homes. nil stands for a part with nothing to walk.
func (w *Whole) About(s *Share) *Whole {
	out, box := *w, homes.Box{}
	if s != nil {
		box = s.Homes.Homes
	}
	out.Homes = w.Homes.About(box)
	return &out
}

// telling is that of the whole, which an extract is where nothing is known of one.
func (w *Whole) telling(x *osmdata.Extract) float64 {
	if w == nil {
		return telling(mainRoads(x, nil))
	}
	return w.Telling
}

func (w *Whole) homes() *homes.Whole {
	if w == nil {
		return nil
	}
	return w.Homes
}
