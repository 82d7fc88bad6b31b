package wire

import (
	"errors"
	"fmt"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/training/setup"
)

// SetupBody asks for ground and minutes of a meeting with a known helper.
type SetupBody struct {
	From         LatLon       `json:"from" doc:"Where the drive begins: the door."`
	Dog          dogfile.File `json:"dog,omitempty,omitzero"`
	DogID        string       `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog, in place of dog; its cautions hold."`
	Bite         bool         `json:"bite_history,omitempty" doc:"A trainer must set steps nearer than 1.5 times the working distance."`
	Helper       HelperBody   `json:"helper,omitempty,omitzero"`
	Steps        []float64    `json:"steps,omitempty" maxItems:"6" doc:"The dog's lines in multiples of its working distance, each nearer than the one before; left out: 2, 1.5, 1.25, 1."`
	Modes        []string     `json:"modes,omitempty" maxItems:"4" doc:"What is done on each line: stand, side_by_side, passing (on the last two lines), approach; left out: the first three."`
	At           string       `json:"at,omitempty" doc:"When both stand on the first line, RFC 3339; left out: in an hour." example:"2026-11-28T08:30:00Z"`
	DriveMinutes float64      `json:"drive_minutes,omitempty" minimum:"0" maximum:"60" doc:"How far to drive; left out: 15."`
	LineM        float64      `json:"line_m,omitempty" minimum:"0" maximum:"80" doc:"Length of the lines; left out: 40."`
	MaxReactions float64      `json:"max_expected_reactions,omitempty" doc:"To everything else, in 25 minutes at the nearest line; left out: 0.2."`
	Ground       string       `json:"ground,omitempty" enum:"parks,green" doc:"Parks and pitches only, or grass as well of which the map does not tell whose it is; left out: parks."`
	Together     bool         `json:"together,omitempty" doc:"Ground with one way in for both, too: only the clock keeps them apart there."`
	Struck       []Circle     `json:"struck,omitempty" maxItems:"50" doc:"Ground not to be used."`
	Car          *LatLon      `json:"car,omitempty" doc:"Only the set-up that begins where this car is left, as an answer had it."`
	Units        string       `json:"units,omitempty" enum:"metric,us" doc:"Of the texts, pictures and sheets."`
}

// HelperBody is who is met.
type HelperBody struct {
	Kind          string `json:"kind,omitempty" doc:"A kind of trigger that moves; left out: dog_on_lead." example:"dog_on_lead"`
	Calmness      string `json:"calmness,omitempty" enum:"calm,usual,lively" doc:"A calm helper is worked with from 0.8 of the distance, a lively one from 1.3 (assumed); left out: usual."`
	DogID         string `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog as the helper: its name, muzzle training and bite history hold."`
	Name          string `json:"name,omitempty" maxLength:"80" doc:"What the helper is called, of one that is not kept." example:"Tilly"`
	MuzzleTrained bool   `json:"muzzle_trained,omitempty" doc:"The helper dog wears a muzzle calmly, as it was taught to."`
	BiteHistory   bool   `json:"bite_history,omitempty" doc:"The helper dog has bitten."`
	TrainerWord   string `json:"trainer_word,omitempty" maxLength:"80" doc:"Id of what a trainer said in writing (POST /v1/dogs/{id}/words) of this dog and this helper. Needed where one of the two has bitten and one of them is not muzzle-trained."`
}

// kind is the kind of the helper. Faults are fault.Problems.
func (b *HelperBody) kind() (exposure.Kind, error) {
	if b.Kind == "" {
		return exposure.DogOnLead, nil
	}
	k, err := exposure.ParseKind(b.Kind)
	if err != nil {
		return k, fault.Problems{{Pointer: "/helper/kind", Value: fmt.Sprintf("%q", b.Kind), Mend: "name a kind of trigger: " + err.Error()}}
	}
	return k, nil
}

// Who is what is said of the helper itself; a kept dog and a trainer's word are left to be
// filled in.
func (b *HelperBody) Who() setup.Helper {
	return setup.Helper{Name: b.Name, ID: b.DogID, MuzzleTrained: b.MuzzleTrained, Bite: b.BiteHistory}
}

// TrainerWord is what a trainer said in writing.
type TrainerWord struct {
	ID   string `json:"id"`
	By   string `json:"by" example:"Robin"`
	At   string `json:"at"`
	Text string `json:"text" doc:"As the sheets print it, with who said it and when."`
}

func newTrainerWord(x *setup.Word, words briefing.Words) *TrainerWord {
	if x == nil {
		return nil
	}
	return &TrainerWord{ID: x.ID, By: x.By, At: x.At.Format(time.RFC3339), Text: words.SetupWord(x)}
}

