package wire_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/counts"
	"wideberth/routing/escape"
	"wideberth/routing/gazetteer"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
)

// sound is what every answer must be: its words among those described, no list that is
// null, and numbers that JSON can write.
func sound(t *testing.T, form any) []byte {
	t.Helper()
	enums(t, "", reflect.ValueOf(form))
	text, err := json.Marshal(form)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(text, []byte(":null")) {
		t.Errorf("a null in %.400s", text)
	}
	return text
}

// onEarth wants a place within the bounds of RFC 7946, section 4: longitude first, both
// in degrees, told to a millionth.
func onEarth(t *testing.T, what string, at ...wire.Position) {
	t.Helper()
	for _, p := range at {
		for i, most := range [2]float64{180, 90} {
			if million := p[i] * 1e6; !(math.Abs(p[i]) <= most) || math.Abs(million-math.Round(million)) > 1e-3 {
				t.Errorf("%s at %v", what, p)
			}
		}
	}
}

// TestStreetsAboutAreGeoJSON: orb reads the ways about a door as an RFC 7946 collection
// of lines, each as long as the network has it, and each in one run, in which one way
// begins where the one before ends.
func TestStreetsAboutAreGeoJSON(t *testing.T) {
	p, _ := planned(t)
	dog := maptest.Kessa()
	ranked := p.Ranked(maptest.Door(p.Frame()), &dog, maptest.Morning, nil)
	out := wire.NewRankedStreets(ranked, p.Frame())
	text := sound(t, out)
	fc, err := geojson.UnmarshalFeatureCollection(text)
	if err != nil || len(fc.Features) != len(ranked.Edges) || len(fc.Features) < 50 || out.Truncated || out.Attribution != wire.Attribution {
		t.Fatalf("%d features of %d edges, %v", len(fc.Features), len(ranked.Edges), err)
	}
	for i, ft := range fc.Features {
		line, ok := ft.Geometry.(orb.LineString)
		e := &ranked.Edges[i]
		if !ok || len(line) != len(e.Line) || ft.Properties.MustInt("edge") != int(e.Edge) {
			t.Fatalf("feature %d is a %T of edge %v, want %d", i, ft.Geometry, ft.Properties["edge"], e.Edge)
		}
		onEarth(t, "an edge", out.Features[i].Geometry.Coordinates...)
		// a hazard by the second is told by ten minutes
		if x := ft.Properties.MustFloat64("reactions_in_ten_minutes"); math.Abs(x-600*e.HazardPerS) > 0.5e-4+1e-12 {
			t.Errorf("edge %d: %g in ten minutes, %g a second", e.Edge, x, e.HazardPerS)
		}
		if props := out.Features[i].Properties; math.Abs(props.RoomLeftM-e.LeftM) > 0.051 || math.Abs(props.RoomRightM-e.RightM) > 0.051 || math.Abs(props.SightM-e.SightM) > 0.51 || math.Abs(props.NoiseDB-e.LevelDB) > 0.051 {
			t.Errorf("edge %d: %+v of %+v", e.Edge, props, e)
		}
	}
	seen := make([]int, len(out.Features))
	for _, run := range out.Runs {
		var at wire.Position
		for k, n := range run.Edges {
			ft := &out.Features[max(n, -n)-1]
			seen[max(n, -n)-1]++
			line := slices.Clone(ft.Geometry.Coordinates)
			if n < 0 {
				slices.Reverse(line)
			}
			if k > 0 && line[0] != at {
				t.Errorf("a run leaps from %v to %v", at, line[0])
			}
			if at = line[len(line)-1]; ft.Properties.Step != run.Step && ft.Properties.Step != 0 {
				t.Errorf("edge of step %d in a run of step %d", ft.Properties.Step, run.Step)
			}
		}
	}
	for i, n := range seen {
		if n != 1 {
			t.Errorf("feature %d is in %d runs", i, n)
		}
	}
	if share := out.Rank.Share; math.Abs(share[0]+share[1]+share[2]+share[3]-1) > 3e-4 || out.Rank.Minutes != ranked.Minutes {
		t.Errorf("rank %+v of %+v", out.Rank, ranked.Rank)
	}
	if none := wire.NewHazards(nil, true, p.Frame()); !none.Truncated || string(sound(t, none.Features)) != "[]" {
		t.Errorf("nothing is told as %+v", none)
	}
}

