package routing

import (
	"slices"
	"strings"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// barrier is a limit and the edges of a reach that it forbids.
type barrier struct {
	name   string
	banned func(p *Planner, e int32) bool
}

// barriers turns limits into tests on edges; those near sources come apart, as
// they depend on the clock. dark says that the sun is down during the walk.
func (l *Limits) barriers(start plane.Point, dark bool) []barrier {
	var out []barrier
	flag := func(on bool, name string, test func(p *Planner, e int32) bool) {
		if on {
			out = append(out, barrier{name, test})
		}
	}
	flag(l.NoSteps, "no steps", func(p *Planner, e int32) bool {
		return p.anyPart(e, func(i int32) bool { return p.snap.Graph.Parts[i].Class == osmdata.Steps })
	})
	flag(l.LitOnly && dark, "lit ways only", func(p *Planner, e int32) bool {
		return p.anyPart(e, func(i int32) bool { return p.snap.Graph.Parts[i].Flags&osmdata.FlagLit == 0 })
	})
	flag(l.PavedOnly, "paved only", func(p *Planner, e int32) bool {
		return p.anyPart(e, func(i int32) bool { return p.snap.Graph.Parts[i].Flags&osmdata.FlagUnpaved != 0 })
	})
	flag(l.OffRoads, "no main road without a pavement", func(p *Planner, e int32) bool {
		return p.anyPart(e, func(i int32) bool {
			q := &p.snap.Graph.Parts[i]
			return isMain(q.Class) && q.Flags&osmdata.FlagSidewalk == 0
		})
	})
	flag(len(l.AvoidWays) > 0, "streets to avoid", func(p *Planner, e int32) bool {
		return p.anyPart(e, func(i int32) bool {
			name := p.snap.Graph.Names[p.snap.Graph.Parts[i].Name]
			return name != "" && slices.ContainsFunc(l.AvoidWays, func(s string) bool { return strings.EqualFold(s, name) })
		})
	})
	flag(len(l.Avoid) > 0, "places to avoid", func(p *Planner, e int32) bool {
		line := p.snap.Graph.EdgeLine(e)
		return slices.ContainsFunc(l.Avoid, func(c Circle) bool { _, _, d := line.Nearest(c.At); return d < c.RadiusM })
	})
	flag(l.WithinM > 0, "within reach of the start", func(p *Planner, e int32) bool {
		return slices.ContainsFunc(p.snap.Graph.EdgeLine(e), func(q plane.Point) bool { return q.DistanceM(start) > l.WithinM })
	})
	flag(l.MaxSlope > 0, "steepness", func(p *Planner, e int32) bool {
		return p.snap.Slopes != nil && float64(p.snap.Slopes.Steepest[e]) > l.MaxSlope
	})
	flag(l.MaxLevelDB > 0, "road noise", func(p *Planner, e int32) bool {
		return float64(p.snap.Field.LevelDB[e]) > l.MaxLevelDB
	})
	return out
}

// isMain says whether a class carries through traffic.
func isMain(c osmdata.Class) bool { return c >= osmdata.Motorway && c <= osmdata.Tertiary }

func (p *Planner) anyPart(e int32, test func(part int32) bool) bool {
	for i := p.snap.Graph.PartAt[e]; i < p.snap.Graph.PartAt[e+1]; i++ {
		if test(i) {
			return true
		}
	}
	return false
}

// keepFrom is the distance in metres that a walk keeps from a source, 0 for
// none: the reaction distance unless the handler waived that, and what the
// handler asked for.
func (p *Planner) keepFrom(w *Wish, source int32) (m float64, limit string) {
	s := p.snap.Field.Source(source)
	if !w.Limits.InsideReaction {
		if r := p.snap.Field.NeedAt(source, &w.Dog).ReactionM; r > 0 {
			m, limit = r, "reaction distance from "+p.sourceLabel(source)
		}
	}
	for _, keep := range w.Limits.NeverNearer {
		if keep.M > m && keep.names(s) {
			m, limit = keep.M, "never nearer than "+trimNumber(keep.M)+" m to "+p.sourceLabel(source)
		}
	}
	return m, limit
}

// names says whether a wished distance means a source: by its sort, by a kind
// or by a category of trigger.
func (k *Keep) names(s *exposure.Source) bool {
	return strings.EqualFold(k.From, s.As) || slices.ContainsFunc(s.Mix, func(m exposure.Presence) bool {
		return k.From == m.Kind.String() || k.From == m.Kind.Category().String()
	})
}

// sourceLabel is the name of a source, or what it is.
func (p *Planner) sourceLabel(source int32) string {
	s := p.snap.Field.Source(source)
	if s.Name != "" {
		return s.Name
	}
	return exposure.SourceNoun(s.As)
}
