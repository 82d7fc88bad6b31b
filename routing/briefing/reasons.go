package briefing

import (
	"math"
	"strconv"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/exposure/strain"
	"wideberth/routing"
	"wideberth/routing/briefing/message"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/reach"
	"wideberth/routing/training"
)

// Refusal tells why there is no walk of so many minutes, in one or two sentences; 0
// where no length was asked for or it is not known.
func (w Words) Refusal(e *reach.Infeasible, minutes float64) string {
	short := w.Far(e.Short)
	switch e.Reason {
	case reach.NoStreetNear:
		return w.Say("none.far", "distance", short)
	case reach.OffTheMap:
		return w.Say("none.off", "distance", short)
	case reach.NotConnected:
		return w.Say("none.connected")
	case reach.TooShort:
		return w.Say("none.short", "minutes", w.MinutesSpelt(60*math.Ceil(e.Short/60))) // rounded up: so much is enough
	case reach.LimitsForbid:
		return w.Say("none.limits", "minutes", math.Round(minutes), "limit", w.Limit(e.Limit))
	case reach.MapTooSmall:
		return w.Say("none.small", "distance", short)
	case reach.NothingInRange:
		return w.Say("none.range", "distance", short)
	case reach.NoStand:
		return w.Say("none.stand")
	case reach.NoWayIn:
		return w.Say("none.way_in")
	case reach.NobodyThen:
		return w.Say("none.nobody")
	}
	return w.Say("none.loop", "minutes", math.Round(minutes))
}

// Limit tells a limit inside a sentence: "no steps", "never nearer than 20 m to the
// school".
func (w Words) Limit(l reach.Limit) string {
	switch l.What {
	case reach.LimitNever:
		return small(w.Say("limit.never.line", "distance", w.Own(l.M), "what", l.Name))
	case reach.LimitReaction:
		return w.Say("limit.reaction_distance", "name", l.Name)
	}
	return small(w.Say("limit." + string(l.What)))
}

// Note tells what else there is to know of a plan, without a full stop.
func (w Words) Note(n routing.Note) string {
	switch n.What {
	case routing.NoteLaps, routing.NoteRounds, routing.NoteTurns:
		return w.Say("note."+string(n.What), "n", n.N)
	case routing.NoteTail:
		return w.Say("note.tail", "minutes", w.MinutesSpelt(n.TimeS))
	case routing.NoteService:
		return w.Say("note.service", "n", wholeMinutes(n.TimeS), "of", wholeMinutes(n.OfS), "price", message.Fixed(reach.ServicePerMin, 2))
	case routing.NoteMainRoad:
		return w.Say("note.main_road", "n", wholeMinutes(n.TimeS), "of", wholeMinutes(n.OfS))
	case routing.NoteFastRoad, routing.NoteAisles, routing.NotePrivate, routing.NotePrecinct, routing.NoteDogRules:
		return w.Say("note."+string(n.What), "name", w.legName(&routing.Leg{Name: n.Name, Class: n.Class}))
	case routing.NoteLivestock:
		return w.Say("note.livestock", "name", w.legName(&routing.Leg{Name: n.Name, Class: n.Class}))
	case routing.NoteMedical, routing.NoteFood:
		return w.Say("note."+string(n.What), "what", n.Name)
	case routing.NoteDark:
		return w.Say("note.dark", "n", wholeMinutes(n.TimeS), "of", wholeMinutes(n.OfS))
	case routing.NoteRepeated:
		return w.Say("note.repeated", "n", math.Round(100*n.Share))
	case routing.NoteInside:
		return w.Say("note.inside", "name", n.Name, "distance", w.Distance(n.DistM))
	}
	return w.Say("note." + string(n.What))
}

// NoteShort is Note where there is room for a line.
func (w Words) NoteShort(n routing.Note) string {
	if key := "note.short." + string(n.What); w.has(key) {
		return w.Say(key)
	}
	return w.Note(n)
}

// Assumption tells what was assumed, without a full stop: what, a colon, and where
// it is from.
func (w Words) Assumption(a exposure.Assumption) string {
	return w.assumption("assumed."+string(a.What), a)
}

func (w Words) assumption(key string, a exposure.Assumption) string {
	n := func(i int) float64 {
		if i < len(a.Numbers) {
			return a.Numbers[i]
		}
		return 0
	}
	switch a.What {
	case exposure.AssumedReaction:
		return w.Say(key, "of", w.manyOf(a.Of))
	case exposure.AssumedDog:
		return w.Say(key, "working", w.Own(n(0)), "reaction", w.Own(n(1)))
	case exposure.AssumedPace, outing.AssumedSlack:
		return w.Say(key, "speed", w.Speed(n(0)))
	case routing.BasisHere:
		most := "no"
		if n(0) >= .5 {
			most = "yes"
		}
		return w.Say(key, "of", w.manyOf(a.Of), "most", most)
	case routing.BasisPlaces:
		return w.Say(key, "said", n(0), "housed", n(1))
	case routing.AssumedRoom:
		return w.Say(key, "n", math.Round(100*n(0)))
	case routing.AssumedPavements:
		return w.Say(key, "n", message.Number(math.Round(1000*n(0))/10), "noise", strain.NoisePerMin)
	case routing.AssumedDrive:
		return w.drives(key)
	case routing.AssumedFree:
		return w.Say(key, "hours", routing.UsualFree)
	case outing.AssumedStem:
		return w.Say(key, "distance", w.Distance(n(0)))
	case outing.AssumedLate:
		return w.Say(key, "late", w.MinutesSpelt(60*n(0)), "turn", w.MinutesSpelt(60*n(1)))
	}
	return w.Say(key, "n", n(0))
}