// TestBreakdownAddsUp: the lines of a breakdown are its whole, by the hour and by ten
// minutes, on every tenth edge of the town.
func TestBreakdownAddsUp(t *testing.T) {
	p, _ := planned(t)
	dog := maptest.Kessa()
	ids, _ := p.EdgesIn(p.Snapshot().Bounds, 1<<20)
	for i := 0; i < len(ids); i += 10 {
		b := p.Explain(ids[i], &dog, maptest.Morning, nil)
		out := wire.NewExplanation(b, maptest.Morning, nil, briefing.Words{})
		sound(t, out)
		var perHour, share, traffic float64
		for _, l := range out.Terms {
			perHour, share = perHour+l.XPerHour, share+l.Share
			if l.P < 0 || l.P > 1 || l.Active < 0 || l.Active > 1 || l.PerHour < 0 {
				t.Errorf("edge %d: %+v", ids[i], l)
			}
		}
		for _, l := range out.Traffic {
			traffic += l.Strain10
		}
		if math.Abs(perHour-6*out.X10) > 6*0.51e-5 || (out.X10 > 0 && math.Abs(share-1) > 1e-9) {
			t.Errorf("edge %d: %g an hour and a share of %g make %g in ten minutes", ids[i], perHour, share, out.X10)
		}
		if out.Clock != "Wed 07:10" || out.Noise10 > out.Strain10+1e-9 || traffic < 0 || len(out.Traffic) != len(b.Traffic) {
			t.Errorf("edge %d: %+v", ids[i], out)
		}
	}
}

// TestTrafficWords: every sort of pavement has its word.
func TestTrafficWords(t *testing.T) {
	var words []string
	for _, p := range []strain.Pavement{strain.Separate, strain.Unknown, strain.Carriageway} {
		out := wire.NewExplanation(routing.Breakdown{Traffic: []strain.Term{{Stretch: strain.Stretch{Pavement: p, Share: 0.254, SpeedKMH: 50, Main: true}, PerHour: 99.6, PerS: 1.0 / 600}}}, maptest.Morning, nil, briefing.Words{})
		sound(t, out)
		tr := out.Traffic[0]
		words = append(words, tr.Pavement)
		if tr.Share != 0.25 || tr.PerHour != 100 || tr.SpeedKMH != 50 || !tr.Main || tr.Strain10 != 1 {
			t.Errorf("%+v", tr)
		}
	}
	if !slices.Equal(words, []string{"separate", "unknown", "none"}) {
		t.Errorf("pavements are %v", words)
	}
}

// TestSourcesOfTheTown: rings end where they begin (RFC 7946, section 3.1.6), chances are
// chances, and each kind is one that can be asked for.
func TestSourcesOfTheTown(t *testing.T) {
	p, _ := planned(t)
	look := routing.Look{Box: p.Snapshot().Bounds, Dog: maptest.Kessa(), Depart: maptest.Morning}
	ids, more := p.SourcesIn(look.Box, 4000)
	out := wire.NewSources(p, ids, more, &look, nil, briefing.Words{})
	sound(t, out)
	rings := 0
	for i, s := range out.Sources {
		src := p.Snapshot().Field.Source(ids[i])
		onEarth(t, s.Name, s.At)
		if s.ID != ids[i] || s.OSM != src.OSM || s.Sort != src.As || s.Active < 0 || s.Active > 1 || s.WorkingM < 0 || len(s.Kinds) != len(src.Mix) || s.What == "" {
			t.Errorf("%+v", s)
		}
		for _, k := range s.Kinds {
			if _, err := exposure.ParseKind(k); err != nil {
				t.Error(err)
			}
		}
		for k, ring := range s.Outline {
			rings++
			if len(ring) < 4 || ring[0] != ring[len(ring)-1] || len(ring) != len(src.Area[k].Outer)+1 {
				t.Errorf("%s: a ring of %d places from %v to %v", s.Name, len(ring), ring[0], ring[len(ring)-1])
			}
			onEarth(t, s.Name, ring...)
		}
	}
	if len(out.Sources) < 5 || rings == 0 {
		t.Errorf("%d sources, %d rings", len(out.Sources), rings)
	}
	if part := wire.NewSources(p, nil, true, &look, nil, briefing.Words{}); !part.Truncated || part.Sources == nil {
		t.Errorf("nothing is told as %+v", part)
	}
}

