package briefing

import (
	"math"
	"strconv"
	"strings"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/reach"
)

// Counts below which a count is told as one walk in so many, and the count of
// walks beyond which nobody counts.
const (
	manyFrom   = 1.5
	oneFrom    = 0.75
	mostWalks  = 100
	oneInLeast = 2
)

// Letter is what a walk of a plan is called: A, B, C ...
func Letter(index int) string { return string(rune('A' + index%26)) }

// noun is a word for a kind of trigger as this dog sees it: that of the category
// where the dog needs the same room from all of it.
func (w Words) Noun(k exposure.Kind, d *exposure.Dog, form string) string {
	if Alike(k.Category(), d) {
		return w.Say("category." + k.Category().String() + "." + form)
	}
	return w.Say("kind." + k.String() + "." + form)
}

// alike says whether a dog has the same distances for all kinds of a category.
func Alike(c exposure.Category, d *exposure.Dog) bool {
	kinds := c.Kinds()
	for _, k := range kinds[1:] {
		if d.Need(k) != d.Need(kinds[0]) {
			return false
		}
	}
	return d.Need(kinds[0]).WorkingM > 0
}

// Meetings is what is expected of one sort of trigger, as the dog sees sorts:
// kinds from which it needs the same room count together.
type Meetings struct {
	Kind   exposure.Kind // the sort's first kind on the walk
	Met    string        // "about 2 dogs (could be 1 to 4)"
	Inside string        // "one nearer than 38 m on 1 walk in 2"
	Time   string        // "about 40 seconds nearer than 38 m", "" where there is hardly any
}

// Meetings tells the meetings of a walk with what the dog reacts to, most
// reactions first. The interval of several kinds together is the sum of theirs,
// which is a little wide.
func (w Words) Meetings(walk *routing.Walk, d *exposure.Dog) (out []Meetings) {
	var sums []routing.KindOutlook
	for _, k := range walk.Kinds {
		if d.Need(k.Kind).WorkingM == 0 {
			continue
		}
		into := -1
		for i := range sums {
			if sums[i].Kind.Category() == k.Kind.Category() && Alike(k.Kind.Category(), d) {
				into = i
			}
		}
		if into < 0 {
			sums = append(sums, k)
			continue
		}
		s := &sums[into]
		s.Expected += k.Expected
		s.Low += k.Low
		s.High += k.High
		s.Inside += k.Inside
		s.InsideS += k.InsideS
	}
	for i := range sums {
		s := &sums[i]
		m := Meetings{Kind: s.Kind, Met: w.met(s, d), Inside: w.inside(s, d)}
		if s.InsideS >= 2.5 {
			m.Time = w.Say("inside.time", "seconds", w.Seconds(s.InsideS), "distance", w.Own(d.Need(s.Kind).WorkingM))
		}
		out = append(out, m)
	}
	return out
}

func (w Words) met(s *routing.KindOutlook, d *exposure.Dog) string {
	one, bare, many := w.Noun(s.Kind, d, "one"), w.Noun(s.Kind, d, "bare"), w.Noun(s.Kind, d, "many")
	switch n := s.Expected; {
	case n >= manyFrom:
		return w.Say("met.many", "n", Number(n), "many", many, "low", Number(s.Low), "high", Number(s.High))
	case n >= oneFrom:
		return w.Say("met.one", "bare", bare)
	case n*mostWalks >= 1:
		return w.Say("met.oneIn", "one", one, "n", oneIn(n))
	}
	return w.Say("met.hardly", "one", one, "n", strconv.Itoa(mostWalks))
}

func (w Words) inside(s *routing.KindOutlook, d *exposure.Dog) string {
	distance := w.Own(d.Need(s.Kind).WorkingM)
	switch n := s.Inside; {
	case n >= manyFrom:
		return w.Say("inside.many", "n", Number(n), "distance", distance)
	case n >= oneFrom:
		return w.Say("inside.one", "distance", distance)
	case n*mostWalks >= 1:
		return w.Say("inside.oneIn", "distance", distance, "n", oneIn(n))
	}
	return w.Say("inside.hardly", "distance", distance, "n", strconv.Itoa(mostWalks))
}

