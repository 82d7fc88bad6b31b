package wire

import (
	"wideberth/osmdata/fault"
	"wideberth/routing/reach"
	"wideberth/routing/training"
)

// GivenVisit is the ground of a visit's ways. Sent back with the place and the hour they
// are told as they are, without another search.
type GivenVisit struct {
	Map  string `json:"map" doc:"Fingerprint of the network that the ways belong to."`
	In   string `json:"way_in" maxLength:"60000" doc:"Directed edges of the network, as the server wrote them."`
	Home string `json:"way_home" maxLength:"60000" doc:"Likewise."`
}

func newGivenVisit(v *training.Visit, land *reach.Land) *GivenVisit {
	w := v.Ways()
	return &GivenVisit{land.Snap.Network, land.MarshalCourse(w.In), land.MarshalCourse(w.Home)}
}

// Decode gives the ways on the land that they belong to. Faults are fault.Problems.
func (g *GivenVisit) Decode(land *reach.Land) (*training.Ways, error) {
	var out training.Ways
	for _, way := range []struct {
		pointer, text string
		into          *reach.Course
	}{{"/way_in", g.In, &out.In}, {"/way_home", g.Home, &out.Home}} {
		c, err := land.UnmarshalCourse(way.text)
		if err != nil {
			return nil, fault.One(way.pointer, "", err.Error()+": plan the visit anew")
		}
		*way.into = c
	}
	return &out, nil
}