// TestCountsAreTold: by the place's own clock; a scatter only where there are two.
func TestCountsAreTold(t *testing.T) {
	zone := time.FixedZone("", -5*3600)
	all := []exposure.Count{{Start: time.Date(2026, 11, 25, 12, 10, 0, 0, time.UTC), Minutes: 10}, {Start: time.Date(2026, 11, 26, 3, 0, 0, 0, time.UTC), Minutes: 15}}
	r := &counts.Report{Lost: 2, Lines: []counts.Line{{Count: 1, Street: "Kiln Lane", Of: exposure.Dogs, Counted: 3, Predicted: 2.449, Bound: 2.96}, {Count: 0, Street: "Weaver Row", Of: exposure.People, Counted: 10, Predicted: 15.41, Bound: 10},
		{Count: 0, Street: "Kiln Lane", Of: exposure.People, Counted: 10, Predicted: 8.582, Bound: 10}}}
	// Of two ratios 1.15 k and 1.15 / k the mean is 1.15, the scatter k to the square root of 2, here of 1.34.
	out := wire.NewCountReport([]wire.CountsOnMap{{All: all, Report: r, Zone: zone}}, 3)
	sound(t, out)
	lines := []wire.CountLine{{Start: "2026-11-25T22:00:00-05:00", Minutes: 15, Street: "Kiln Lane", What: "dogs", Counted: 3, Predicted: 2.4, Bound: 3},
		{Start: "2026-11-25T07:10:00-05:00", Minutes: 10, Street: "Weaver Row", What: "people", Counted: 10, Predicted: 15.4, Bound: 10},
		{Start: "2026-11-25T07:10:00-05:00", Minutes: 10, Street: "Kiln Lane", What: "people", Counted: 10, Predicted: 8.6, Bound: 10}}
	scores := []wire.CountScore{{What: "dogs", N: 1, Mean: 0.82, Within3: 1}, {What: "people", N: 2, Mean: 1.15, Scatter: 1.51, Within3: 2}}
	if !reflect.DeepEqual(out.Lines, lines) || !reflect.DeepEqual(out.Scores, scores) || out.OffTheMap != 5 || out.Attribution != wire.Attribution {
		t.Errorf("%+v", out)
	}
	sound(t, wire.NewCountReport(nil, 0))
}

// TestWeekIsTold: hours in their order by the place's clock; the best are free, found, and
// no two of them neighbours.
func TestWeekIsTold(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for range 50 {
		var hours []routing.HourOutlook
		for h := range 24 {
			o := routing.HourOutlook{Depart: maptest.Morning.Add(time.Duration(h) * time.Hour), Found: rng.IntN(4) > 0, Free: rng.IntN(3) > 0, Dark: rng.IntN(2) == 0}
			if o.Found {
				o.Reactions, o.Strain, o.CalmChance, o.DurationS = rng.Float64(), rng.Float64()/10, rng.Float64(), 1200+600*rng.Float64()
				if rng.IntN(2) == 0 {
					o.Most, o.MostKind = "Kiln Park", exposure.DogOnLead
				}
			}
			hours = append(hours, o)
		}
		out := wire.NewWeek(hours, time.UTC, briefing.Words{})
		sound(t, out)
		if len(out.Hours) != 24 || out.TimeZone != "UTC" || out.Caution != wire.Caution(briefing.Words{}) || len(out.Best) > 3 {
			t.Fatalf("%+v", out)
		}
		for i, h := range out.Hours {
			w := &hours[i]
			if h.Depart != w.Depart.Format(time.RFC3339) || h.Found != w.Found || h.Free != w.Free || h.Dark != w.Dark || math.Abs(h.ExpectedReactions-w.Reactions) > 5.1e-6 ||
				math.Abs(h.Strain-w.Strain) > 5.1e-6 || math.Abs(h.CalmChance-w.CalmChance) > 5.1e-5 || math.Abs(h.DurationS-w.DurationS) > 0.51 || (h.Most == "") != (h.MostKind == "") {
				t.Errorf("hour %d: %+v of %+v", i, h, w)
			}
		}
		for k, i := range out.Best {
			if !out.Hours[i].Found || !out.Hours[i].Free {
				t.Errorf("best %v: hour %d is not free or has no walk", out.Best, i)
			}
			for _, j := range out.Best[:k] {
				if max(i-j, j-i) < 2 {
					t.Errorf("best %v are neighbours", out.Best)
				}
			}
		}
	}
}

// TestFoundPlacesAreNamed: every sort of place has its word, and its place comes back.
func TestFoundPlacesAreNamed(t *testing.T) {
	f := maptest.Invented().Frame
	for kind, want := range map[gazetteer.Kind]string{gazetteer.Settlement: "settlement", gazetteer.Ground: "ground", gazetteer.Street: "street", gazetteer.Door: "door", gazetteer.Postcode: "postcode"} {
		out := wire.NewFoundPlace(wire.NewLatLon(f, plane.Point{X: 300, Y: -200}), &gazetteer.Found{Kind: kind, Name: "Weaver Row 12", Town: "Weft", Code: "WF 1", AwayM: 149.6, Missing: "14", Forgiven: true})
		sound(t, out)
		if out.Kind != want || out.Name != "Weaver Row 12" || out.Town != "Weft" || out.Postcode != "WF 1" || out.AwayM != 150 || out.Missing != "14" || !out.Forgiven ||
			out.At.In(f).DistanceM(plane.Point{X: 300, Y: -200}) > 1e-6 {
			t.Errorf("%+v", out)
		}
	}
}

