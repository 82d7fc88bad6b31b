package wire

import (
	"strings"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/exposure/learning"
	"wideberth/routing/briefing"
)

// ProposalInfo is what a dog's meetings say of one of its distances. Nothing
// changes until a person accepts it.
type ProposalInfo struct {
	Name          string         `json:"name" doc:"Kind or category." example:"dog_on_lead"`
	Change        string         `json:"change" enum:"keep,nearer,farther,too_few" doc:"too_few: nothing is claimed."`
	FromWorkingM  float64        `json:"from_working_m"`
	ToWorkingM    float64        `json:"to_working_m"`
	FromReactionM float64        `json:"from_reaction_m"`
	ToReactionM   float64        `json:"to_reaction_m"`
	Evidence      *kept.Evidence `json:"evidence,omitempty"`
	Have          float64        `json:"have,omitempty" doc:"Of too_few: the effective number of encounters there are."`
	Need          float64        `json:"need,omitempty" doc:"And that are needed."`
	Belief        *Belief        `json:"belief,omitempty" doc:"What is believed now, from the first meeting on."`
	Stopped       bool           `json:"stopped,omitempty" doc:"Nearer would be proposed, but the dog snapped or bit: not before a trainer lifts its flag."`
	Text          string         `json:"text,omitempty" doc:"Belief and proposal in words."`
}

// Belief is what a dog's meetings make of its distances, on whatever evidence there is.
type Belief struct {
	WorkingM      float64 `json:"working_m" doc:"As likely nearer as farther."`
	WorkingLowM   float64 `json:"working_low_m" doc:"Lower end of the 80 % interval."`
	WorkingHighM  float64 `json:"working_high_m"`
	ReactionM     float64 `json:"reaction_m"`
	ReactionLowM  float64 `json:"reaction_low_m"`
	ReactionHighM float64 `json:"reaction_high_m"`
	Encounters    int     `json:"encounters" doc:"Meetings that it rests on."`
}

// NewProposalInfo tells what is believed of a distance and what is offered for it.
// Nothing nearer is, while the dog is flagged.
func NewProposalInfo(o *learning.Offer, flag *kept.Flag, words briefing.Words) ProposalInfo {
	info := offered(o)
	if e := o.Belief; e != nil {
		info.Belief = &Belief{WorkingM: round(e.WorkingM, 1), WorkingLowM: round(e.WorkingRangeM.Low, 1), WorkingHighM: round(e.WorkingRangeM.High, 1),
			ReactionM: round(e.ReactionM, 1), ReactionLowM: round(e.ReactionRangeM.Low, 1), ReactionHighM: round(e.ReactionRangeM.High, 1), Encounters: e.Encounters}
	}
	if info.Change == changeNames[learning.Nearer] && flag != nil {
		info.Change, info.Stopped, info.ToWorkingM, info.ToReactionM = changeNames[learning.Keep], true, info.FromWorkingM, info.FromReactionM
	}
	info.Text = info.text(flag, words)
	return info
}

// text says in words what is believed and proposed.
func (i *ProposalInfo) text(flag *kept.Flag, words briefing.Words) string {
	var said []string
	if b := i.Belief; b != nil {
		said = append(said, words.Say("memory.belief", "low", words.Own(b.WorkingLowM), "high", words.Own(b.WorkingHighM), "held", words.Own(i.FromWorkingM), "n", b.Encounters))
	}
	switch {
	case i.Stopped:
		said = append(said, words.Say("memory.stopped", "over", words.Say("outcome."+flag.Over)))
	case i.Change == changeNames[learning.Farther] && i.Evidence.Beyond > 0:
		said = append(said, words.Say("memory.farther.beyond", "to", words.Own(i.ToWorkingM), "n", i.Evidence.Beyond))
	case i.Change == changeNames[learning.Farther]:
		said = append(said, words.Say("memory.farther", "to", words.Own(i.ToWorkingM)))
	}
	return strings.Join(said, " ")
}

func offered(o *learning.Offer) ProposalInfo {
	have := o.Now
	info := ProposalInfo{Name: o.Name, Change: "too_few", FromWorkingM: have.WorkingM, ToWorkingM: have.WorkingM, FromReactionM: have.ReactionM, ToReactionM: have.ReactionM}
	if o.Few != nil {
		info.Have, info.Need = o.Few.Have, o.Few.Need
		return info
	}
	p := &o.Proposal
	info.Change = changeNames[p.Change]
	info.ToWorkingM, info.ToReactionM = round(p.To.WorkingM, 1), round(p.To.ReactionM, 1)
	info.Evidence = &kept.Evidence{WorkingLowM: p.WorkingRangeM.Low, WorkingHighM: p.WorkingRangeM.High, ReactionLowM: p.ReactionRangeM.Low,
		ReactionHighM: p.ReactionRangeM.High, EffectiveN: p.EffectiveN, Encounters: p.Encounters, Late: p.Late, LateBias: p.LateBias, Chance: p.Chance, Capped: p.Capped, Beyond: p.Beyond}
	return info
}

