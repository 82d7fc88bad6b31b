package kept

import (
	"fmt"
	"slices"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// Change is one entry in the history of a dog's distances.
type Change struct {
	ID       string    `json:"id"`
	At       time.Time `json:"at"`
	Person   string    `json:"person,omitempty" doc:"Who changed it."`
	Name     string    `json:"name" doc:"Kind or category." example:"dog_on_lead"`
	Under    string    `json:"under" doc:"What the distance stood under before: the name itself, or the category it inherited from; empty where it had none."`
	From     Distance  `json:"from"`
	To       Distance  `json:"to"`
	Why      string    `json:"why" enum:"said,learnt,reverted"`
	Evidence *Evidence `json:"evidence,omitempty"`
	Reverts  string    `json:"reverts,omitempty" doc:"The change that this one takes back."`
}

// Evidence is what an accepted proposal rested on.
type Evidence struct {
	WorkingLowM   float64 `json:"working_low_m" doc:"Lower end of the 80 % interval."`
	WorkingHighM  float64 `json:"working_high_m"`
	ReactionLowM  float64 `json:"reaction_low_m"`
	ReactionHighM float64 `json:"reaction_high_m"`
	EffectiveN    float64 `json:"effective_encounters" doc:"Older ones count less."`
	Encounters    int     `json:"encounters"`
	Late          int     `json:"late" doc:"Of them noticed late or sudden."`
	LateBias      bool    `json:"late_bias" doc:"Most were noticed late: the distance may be too low."`
	Chance        float64 `json:"chance" doc:"That the true distance lies on the proposed side of the present one."`
	Capped        bool    `json:"capped" doc:"The evidence points nearer still, but one step comes no nearer than by a quarter; or farther still, but no farther than one and a half times where the dog was seen to react."`
	Beyond        int     `json:"beyond,omitempty" doc:"Reactions beyond the working distance that held."`
}

// Profile is what people say of a dog.
type Profile struct {
	Name     string                   `json:"name" maxLength:"80" example:"Fern"`
	SpeedMPS *float64                 `json:"speed_mps,omitempty" doc:"Usual walking pace in m/s; 1.2 if left out." example:"1.1"`
	Needs    map[string]*dogfile.Need `json:"needs,omitempty" doc:"Distances by kind or category, in metres; null for one that the dog is calm about."`
	Intake   map[string]Answers       `json:"intake,omitempty" doc:"Plain answers by kind or category, from which distances are derived; needs go first."`
	Drive    string                   `json:"drive,omitempty" enum:"fear,frustration,excitement,unknown" doc:"What drives it: for the advice only, not for the figures."`
	Food     string                   `json:"food,omitempty" maxLength:"200" doc:"What it works for." example:"cheese"`
	RewardS  float64                  `json:"reward_interval_s,omitempty" minimum:"0" maximum:"60" doc:"Seconds between pieces of food while a trigger lasts; 2 to 4 is common practice." example:"3"`
	Cautions dogfile.Cautions         `json:"cautions,omitempty"`
}

// Distance is what the program holds for a kind or category of a dog.
type Distance struct {
	Calm bool `json:"calm,omitempty" doc:"The dog does not react to it."`
	exposure.Need
	From  string    `json:"from" enum:"said,intake,unknown,learnt" doc:"Where it comes from; unknown is the stated wide default."`
	Since time.Time `json:"since"`
	Prior Prior     `json:"prior" doc:"What was said before any walk: what learning starts from."`
}

// Dog is a dog as it is kept.
type Dog struct {
	ID        string              `json:"id"`
	Version   int64               `json:"version" doc:"Goes up with each change; send it back to change the dog."`
	Created   time.Time           `json:"created"`
	Updated   time.Time           `json:"updated"`
	Profile   Profile             `json:"profile"`
	Distances map[string]Distance `json:"distances" doc:"By kind or category: what plans use now."`
	Flag      *Flag               `json:"flag,omitempty" doc:"It snapped or bit on a walk; a trainer lifts it."`
	Lifted    *time.Time          `json:"flag_lifted,omitempty" doc:"What was logged before this moment raises no flag."`
}

// Flag says that a dog snapped or bit at a meeting. Until a trainer lifts it, it counts
// as a bite history and nothing nearer is proposed.
type Flag struct {
	Over      string    `json:"over" enum:"snap,bite"`
	At        time.Time `json:"at"`
	Encounter string    `json:"encounter" doc:"The meeting."`
}

// Harm tells outcomes that flag a dog.
func Harm(over string) bool { return over == "snap" || over == "bite" }

// BiteHistory says whether the rules of a dog that has bitten hold for it.
func (d *Dog) BiteHistory() bool { return d.Profile.Cautions.BiteHistory || d.Flag != nil }

// Bounds of texts and intervals of a profile.
const (
	mostFood    = 200
	mostMedical = 500
	mostRewardS = 60
)

var drives = []string{"", "fear", "frustration", "excitement", "unknown"}

// Problems names what cannot be stored of a profile; its name, pace, needs and intake
// are the concern of whoever derives distances from them.
func (p *Profile) Problems() (wrong fault.Problems) {
	if !slices.Contains(drives, p.Drive) {
		wrong = append(wrong, fault.Problem{Pointer: "/drive", Value: p.Drive, Mend: "give fear, frustration, excitement or unknown"})
	}
	if !(p.RewardS >= 0 && p.RewardS <= mostRewardS) {
		wrong = append(wrong, fault.Problem{Pointer: "/reward_interval_s", Value: fmt.Sprint(p.RewardS), Mend: fmt.Sprintf("give seconds up to %d, or leave it out", mostRewardS)})
	}
	wrong = append(wrong, checkText("/food", p.Food, mostFood, false)...)
	return append(wrong, checkText("/cautions/medical", p.Cautions.Medical, mostMedical, false)...)
}

// Model is the dog as the exposure model wants it.
func (d *Dog) Model() *exposure.Dog {
	out := &exposure.Dog{Name: d.Profile.Name, ByCategory: map[exposure.Category]exposure.Need{}, ByKind: map[exposure.Kind]exposure.Need{}, AssumedR: map[string]struct{}{}}
	if d.Profile.SpeedMPS != nil {
		out.SpeedMPS = *d.Profile.SpeedMPS
	}
	out.Food, out.Cautions = d.Profile.Food, exposure.Cautions(d.Profile.Cautions)
	out.Cautions.BiteHistory = d.BiteHistory()
	for name, x := range d.Distances {
		if k, err := exposure.ParseKind(name); err == nil {
			out.ByKind[k] = x.Need
		} else if c, err := exposure.ParseCategory(name); err == nil {
			out.ByCategory[c] = x.Need
		}
		if said := d.Profile.Needs[name]; x.From == "said" && said != nil && said.ReactionM == nil {
			out.AssumedR[name] = struct{}{}
		}
	}
	return out
}

// Of gives the distance that counts for a kind or category and the name that it
// stands under: the kind's own, else its category's. False if the dog has none.
func (d *Dog) Of(name string) (Distance, string, bool) { return exposure.Inherited(d.Distances, name) }

// Check says what cannot be stored of a profile with the distances that follow from
// it. One without any would be a dog that reacts to nothing.
func (p *Profile) Check(said map[string]Distance) error {
	wrong := append(CheckName("/name", p.Name, true), p.Problems()...)
	if len(said) == 0 {
		wrong = append(wrong, fault.Problem{Pointer: "/needs", Mend: "empty: say something of at least one kind or category"})
	}
	return wrong.Err()
}

// Names says that a profile has a word on a kind or category itself.
func (p *Profile) Names(name string) bool {
	_, need := p.Needs[name]
	_, intake := p.Intake[name]
	return need || intake
}

// Answers are what a person says of a dog and one kind or category before any
// walk. Null is "don't know", a valid answer. The order is that of a trigger
// coming closer: each distance is at most the one before.
type Answers struct {
	NoticesM     *float64 `json:"notices_at" required:"false" doc:"From how far the dog notices; null if not known." example:"60"`
	TakesFoodM   *float64 `json:"takes_food_at" required:"false" doc:"From how far it still takes food and turns back." example:"40"`
	StopsEatingM *float64 `json:"stops_eating_at" required:"false" doc:"At how far it stops eating." example:"25"`
	ReactsM      *float64 `json:"reacts_at" required:"false" doc:"At how far it barks, lunges or freezes." example:"18"`
	Unit         string   `json:"unit,omitempty" enum:"m,ft" doc:"Of the four distances; metres if left out."`
}

// Prior is what was said before any walk: distances in metres, how unsure they are
// as the standard deviation of their natural log, and whether anything was known.
type Prior struct {
	exposure.Need
	LogSD float64 `json:"log_sd" doc:"How unsure, as the standard deviation of the natural log of the working distance."`
	Known bool    `json:"known" doc:"Whether anything was said; else the stated wide default."`
}