// Wish turns what was sent into what a search understands, but for the dog. Faults are
// fault.Problems.
func (b *SetupBody) Wish(f plane.Frame, zone *time.Location, now time.Time) (setup.Wish, error) {
	w := setup.Wish{Calm: setup.Calmness(b.Helper.Calmness), Helper: b.Helper.Who(), Steps: b.Steps, LineM: b.LineM, MaxX: b.MaxReactions,
		Ground: setup.Ground(b.Ground), Together: b.Together, At: now.In(zone).Truncate(time.Minute).Add(time.Hour)}
	var wrong fault.Problems
	kind, err := b.Helper.kind()
	if !errors.As(err, &wrong) {
		w.Kind = kind
	}
	if b.At != "" {
		t, err := time.Parse(time.RFC3339, b.At)
		if err != nil {
			wrong = append(wrong, fault.Problem{Pointer: "/at", Value: fmt.Sprintf("%q", b.At), Mend: "give a time with its zone, like 2026-11-28T08:30:00Z"})
		}
		w.At = t.In(zone)
	}
	for _, m := range b.Modes {
		w.Modes = append(w.Modes, setup.Mode(m))
	}
	for _, c := range b.Struck {
		w.Struck = append(w.Struck, reach.Circle{At: c.At.In(f), RadiusM: c.RadiusM})
	}
	if b.Car != nil {
		at := b.Car.In(f)
		w.Car = &at
	}
	if len(wrong) > 0 {
		return w, wrong
	}
	return w, nil
}

// SetupSheetBody asks for the sheets of one set-up.
type SetupSheetBody struct {
	SetupBody
	Role  string `json:"role,omitempty" enum:"dog,helper" doc:"Whose sheet; left out: both."`
	Paper string `json:"paper,omitempty" enum:"a4,letter" doc:"Left out: A4."`
}

// SetupPictureBody asks for the ground of one set-up drawn.
type SetupPictureBody struct {
	SetupBody
	Role     string  `json:"role,omitempty" enum:"dog,helper" doc:"Whose lines are thick; left out: both."`
	Theme    string  `json:"theme,omitempty" enum:"light,dark,print"`
	WidthPX  float64 `json:"width_px,omitempty" minimum:"0" maximum:"2000"`
	HeightPX float64 `json:"height_px,omitempty" minimum:"0" maximum:"2000"`
}

// SetupList is what a search for set-ups found.
type SetupList struct {
	At          string   `json:"at" doc:"When both stand on the first line."`
	WorkingM    float64  `json:"working_m" doc:"The dog's working distance, for this helper."`
	Setups      []Setup  `json:"setups" doc:"Best first, each on ground of its own."`
	InReach     int      `json:"in_reach" doc:"Places for a car with open ground within the drive."`
	Quiet       int      `json:"quiet" doc:"Of them where little enough else comes near."`
	LookedAt    int      `json:"looked_at"`
	Laid        int      `json:"laid" doc:"That have room for the lines and a way in for each."`
	Lack        string   `json:"lack,omitempty" doc:"Why there is none."`
	Assumed     []string `json:"assumed"`
	Cautions    []string `json:"cautions"`
	Muzzles     []string `json:"muzzles,omitempty" doc:"Who is muzzle-trained and who is not, where one of the two has bitten."`
	Attribution string   `json:"attribution" example:"© OpenStreetMap contributors"`

	Word *TrainerWord `json:"word,omitempty" doc:"What a trainer said in writing, where the meeting rests on it."`
}

// Setup is ground for a meeting, and its minutes.
type Setup struct {
	Car          LatLon       `json:"car" doc:"Where the dog's car is left."`
	Place        string       `json:"place,omitempty" doc:"What the ground or its car park is called, or the nearest street."`
	DriveMinutes float64      `json:"drive_minutes"`
	Other        float64      `json:"other_reactions" doc:"Expected reactions to everything else in 25 minutes at the nearest line."`
	Else         []SetupElse  `json:"else" doc:"What that comes from, most first."`
	Apart        bool         `json:"apart" doc:"Both ways in keep away from each other, whoever is late."`
	Public       bool         `json:"public" doc:"All lines lie in parks or on pitches; what is allowed there the map does not say."`
	LeastM       float64      `json:"least_m" doc:"Between the ways of the two, in whatever minute they walk."`
	HelperLine   LineString   `json:"helper_line"`
	Lines        []SetupLine  `json:"lines" doc:"The dog's, farthest first."`
	DogIn        LineString   `json:"dog_in" doc:"From the car to the first line."`
	HelperIn     LineString   `json:"helper_in"`
	Screen       *Position    `json:"screen,omitempty" doc:"Out of the helper's sight, near the first line; left out: the car."`
	Exits        int          `json:"exits" doc:"Of three directions in which the dog can be led away."`
	Phases       []SetupPhase `json:"phases"`
	Dog          []SetupEntry `json:"dog"`
	Helper       []SetupEntry `json:"helper"`
	Replay       *SetupReplay `json:"replay,omitempty" doc:"Of the best one: both timetables walked late, slow and fast by code that shares nothing with what laid them out."`
	Ground       string       `json:"ground" doc:"What is known of the ground."`
}

// SetupElse is what else comes near.
type SetupElse struct {
	Kind      string  `json:"kind"`
	Source    string  `json:"source,omitempty"`
	DistanceM float64 `json:"distance_m"`
	Reactions float64 `json:"reactions"`
}

