package reach

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
)

// Limits are what a handler will not have, whatever it costs otherwise.
type Limits struct {
	NoSteps          bool
	LitOnly          bool     // only ways tagged as lit, while the sun is down
	PavedOnly        bool     // no unpaved ways
	OffRoads         bool     // no main road without a pavement
	NeverNearer      []Keep   // distances from kinds of fixed source
	AvoidWays        []string // names of streets not to walk
	Avoid            []Circle // places to stay away from
	WithinM          float64  // never farther from the start than this, 0 for no limit
	MaxLevelDB       float64  // continuous road noise, 0 for no limit
	MaxSlope         float64  // rise over run, 0 for no limit; needs heights
	InsideReaction   bool     // walk inside the reaction distance of active sources all the same
	CrossAtCrossings bool     // cross roads of four lanes and more only at mapped crossings and signals
	AnyGround        bool     // private drives, ways through buildings and the aisles of car parks too
}

// Keep is a distance to keep from every active source of one sort.
type Keep struct {
	From string // the source's sort ("school") or a category or kind of trigger
	M    float64
}

// Circle is a place to stay away from.
type Circle struct {
	At      plane.Point
	RadiusM float64
}

func (l *Limits) Check() (wrong fault.Problems) {
	for i, k := range l.NeverNearer {
		if !(k.M > 0 && k.M <= 2000) {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/limits/never_nearer/%d/m", i), Value: fault.Number(k.M), Mend: "give 1 to 2,000 metres"})
		}
		if strings.TrimSpace(k.From) == "" {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/limits/never_nearer/%d/from", i), Value: "empty", Mend: "name a kind of trigger or of place"})
		}
	}
	if l.WithinM < 0 || math.IsNaN(l.WithinM) {
		wrong = append(wrong, fault.Problem{Pointer: "/limits/within_m", Value: fault.Number(l.WithinM), Mend: "give a distance in metres, or leave it out"})
	}
	for i, c := range l.Avoid {
		if !(c.RadiusM > 0 && c.RadiusM <= 5000) {
			wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/limits/avoid/%d/radius_m", i), Value: fault.Number(c.RadiusM), Mend: "give 1 to 5,000 metres"})
		}
	}
	return wrong
}

// Limit is one limit of a wish, as it forbids something.
type Limit struct {
	What LimitWhat
	Name string  // of the source to keep away from, or what it is
	M    float64 // distance to keep from it, where one was asked for
}

// LimitWhat is which limit it is; the list is closed.
type LimitWhat string

// The limits, by their fields in a wish.
const (
	LimitSteps     LimitWhat = "no_steps"
	LimitLit       LimitWhat = "lit_only"
	LimitPaved     LimitWhat = "paved_only"
	LimitRoads     LimitWhat = "off_roads"
	LimitWays      LimitWhat = "avoid_ways"
	LimitPlaces    LimitWhat = "avoid"
	LimitWithin    LimitWhat = "within_m"
	LimitSlope     LimitWhat = "max_slope"
	LimitNoise     LimitWhat = "max_level_db"
	LimitCrossings LimitWhat = "cross_at_crossings"
	LimitNever     LimitWhat = "never_nearer"      // than M to Name
	LimitReaction  LimitWhat = "reaction_distance" // of Name, which the dog brings with it
	LimitGround    LimitWhat = "any_ground"        // drives, aisles and ways through buildings, where they alone are in the way
)

// String is a plain text for programmers.
func (l Limit) String() string {
	switch l.What {
	case LimitNever:
		return fmt.Sprintf("%s %g m %q", l.What, l.M, l.Name)
	case LimitReaction:
		return fmt.Sprintf("%s %q", l.What, l.Name)
	}
	return string(l.What)
}

// barrier is a limit and the edges of a reach that it forbids.
type barrier struct {
	limit  LimitWhat
	banned func(land *Land, e int32) bool
}

