package counts

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Map is where counts lie: a network, its field as predicted, and its time and place.
type Map struct {
	Graph *network.Graph
	Field *exposure.Field
	Frame plane.Frame
	Clock *hours.Clock // without weather
}

// lineM is half the length of the line across a street that a person who counts at a
// corner watches.
const lineM = 22

// watched is what a count watched.
func (m *Map) watched(c *exposure.Count) (Screenline, bool) {
	return Match(m.Graph, Place{At: m.Frame.Forward(c.Lon, c.Lat), WithinM: exposure.CountWithinM, HalfM: lineM, Paths: true})
}

// Check names the counts that lie off the map, and those that were made at one place
// at one time. name gives the pointer of a count by its index, and what people call it.
func (m *Map) Check(list []exposure.Count, name func(i int) (pointer, told string)) (wrong fault.Problems) {
	type span struct{ edge, count int }
	var spans []span
	for i := range list {
		pointer, _ := name(i)
		line, ok := m.watched(&list[i])
		if !ok {
			wrong = append(wrong, fault.Problem{Pointer: pointer + "/lat", Value: fmt.Sprintf("%g, %g", list[i].Lat, list[i].Lon),
				Mend: fmt.Sprintf("lies off the map or more than %d m from any way of it", exposure.CountWithinM)})
			continue
		}
		for _, s := range spans {
			a, b := &list[s.count], &list[i]
			if s.edge == int(line.Edge) && a.Start.Before(b.End()) && b.Start.Before(a.End()) {
				_, other := name(s.count)
				wrong = append(wrong, fault.Problem{Pointer: pointer + "/start", Value: b.Start.Format(time.RFC3339),
					Mend: "two counts of one place at one time: the other is " + other})
				break
			}
		}
		spans = append(spans, span{int(line.Edge), i})
	}
	return wrong
}

// edgesOf are the edges of a screenline that count for a category.
func (s *Screenline) edgesOf(c exposure.Category) []int32 {
	if c == exposure.Traffic {
		return s.Road
	}
	return s.All
}

// Line is what one count says of one category, beside what was predicted.
type Line struct {
	Count     int // index in the list
	Street    string
	Of        exposure.Category
	Counted   float64
	Predicted float64 // from the map alone
	Bound     float64 // with all counts
}

// Report says how far model and counts lie apart.
type Report struct {
	Lines  []Line
	Scores [exposure.Sounds]Score // by category, of the predictions from the map alone
	Lost   int                    // counts that lie off the map
}

// mostBoundM is how far from a counted place levels are looked at; beyond it a count
// says less than a sixth of what it says at its corner.
const mostBoundM = 4000

// leastChange is the change of a level that is worth a place in memory.
const leastChange = .02

// Bind works out what counts make of a map's levels, there and about. Counts that lie
// off the map are left out: an account may have counted on another.
func (m *Map) Bind(list []exposure.Count) (exposure.Levels, *Report, error) {
	r := &Report{}
	if len(list) == 0 {
		return nil, r, nil
	}
	lines := make([]*Screenline, len(list))
	box := plane.EmptyBox()
	for i := range list {
		if s, ok := m.watched(&list[i]); ok {
			lines[i] = &s
			box = box.With(m.Frame.Forward(list[i].Lon, list[i].Lat))
		} else {
			r.Lost++
		}
	}
	if r.Lost == len(list) {
		return nil, r, nil
	}
	streets := m.streetsOf(lines)
	fits, on := fits{}, map[int32]bool{}
	for _, s := range lines {
		if s != nil {
			on[streets(s.Edge)] = true
		}
	}
	for c := range exposure.Sounds {
		seen := m.seen(list, lines, streets, c, r)
		if len(seen) == 0 {
			continue
		}
		var err error
		if fits[c], err = learning.FitLevels(exposure.CountDoubt(c), seen); err != nil {
			return nil, nil, fmt.Errorf("counts of %s: %w", c, err)
		}
	}
	levels := m.levels(&fits, streets, on, m.Graph.InBox(box.Grown(mostBoundM)))
	m.finish(list, lines, levels, r)
	return levels, r, nil
}

// streetsOf numbers streets: by name where they have one; ways without a name that
// run along in a counted line count as the street that was counted.
func (m *Map) streetsOf(lines []*Screenline) func(e int32) int32 {
	along := map[int32]int32{}
	for _, s := range lines {
		if s == nil {
			continue
		}
		for _, e := range s.All {
			along[e] = m.street(s.Edge)
		}
	}
	return func(e int32) int32 {
		if street, ok := along[e]; ok && m.street(e) < 0 {
			return street
		}
		return m.street(e)
	}
}

// street is the number of an edge's name; of a way without one, below 0, its own.
func (m *Map) street(e int32) int32 {
	g := m.Graph
	if name := g.Parts[g.PartAt[e]].Name; g.Names[name] != "" {
		return name
	}
	return -1 - e
}

// site is where an edge lies, for the fit.
func (m *Map) site(e int32, street func(int32) int32) learning.Site {
	long := float64(m.Graph.LengthM[e])
	return learning.Site{At: m.Graph.EdgeLine(e).At(long / 2), Street: street(e), Class: uint8(m.Graph.Class[e])}
}

