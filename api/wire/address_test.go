package wire_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// planned is one plan of the town with the planner that made it.
func planned(t *testing.T) (*routing.Planner, *routing.Plan) {
	t.Helper()
	plans, err := told()
	if err != nil {
		t.Fatal(err)
	}
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return p, plans[routing.Loop]
}

// townLand is the town, made ready to be searched.
func townLand(t *testing.T) *reach.Land {
	t.Helper()
	p, _ := planned(t)
	return p.Land()
}

// sameStep: the ends of a course are written in whole centimetres.
func sameStep(a, b reach.Directed) bool {
	return a.Edge == b.Edge && math.Abs(float64(a.FromM-b.FromM)) < 0.0051 && math.Abs(float64(a.ToM-b.ToM)) < 0.0051
}

// TestAddressComesBack: the walks of an address, sent through JSON, are those of the plan,
// and make the same address again.
func TestAddressComesBack(t *testing.T) {
	land := townLand(t)
	plans, err := told()
	if err != nil {
		t.Fatal(err)
	}
	for shape, p := range plans {
		sent := wire.WishBody{From: wire.LatLon{Lat: 47.2022, Lon: -7.0018}, Walks: 3}
		g := wire.NewGiven(p, land, sent)
		text, err := json.Marshal(g)
		if err != nil {
			t.Fatal(err)
		}
		var back wire.Given
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		if back.Address() != g.ID || len(g.ID) != 16 || g.Map != land.Snap.Network {
			t.Errorf("%s: address %s, told again %s, of map %s", shape, g.ID, back.Address(), g.Map)
		}
		depart, err := time.Parse(time.RFC3339Nano, back.Wish.Depart)
		if err != nil || !depart.Equal(p.Depart) || back.Wish.Shape != "calmest" || back.Wish.Dog.Needs == nil {
			t.Errorf("%s: a wish of %s at %s for %+v", shape, back.Wish.Shape, back.Wish.Depart, back.Wish.Dog)
		}
		walks, err := back.Decode(land)
		if err != nil || len(walks) != len(p.Walks) {
			t.Fatalf("%s: %d walks of %d, %v", shape, len(walks), len(p.Walks), err)
		}
		for i, w := range walks {
			want := p.Walks[i].Given()
			if w.Shape != want.Shape || w.Laps != want.Laps || w.CeilingS != want.CeilingS || !slices.EqualFunc(w.Course, want.Course, sameStep) ||
				w.Quality.Proved != want.Quality.Proved || w.Quality.WithinPct != want.Quality.WithinPct || w.Quality.LowerX != want.Quality.LowerX ||
				w.Quality.Sum != want.Quality.Sum || w.Quality.Checking != want.Quality.Checking {
				t.Errorf("%s: walk %d comes back as %+v, was %+v", shape, i, w, want)
			}
		}
	}
}

// TestAddressNamesAllOfIt: whatever is changed in it, but for the address itself, gives
// another address.
func TestAddressNamesAllOfIt(t *testing.T) {
	p, plan := planned(t)
	g := wire.NewGiven(plan, p.Land(), wire.WishBody{From: wire.LatLon{Lat: 47.2022, Lon: -7.0018}})
	seen := map[string]string{g.Address(): "nothing"}
	other := *g
	other.ID = "something else"
	if other.Address() != g.ID {
		t.Error("the address is part of what it names")
	}
	differ := func(what string, edit func(g *wire.Given)) {
		text, err := json.Marshal(g)
		if err != nil {
			t.Fatal(err)
		}
		var c wire.Given
		if err := json.Unmarshal(text, &c); err != nil {
			t.Fatal(err)
		}
		edit(&c)
		if before := seen[c.Address()]; before != "" {
			t.Errorf("with %s changed the address is that with %s changed", what, before)
		}
		seen[c.Address()] = what
	}
	differ("map", func(g *wire.Given) { g.Map += "x" })
	differ("order", func(g *wire.Given) { slices.Reverse(g.Walks) })
	form := reflect.TypeFor[wire.GivenWalk]()
	for i := range form.NumField() {
		differ("walk's "+form.Field(i).Name, func(g *wire.Given) {
			v := reflect.ValueOf(&g.Walks[0]).Elem().Field(i)
			if v.Kind() == reflect.Bool {
				v.SetBool(!v.Bool())
				return
			}
			setAlone(t, v)
		})
	}
	wish := reflect.TypeFor[wire.WishBody]()
	for i := range wish.NumField() {
		if wish.Field(i).Name == "Dog" {
			differ("the dog's name", func(g *wire.Given) { g.Wish.Dog.Name = "another" })
			continue
		}
		differ("wish's "+wish.Field(i).Name, func(g *wire.Given) { setAlone(t, reflect.ValueOf(&g.Wish).Elem().Field(i)) })
	}
	if odd := (&wire.Given{Walks: []wire.GivenWalk{{Sum: inf()}}}).Address(); odd != "" {
		t.Errorf("a number that JSON cannot write has the address %q", odd)
	}
}