// oneIn is the number of walks of which one brings what n are expected of.
func oneIn(n float64) string { return Number(max(oneInLeast, 1/n)) }

// Reactions tells X, for trainers: "0.36 reactions a walk" and what that is in
// whole walks.
func (w Words) Reactions(x float64) (exact, walks string) {
	exact = w.Say("reactions", "x", strconv.FormatFloat(x, 'f', 2, 64))
	if x >= 1 {
		return exact, w.Say("reactions.many", "n", Number(x))
	}
	return exact, w.Say("reactions.oneIn", "n", Number(1/max(x, 1e-6)))
}

// Shares of X by which walks of the same number of ten are told apart.
const (
	alikeWithin = 0.2
	halfOf      = 0.6
)

// Compare tells a walk against another of which whole tenths say the same; ""
// where the numbers tell them apart.
func (w Words) Compare(a, b *routing.Walk, letter string) string {
	if Tenths(a.CalmChance) != Tenths(b.CalmChance) {
		return ""
	}
	x, y := a.ExpectedReactions, b.ExpectedReactions
	both := Tenths(a.CalmChance) == 10
	switch {
	case math.Abs(x-y) <= alikeWithin*max(x, y):
		return w.Say("compare.alike", "other", letter)
	case x < y && both && x <= halfOf*y:
		return w.Say("compare.half", "other", letter)
	case y < x && both && y <= halfOf*x:
		return w.Say("compare.twice", "other", letter)
	case x < y:
		return w.Say("compare.calmer", "other", letter)
	}
	return w.Say("compare.less", "other", letter)
}

// Proof tells how good a walk is against the best there is.
func (w Words) Proof(walk *routing.Walk) string {
	q := walk.Quality
	switch {
	case q.Proved && walk.Shape == routing.Loop:
		return w.Say("proof.loop")
	case q.Proved:
		return w.Say("proof.walk")
	case q.WithinPct >= 0:
		return w.Say("proof.within", "n", strconv.Itoa(int(math.Ceil(max(1, q.WithinPct)))))
	case q.Checking:
		return w.Say("proof.checking")
	}
	return w.Say("proof.none")
}

// Evidence tells what a prediction rests on: ownShare (0 to 1) is the part that
// comes from this many logged walks.
func (w Words) Evidence(ownShare float64, walks int) string {
	own := math.Round(100 * ownShare)
	if walks == 0 || own < 1 {
		return w.Say("evidence.map")
	}
	return w.Say("evidence.mixed", "map", Number(100-own), "walks", strconv.Itoa(walks), "own", Number(own))
}

// mostAssumed is how many assumptions stand in view.
const MostAssumed = 3

// Assumed tells at most three assumptions and how many more there are.
func (w Words) Assumed(all []string) (shown []string, more string) {
	for _, a := range all[:min(MostAssumed, len(all))] {
		shown = append(shown, w.Say("assumed", "what", strings.TrimSuffix(a, ".")))
	}
	if n := len(all) - MostAssumed; n > 0 {
		more = w.Say("assumed.more", "n", strconv.Itoa(n))
	}
	return shown, more
}

// Need tells the two distances of a dog for a kind.
func (w Words) Need(n exposure.Need) (works, near string) {
	return w.Say("works", "distance", w.Own(n.WorkingM)), w.Say("near", "distance", w.Own(n.ReactionM))
}

// farNeedM is the working distance from which no place on a map is that far from
// everything: the farthest that streams are followed is a tenth of it.
const farNeedM = 1500

