package learning

import (
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
)

func fern() Distances {
	return Distances{
		"dogs":  {Need: exposure.Need{WorkingM: 31, ReactionM: 13}, Prior: Said(exposure.Need{WorkingM: 38, ReactionM: 15})}, // 31 m was accepted since
		"adult": {Calm: true},
	}
}

// TestEvidence: what is learnt from starts at what was said, not at what was
// accepted since, or the same walks would count twice.
func TestEvidence(t *testing.T) {
	m := Meeting{Name: "dog_on_lead", Near: exactly(20), Outcome: TookFood}
	met := []Meeting{m, m, m, m, m, m, m, m}
	met[1].Near = Near{Known: true, Bound: NearerThan, M: 38}
	met[2].Name, met[2].Sudden = "dogs", true
	met[3].Name = "adult"  // calm about: nothing to learn
	met[4].Name = "child"  // no distances: nothing to start from
	met[5].Near = Near{}   // nobody knows how near
	met[6].Name = ""       // a draft
	met[7].Name = "unused" // a name no longer in use
	starts, rows := fern().evidence(met)
	want := []Encounter{
		{Kind: "dog_on_lead", Category: "dogs", DistanceM: 20, Outcome: TookFood},
		{Kind: "dog_on_lead", Category: "dogs", DistanceM: 38, Bound: NearerThan, Outcome: TookFood},
		{Category: "dogs", DistanceM: 20, Outcome: TookFood, Sudden: true},
	}
	if !slices.Equal(rows, want) {
		t.Errorf("rows %+v, want %+v", rows, want)
	}
	said := exposure.Need{WorkingM: 38, ReactionM: 15}
	if wantStarts := []Intake{{"dog_on_lead", "dogs", said, DefaultIntakeLogSD}, {"", "dogs", said, DefaultIntakeLogSD}}; !slices.Equal(starts, wantStarts) {
		t.Errorf("starts %+v, want the kind that was met and the category: %+v", starts, wantStarts)
	}
}

// TestOffers: a dog that copes nearer than its plans hold gets an offer for what was
// met, by name, from what it holds now; too little evidence claims nothing.
func TestOffers(t *testing.T) {
	var met []Meeting
	for i := range 48 {
		m := Meeting{Name: "dog_on_lead", When: today.Add(-time.Duration(i) * 12 * time.Hour), Near: exactly(float64(6 + i%20*2)), Outcome: TookFood}
		if m.Near.M < 12 {
			m.Outcome = WentOver
		}
		met = append(met, m)
	}
	offers, err := Offers(fern(), met, today, 60*24*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	if len(offers) != 2 || offers[0].Name != "dog_on_lead" || offers[1].Name != "dogs" {
		t.Fatalf("offers %+v", offers)
	}
	if o := offers[0]; o.Few != nil || o.Proposal.Change != Nearer || o.Now.WorkingM != 31 || o.Proposal.From != o.Now.Need || o.Proposal.To.WorkingM >= 31 {
		t.Errorf("offer %+v", o)
	}
	if o := offers[1]; o.Few == nil || o.Few.Need != defaultSettings().Need || o.Now.WorkingM != 31 {
		t.Errorf("nothing was logged of dogs in general: %+v", o)
	}
	// What was met long ago counts for nothing at this half-life, and in full at a long one.
	for i := range met {
		met[i].When = met[i].When.Add(-400 * 24 * time.Hour)
	}
	if offers, err = Offers(fern(), met, today, 30*24*time.Hour); err != nil || offers[0].Few == nil || offers[0].Few.Have != 0 {
		t.Errorf("forgotten: %+v, %v", offers, err)
	}
	if offers, err = Offers(fern(), met, today, 4000*24*time.Hour); err != nil || offers[0].Few != nil {
		t.Errorf("remembered: %+v, %v", offers, err)
	}
	if none, err := Offers(Distances{"dogs": {Calm: true}}, met, today, time.Hour); err != nil || none == nil || len(none) != 0 {
		t.Errorf("a dog that is calm about everything: %+v, %v", none, err)
	}
	if _, err := Offers(fern(), met, today, 0); err == nil {
		t.Error("half-life 0 is taken")
	}
}

// TestSince: nothing that still counts is left out, whichever lasts longer.
func TestSince(t *testing.T) {
	if got := Since(today, 24*time.Hour); !got.Equal(today.Add(-trendWindow)) {
		t.Errorf("with a short half-life from %v", got)
	}
	half := 730 * 24 * time.Hour
	got := Since(today, half)
	old := Encounter{Kind: "dog_on_lead", Category: "dogs", DistanceM: 20, When: got.Add(-time.Hour)}
	s := defaultSettings()
	s.HalfLife = half
	k := Intake{Kind: "dog_on_lead", Category: "dogs"}.prior()
	if _, counts := k.row(old, today, s); counts {
		t.Errorf("an hour before %v still counts", got)
	}
	old.When = got.Add(time.Hour)
	if _, counts := k.row(old, today, s); !counts {
		t.Errorf("an hour after %v no longer counts", got)
	}
}