// seen gathers the counts of a category by edge, and writes them down.
func (m *Map) seen(list []exposure.Count, lines []*Screenline, street func(int32) int32, c exposure.Category, r *Report) (out []learning.Watch) {
	at := map[int32]int{}
	for i := range list {
		n, ok := list[i].Of(c)
		if !ok || lines[i] == nil {
			continue
		}
		line := Line{Count: i, Street: m.name(lines[i].Edge), Of: c, Counted: n,
			Predicted: m.Field.Expected(lines[i].edgesOf(c), c, &list[i], m.Clock)}
		r.Lines = append(r.Lines, line)
		e := lines[i].Edge
		k, there := at[e]
		if !there {
			k, at[e] = len(out), len(out)
			s := m.site(e, street)
			s.At = m.Frame.Forward(list[i].Lon, list[i].Lat)
			out = append(out, learning.Watch{Site: s})
		}
		out[k].Observed += n
		out[k].Expected += line.Predicted
		out[k].Times++
	}
	return out
}

// name is what people call an edge.
func (m *Map) name(e int32) string {
	part := &m.Graph.Parts[m.Graph.PartAt[e]]
	return cmp.Or(m.Graph.Names[part.Name], part.Sort())
}

// fits are what counts say, by category; nil where nothing was counted.
type fits [exposure.Sounds]*learning.Levels

// at gives the factors at a site.
func (f *fits) at(site learning.Site) *exposure.EdgeLevels {
	l := &exposure.EdgeLevels{Own: [exposure.Sounds]float32{1, 1, 1, 1}, Near: [exposure.Sounds]float32{1, 1, 1, 1}}
	for c, fit := range f {
		if fit == nil {
			continue
		}
		factor, shape := fit.At(site)
		l.Own[c], l.Counted[c] = float32(factor), shape >= exposure.FirmShape
	}
	return l
}

// cellM is the side of the squares in which streets of a class that were not counted
// themselves have the same factors: they change over kilometres.
const cellM = 200

// levels are the factors of edges about the counts; on holds the streets that were
// counted.
func (m *Map) levels(f *fits, street func(int32) int32, on map[int32]bool, edges []int32) exposure.Levels {
	type cell struct {
		x, y  int32
		class uint8
	}
	out, same := exposure.Levels{}, map[cell]*exposure.EdgeLevels{}
	for _, e := range edges {
		site := m.site(e, street)
		if on[site.Street] {
			out[e] = f.at(site)
			continue
		}
		at := cell{int32(math.Floor(site.At.X / cellM)), int32(math.Floor(site.At.Y / cellM)), site.Class}
		if same[at] == nil {
			site.At = plane.Point{X: (float64(at.x) + .5) * cellM, Y: (float64(at.y) + .5) * cellM}
			same[at] = f.at(site)
		}
		l := *same[at]
		for c := range l.Own {
			if l.Counted[c] || math.Abs(float64(l.Own[c])-1) > leastChange {
				out[e] = &l
				break
			}
		}
	}
	for _, e := range edges {
		m.beside(out, e)
	}
	return out
}

// beside gives an edge the factors of what passes on other ways within reach: means of
// theirs by what passes there. Ways that nobody walks have no factor of their own, so
// those nearby stand for them.
func (m *Map) beside(levels exposure.Levels, e int32) {
	l := levels[e]
	if l == nil {
		return
	}
	var with, without [exposure.Sounds]float64
	for _, o := range m.Graph.InBox(m.Graph.EdgeLine(e).Box().Grown(exposure.BinMaxM)) {
		if o == e {
			continue
		}
		for p := range exposure.PatternCount {
			c := p.Counted()
			if c >= exposure.Sounds {
				continue
			}
			q, factor := float64(m.Field.OwnPerDay[p][o])*float64(m.Graph.LengthM[o]), 1.0
			if x := levels[o]; x != nil {
				factor = float64(x.Own[c])
			}
			with[c], without[c] = with[c]+q*factor, without[c]+q
		}
	}
	for c := range l.Near {
		if without[c] > 0 {
			l.Near[c] = float32(with[c] / without[c])
		}
	}
}

// finish tells what the counts make of the levels, and scores the model without them.
func (m *Map) finish(list []exposure.Count, lines []*Screenline, levels exposure.Levels, r *Report) {
	bound := m.Field.WithLevels(levels)
	for i := range r.Lines {
		l := &r.Lines[i]
		l.Bound = bound.Expected(lines[l.Count].edgesOf(l.Of), l.Of, &list[l.Count], m.Clock)
	}
	r.Scores = ScoresOf(r.Lines)
	slices.SortStableFunc(r.Lines, func(a, b Line) int { return cmp.Compare(a.Count, b.Count) })
}

// ScoresOf scores predictions from maps alone, by category; lines may be of several maps.
func ScoresOf(lines []Line) (out [exposure.Sounds]Score) {
	var pairs [exposure.Sounds][]Pair
	for i := range lines {
		l := &lines[i]
		pairs[l.Of] = append(pairs[l.Of], Pair{Name: l.Street, Predicted: l.Predicted, Counted: l.Counted, Shape: exposure.CountDoubt(l.Of)})
	}
	for c := range pairs {
		out[c] = Of(pairs[c])
	}
	return out
}
