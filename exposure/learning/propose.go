package learning

import (
	"fmt"
	"math"
	"time"

	"wideberth/exposure"
)

// Trend is how a kind's distances move: the change of ln distance in 30 days.
// Below 0 the dog copes nearer. The slope of the curve is held fixed, so
// working and reaction distance move by the same factor.
type Trend struct {
	LogPerMonth float64
	Range       Interval // central 80 %
}

// trendWindow is how old a walk may be for a trend: older ones say nothing of where
// the dog is going.
const trendWindow = 6 * month

const (
	month = 30 * 24 * time.Hour
	// Standard deviations of the prior: where the curve lies now, and by how
	// much ln distance moves in a month (a fifth nearer or farther one month in
	// three). Our assumptions.
	trendLevelSD = 0.4
	trendSD      = 0.2
	z80          = 1.2815515655446004 // standard normal quantile of 0.9
)

// trend is a logistic regression of going over on time, with the curve's place
// and slope as offset:
//
//	logit P = b (ln R - ln d) + b u + b c t,   t in months from now, u ~ N(0, trendLevelSD^2), c ~ N(0, trendSD^2)
//
// Only measured or judged distances noticed in time are used, all in full:
// an old walk is what a trend is seen against. The interval is Laplace's.
func (k *kindRows) trend(seen []Encounter, e Estimate, now time.Time) Trend {
	l := logistic{PriorMean: []float64{0, 0}, PriorSD: []float64{trendLevelSD, trendSD}}
	lnR := math.Log(e.ReactionM)
	b := logOddsTenth / (math.Log(e.WorkingM) - lnR)
	for _, m := range seen {
		age := now.Sub(m.When)
		if age > trendWindow || m.Bound > About || k.late(m.FirstNoticeM, m.Sudden) {
			continue
		}
		over := 0.0
		if m.Outcome == WentOver {
			over = 1
		}
		l.Design = append(l.Design, []float64{b, -b * age.Hours() / month.Hours()})
		l.Offset = append(l.Offset, b*(lnR-math.Log(m.DistanceM)))
		l.Successes = append(l.Successes, over)
		l.Trials = append(l.Trials, 1)
	}
	none := Trend{Range: Interval{-z80 * trendSD, z80 * trendSD}}
	if len(l.Design) == 0 {
		return none
	}
	f, err := l.fit()
	if err != nil { // cannot be with a proper prior; then nothing is claimed
		return none
	}
	c, se := f.Coef[1], f.SE[1]
	return Trend{c, Interval{c - z80*se, c + z80*se}}
}

// Change is what a proposal would do to the working distance.
type Change uint8

const (
	Keep    Change = iota // the evidence does not contradict the present distance
	Nearer                // a smaller working distance
	Farther               // a larger working distance
)

// Present are the distances that a dog's plans use now.
type Present struct {
	Kind, Category string
	exposure.Need
	Beyond int // meetings at which the dog went over beyond the working distance, since that holds
}

// Proposal is the data of a sentence such as "from 38 m to 31 m, 80 % interval
// 26 to 37, from 23 encounters". It changes nothing by itself.
type Proposal struct {
	Kind, Category string
	Change         Change
	From, To       exposure.Need // now and as proposed; equal for Keep
	// Evidence as in Estimate.
	WorkingRangeM  Interval
	ReactionRangeM Interval
	EffectiveN     float64
	Encounters     int
	Late           int
	LateBias       bool
	Beyond         int // reactions beyond the present working distance
	Trend          Trend
	// Chance is the posterior probability that the true working distance lies
	// on the proposed side of the present one (for Keep: below it).
	Chance float64
	// Capped: the evidence points nearer still, but one proposal comes no nearer
	// than by a quarter; or farther still, but no farther than farthestLeap times
	// where the dog was seen to react.
	Capped bool
}

