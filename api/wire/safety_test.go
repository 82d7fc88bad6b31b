package wire_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// TestHelpersAreRead: what is said of a helper comes through from a set-up and from a
// sequence alike; a kind that is none is a fault at its own place in both.
func TestHelpersAreRead(t *testing.T) {
	f := maptest.Town(t).Frame
	now := saturday(6, 0)
	h := wire.HelperBody{Kind: "bicycle", Calmness: "lively", Name: "Sam", MuzzleTrained: true, BiteHistory: true, TrainerWord: "w"}
	want := setup.Helper{Name: "Sam", MuzzleTrained: true, Bite: true} // the word is the store's to find
	one, err := (&wire.SetupBody{Helper: h}).Wish(f, time.UTC, now)
	if err != nil || one.Kind != exposure.Bicycle || one.Calm != setup.Lively || one.Helper != want {
		t.Errorf("%+v, %v", one, err)
	}
	b := wire.VisitsBody{Helper: &h}
	b.Kind = "dogs"
	many, err := b.Wish(f, time.UTC, now)
	if err != nil || many.Helper.Kind != exposure.Bicycle || many.Helper.Calm != setup.Lively || many.Helper.Who != want {
		t.Errorf("%+v, %v", many.Helper, err)
	}
	if one, err = (&wire.SetupBody{Helper: wire.HelperBody{DogID: "d"}}).Wish(f, time.UTC, now); err != nil || one.Kind != exposure.DogOnLead || one.Helper.ID != "d" {
		t.Errorf("left out: %+v, %v", one, err)
	}
	h.Kind = "tortoise"
	_, err = (&wire.SetupBody{Helper: h, At: "noon"}).Wish(f, time.UTC, now)
	toldAt(t, err, [2]string{"/helper/kind", `"tortoise"`}, [2]string{"/at", `"noon"`})
	_, err = b.Wish(f, time.UTC, now)
	toldAt(t, err, [2]string{"/helper/kind", `"tortoise"`})
}

// TestAWordDoesNotComeAlong: a sequence copied for another dog keeps its helper, and not what
// a trainer said of the first dog and that helper.
func TestAWordDoesNotComeAlong(t *testing.T) {
	q := wire.KeptSequence{Wish: wire.VisitsBody{Helper: &wire.HelperBody{Name: "Tilly", MuzzleTrained: true, TrainerWord: "w"}}}
	out := q.Copied(&wire.CopyBody{Dog: "other"}, saturday(6, 0))
	if out.Helper == nil || out.Helper.TrainerWord != "" || out.Helper.Name != "Tilly" || !out.Helper.MuzzleTrained || out.DogID != "other" {
		t.Errorf("%+v", out.Helper)
	}
	if q.Wish.Helper.TrainerWord != "w" {
		t.Error("the first dog has lost its word")
	}
}