// SetupLine is a line of the dog.
type SetupLine struct {
	Multiple  float64    `json:"multiple"`
	DistanceM float64    `json:"distance_m" doc:"Nobody is nearer on it; it lies 4 m farther off."`
	Line      LineString `json:"line"`
}

// SetupPhase is what both do on a line.
type SetupPhase struct {
	From      string  `json:"from"`
	To        string  `json:"to"`
	Mode      string  `json:"mode" enum:"stand,side_by_side,passing,approach"`
	Line      int     `json:"line" doc:"From 1."`
	DistanceM float64 `json:"distance_m" doc:"That holds meanwhile."`
}

// SetupEntry is a line of a timetable.
type SetupEntry struct {
	NotBefore string `json:"not_before"`
	Text      string `json:"text"`
}

// SetupReplay is what the replay found.
type SetupReplay struct {
	Runs   int     `json:"runs"`
	LeastM float64 `json:"least_m"`
	Margin float64 `json:"least_margin_m" doc:"Over the distance that held in that minute."`
	LooseM float64 `json:"without_clock_m" doc:"The nearest when nobody heeds a clock."`
	Text   string  `json:"text"`
}

// SetupAssumptions is what every set-up rests on.
func SetupAssumptions(words briefing.Words) []string {
	return []string{words.Say("setup.assumed.ground"), words.Say("setup.assumed.helper"), words.Say("setup.assumed.clock"), words.Say("setup.assumed.else")}
}

// NewSetupList encodes what a search found, in the words given; proof is of the first, and
// may be nil.
func NewSetupList(found *setup.Found, w *setup.Wish, snap *snapshot.Snapshot, proof *setup.Proof, words briefing.Words) SetupList {
	out := SetupList{At: w.At.Format(time.RFC3339), WorkingM: round(found.WorkingM, 1), Setups: []Setup{}, InReach: found.InReach, Quiet: found.Quiet,
		LookedAt: found.LookedAt, Laid: found.Laid, Assumed: SetupAssumptions(words), Attribution: Attribution,
		Cautions: []string{words.Say("setup.caution"), words.Say("caution.professional"), words.Say("sure.caution")},
		Muzzles:  words.SetupMuzzles(w), Word: newTrainerWord(w.Standing(), words)}
	if len(found.Setups) == 0 {
		out.Lack = words.SetupLack(found)
	}
	for i := range found.Setups {
		e := newSetup(&found.Setups[i], w, snap, words)
		if i == 0 && proof != nil {
			e.Replay = &SetupReplay{Runs: proof.Runs, LeastM: round(proof.LeastM, 1), Margin: round(proof.MarginM, 1), LooseM: round(proof.LooseM, 1),
				Text: words.SetupProof(&found.Setups[i], proof)}
		}
		out.Setups = append(out.Setups, e)
	}
	return out
}

func newSetup(s *setup.Setup, w *setup.Wish, snap *snapshot.Snapshot, words briefing.Words) Setup {
	f := snap.Frame
	minute := func(after int) string { return w.At.Add(time.Duration(after) * time.Minute).Format(time.RFC3339) }
	out := Setup{Car: NewLatLon(f, s.Car), Place: s.Place, DriveMinutes: round(s.DriveS/60, 0), Other: round(s.X, 3), Else: []SetupElse{}, Apart: s.Apart, Public: s.Public(),
		LeastM: round(s.LeastM, 1), HelperLine: newLineString(f, s.Course.Helper), DogIn: newLineString(f, s.DogIn), HelperIn: newLineString(f, s.HelperIn),
		Exits: s.Exits, Phases: []SetupPhase{}, Ground: words.SetupGround(s)}
	if s.Screen != nil {
		at := NewPosition(f, *s.Screen)
		out.Screen = &at
	}
	for _, e := range s.Else {
		x := SetupElse{Kind: e.Kind.String(), DistanceM: round(e.DistM, 0), Reactions: round(e.X, 3)}
		if e.Source >= 0 {
			x.Source = snap.Field.Source(e.Source).Label()
		}
		out.Else = append(out.Else, x)
	}
	for i := range s.Lines {
		l := &s.Lines[i]
		out.Lines = append(out.Lines, SetupLine{Multiple: l.Multiple, DistanceM: round(l.NeedM, 1), Line: newLineString(f, l.At)})
	}
	for _, p := range s.Clock.Phases {
		out.Phases = append(out.Phases, SetupPhase{From: minute(p.FromMin), To: minute(p.ToMin), Mode: string(p.Mode), Line: p.Line + 1, DistanceM: round(p.NeedM, 1)})
	}
	out.Dog, out.Helper = entries(s, setup.DogSide, w.At, words), entries(s, setup.HelperSide, w.At, words)
	return out
}

func entries(s *setup.Setup, role setup.Role, at time.Time, words briefing.Words) (out []SetupEntry) {
	for _, l := range words.Setup(s, role, at) {
		out = append(out, SetupEntry{l.When, l.What})
	}
	return out
}