func inf() float64 { zero := 0.0; return 1 / zero }

// TestCoursesThatCannotBe: each walk whose course is none is named by its pointer.
func TestCoursesThatCannotBe(t *testing.T) {
	p, plan := planned(t)
	land := p.Land()
	for _, course := range []string{"!", "____", "A", strings.Repeat("_", 5000)} {
		g := wire.NewGiven(plan, land, wire.WishBody{})
		last := len(g.Walks) - 1
		g.Walks[last].Course = course
		_, err := g.Decode(land)
		toldAt(t, err, [2]string{fmt.Sprintf("/walks/%d/course", last), ""})
		if mend := faults(t, err)[0].Mend; !strings.HasSuffix(mend, "plan anew") || len(mend) > 200 {
			t.Errorf("%.20q: %s", course, mend)
		}
	}
}

// TestToldAgainIsTheSame: a plan built anew from its address has the wire form that it had.
func TestToldAgainIsTheSame(t *testing.T) {
	p, plan := planned(t)
	g := wire.NewGiven(plan, p.Land(), wire.WishBody{})
	walks, err := g.Decode(p.Land())
	if err != nil {
		t.Fatal(err)
	}
	door := maptest.Door(p.Frame())
	w := routing.Wish{Shape: routing.Loop, Minutes: 20, Walks: 3, From: door, Depart: maptest.Morning, Dog: maptest.Kessa()}
	again, err := p.Tell(context.Background(), w, walks)
	if err != nil {
		t.Fatal(err)
	}
	nowhere, err := p.Tell(context.Background(), w, []routing.Given{{Shape: routing.Loop}})
	if err != nil {
		t.Fatal(err)
	}
	if text, err := json.Marshal(wire.NewPlan(nowhere, p.Frame(), briefing.Words{})); err != nil || !bytes.Contains(text, []byte(`"length_m":0,`)) {
		t.Errorf("a walk of no step is %s (%v)", text, err)
	}
	one, errOne := json.Marshal(wire.NewPlan(plan, p.Frame(), briefing.Words{}))
	two, errTwo := json.Marshal(wire.NewPlan(again, p.Frame(), briefing.Words{}))
	if errOne != nil || errTwo != nil || !bytes.Equal(one, two) {
		t.Errorf("told again %.300s, was %.300s", two, one)
	}
}

// aSequence is the body of a kept sequence with three visits.
const aSequence = `{"wish":{"from":{"lat":47.2,"lon":-7},"kind":"dogs","dog":{"name":"Kessa","needs":{}},"bite_history":true,
 "times":["2026-11-28T07:20:00Z","2026-12-05T07:20:00Z"],"pins":[{"lat":47.1,"lon":-7.1}],"bans":[{"lat":47.3,"lon":-7.3}],"reach_m":900},
 "sequence":{"visits":[{"at":[-7.1,47.1],"distance_m":76,"multiple":2,"stay_minutes":8,"arrive":"2026-11-28T07:20:00Z","watched":{"name":"Kiln Park","sort":"dog_park","osm":"way/9143"}},
 {"at":[-7.1,47.1],"distance_m":57,"multiple":1.5},{"at":[-7.2,47.2],"distance_m":38,"multiple":1}],"order":"one_harder"},
 "step":2,"paused":true,"note":"by the gate"}`

