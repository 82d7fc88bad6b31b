package draw

import (
	"wideberth/exposure"
	"wideberth/osmdata/plane"
)

// Around is a fixed source that a walk comes near, with the dog's distances round
// it.
type Around struct {
	Name    string
	InSight bool
	Need    exposure.Need
	Area    []plane.Polygon // empty where only a place is known
	Works   plane.Ring      // where the dog still works: nowhere nearer to the source than that
	Reacts  plane.Ring      // where it is too near
}

// Sources are the fixed sources that are drawn on the map of the walk.
func (s *Scene) Sources() (all []Around) {
	for i := range s.Walk.Passed {
		p := &s.Walk.Passed[i]
		if !drawn(p) {
			continue
		}
		src := s.Snap.Field.Source(p.Source)
		hull := hullOf(outline(src))
		all = append(all, Around{Name: p.Name, InSight: p.InSight, Need: p.Need, Area: src.Area,
			Works: grown(hull, p.Need.WorkingM), Reacts: grown(hull, p.Need.ReactionM)})
	}
	return all
}