// TestMapIsTold: its box holds the map, its times are RFC 3339, and one that has no time
// tells none.
func TestMapIsTold(t *testing.T) {
	s := *maptest.Invented()
	zone := time.FixedZone("", -5*3600)
	for _, at := range []time.Time{{}, time.Date(2026, 11, 1, 20, 0, 0, 0, zone)} {
		s.MapTime = at
		out := wire.NewMapInfo(&s, "1.2", maptest.Morning.In(zone))
		sound(t, out)
		want := ""
		if !at.IsZero() {
			want = "2026-11-02T01:00:00Z"
		}
		if out.MapTime != want || out.Now != "2026-11-25T02:10:00-05:00" || out.TimeZone != s.Zone || out.Version != "1.2" || out.Name != s.Name || out.ZoneCredit != wire.ZoneCredit || out.Demo != nil {
			t.Errorf("%+v", out)
		}
		if b := out.BBox; !(b[0] < -7.0018 && -7.0018 < b[2] && b[1] < 47.2022 && 47.2022 < b[3]) {
			t.Errorf("the door is not in %v", b)
		}
	}
}

// TestHarmGetsAdvice: a snap or a bite, and nothing less, is answered with what to do now:
// whom to call first of all.
func TestHarmGetsAdvice(t *testing.T) {
	for _, over := range []string{"", "bark", "lunge", "freeze", "other", "snap", "bite"} {
		var e kept.Encounter
		e.Over = over
		out := wire.NewLoggedEncounter(e, briefing.Words{})
		if harm := over == "snap" || over == "bite"; harm != (len(out.Advice) == 2) || (!harm && out.Advice != nil) || out.Over != over {
			t.Errorf("%q: %q", over, out.Advice)
		}
	}
	bite := wire.NewLoggedEncounter(kept.Encounter{EncounterInput: kept.EncounterInput{Over: "bite"}}, briefing.Words{})
	if text := strings.ToLower(strings.Join(bite.Advice, " ")); !strings.Contains(text, "doctor") || !strings.Contains(text, "professional") && !strings.Contains(text, "vet") && !strings.Contains(text, "trainer") {
		t.Errorf("after a bite: %s", text)
	}
}

func TestReportIsTold(t *testing.T) {
	r := kept.Report{ID: "r1", Said: []kept.Statement{{When: maptest.Morning, There: true}}}
	out := wire.NewKeptReport(r, learning.Standing{Last: maptest.Morning, Confirm: 3, Dispute: 1, Presence: 0.75, Live: true})
	text := sound(t, out)
	if out.ID != "r1" || !out.Spoken.Equal(maptest.Morning) || out.Confirm != 3 || out.Dispute != 1 || out.Presence != 0.75 || !out.Live {
		t.Errorf("%+v", out)
	}
	if bytes.Contains(text, []byte("Said")) || bytes.Contains(text, []byte(`"there":true,"`)) {
		t.Errorf("who said what is told: %s", text)
	}
}

// offer is one of learning for a dog that holds 40 m and 15 m.
func offer(change learning.Change, toM float64, beyond int) *learning.Offer {
	now := exposure.Need{WorkingM: 40, ReactionM: 15}
	o := &learning.Offer{Name: "dogs", Belief: &learning.Estimate{Need: exposure.Need{WorkingM: toM, ReactionM: 12.34}, WorkingRangeM: learning.Interval{Low: toM - 5.55, High: toM + 5}, ReactionRangeM: learning.Interval{Low: 8, High: 14.96}, Encounters: 23},
		Proposal: learning.Proposal{Change: change, From: now, To: exposure.Need{WorkingM: toM, ReactionM: 12.34}, WorkingRangeM: learning.Interval{Low: 30, High: 40}, ReactionRangeM: learning.Interval{Low: 10, High: 14},
			EffectiveN: 12.5, Encounters: 23, Late: 4, LateBias: true, Chance: 0.9, Capped: true, Beyond: beyond}}
	o.Now.Need = now
	return o
}