// edited is a JSON text with the members at a pointer set, deep in it.
func edited(t *testing.T, text string, edit func(m map[string]any)) json.RawMessage {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal([]byte(text), &m); err != nil {
		t.Fatal(err)
	}
	edit(m)
	out, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestSequenceIsRead(t *testing.T) {
	q, err := wire.ReadSequence(json.RawMessage(aSequence))
	if err != nil {
		t.Fatal(err)
	}
	first := wire.PlannedVisit{At: wire.Position{-7.1, 47.1}, Watched: wire.Watched{Name: "Kiln Park", Sort: "dog_park", OSM: "way/9143"}, DistanceM: 76, Multiple: 2, StayMinutes: 8, Arrive: "2026-11-28T07:20:00Z"}
	if q.Step != 2 || !q.Paused || q.Rule != nil || len(q.Sequence.Visits) != 3 || q.Sequence.Visits[0] != first || !slices.Equal(q.Watching(), exposure.Dogs.Kinds()) || q.Wish.ReachM != 900 {
		t.Errorf("read as %+v", q)
	}
}

// TestSequencesThatCannotBe: every bad input by field and value, all at once.
func TestSequencesThatCannotBe(t *testing.T) {
	visit := func(m map[string]any, i int) map[string]any {
		return m["sequence"].(map[string]any)["visits"].([]any)[i].(map[string]any)
	}
	usual := kept.TrainingRule(learning.DefaultRule())
	usual.HandledShare = 2
	for name, c := range map[string]struct {
		edit func(m map[string]any)
		want [][2]string
	}{
		"no visits": {func(m map[string]any) { m["sequence"] = map[string]any{} }, [][2]string{{"/body/sequence/visits", "0"}}},
		"a hundred": {func(m map[string]any) {
			m["sequence"] = map[string]any{"visits": slices.Repeat([]any{visit(m, 0)}, 100)}
		}, [][2]string{{"/body/sequence/visits", "100"}}},
		"ninety-nine": {func(m map[string]any) {
			m["sequence"] = map[string]any{"visits": slices.Repeat([]any{visit(m, 0)}, 99)}
		}, nil},
		"step nought":     {func(m map[string]any) { m["step"] = 0 }, [][2]string{{"/body/step", "0"}}},
		"step too far":    {func(m map[string]any) { m["step"] = 4 }, [][2]string{{"/body/step", "4"}}},
		"the last step":   {func(m map[string]any) { m["step"] = 3 }, nil},
		"no place":        {func(m map[string]any) { delete(visit(m, 1), "at") }, [][2]string{{"/body/sequence/visits/1", ""}}},
		"no distance":     {func(m map[string]any) { visit(m, 0)["distance_m"] = 0 }, [][2]string{{"/body/sequence/visits/0", ""}}},
		"behind the dog":  {func(m map[string]any) { visit(m, 2)["multiple"] = -1 }, [][2]string{{"/body/sequence/visits/2", ""}}},
		"unknown kind":    {func(m map[string]any) { m["wish"].(map[string]any)["kind"] = "dgos" }, [][2]string{{"/body/wish/kind", "dgos"}}},
		"a rule that not": {func(m map[string]any) { m["rule"] = usual }, [][2]string{{"/body/rule", ""}}},
		"all": {func(m map[string]any) {
			m["step"], m["rule"], m["wish"] = 9, usual, map[string]any{"kind": ""}
			visit(m, 0)["at"] = []any{0, 0}
		},
			[][2]string{{"/body/step", "9"}, {"/body/sequence/visits/0", ""}, {"/body/wish/kind", ""}, {"/body/rule", ""}}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := wire.ReadSequence(edited(t, aSequence, c.edit))
			if c.want == nil {
				if err != nil {
					t.Error(err)
				}
				return
			}
			toldAt(t, err, c.want...)
		})
	}
	for _, text := range []string{"", "[]", `"a"`, `{"step":"two"}`, `{"step":1.5}`, `{"sequence":[]}`, `{"wish":{"times":"now"}}`, `{"step":`} {
		_, err := wire.ReadSequence(json.RawMessage(text))
		toldAt(t, err, [2]string{"/body", ""})
	}
}