// barriers turns limits into tests on edges; those near sources come apart, as
// they depend on the clock. dark says that the sun is down during the walk.
func (l *Limits) barriers(start plane.Point, dark bool) []barrier {
	var out []barrier
	flag := func(on bool, limit LimitWhat, test func(land *Land, e int32) bool) {
		if on {
			out = append(out, barrier{limit, test})
		}
	}
	flag(l.NoSteps, LimitSteps, func(land *Land, e int32) bool {
		return land.anyPart(e, func(i int32) bool { return land.Snap.Graph.Parts[i].Class == osmdata.Steps })
	})
	flag(l.LitOnly && dark, LimitLit, func(land *Land, e int32) bool {
		return land.anyPart(e, func(i int32) bool { return land.Snap.Graph.Parts[i].Flags&osmdata.FlagLit == 0 })
	})
	flag(l.PavedOnly, LimitPaved, func(land *Land, e int32) bool {
		return land.anyPart(e, func(i int32) bool { return land.Snap.Graph.Parts[i].Flags&osmdata.FlagUnpaved != 0 })
	})
	flag(l.OffRoads, LimitRoads, func(land *Land, e int32) bool {
		return land.anyPart(e, func(i int32) bool {
			q := &land.Snap.Graph.Parts[i]
			return q.Class.Main() && q.Flags&osmdata.FlagSidewalk == 0
		})
	})
	flag(len(l.AvoidWays) > 0, LimitWays, func(land *Land, e int32) bool {
		return land.anyPart(e, func(i int32) bool {
			name := land.Snap.Graph.Names[land.Snap.Graph.Parts[i].Name]
			return name != "" && slices.ContainsFunc(l.AvoidWays, func(s string) bool { return strings.EqualFold(s, name) })
		})
	})
	flag(len(l.Avoid) > 0, LimitPlaces, func(land *Land, e int32) bool {
		line := land.Snap.Graph.EdgeLine(e)
		return slices.ContainsFunc(l.Avoid, func(c Circle) bool { _, _, d := line.Nearest(c.At); return d < c.RadiusM })
	})
	flag(l.WithinM > 0, LimitWithin, func(land *Land, e int32) bool {
		return slices.ContainsFunc(land.Snap.Graph.EdgeLine(e), func(q plane.Point) bool { return q.DistanceM(start) > l.WithinM })
	})
	flag(l.MaxSlope > 0, LimitSlope, func(land *Land, e int32) bool {
		return land.Snap.Slopes != nil && float64(land.Snap.Slopes.Steepest[e]) > l.MaxSlope
	})
	flag(l.CrossAtCrossings, LimitCrossings, func(land *Land, e int32) bool {
		return land.Snap.Field.Roadside.WideOf(e) != strain.Wide{}
	})
	flag(l.MaxLevelDB > 0, LimitNoise, func(land *Land, e int32) bool {
		return float64(land.Snap.Field.LevelDB[e]) > l.MaxLevelDB
	})
	return out
}

func (land *Land) anyPart(e int32, test func(part int32) bool) bool {
	for i := land.Snap.Graph.PartAt[e]; i < land.Snap.Graph.PartAt[e+1]; i++ {
		if test(i) {
			return true
		}
	}
	return false
}

// keepFrom is the distance in metres that a walk keeps from a source, 0 for
// none: the reaction distance unless the handler waived that, and what the
// handler asked for.
func (land *Land) keepFrom(l *Limits, dog *exposure.Dog, source int32) (m float64, limit Limit) {
	s := land.Snap.Field.Source(source)
	if !l.InsideReaction {
		if r := land.Snap.Field.NeedAt(source, dog).ReactionM; r > 0 {
			m, limit = r, Limit{What: LimitReaction, Name: land.Snap.Field.Source(source).Label()}
		}
	}
	for _, keep := range l.NeverNearer {
		if keep.M > m && keep.names(s) {
			m, limit = keep.M, Limit{What: LimitNever, Name: land.Snap.Field.Source(source).Label(), M: keep.M}
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
