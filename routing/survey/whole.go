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
}

// Whole is what the survey of a part of a map must know of the whole, besides its
// surroundings. It is the same for all parts.
type Whole struct {
	Homes   *homes.Whole
	Country string // of all the map, "" where it is not known to be one
}

// ShareOf is what an extract with the habits of a country tells of the whole map that it
// is a part of. Homes and streets count that lie in its core; those of all parts' cores
// are the whole's.
func ShareOf(x *osmdata.Extract, country string, core func(lonDeg, latDeg float64) bool) *Share {
	return &Share{homes.ShareOf(x, exposure.HabitsOf(country).Persons, core), x.Borders, x.Countries}
}

// mostOf is the share of addresses that must name one country for it to be the whole
// map's; our assumption.
const mostOf = 0.99

// Gather puts the shares of all parts of a map together.
func Gather(shares []*Share) *Whole {
	all := make([]homes.Share, len(shares))
	borders, named := osmdata.Countries{}, osmdata.Countries{}
	for i, s := range shares {
		all[i] = s.Homes
		for code, n := range s.Borders {
			borders[code] += n
		}
		for code, n := range s.Countries {
			named[code] += n
		}
	}
	w := &Whole{Homes: homes.Gather(all), Country: borders.Alone()}
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

func (w *Whole) homes() *homes.Whole {
	if w == nil {
		return nil
	}
	return w.Homes
}