// TestProposalsAreTold: nothing nearer is offered while a dog is flagged, and it is said
// why; farther always is.
func TestProposalsAreTold(t *testing.T) {
	flag := &kept.Flag{Over: "snap", At: maptest.Morning}
	for _, c := range []struct {
		change  learning.Change
		to      float64
		beyond  int
		flag    *kept.Flag
		tells   string
		toM     float64
		stopped bool
		text    bool
	}{
		{learning.Nearer, 31.44, 0, nil, "nearer", 31.4, false, false},
		{learning.Nearer, 31.44, 0, flag, "keep", 40, true, true},
		{learning.Farther, 52.06, 0, nil, "farther", 52.1, false, true},
		{learning.Farther, 52.06, 2, nil, "farther", 52.1, false, true},
		{learning.Farther, 52.06, 2, flag, "farther", 52.1, false, true},
		{learning.Keep, 40, 0, flag, "keep", 40, false, false},
	} {
		o := offer(c.change, c.to, c.beyond)
		out := wire.NewProposalInfo(o, c.flag, briefing.Words{})
		sound(t, out)
		if out.Change != c.tells || out.ToWorkingM != c.toM || out.Stopped != c.stopped || out.FromWorkingM != 40 || out.FromReactionM != 15 || (c.stopped && out.ToReactionM != 15) {
			t.Errorf("%v, flag %v: %+v", c.change, c.flag, out)
		}
		evidence := kept.Evidence{WorkingLowM: 30, WorkingHighM: 40, ReactionLowM: 10, ReactionHighM: 14, EffectiveN: 12.5, Encounters: 23, Late: 4, LateBias: true, Chance: 0.9, Capped: true, Beyond: c.beyond}
		if out.Evidence == nil || *out.Evidence != evidence {
			t.Errorf("evidence %+v", out.Evidence)
		}
		o.Belief = nil
		if bare := wire.NewProposalInfo(o, c.flag, briefing.Words{}); (bare.Text != "") != c.text || bare.Belief != nil || (out.Text == bare.Text) || !strings.HasSuffix(out.Text, bare.Text) {
			t.Errorf("%v says %q, with what is believed %q", c.change, bare.Text, out.Text)
		}
		if b := out.Belief; b.ReactionM != 12.3 || b.ReactionHighM != 15 || b.Encounters != 23 || !(b.WorkingLowM < b.WorkingM && b.WorkingM < b.WorkingHighM) {
			t.Errorf("belief %+v", b)
		}
	}
	few := offer(learning.Nearer, 31, 0)
	few.Few = &learning.TooFew{Kind: "dogs", Have: 2.5, Need: 8}
	out := wire.NewProposalInfo(few, flag, briefing.Words{})
	sound(t, out)
	if out.Change != "too_few" || out.ToWorkingM != 40 || out.Evidence != nil || out.Have != 2.5 || out.Need != 8 || out.Stopped {
		t.Errorf("too few: %+v", out)
	}
}

// TestMovesAndCounts: each direction has its word, and a count comes back as it was.
func TestMovesAndCounts(t *testing.T) {
	for dir, want := range map[learning.Direction]string{learning.Stay: "stay", learning.On: "on", learning.Back: "back"} {
		out := wire.NewMoveInfo(&learning.Move{Direction: dir, Visits: 2, Good: 2, Triggers: 9, Handled: 8, TurnedBack: 3, RefusedFood: 1, WentOver: 4}, briefing.Words{})
		sound(t, out)
		text := out.Text
		if out.Text = ""; text == "" || out != (wire.MoveInfo{Proposal: want, Visits: 2, Triggers: 9, Handled: 8, TurnedBack: 3, RefusedFood: 1, WentOver: 4}) {
			t.Errorf("%s: %+v %q", want, out, text)
		}
	}
	was := learning.Visit{Step: 3, Triggers: 9, Handled: 8, TurnedBack: 3, RefusedFood: 1, WentOver: 4}
	n := wire.NewVisitCount(was)
	if got := n.Counted(3); got != was {
		t.Errorf("%+v comes back as %+v", was, got)
	}
}

// TestWaysOutAreTold: what is far off is told as the planner has it, aside and all.
func TestWaysOutAreTold(t *testing.T) {
	f := maptest.Invented().Frame
	w := escape.WayOut{PaceMPS: 1.6, Means: escape.StepAside, Turn: "left", Line: plane.Polyline{{X: 1, Y: 2}, {X: 30, Y: 2}}, Aside: "right", AsideM: 6.04, Stand: plane.Point{X: 30, Y: -4}, Seconds: 18.6,
		PresentM: 44.44, NearestM: 30.05, EndsM: 51.26, Hidden: true, Chance: 0.907}
	aid := escape.Aid{Do: []escape.AidDeed{escape.StepOff}, Side: escape.MoveRight, SideM: 7.77, Cover: []escape.Cover{{DistM: 11.6, Side: escape.MoveLeft}}}
	aid.Cover[0].Name, aid.Cover[0].At = "12 Race Walk", plane.Point{X: 5, Y: 5}
	out := wire.NewWaysOut(&w, &w, &aid, f, briefing.Words{})
	sound(t, out)
	c := out.Calm
	if !reflect.DeepEqual(c, out.Brisk) || c.PaceMPS != 1.6 || c.Means != "aside" || c.Turn != "left" || c.Aside != "right" || c.AsideM != 6 || c.Seconds != 19 || c.PresentM != 44.4 || c.EndsM != 51.3 || !c.Hidden || c.Chance != 0.91 ||
		c.Stand != wire.NewPosition(f, w.Stand) || len(c.Geometry.Coordinates) != 2 || out.Attribution != wire.Attribution {
		t.Errorf("%+v", c)
	}
	if a := out.Aid; !slices.Equal(a.Do, []string{"step_off"}) || a.Side != "right" || a.SideM != 7.8 || len(a.Words) == 0 || len(a.Cover) != 1 || a.Cover[0].DistM != 12 || a.Cover[0].Side != "left" || a.Cover[0].Name != "12 Race Walk" {
		t.Errorf("%+v", a)
	}
	var along []escape.OutAlong
	for stretch := range 2 {
		for k, side := range []escape.Side{escape.SideAhead, escape.SideLeft, escape.SideRight, escape.SideBehind} {
			o := escape.OutAlong{AtM: float64(100 * stretch), Side: side, First: escape.MoveBack, Aid: &aid, Out: w}
			o.Out.Seconds, o.Out.Hidden, o.Out.EndsM = float64(10*stretch+k), k == 3, float64(36+k)
			along = append(along, o)
		}
	}
	told := wire.NewWaysOutAlong(along, 37, f, briefing.Words{})
	if len(told.Stretches) != 2 || told.Stretches[1].AtM != 100 {
		t.Fatalf("%+v", told)
	}
	for i, s := range told.Stretches {
		for k, side := range []wire.SideInfo{s.Ahead, s.Left, s.Right, s.Behind} {
			// works: out of sight, or the working distance of 37 m is reached
			if side.Seconds != float64(10*i+k) || side.Works != (k > 0) || side.Hidden != (k == 3) || side.LengthM != 29 || side.First != "back" {
				t.Errorf("stretch %d, side %d: %+v", i, k, side)
			}
		}
	}
	if none := wire.NewWaysOutAlong(nil, 37, f, briefing.Words{}); string(sound(t, none.Stretches)) != "[]" {
		t.Errorf("%+v", none)
	}
}

