package wire

import (
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
	"wideberth/routing/training"
)

// GivenVisit is the ground of a visit's ways. Sent back with the place and the hour they
// are told as they are, without another search.
type GivenVisit struct {
	Map      string `json:"map" doc:"Fingerprint of the network that the ways belong to."`
	In       string `json:"way_in" maxLength:"60000" doc:"Directed edges of the network, as the server wrote them."`
	Home     string `json:"way_home" maxLength:"60000" doc:"Likewise."`
	InLine   string `json:"line_in,omitempty" maxLength:"60000" doc:"The same ground in degrees, as the server wrote it: the ways are matched by it where the map was changed."`
	HomeLine string `json:"line_home,omitempty" maxLength:"60000" doc:"Likewise."`
}

func newGivenVisit(v *training.Visit, land *reach.Land) *GivenVisit {
	w, f := v.Ways(), land.Snap.Frame
	return &GivenVisit{land.Snap.Network, land.MarshalCourse(w.In), land.MarshalCourse(w.Home), writeLine(v.In.Line, f), writeLine(v.Home.Line, f)}
}

// Lines are the ways as lines of frame f, for another map; false where it has none that can
// be read.
func (g *GivenVisit) Lines(f plane.Frame) (*training.Ways, bool) {
	in, ok := readLine(g.InLine, f)
	if !ok {
		return nil, false
	}
	home, ok := readLine(g.HomeLine, f)
	return &training.Ways{InLine: in, HomeLine: home}, ok
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