// When to propose, and what. It takes more to come nearer than to go farther,
// because an error nearer costs the dog a reaction and an error farther costs a
// detour. All are our assumptions.
const (
	// The present distance lies beyond the upper end of the 80 % interval.
	chanceNearer = 0.9
	// Likelier than not.
	chanceFarther = 0.5
	// The largest step nearer that a training plan takes too (common practice).
	largestStep = 0.25
	// With so many reactions beyond the working distance, or more, the evidence
	// need not be worth Settings.Need: "farther, now".
	promptReactions = 2
	// A step farther of less than this share is not worth a question.
	leastStep = 0.05
	// No farther than so many times the largest distance at which the dog reacted:
	// beyond that nobody has seen it react, and the curve alone would speak.
	farthestLeap = 1.5
	// The share of the posterior that what is proposed leaves below it: where an
	// error nearer costs twice as much as one farther the least cost is expected
	// at the quantile 2/3 (the loss of a quantile; Koenker & Bassett 1978,
	// Econometrica 46:33-50).
	proposedShare = 2.0 / 3
)

// propose compares what was learnt with the present distances of a kind. It
// returns *TooFew where the evidence is too little to propose anything, and an
// error naming field and mend for present distances that cannot be.
func (p Profile) propose(now Present) (Proposal, error) {
	if !(now.ReactionM > 0 && now.ReactionM < now.WorkingM && now.WorkingM <= exposure.MostMetM) {
		return Proposal{}, fmt.Errorf("present distances of kind %q: reaction %v m and working %v m; give 0 < reaction < working <= %v m",
			now.Kind, now.ReactionM, now.WorkingM, exposure.MostMetM)
	}
	e, err := p.believed(now.Category, now.Kind)
	if err != nil {
		return Proposal{}, err
	}
	out := Proposal{
		Kind: now.Kind, Category: now.Category,
		From: now.Need, To: now.Need,
		WorkingRangeM: e.WorkingRangeM, ReactionRangeM: e.ReactionRangeM,
		EffectiveN: e.EffectiveN, Encounters: e.Encounters, Late: e.Late, LateBias: e.LateBias, Beyond: now.Beyond,
		Trend: e.Trend, Chance: e.workingBelow(now.WorkingM),
	}
	enough := e.EffectiveN >= p.need
	switch {
	case enough && out.Chance >= chanceNearer:
		out.comeNearer(&e)
	case 1-out.Chance > chanceFarther && (enough || now.Beyond >= promptReactions):
		out.goFarther(&e)
	case !enough:
		return Proposal{}, &TooFew{now.Kind, e.EffectiveN, p.need}
	}
	return out, nil
}

// comeNearer proposes what was learnt, by a quarter nearer at most.
func (p *Proposal) comeNearer(e *Estimate) {
	to, now := e.cautious(), p.From
	p.To = exposure.Need{WorkingM: max(to.WorkingM, (1-largestStep)*now.WorkingM), ReactionM: max(to.ReactionM, (1-largestStep)*now.ReactionM)}
	p.Capped = p.To.WorkingM > to.WorkingM
	if p.To.WorkingM < now.WorkingM {
		p.Change = Nearer
	} else {
		p.To, p.Capped = now, false
	}
}

// goFarther proposes what was learnt, within farthestLeap of where the dog reacted;
// nothing where that is no farther.
func (p *Proposal) goFarther(e *Estimate) {
	to := e.cautious()
	if most := farthestLeap * e.FarthestReactionM; to.WorkingM > most {
		to, p.Capped = exposure.Need{WorkingM: most, ReactionM: to.ReactionM * most / to.WorkingM}, true
	}
	if to.WorkingM > (1+leastStep)*p.From.WorkingM {
		p.Change, p.Chance, p.To = Farther, 1-p.Chance, to
	} else {
		p.Capped = false
	}
}

// cautious are the distances to plan with: the quantile proposedShare of each.
func (e *Estimate) cautious() exposure.Need {
	return exposure.Need{WorkingM: math.Exp(e.working.quantiles(proposedShare)[0]), ReactionM: math.Exp(e.reaction.quantiles(proposedShare)[0])}
}