// TestChangedKeepsTheRest: members that nobody here knows stay as they were, to the letter.
func TestChangedKeepsTheRest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[a-e]`)
		was := rapid.MapOf(name, rapid.Custom(func(t *rapid.T) json.RawMessage {
			return json.RawMessage(rapid.SampledFrom([]string{"1e400", "0.10", `"é"`, `{"x":[1,null]}`, "null", "123456789012345678901234567890"}).Draw(t, "value"))
		})).Draw(t, "was")
		with := rapid.MapOf(name, rapid.Custom(func(t *rapid.T) any { return rapid.IntRange(-5, 5).Draw(t, "new") })).Draw(t, "with")
		text, err := json.Marshal(was)
		if err != nil {
			t.Fatal(err)
		}
		got, err := wire.Changed(text, with)
		if err != nil {
			t.Fatal(err)
		}
		want := map[string]string{}
		for k, v := range was {
			want[k] = string(v)
		}
		for k, v := range with {
			want[k] = fmt.Sprint(v)
		}
		var now map[string]json.RawMessage
		if err := json.Unmarshal(got, &now); err != nil || len(now) != len(want) {
			t.Fatalf("%s, want %v (%v)", got, want, err)
		}
		for k, v := range now {
			if want[k] != string(v) {
				t.Fatalf("%s is %s, want %s", k, v, want[k])
			}
		}
	})
	for _, bad := range []string{"", "[1]", "{"} {
		if out, err := wire.Changed(json.RawMessage(bad), nil); err == nil {
			t.Errorf("%q becomes %s", bad, out)
		}
	}
	if _, err := wire.Changed(json.RawMessage(`{}`), map[string]any{"x": inf()}); err == nil {
		t.Error("a number that JSON cannot write was written")
	}
}

// TestCopiedForAnotherDog: places are kept, each once; nothing of the first dog goes with
// it, its cautions least of all taken for those of the other; times that are over are left.
func TestCopiedForAnotherDog(t *testing.T) {
	q, err := wire.ReadSequence(json.RawMessage(aSequence))
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)
	got := q.Copied(&wire.CopyBody{Dog: "d2"}, now)
	want := q.Wish
	want.Dog.Name, want.Dog.Needs, want.DogID, want.Bite, want.Pins = "", nil, "d2", false, nil
	want.Keep, want.Times = []wire.LatLon{{Lat: 47.1, Lon: -7.1}, {Lat: 47.2, Lon: -7.2}}, []string{"2026-12-05T07:20:00Z"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("copied as %+v, want %+v", got, want)
	}
	if own := q.Copied(&wire.CopyBody{Dog: "d2", Times: []string{"2026-12-09T07:20:00Z"}}, now); !slices.Equal(own.Times, []string{"2026-12-09T07:20:00Z"}) {
		t.Errorf("times that were given become %v", own.Times)
	}
	if over := q.Copied(&wire.CopyBody{Dog: "d2"}, now.AddDate(1, 0, 0)); len(over.Times) != 0 {
		t.Errorf("times that are over stay: %v", over.Times)
	}
	if q.Wish.Dog.Name != "Kessa" || !q.Wish.Bite || len(q.Wish.Times) != 2 || len(q.Wish.Keep) != 0 {
		t.Errorf("the sequence itself was changed: %+v", q.Wish)
	}
}
