package briefing

import (
	"math"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/briefing/message"
	"wideberth/routing/escape"
)

// Counts below which a count is told as one walk in so many, and the count of
// walks beyond which nobody counts.
const (
	oneFrom    = 0.75
	mostWalks  = 100
	oneInLeast = 2
	nearWhole  = 0.25 // so near to a whole number, that number is told alone
	mostEither = 10   // and from so many on anyway
)

// Letter is what a walk of a plan is called: A, B, C ...
func Letter(index int) string { return string(rune('A' + index%26)) }

// Noun is a word for a kind of trigger as this dog sees it, in one of the forms
// "one" ("a dog"), "many" ("dogs") and "row" ("Dogs"): that of the category where
// the dog needs the same room from all of it.
func (w Words) Noun(k exposure.Kind, d *exposure.Dog, form string) string {
	return w.Say(nounKey(k, d) + "." + form)
}

// count tells so many of a kind: "3 dogs".
func (w Words) count(k exposure.Kind, d *exposure.Dog, n float64) string {
	return w.Say(nounKey(k, d)+".count", "n", math.Round(n))
}

func nounKey(k exposure.Kind, d *exposure.Dog) string {
	if Alike(k.Category(), d) {
		return "category." + k.Category().String()
	}
	return "kind." + k.String()
}

// Alike says whether a dog has the same distances for all kinds of a category.
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
	Kind exposure.Kind // the sort's first kind on the walk
	Near string        // first what comes near, then what is seen farther off: "1 or 2 dogs near enough to matter (nearer than 38 m); you may see 5 farther off"
	Time string        // "about 40 seconds nearer than 38 m", "" where there is hardly any
}

// Meetings tells the meetings of a walk with what the dog reacts to, most
// reactions first.
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
		s.Inside += k.Inside
		s.InsideS += k.InsideS
	}
	for i := range sums {
		s := &sums[i]
		m := Meetings{Kind: s.Kind, Near: w.near(s, d)}
		if s.InsideS >= 2.5 {
			m.Time = w.Say("inside.time", "seconds", w.seconds(s.InsideS), "distance", w.Own(d.Need(s.Kind).WorkingM))
		}
		out = append(out, m)
	}
	return out
}

// near leads with the meetings near enough to matter to the dog; what is farther off
// is seen, not met.
func (w Words) near(s *routing.KindOutlook, d *exposure.Dog) string {
	distance := w.Own(d.Need(s.Kind).WorkingM)
	var near string
	switch n := s.Inside; {
	case n >= oneFrom && between(n):
		near = w.Say("near.either", "low", math.Floor(n), "count", w.count(s.Kind, d, math.Ceil(n)), "distance", distance)
	case n >= oneFrom:
		near = w.Say("near.count", "count", w.count(s.Kind, d, n), "distance", distance)
	case n*mostWalks >= 1:
		near = w.Say("near.oneIn", "one", w.Noun(s.Kind, d, "one"), "distance", distance, "n", oneIn(n))
	default:
		near = w.Say("near.hardly", "one", w.Noun(s.Kind, d, "one"), "distance", distance, "n", mostWalks)
	}
	if far := math.Round(s.Expected - s.Inside); far >= 1 {
		return w.Say("near.far", "near", near, "n", far)
	}
	return near
}

// between says that a count lies so far between two whole ones that both are told.
func between(n float64) bool { return n < mostEither && math.Abs(n-math.Round(n)) > nearWhole }

// oneIn is the number of walks of which one brings what n are expected of.
func oneIn(n float64) float64 { return math.Round(max(oneInLeast, 1/n)) }

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
	case q.Proved && q.Covers.Shape == routing.Loop:
		return w.Say("sure.proved")
	case q.Proved && q.Covers.Shape != "":
		return w.Say("sure.proved." + string(q.Covers.Shape))
	case q.Proved:
		return w.Say("sure.proved.walk")
	case q.WithinPct >= 0:
		return w.Say("sure.near", "n", math.Ceil(max(1, q.WithinPct)))
	case q.Checking:
		return w.Say("sure.checking")
	}
	return w.Say("sure.open")
}

// Evidence tells what a prediction rests on: ownShare (0 to 1) is the part that
// comes from this many logged walks.
func (w Words) Evidence(ownShare float64, walks int) string {
	own := math.Round(100 * ownShare)
	if walks == 0 || own < 1 {
		return w.Say("sure.map")
	}
	return w.Say("sure.mixed", "map", 100-own, "walks", walks, "own", own)
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

// Caution tells one of the usual cautions: "intake", "step", "outing", "visit"; ""
// for any other.
func (w Words) Caution(of string) string {
	if !w.has("caution." + of) {
		return ""
	}
	return w.Say("caution." + of)
}

// StepMinutes tells the minutes to one reaction on ground of a step, 1 to 4: "22 to 32",
// short "22–32".
func (w Words) StepMinutes(r *routing.Rank, step int, short bool) string {
	low, high := r.Minutes[min(step, 3)-1], r.Minutes[max(step-2, 0)]
	n := message.Number
	switch {
	case step == 1 && short:
		return ">" + n(low)
	case step == 1:
		return w.Say("key.over", "n", low)
	case step == 4 && short:
		return "<" + n(low)
	case step == 4:
		return w.Say("key.under", "n", low)
	case short:
		return n(low) + "–" + n(high)
	}
	return w.Say("key.between", "low", low, "high", high)
}

// Aid tells what helps at a place besides a way to walk, one sentence for each thing to
// do, in order: common practice.
func (w Words) Aid(a *escape.Aid) (out []string) {
	for _, d := range a.Do {
		switch d {
		case escape.SomethingBetween:
			out = append(out, w.Say("aid.something_between", "cover", w.Cover(&a.Cover[0])))
		case escape.StepOff:
			out = append(out, w.Say("aid.step_off."+string(a.Side), "distance", w.Distance(a.SideM)))
		default:
			out = append(out, w.Say("aid."+string(d)))
		}
	}
	return out
}

// Cover tells what there is to step behind: "gate, 12 m on your left".
func (w Words) Cover(c *escape.Cover) string {
	what := w.Say("cover." + c.Kind.String())
	if c.Name != "" {
		what = w.Say("cover.of", "what", what, "name", c.Name)
	}
	return w.Say("cover.at."+string(c.Side), "what", what, "distance", w.Distance(c.DistM))
}
