package exposure

// Levels are what counts on the ground make of a field's flows. Immutable.
type Levels map[int32]*EdgeLevels

// EdgeLevels are the factors of one edge by category, dogs to traffic.
type EdgeLevels struct {
	Own     [Sounds]float32 // on what passes along the edge
	Near    [Sounds]float32 // on what passes on other ways nearby
	Counted [Sounds]bool    // counted there or so near on its street that little doubt is left
}

// WithLevels is the field with flows as counts on the ground have them, in place of
// any levels it had. All arrays are shared with f, which stays as it is.
func (f *Field) WithLevels(l Levels) *Field {
	out := f.share()
	out.levels = l
	if f.over == nil {
		out.over = newOverlay(f, nil) // opening hours are parsed once, by the field of the map
	}
	return out
}

// PerDay is how many of a pattern pass a fixed point of an edge a day, both directions
// together, as counts have it.
func (f *Field) PerDay(p Pattern, e int32) float64 {
	own, _ := f.factors(p, e)
	return own * float64(f.OwnPerDay[p][e])
}

// Counted tells whether a category was counted at an edge, or near enough.
func (f *Field) Counted(e int32, c Category) bool {
	l := f.levels[e]
	return l != nil && c < Sounds && l.Counted[c]
}

// factors are what counts make of a pattern's flow on an edge and beside it.
func (f *Field) factors(p Pattern, e int32) (own, near float64) {
	l, c := f.levels[e], p.Counted()
	if l == nil || c >= Sounds {
		return 1, 1
	}
	return float64(l.Own[c]), float64(l.Near[c])
}

// BoundEdges is how many edges have other flows by counts.
func (f *Field) BoundEdges() int { return len(f.levels) }

// Bound tells whether any count changes the flows.
func (f *Field) Bound() bool { return len(f.levels) > 0 }