// TestSafetyIsTold: a trainer's word and who is muzzle-trained stand in the answer for
// set-ups where they matter, and only there; a step with a helper can be asked for again
// with all that was said of it.
func TestSafetyIsTold(t *testing.T) {
	p, _ := planned(t)
	w := setup.Wish{Dog: maptest.Kessa(), Kind: exposure.DogOnLead, At: saturday(6, 30), Car: &plane.Point{}}
	word := &setup.Word{ID: "w", By: "Tess", At: saturday(5, 0), Text: "I hold the line."}
	w.Helper = setup.Helper{Name: "Tilly", Word: word}
	if out := wire.NewSetupList(&setup.Found{}, &w, p.Snapshot(), nil, briefing.Words{}); out.Word != nil || out.Muzzles != nil {
		t.Errorf("nobody has bitten: %+v, %v", out.Word, out.Muzzles)
	}
	w.Dog.Cautions.BiteHistory = true
	out := wire.NewSetupList(&setup.Found{}, &w, p.Snapshot(), nil, briefing.Words{})
	if out.Word == nil || out.Word.ID != "w" || out.Word.By != "Tess" || out.Word.At != "2026-11-28T05:00:00Z" || !strings.Contains(out.Word.Text, word.Text) || len(out.Muzzles) != 2 {
		t.Errorf("%+v, %v", out.Word, out.Muzzles)
	}
	clock := &setup.Clock{Dog: setup.Timetable{Entries: []setup.Entry{{Min: -8}}}, Helper: setup.Timetable{Entries: []setup.Entry{{Min: -20}}}}
	one := setup.Setup{Course: setup.Course{Helper: plane.Polyline{{}, {X: 9}}, DogIn: plane.Polyline{{}, {X: 9}}, HelperIn: plane.Polyline{{}, {X: 9}}, Lines: []setup.Line{{Multiple: 1, NeedM: 38, At: plane.Polyline{{}, {X: 9}}}}}, Clock: clock}
	v := training.Visit{Option: training.Option{Arrive: saturday(6, 30), Meeting: &training.Meeting{Wish: w, Setup: one}}, Earliest: saturday(6, 30).AddDate(0, 0, 14)}
	v.Vantage.Watched.Source = -1
	told := wire.NewVisit(&v, p.Land(), briefing.Words{})
	if told.Earliest != "2026-12-12T06:30:00Z" || told.Meeting == nil || told.Meeting.Word == nil || len(told.Meeting.Muzzles) != 2 {
		t.Fatalf("%q, %+v", told.Earliest, told.Meeting)
	}
	if h := told.Meeting.Ask.Helper; h != (wire.HelperBody{Kind: "dog_on_lead", Name: "Tilly", TrainerWord: "w"}) {
		t.Errorf("asked again with %+v", h)
	}
	v.Meeting.Wish.Helper = setup.Helper{ID: "d", Name: "Tilly", MuzzleTrained: true, Bite: true}
	if h := wire.NewVisit(&v, p.Land(), briefing.Words{}).Meeting.Ask.Helper; h != (wire.HelperBody{Kind: "dog_on_lead", DogID: "d"}) {
		t.Errorf("of a kept dog the store says the rest: %+v", h)
	}
	v.Earliest = time.Time{}
	if told = wire.NewVisit(&v, p.Land(), briefing.Words{}); told.Earliest != "" {
		t.Errorf("a visit by itself is due on %s", told.Earliest)
	}
}

// TestRespitesAreTold in sequences and timetables: the day, what it asks for, why, and what
// becomes of it.
func TestRespitesAreTold(t *testing.T) {
	p, _ := planned(t)
	day := time.Date(2026, 11, 28, 0, 0, 0, 0, time.UTC)
	rest := learning.Respite{Day: day, Rest: true, Times: 3}
	seq := wire.NewSequence(&training.Sequence{Respites: []learning.Respite{rest, {Day: day.AddDate(0, 0, 1), Times: 1}}, Lacks: []training.Lack{{Why: training.LackRest}, {Why: training.LackHourApart}}}, p.Land(), briefing.Words{})
	if len(seq.Respites) != 2 || seq.Respites[0].Day != "2026-11-28" || !seq.Respites[0].Rest || seq.Respites[1].Rest || !strings.Contains(seq.Respites[1].Text, "far steps only") {
		t.Errorf("%+v", seq.Respites)
	}
	if why := fmt.Sprint(seq.Lacks[0].Why, seq.Lacks[1].Why); why != "restone_hour" {
		t.Errorf("lacks %s", why)
	}
	tt := wire.NewTimetable(&outing.Timetable{Start: day.Add(9 * time.Hour), Resting: []string{"Oro"}, Respites: []outing.Respite{{Dog: "Oro", Respite: rest}, {Dog: "Bram", Respite: rest, Overruled: true}}}, p.Frame(), briefing.Words{})
	if len(tt.Respites) != 2 || tt.Respites[0].Dog != "Oro" || tt.Respites[0].Overruled || !tt.Respites[1].Overruled || tt.Respites[0].Text != seq.Respites[0].Text || !slices.Equal(tt.Resting, []string{"Oro"}) {
		t.Errorf("%+v", tt.Respites)
	}
	b := wire.OutingBody{Start: "2026-11-28T09:00:00Z", Dogs: []wire.OutingDog{{DogID: "d", Walks: true}, {DogID: "e"}}}
	o, err := b.Outing(p.Frame(), time.UTC)
	if err != nil || !o.Dogs[0].Walks || o.Dogs[1].Walks {
		t.Errorf("the coordinator's word: %v, %v, %v", o.Dogs[0].Walks, o.Dogs[1].Walks, err)
	}
}