// TestTimetableTellsWhy: shortage, what helps, the lead, loads, and no more pinches than
// are read.
func TestTimetableTellsWhy(t *testing.T) {
	f := maptest.Invented().Frame
	in := table(rand.New(rand.NewPCG(3, 3)))
	in.MapTime = time.Date(2026, 11, 1, 1, 0, 0, 0, time.FixedZone("", 3600))
	in.Loads = []outing.Load{{Person: "Ada", HoursMin: 90, WalkMin: 60, Walks: 2, FirstMin: 5, BreakMin: 12}, {Person: "Bo", HoursMin: 90, FirstMin: -1}}
	in.Lead = &outing.Lead{Cause: outing.LeadRoom, Dog: "d0", Person: "Ada", Minute: 9, FromMin: 4, SpareMin: 3, All: true, TakesMin: 66, Other: "d1", NeedM: 40}
	in.Shortage = &outing.Shortage{Cause: outing.ShortOfRoom, Left: []string{"d3"}, Blocked: []outing.Blocked{{Dog: "d3", By: []outing.Blocker{{Dog: "d0", Share: 0.66666, NeedM: 40}}}},
		Helps: []outing.Help{{What: outing.HelpMinutes, Minutes: 30}, {What: outing.HelpTogether, Dogs: [2]string{"d0", "d3"}}, {What: outing.HelpWithout, Dogs: [2]string{"d0", ""}}}}
	for i := range 50 {
		in.Pinches = append(in.Pinches, outing.Pinch{Dogs: [2]string{"d0", "d1"}, LeastM: float64(i) + 0.04, NeedM: 40, At: maptest.Morning.Add(time.Duration(i) * time.Minute)})
	}
	out := wire.NewTimetable(in, f, briefing.Words{})
	sound(t, out)
	if len(out.Pinches) != 40 || out.Pinches[39].LeastM != 39 || out.Pinches[39].At != "07:49" || out.MapTime != "2026-11-01T00:00:00Z" {
		t.Errorf("%d pinches, the last %+v; map of %s", len(out.Pinches), out.Pinches[len(out.Pinches)-1], out.MapTime)
	}
	if want := (wire.Lead{Cause: "room", Dog: "d0", Person: "Ada", Minute: 9, FromMinute: 4, SpareMinutes: 3, All: true, TakesMinutes: 66, Other: "d1", NeedM: 40}); *out.Lead != want {
		t.Errorf("lead %+v", out.Lead)
	}
	// Jain's index of two loads of which one is none is 1/2 (DEC-TR-301)
	if out.Loads[0] != (wire.Load{Person: "Ada", ThereMinutes: 90, WalkMinutes: 60, Walks: 2, FirstMinute: 5, BreakMinutes: 12}) || out.Loads[1].FirstMinute != -1 || out.Fairness != 0.5 {
		t.Errorf("loads %+v, fairness %g", out.Loads, out.Fairness)
	}
	s := out.Shortage
	if s.Cause != "pairs" || s.Text == "" || !reflect.DeepEqual(s.Blocked, []wire.Blocked{{Dog: "d3", By: []wire.Blocker{{Dog: "d0", Share: 0.667, NeedM: 40}}}}) || len(s.Helps) != 3 {
		t.Fatalf("%+v", s)
	}
	for i, want := range []wire.Help{{What: "minutes", Minutes: 30}, {What: "together", Dogs: []string{"d0", "d3"}}, {What: "without", Dogs: []string{"d0"}}} {
		if want.Text = s.Helps[i].Text; want.Text == "" || !reflect.DeepEqual(s.Helps[i], want) {
			t.Errorf("help %d: %+v", i, s.Helps[i])
		}
	}
	if g := wire.NewGateCount(outing.GateArithmetic{OutMin: 1.26, InMin: 2.04, Walks: 24, Dogs: 5, Sufficient: true}); g != (wire.GateCount{OutMinutes: 1.3, InMinutes: 2, MostWalks: 24, Dogs: 5, Sufficient: true}) {
		t.Errorf("gate %+v", g)
	}
}

