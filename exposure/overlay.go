package exposure

import (
	"iter"
	"slices"

	"wideberth/exposure/hours"
)

// Laid is a source that people reported, with how the edges of the map lie to it:
// touches of edge Edges[i] are Touches[i], whatever their Source says. Immutable.
type Laid struct {
	Source  Source
	Edges   []int32 // ascending, each once
	Touches [][]Touch
}

// overlay holds the sources and touches of a field that the map does not have,
// beside those of the field that it was made from.
type overlay struct {
	base    *Field
	laid    []*Laid // numbered on from the sources of base
	opening []*hours.Opening
	edges   []int32 // that are touched, ascending
	at      []int32 // touches of edges[i] are touches[at[i]:at[i+1]]
	touches []Touch
}

// With is the field with further sources, numbered on from those it has. All
// arrays are shared with f, which stays as it is: what it costs in time and memory
// is what the sources touch, whatever the size of the map.
func (f *Field) With(extra []*Laid) *Field {
	base, laid := f, extra
	if f.over != nil {
		base, laid = f.over.base, slices.Concat(f.over.laid, extra)
	}
	out := f.share()
	out.over = newOverlay(base, laid)
	return out
}

// share is a field of the same arrays.
func (f *Field) share() *Field {
	return &Field{OwnPerDay: f.OwnPerDay, Near: f.Near, Left: f.Left, Right: f.Right, SightFwdM: f.SightFwdM, SightBackM: f.SightBackM,
		LevelDB: f.LevelDB, Place: f.Place, Marks: f.Marks, TouchAt: f.TouchAt, Touches: f.Touches, Sources: f.Sources, SoftShare: f.SoftShare, Roadside: f.Roadside, Census: f.Census, Boards: f.Boards,
		kept: f.kept, levels: f.levels, over: f.over}
}

func newOverlay(base *Field, laid []*Laid) *overlay {
	o := &overlay{base: base, laid: laid}
	count := map[int32]int32{}
	for i := range laid {
		o.opening = append(o.opening, openingOf(&laid[i].Source))
		for j, e := range laid[i].Edges {
			if count[e] == 0 {
				o.edges = append(o.edges, e)
			}
			count[e] += int32(len(laid[i].Touches[j]))
		}
	}
	slices.Sort(o.edges)
	o.at = make([]int32, len(o.edges)+1)
	for i, e := range o.edges {
		o.at[i+1] = o.at[i] + count[e]
	}
	o.touches = make([]Touch, o.at[len(o.edges)])
	next := slices.Clone(o.at)
	for i := range laid {
		for j, e := range laid[i].Edges {
			k, _ := slices.BinarySearch(o.edges, e)
			for _, t := range laid[i].Touches[j] {
				t.Source = int32(len(base.Sources) + i)
				o.touches[next[k]] = t
				next[k]++
			}
		}
	}
	return o
}

// touching appends the touches of an edge: those of the map, then those of the
// sources beside it.
func (f *Field) touching(dst []Touch, e int32) []Touch {
	dst = f.touchesOfMap(dst, e)
	if o := f.over; o != nil && len(o.edges) > 0 && e >= o.edges[0] && e <= o.edges[len(o.edges)-1] {
		if i, found := slices.BinarySearch(o.edges, e); found {
			dst = append(dst, o.touches[o.at[i]:o.at[i+1]]...)
		}
	}
	return dst
}

// TouchesOf lists the touches of an edge, those of the map first.
func (f *Field) TouchesOf(e int32) iter.Seq[Touch] {
	return func(yield func(Touch) bool) {
		var few [8]Touch // on the stack for all but a handful of edges
		for _, t := range f.touching(few[:0], e) {
			if !yield(t) {
				return
			}
		}
	}
}

// SourceCount is the number of sources, those beside the map's included.
func (f *Field) SourceCount() int {
	if f.over != nil {
		return len(f.Sources) + len(f.over.laid)
	}
	return len(f.Sources)
}

// Source is a source by its number, from 0 to SourceCount less one.
func (f *Field) Source(i int32) *Source {
	if n := int32(len(f.Sources)); i >= n && f.over != nil {
		return &f.over.laid[i-n].Source
	}
	return &f.Sources[i]
}

// openings gives the parsed opening hours of a source, nil where there are none or
// they cannot be read.
func (f *Field) openings(source int32) *hours.Opening {
	n := int32(len(f.Sources))
	switch {
	case f.over == nil:
		return f.parsedHours()[source]
	case source >= n:
		return f.over.opening[source-n]
	}
	return f.over.base.parsedHours()[source]
}

// parsedHours are the opening hours of the map's sources, parsed at the first look.
func (f *Field) parsedHours() []*hours.Opening {
	f.parsed.Do(func() {
		f.opening = make([]*hours.Opening, len(f.Sources))
		for i := range f.Sources {
			f.opening[i] = openingOf(&f.Sources[i])
		}
	})
	return f.opening
}

func openingOf(s *Source) *hours.Opening {
	if s.Hours == "" {
		return nil
	}
	o, err := hours.Parse(s.Hours)
	if err != nil {
		return nil
	}
	return o
}