var changeNames = map[learning.Change]string{learning.Keep: "keep", learning.Nearer: "nearer", learning.Farther: "farther"}

// ProgressBody is what was met on visits, oldest first.
type ProgressBody struct {
	Visits []VisitLog         `json:"visits" minItems:"1" maxItems:"500"`
	Rule   *kept.TrainingRule `json:"rule,omitempty" doc:"When to move on; left out: common practice."`
}

// VisitLog counts one visit by trigger.
type VisitLog struct {
	Step int `json:"step" doc:"Place in the sequence; larger is harder."`
	VisitCount
}

// MoveInfo is what the rule proposes; a person decides.
type MoveInfo struct {
	Proposal    string `json:"proposal" enum:"stay,on,back"`
	Text        string `json:"text" doc:"The proposal with what it rests on."`
	Visits      int    `json:"visits" doc:"That were looked at."`
	Triggers    int    `json:"triggers"`
	Handled     int    `json:"handled"`
	TurnedBack  int    `json:"turned_back"`
	RefusedFood int    `json:"refused_food"`
	WentOver    int    `json:"went_over" doc:"In the last visit."`
}

// NewMoveInfo tells what a rule proposes.
func NewMoveInfo(m *learning.Move, words briefing.Words) MoveInfo {
	proposal := [...]string{learning.Stay: "stay", learning.On: "on", learning.Back: "back"}[m.Direction]
	return MoveInfo{proposal, words.Move(m),
		m.Visits, m.Triggers, m.Handled, m.TurnedBack, m.RefusedFood, m.WentOver}
}

// VisitDone counts what was logged of one visit.
type VisitDone struct {
	Walk    string    `json:"walk" doc:"Id of the walk that it was logged as."`
	Visit   int       `json:"visit" doc:"Its number in the sequence, from 1."`
	Started time.Time `json:"started"`
	VisitCount
}

// VisitCount counts a visit by trigger.
type VisitCount struct {
	Triggers    int `json:"triggers" doc:"Met while working."`
	Handled     int `json:"handled" doc:"Food taken and turned back, prompted or not."`
	TurnedBack  int `json:"turned_back,omitempty" doc:"Of them unprompted, the sign of learning."`
	RefusedFood int `json:"refused_food,omitempty"`
	WentOver    int `json:"went_over,omitempty"`
}

// NewVisitCount is the JSON form of a count.
func NewVisitCount(n learning.Visit) VisitCount {
	return VisitCount{n.Triggers, n.Handled, n.TurnedBack, n.RefusedFood, n.WentOver}
}

// Counted is the count as learning takes it, of a step of a sequence.
func (v *VisitCount) Counted(step int) learning.Visit {
	return learning.Visit{Step: step, Triggers: v.Triggers, Handled: v.Handled, TurnedBack: v.TurnedBack, RefusedFood: v.RefusedFood, WentOver: v.WentOver}
}

// SequenceProgress is what the rule says to the kept logs of a sequence. A person
// decides.
type SequenceProgress struct {
	Step     int    `json:"step" doc:"The visit that is next, from 1."`
	Of       int    `json:"of"`
	Paused   bool   `json:"paused"`
	To       int    `json:"to" doc:"The visit that is proposed; step where it is to stay."`
	RuleFrom string `json:"rule_from" enum:"sequence,account,default"`
	MoveInfo
	Rule    kept.TrainingRule `json:"rule"`
	Done    []VisitDone       `json:"done" doc:"All that were logged, oldest first."`
	Caution string            `json:"caution"`
}

// DecisionBody is what a person decides.
type DecisionBody struct {
	Version int64  `json:"version" doc:"Of the document that was looked at."`
	To      int    `json:"to,omitempty" minimum:"0" maximum:"99" doc:"The visit that is next from now, from 1; left out: as it was."`
	Paused  *bool  `json:"paused,omitempty" doc:"Pause, or go on; left out: as it was."`
	Note    string `json:"note,omitempty" maxLength:"1000"`
}

// CopyBody asks for a sequence for another dog.
type CopyBody struct {
	Dog   string   `json:"dog" minLength:"1" maxLength:"80" doc:"Id of the dog that it is for."`
	ID    string   `json:"id,omitempty" maxLength:"80" doc:"Of the new document; left out: one of its own."`
	Times []string `json:"times,omitempty" maxItems:"24" doc:"When one could stand there, RFC 3339; left out: the times of the old one that are still to come, else four times a day on the next five days."`
}
