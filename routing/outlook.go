package routing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/routing/survey"
)

// Reward intervals while a trigger lasts: one piece of food every two to four
// seconds (common practice).
const (
	RewardFastS = 2
	RewardSlowS = 4
)

// outlook fills in what a walk is expected to bring.
func (p *Planner) outlook(walk *Walk, w *Wish, dose *exposure.Dose) {
	walk.ExpectedReactions = dose.Reactions
	walk.CalmChance = dose.Calm()
	walk.CalmLow, walk.CalmHigh = dose.CalmRange()
	walk.Kinds = kindOutlooks(dose, &w.Dog)
	walk.ShortestGapS = dose.ShortestGapS()
	walk.LongestCalmS = dose.LongestCalmS(LevelLimits[0] / levelSpanS)
	inside := 0.0
	for _, k := range walk.Kinds {
		inside += k.InsideS
	}
	walk.TreatsLow = int(math.Ceil(inside / RewardSlowS))
	walk.TreatsHigh = int(math.Ceil(inside / RewardFastS))
	for _, c := range dose.Movers[:min(3, len(dose.Movers))] {
		walk.Movers = append(walk.Movers, Contribution{Name: p.contributor(&c), Kind: c.Kind, Reactions: c.Reactions})
	}
}

// kindOutlooks lists the kinds that are met or that the dog reacts to, most
// reactions first.
func kindOutlooks(dose *exposure.Dose, dog *exposure.Dog) (out []KindOutlook) {
	for kind := range exposure.KindCount {
		k := dose.Kinds[kind]
		if k.Expected < 0.005 && dog.Need(kind).WorkingM == 0 {
			continue
		}
		low, high := dose.Encounters(kind)
		out = append(out, KindOutlook{Kind: kind, Expected: k.Expected, Low: float64(low), High: float64(high),
			Inside: k.Inside, InsideS: k.InsideS, Reactions: k.Reactions})
	}
	slices.SortStableFunc(out, func(a, b KindOutlook) int {
		return cmp.Or(cmp.Compare(b.Reactions, a.Reactions), cmp.Compare(b.Expected, a.Expected))
	})
	return out
}

// contributor names a source or stream: "dog field", "children on Foundry Road",
// "cars near Race Walk".
func (p *Planner) contributor(c *exposure.Contribution) string {
	if c.Source >= 0 {
		return p.land.Snap.Field.Source(c.Source).Label()
	}
	g := p.land.Snap.Graph
	name := g.Names[g.Parts[g.PartAt[c.Edge]].Name]
	if name == "" {
		name = "the " + g.Parts[g.PartAt[c.Edge]].Sort()
	}
	if c.Own {
		return fmt.Sprintf("%s on %s", c.Kind.Plural(), name)
	}
	return fmt.Sprintf("%s near %s", c.Kind.Plural(), name)
}

// assumed lists what a plan rests on that nobody measured, most important first.
func (p *Planner) assumed(w *Wish, plan *Plan) []exposure.Assumption {
	var out []exposure.Assumption
	if w.Factors != nil && w.Factors.Walks > 0 {
		out = append(out, exposure.Assumption{What: AssumedLogged, Numbers: []float64{float64(w.Factors.Walks)}})
	}
	out = append(out, p.basis(w, plan)...)
	if n := p.reported(); n > 0 {
		out = append(out, exposure.Assumption{What: AssumedReported, Numbers: []float64{float64(n)}})
	}
	if len(plan.Walks) > 0 && plan.Walks[0].DefaultRoomShare > 0.05 {
		out = append(out, exposure.Assumption{What: AssumedRoom, Numbers: []float64{plan.Walks[0].DefaultRoomShare}})
	}
	if len(plan.Walks) > 0 && w.Strain.Weight() > 0 && plan.Walks[0].Strain > 0 {
		out = append(out, exposure.Assumption{What: AssumedPavements, Numbers: []float64{p.land.Snap.Field.Census[survey.PavementsTold]}})
	}
	out = append(out, w.Dog.Assumptions()...)
	if p.land.Snap.Slopes == nil {
		out = append(out, exposure.Assumption{What: AssumedLevel})
	}
	return out
}

// What is assumed about the ground and about who is met.
const (
	AssumedLogged    exposure.Assumed = "logged"    // how many there are: corrected by so many logged walks
	AssumedReported  exposure.Assumed = "reported"  // so many sources that the map lacks
	AssumedRoom      exposure.Assumed = "room"      // room beside so much of the walk, a share
	AssumedPavements exposure.Assumed = "pavements" // the price of strain, and pavements: so much of main roads is tagged, a share
	AssumedLevel     exposure.Assumed = "level"     // no heights: level ground
	AssumedDrive     exposure.Assumed = "drive"     // how long a drive takes; see package drive
	AssumedFree      exposure.Assumed = "free"      // the usual free hours, as nobody said others
)

// reported is the number of sources that people reported.
func (p *Planner) reported() (n int) {
	f := p.land.Snap.Field
	for i := int32(f.SourceCount()) - 1; i >= 0 && f.Source(i).Reported(); i-- {
		n++ // they come last
	}
	return n
}