// Notes tells what else a handler must know of a plan, one sentence each: laps, a
// poor hour, distances beyond any map.
func (w Words) Notes(p *routing.Plan, d *exposure.Dog) (out []string) {
	if far := d.FarthestM(); far >= farNeedM {
		out = append(out, w.Say("need.far", "distance", w.Own(far)))
	}
	if len(p.Walks) == 0 {
		return out
	}
	best := &p.Walks[0]
	switch {
	case best.Laps == 2:
		out = append(out, w.Say("say.laps"))
	case best.Laps > 2:
		out = append(out, w.Say("say.laps.many", "n", strconv.Itoa(best.Laps)))
	}
	if Tenths(best.CalmChance) <= poorTenths {
		out = append(out, w.Say("say.poor", "of", w.Of(best.CalmChance)))
	}
	return out
}

// poorTenths is the number of calm walks of ten up to which an hour is a poor one.
const poorTenths = 3

// InsideStart warns of a source within the reaction distance of the door.
func (w Words) InsideStart(s *routing.Passed) string {
	side := "say.inside.right" // away from a source on the left
	if s.Side == "right" {
		side = "say.inside.left"
	}
	return w.Say(side, "name", Sentence(s.Name), "distance", w.Distance(s.NearestM))
}

// Refusal tells why there is no walk, in one or two sentences.
func (w Words) Refusal(e *reach.Infeasible, minutes float64) string {
	short := w.Far(e.Short)
	switch e.Reason {
	case reach.NoStreetNear:
		return w.Say("say.nostreet", "distance", short)
	case reach.OffTheMap:
		return w.Say("say.offmap", "distance", short)
	case reach.NotConnected:
		return w.Say("say.notconnected")
	case reach.TooShort:
		return w.Say("say.tooshort", "minutes", w.MinutesSpelt(max(60, e.Short)))
	case reach.LimitsForbid:
		return w.Say("say.noloop.limit", "limit", e.Limit)
	case reach.MapTooSmall:
		return w.Say("say.small", "distance", short)
	case reach.NothingInRange:
		return w.Say("say.nothing", "distance", short)
	case reach.NoStand:
		return w.Say("say.nostand")
	case reach.NoWayIn:
		return w.Say("say.nowayin")
	case reach.NobodyThen:
		return w.Say("say.nobody")
	}
	return w.Say("say.noloop", "minutes", w.MinutesSpelt(60*minutes))
}

// Offer tells what would help, for a button.
func (w Words) Offer(o *reach.Offer) string {
	of := w.Of(o.Calm)
	switch o.What {
	case "leave_at":
		return w.Say("offer.leave_at", "time", w.Clock(o.Depart), "of", of)
	case "start_at":
		return w.Say("offer.start_at", "name", o.Name, "of", of)
	case "without_limit":
		return w.Say("offer.without_limit", "name", o.Name, "of", of)
	}
	if o.Shape == string(routing.ThereAndBack) {
		return w.Say("offer.there_and_back", "minutes", w.MinutesSpelt(60*o.Minutes), "of", of)
	}
	return w.Say("offer.minutes", "minutes", w.MinutesSpelt(60*o.Minutes), "of", of)
}

// Driver is what makes a dog react, as its people see it: for the advice only.
type Driver string

// The drivers.
const (
	DriverUnknown Driver = ""
	Fear          Driver = "fear"
	Frustration   Driver = "frustration"
	Excitement    Driver = "excitement"
)

// TooClose is what to do when something comes too close, one line each: common
// practice of trainers that work without aversive tools.
func (w Words) TooClose(d Driver) []string {
	third := "close.feed"
	if d == Frustration || d == Excitement {
		third = "close.ask"
	}
	return []string{w.Say("close.turn"), w.Say("close.room"), w.Say(third), w.Say("close.home")}
}

// Caution tells one of the usual cautions: "plan", "intake", "step", "outing",
// "visit", "law"; "" for any other.
func (w Words) Caution(of string) string {
	if !w.has("caution." + of) {
		return ""
	}
	return w.Say("caution." + of)
}