// TestFramesFollowTheWalks: minute by minute every dog stands where its line has it at the
// usual pace, which a slow reading of the line finds too.
func TestFramesFollowTheWalks(t *testing.T) {
	f := maptest.Invented().Frame
	in := &outing.Timetable{Start: maptest.Morning, Minutes: 60, Slack: outing.Free, ZoneM: 60}
	for d := range 2 {
		r := outing.Row{Dog: fmt.Sprint("d", d), Person: "Ada", StartMin: 5 + 3*d, NeedM: 40, Leave: maptest.Morning.Add(time.Duration(5+3*d) * time.Minute)}
		for k := range 11 { // out and home on one line, 1 m/s
			x := float64(60 * min(k, 10-k))
			r.Line, r.ProgressS = append(r.Line, plane.Point{X: x, Y: float64(200 * d)}), append(r.ProgressS, float64(60*k))
		}
		in.Rows = append(in.Rows, r)
	}
	report := &replay.Report{Runs: 7, ZoneS: 3}
	for m := range 60 {
		least := math.Inf(1)
		if m == 10 {
			least = 44.44
		}
		report.Minutes = append(report.Minutes, replay.Meeting{Dogs: [2]string{"d0", "d1"}, LeastM: least, NeedM: 40, AtS: float64(60 * m)})
	}
	frames, err := wire.NewOutingFrames(report, in, f)
	if err != nil || len(frames) == 0 {
		t.Fatal(err)
	}
	stood := 0
	for _, fr := range frames {
		if want := maptest.Morning.Add(time.Duration(fr.Minute) * time.Minute).Format("15:04"); fr.Clock != want {
			t.Errorf("minute %d is %s", fr.Minute, fr.Clock)
		}
		if (fr.Tightest != nil) != (fr.Minute == 10) {
			t.Errorf("minute %d: tightest %+v", fr.Minute, fr.Tightest)
		}
		for _, d := range fr.Dogs {
			var no int
			_, _ = fmt.Sscanf(d.Dog, "d%d", &no)
			k := fr.Minute - (5 + 3*no)
			if k < 0 || k > 10 {
				t.Errorf("minute %d: %s is out, %d minutes after it left", fr.Minute, d.Dog, k)
				continue
			}
			stood++
			if off := d.At.In(f).DistanceM(plane.Point{X: float64(60 * min(k, 10-k)), Y: float64(200 * no)}); off > 0.09 {
				t.Errorf("minute %d: %s stands %.2f m off", fr.Minute, d.Dog, off)
			}
		}
	}
	if stood < 20 {
		t.Errorf("dogs stand %d times in %d frames", stood, len(frames))
	}
	report.Random = []replay.Meeting{{Dogs: [2]string{"d0", "d1"}, LeastM: 35.55, NeedM: 40, AtS: 610}}
	check := wire.NewOutingCheck(report, in, f, briefing.Words{})
	sound(t, check)
	if check.Kept || check.Runs != 7 || check.ZoneSeconds != 3 || check.Verdict == "" || len(check.Directed) != 0 || len(check.Pairs) != 1 || check.Pairs[0].At != "07:20" || math.Abs(check.Pairs[0].LeastM-35.55) > 0.051 {
		t.Errorf("%+v", check)
	}
}

// vantage is a place to stand in the town that watches a source, or ways.
func vantage(s *snapshot.Snapshot, source int32) training.Option {
	o := training.Option{Arrive: maptest.Morning, StayS: 500, AboutX: 0.123456, Class: training.StepClass{Near: 8, Busy: 2, Room: 1, Duration: 3}, Pin: 1, Kept: true}
	o.Vantage = training.Vantage{At: plane.Point{X: 10, Y: 20}, Street: "Kiln Lane", Watched: training.Watched{Name: "Kiln Park", Sort: "dog_park", Source: source}, DistM: 57.04, Multiple: 1.50049, Sees: plane.Point{X: 60, Y: 20},
		SightShare: 0.336, RoomM: 4.44, RoomDefault: true, Grade: training.GradeB, WaysOut: []plane.Polyline{{{X: 10, Y: 20}, {X: 0, Y: 0}}, {{X: 10, Y: 20}, {X: 0, Y: 90}}}, WaysOutBy: []string{"Kiln Lane", "Race Walk"}, WalkM: 433.7}
	o.Showing = training.Showing{Number: 2.345, Low: 1, High: 5, LastsLowS: 20.4, LastsHighS: 61.5, Active: 0.8765, WatchX: 0.01234, OtherX: 0.00006, TreatsLow: 5, TreatsHigh: 33}
	return o
}

