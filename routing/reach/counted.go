package reach

import (
	"wideberth/exposure"
	"wideberth/routing/counts"
)

// Counted is the land with levels as counts on the ground have them: those that the
// map was imported with and further ones. It shares everything else with land. The
// report is of all these counts, those of the map first.
func (land *Land) Counted(more []exposure.Count) (*Land, *counts.Report, error) {
	out := *land
	snap := *land.Snap
	out.Snap = &snap
	report, err := out.bind(append(snap.Counts[:len(snap.Counts):len(snap.Counts)], more...))
	if err != nil {
		return nil, nil, err
	}
	return &out, report, nil
}

// bind binds the field to counts, in place of those it was bound to.
func (land *Land) bind(list []exposure.Count) (*counts.Report, error) {
	m := land.CountMap()
	levels, report, err := m.Bind(list)
	if err != nil || len(levels) == 0 && m.Field == land.Snap.Field {
		return report, err
	}
	snap := *land.Snap
	snap.Field = m.Field.WithLevels(levels)
	land.Snap = &snap
	return report, nil
}

// CountMap is where counts lie on this land, with levels as predicted without any.
func (land *Land) CountMap() *counts.Map {
	f := land.Snap.Field
	if f.Bound() {
		f = f.WithLevels(nil)
	}
	return &counts.Map{Graph: land.Snap.Graph, Field: f, Frame: land.Snap.Frame, Clock: land.Clock}
}
