package survey

import (
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
// surroundings. It is the same for all parts.
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

// telling is a share of metres, 0 of none.
func telling(allM, toldM float64) float64 {
	if allM == 0 {
		return 0
	}
	return toldM / allM
}

// mostOf is the share of addresses that must name one country for it to be the whole
// map's; our assumption.
const mostOf = 0.99

// Gather puts the shares of all parts of a map together.
func Gather(shares []*Share) *Whole {
	all := make([]homes.Share, len(shares))
	borders, named := osmdata.Countries{}, osmdata.Countries{}
	mainM, toldM := 0.0, 0.0
	for i, s := range shares {
		all[i] = s.Homes
		mainM, toldM = mainM+s.MainM, toldM+s.ToldM
		for code, n := range s.Borders {
			borders[code] += n
		}
		for code, n := range s.Countries {
			named[code] += n
		}
	}
	w := &Whole{Homes: homes.Gather(all), Country: borders.Alone(), Telling: telling(mainM, toldM)}
	if total := 0; w.Country == "" && len(borders) == 0 {
		for _, n := range named {
			total += n
		}
		if most := named.Most(); float64(named[most]) >= mostOf*float64(total) {
			w.Country = most
		}
	}
	return w
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