// Assumptions tells them all.
func (w Words) Assumptions(all []exposure.Assumption) []string {
	out := make([]string, len(all))
	for i, a := range all {
		out[i] = w.Assumption(a)
	}
	return out
}

// AssumedShort tells what was assumed, where there is no room for why.
func (w Words) AssumedShort(a exposure.Assumption) string {
	if key := "assumed." + string(a.What) + ".short"; w.has(key) {
		return w.Say("sure.assumed", "what", w.assumption(key, a))
	}
	what, _, _ := strings.Cut(w.Assumption(a), ":")
	return w.Say("sure.assumed", "what", what)
}

// HelperName is who is watched in a set-up, by the name of its kind.
func (w Words) HelperName(kind string) string {
	if key := "kind." + kind + ".one"; w.has(key) {
		kind = w.Say(key)
	}
	return w.Say("visits.helper", "kind", kind)
}

// manyOf is the word for several of a kind or category by its name.
func (w Words) manyOf(name string) string {
	for _, family := range []string{"kind.", "category."} {
		if key := family + name + ".many"; w.has(key) {
			return w.Say(key)
		}
	}
	return name
}

// small is a text without the capital at its beginning.
func small(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// times tells a multiple of the working distance: "1.5".
func times(multiple float64) string {
	return strconv.FormatFloat(math.Round(100*multiple)/100, 'f', -1, 64)
}

// Lack tells why a training visit cannot be had, with numbers, and what comes
// closest to it.
func (w Words) Lack(l *training.Lack) string {
	switch l.Why {
	case training.LackPin:
		return w.Say("lack.pin", "n", l.Pin)
	case training.LackSteps:
		return w.Say("lack.steps")
	case training.LackRest:
		return w.Say("lack.rest")
	case training.LackHourApart:
		return w.Say("lack.one_hour")
	case training.LackHelper:
		return w.Say("lack.helper") + " " + w.SetupLack(l.Ground)
	}
	at := w.Say("lack.at", "distance", w.Own(l.DistM), "times", times(l.Multiple))
	if l.Multiple == 1 {
		at = w.Say("lack.at.once", "distance", w.Own(l.DistM))
	}
	var out string
	switch l.Why {
	case training.LackHours:
		out = w.Say("lack.hours", "at", at)
	case training.LackReactions:
		least := math.Ceil(100*l.Least) / 100 // rounded up: over the limit must look so
		out = w.Say("lack.reactions", "at", at, "least", hundredths(least), "most", hundredths(l.MaxX))
	case training.LackWayIn:
		out = w.Say("lack.way_in", "at", at)
	default:
		out = w.Say("lack.ground", "at", at)
		if l.NextM > l.DistM {
			out = w.Say("lack.ground.next", "at", at, "next", w.Own(l.NextM))
		}
		if l.Idle > 0 {
			out += " " + w.Say("lack.idle", "n", l.Idle)
		}
	}
	if i := l.Instead; i != nil {
		out += " " + w.Say("lack.instead", "name", i.Watched.Name, "street", i.Street, "distance", w.Own(i.DistM), "when", w.hour(i.Arrive))
	}
	return out
}

func hundredths(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }

// Expect tells what a stay is expected to show: "Expect about 6, 20 seconds to 40
// seconds each."
func (w Words) Expect(s *training.Showing) string {
	low, high := w.seconds(s.LastsLowS), w.seconds(s.LastsHighS)
	if s.Number < 1 {
		return w.Say("stay.expect.few", "low", low, "high", high)
	}
	return w.Say("stay.expect", "n", math.Round(s.Number), "low", low, "high", high)
}

// gradeRoomM is the room that the third letter asks for beside a place.
const gradeRoomM = 20

// Grade tells what the letter of a place's ways out means.
func (w Words) Grade(g training.Grade) string {
	return w.Say("grade."+string(g), "room", w.Own(gradeRoomM))
}

// Order tells what every step of a sequence keeps.
func (w Words) Order(o training.Strictness) string { return w.Say("order." + string(o)) }

// Shortage tells why dogs are left in, in one or more sentences.
func (w Words) Shortage(s *outing.Shortage) string {
	dogs := strings.Join(s.Left, ", ")
	var out []string
	switch s.Cause {
	case outing.ShortOfGround:
		out = append(out, w.Say("outing.short.ground", "dogs", s.Bare))
	case outing.ShortOfPeople:
		out = append(out, w.Say("outing.short.people", "dogs", dogs))
		for _, h := range s.Hands {
			out = append(out, w.Say("outing.short.hands", "dogs", h.Dogs, "who", w.Say("outing.exp."+h.Least.String()), "people", h.People))
		}
	case outing.ShortOfRules:
		out = append(out, w.Say("outing.short.rules", "dogs", dogs))
	case outing.ShortOfGate:
		out = append(out, w.Say("outing.short.gate", "dogs", dogs, "most", s.Gate.Walks))
	default:
		for i := range s.Blocked {
			if b := &s.Blocked[i]; len(b.By) > 0 {
				out = append(out, w.Say("outing.short.pairs", "dog", b.Dog, "by", b.By[0].Dog, "need", w.Own(b.By[0].NeedM)))
			} else {
				out = append(out, w.Say("outing.short.room", "dog", b.Dog))
			}
		}
	}
	return strings.Join(out, " ")
}

// Help tells a change with which all dogs are served, without a full stop.
func (w Words) Help(h *outing.Help) string {
	switch h.What {
	case outing.HelpMinutes:
		return w.Say("outing.help.minutes", "n", h.Minutes)
	case outing.HelpTogether:
		return w.Say("outing.help.together", "a", h.Dogs[0], "b", h.Dogs[1])
	case outing.HelpWithout:
		return w.Say("outing.help.without", "dog", h.Dogs[0])
	}
	return w.Say("outing.help." + string(h.What))
}

// OutingRule tells what handlers must do for dogs to stay apart.
func (w Words) OutingRule(s outing.Slack) string {
	switch s {
	case outing.Free, outing.Printed:
		return w.Say("outing.rule." + string(s))
	}
	return w.Say("outing.rule")
}

// Verdict tells what the check of a timetable that begins then has found.
func (w Words) Verdict(r *replay.Report, start time.Time) string {
	worst := r.Worst()
	switch {
	case r.ZoneS > 0:
		return w.Say("outing.verdict.zone", "runs", r.Runs)
	case len(r.Breaches) > 0:
		b := &r.Breaches[0]
		return w.Say("outing.verdict.house", "runs", r.Runs, "what", w.Say("outing.broken."+string(b.Rule), "a", b.Dogs[0], "b", b.Dogs[1]))
	case worst == nil:
		return w.Say("outing.verdict.none", "runs", r.Runs)
	}
	at := w.Clock(start.Add(time.Duration(worst.AtS * float64(time.Second))))
	least, need := w.Own(math.Floor(worst.LeastM)), w.Own(worst.NeedM) // rounded down: so much is kept
	if worst.MarginM() < 0 {
		return w.Say("outing.verdict.broken", "runs", r.Runs, "a", worst.Dogs[0], "b", worst.Dogs[1], "least", least, "time", at, "need", need)
	}
	return w.Say("outing.verdict", "runs", r.Runs, "least", least, "need", need) + " " +
		w.Say("outing.verdict.pair", "a", worst.Dogs[0], "b", worst.Dogs[1], "time", at)
}

// Move tells what the rule of a training proposes, with what it rests on.
func (w Words) Move(m *learning.Move) string {
	return w.move([...]string{learning.Stay: "visits.proposal.stay", learning.On: "move.on", learning.Back: "move.back"}[m.Direction], m)
}

// move fills what a proposal rests on into a text that begins with it.
func (w Words) move(key string, m *learning.Move, more ...any) string {
	over := w.Say("visits.proposal.none")
	if m.WentOver > 0 {
		over = w.Say("visits.proposal.over", "n", m.WentOver)
	}
	if m.RefusedFood > 0 {
		over += ", " + w.Say("visits.proposal.refused", "n", m.RefusedFood)
	}
	if m.TurnedBack > 0 {
		over += ", " + w.Say("visits.proposal.turned", "n", m.TurnedBack)
	}
	return w.Say(key, append([]any{"visits", w.Say("visits.visits", "n", m.Visits), "handled", m.Handled, "of", m.Triggers, "over", over}, more...)...)
}

// Step is the visit of a sequence that a proposal leads to.
type Step struct {
	Number    int // from 1
	DistanceM float64
	Multiple  float64 // of the working distance
	Same      bool    // it is the visit that was next anyway
}

// MoveTo tells what is proposed for a sequence and where it leads; visits is how
// many were logged of the present step.
func (w Words) MoveTo(m *learning.Move, to Step, visits int) string {
	distance, multiple := w.Own(to.DistanceM), times(to.Multiple)
	switch {
	case visits == 0:
		return w.Say("move.next", "n", to.Number, "distance", distance, "times", multiple)
	case to.Same && m.Direction == learning.On:
		return w.move("visits.proposal.end", m)
	case to.Same && m.Direction == learning.Back:
		return w.move("visits.proposal.first", m)
	case m.Direction == learning.On:
		return w.move("visits.proposal.on", m, "times", multiple, "distance", distance)
	case m.Direction == learning.Back:
		return w.move("visits.proposal.back", m, "times", multiple, "distance", distance)
	}
	return w.move("visits.proposal.stay", m)
}