// TestVisitsAreTold: places, stays, sequences and what is lacking.
func TestVisitsAreTold(t *testing.T) {
	s := maptest.Invented()
	o := vantage(s, 0)
	v := wire.NewVantage(&o.Place, s, briefing.Words{})
	sound(t, v)
	if v.At != wire.NewPosition(s.Frame, o.At) || v.Sees != wire.NewPosition(s.Frame, o.Sees) || v.DistanceM != 57 || v.Multiple != 1.5 || v.SightShare != 0.34 || v.RoomM != 4.4 || !v.RoomDefault || v.Grade != "B" || v.WalkM != 434 ||
		v.Chance != 0.877 || v.WatchedReactions != 0.0123 || v.OtherReactions != 0.0001 || v.LastsLowS != 20 || v.TreatsLow != 5 || v.TreatsHigh != 33 || v.Watched.OSM != s.Field.Source(0).OSM || v.Low != 1 || v.High != 5 {
		t.Errorf("%+v", v)
	}
	if len(v.WaysOut) != 2 || len(v.WayOutNames) != 2 || !strings.Contains(v.WayOutNames[1], "Race Walk") {
		t.Errorf("ways out %v", v.WayOutNames)
	}
	ways := vantage(s, -1)
	if w := wire.NewVantage(&ways.Place, s, briefing.Words{}); w.Watched.OSM != "" {
		t.Errorf("ways have the number %s", w.Watched.OSM)
	}
	seq := training.Sequence{Kinds: exposure.Dogs.Kinds(), Options: []training.Option{o, ways}, Arcs: [][2]int{{0, 1}}, Order: training.NeverEasier, Complete: true, Considered: 44, CutShort: true, Zone: "Etc/GMT", MapTime: maptest.Morning,
		Lacks: []training.Lack{{Multiple: 1, DistM: 38.04, Why: training.LackGround}, {Multiple: 1, DistM: 38, Why: training.LackReactions, Least: 1.2346, MaxX: 1, Instead: &o}}}
	seq.Visits = []training.Visit{{Option: o, Leave: maptest.Morning.Add(-9 * time.Minute), CalmInS: 333, X: 0.34567, Harder: []string{"nearer"}}}
	near := o
	near.Multiple = 1.49
	seq.Visits = append(seq.Visits, training.Visit{Option: near, Leave: maptest.Morning, Alternatives: []int{1}})
	out := wire.NewSequence(&seq, townLand(t), briefing.Words{})
	for _, l := range []*wire.Visit{&out.Visits[0], &out.Visits[1]} {
		l.WayIn, l.WayHome = wire.Walk{}, wire.Walk{} // of no walk: told elsewhere
	}
	enums(t, "/options", reflect.ValueOf(out.Options))
	enums(t, "/lacks", reflect.ValueOf(out.Lacks))
	if len(out.Kinds) != len(seq.Kinds) || out.Order != "never_easier" || !out.Complete || out.Considered != 44 || !out.CutShort || !reflect.DeepEqual(out.Arcs, seq.Arcs) || out.MapTime != "2026-11-25T07:10:00Z" || len(out.Cautions) != 3 || out.Cautions[2] != wire.Caution(briefing.Words{}) {
		t.Errorf("%+v", out)
	}
	stay := out.Options[0]
	if stay.Arrive != "2026-11-25T07:10:00Z" || stay.StayMinutes != 8.33 || stay.AboutReaction != 0.1235 || stay.Class != (wire.StepClass{Near: 8, Busy: 2, Room: 1, Duration: 3}) || !stay.Pinned || !stay.Kept {
		t.Errorf("%+v", stay)
	}
	first, second := out.Visits[0], out.Visits[1]
	if first.Leave != "2026-11-25T07:01:00Z" || first.CalmInMinutes != 5.6 || first.ExpectedReactions != 0.3457 || !slices.Equal(first.Harder, []string{"nearer"}) || first.Easier == nil || first.Alternatives == nil {
		t.Errorf("%+v", first)
	}
	// nearer than one and a half times the working distance each step has one caution more
	if len(second.Cautions) != len(first.Cautions)+1 || !slices.Equal(second.Alternatives, []int{1}) {
		t.Errorf("cautions %q and %q", first.Cautions, second.Cautions)
	}
	if l := out.Lacks; l[0].Why != "ground" || l[0].DistanceM != 38 || l[0].Text == "" || l[0].Instead != nil || l[1].Least != 1.235 || l[1].Instead == nil || l[1].Instead.Street != "Kiln Lane" {
		t.Errorf("%+v", l)
	}
}
