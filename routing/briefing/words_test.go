package briefing

import (
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/briefing/blocktest"
	"wideberth/routing/network"
)

// plain makes narrow spaces ordinary ones, to be read in tests.
func plain(s string) string { return strings.ReplaceAll(s, thin, " ") }

// TestDistances is the rounding table: metric to 1 m under 20, to 5 m under 100, to
// 10 m above; US in feet to 5 under 100, to 10 under 400, to 50 above. One foot is
// 0.3048 m exactly (international yard and pound agreement, 1959).
func TestDistances(t *testing.T) {
	for _, c := range []struct {
		m          float64
		metric, us string
	}{
		{0, "0 m", "0 ft"}, {3.4, "3 m", "10 ft"}, {7.6, "8 m", "25 ft"}, {19.4, "19 m", "65 ft"}, {19.6, "20 m", "65 ft"},
		{22.4, "20 m", "75 ft"}, {22.6, "25 m", "75 ft"}, {38, "40 m", "120 ft"}, {62, "60 m", "200 ft"}, {97.6, "100 m", "320 ft"},
		{104, "100 m", "340 ft"}, {186, "190 m", "600 ft"}, {390, "390 m", "1,300 ft"}, {1234, "1,230 m", "4,050 ft"}, {-2, "0 m", "0 ft"},
	} {
		if got := plain(Words{}.Distance(c.m)); got != c.metric {
			t.Errorf("%g m: %q, want %q", c.m, got, c.metric)
		}
		if got := plain((Words{Units: US}).Distance(c.m)); got != c.us {
			t.Errorf("%g m in feet: %q, want %q", c.m, got, c.us)
		}
	}
}

func TestOwnDistancesLengthsAndCars(t *testing.T) {
	m, us := Words{}, Words{Units: US}
	for _, c := range []struct{ got, want string }{
		{m.Own(38), "38 m"}, {us.Own(38), "125 ft"}, {m.Own(3000), "3,000 m"},
		{m.Far(1830), "1.8 km"}, {m.Far(994), "990 m"}, {m.Far(996), "1.0 km"}, {us.Far(1830), "1.1 mi"}, {us.Far(300), "1,000 ft"}, {us.Far(310), "0.2 mi"},
		{m.Cars(38), "8 cars"}, {m.Cars(15), "3 cars"}, {m.Cars(8), ""}, {m.Cars(10), "2 cars"}, {m.Cars(100), "20 cars"}, {m.Cars(101), ""}, {us.Cars(25), "5 cars"},
		{m.Minutes(1740), "29 min"}, {m.Minutes(0), "1 min"}, {m.seconds(18), "20 seconds"}, {m.seconds(1), "5 seconds"}, {m.seconds(100), "2 minutes"},
	} {
		if plain(c.got) != c.want {
			t.Errorf("got %q, want %q", plain(c.got), c.want)
		}
	}
}

func TestChances(t *testing.T) {
	w := Words{}
	for _, c := range []struct {
		p    float64
		want string
	}{
		{0, "Fewer than 1 of 10 walks like this stays calm"}, {0.049, "Fewer than 1 of 10 walks like this stays calm"},
		{0.05, "1 of 10 walks like this stays calm"}, {0.71, "7 of 10 walks like this stay calm"}, {0.949, "9 of 10 walks like this stay calm"},
		{0.95, "More than 9 of 10 walks like this stay calm"}, {1, "More than 9 of 10 walks like this stay calm"},
	} {
		if got := w.Answer(c.p); got != c.want {
			t.Errorf("%g: %q, want %q", c.p, got, c.want)
		}
	}
	for _, c := range []struct {
		low, high float64
		want      string
	}{{0.52, 0.83, "could be 5 to 8"}, {0.01, 0.4, "could be fewer than 1 to 4"}, {0.8, 0.99, "could be 8 to more than 9"}, {0.71, 0.74, "could be a little more or less"}} {
		if got := w.Range(c.low, c.high); got != c.want {
			t.Errorf("%g to %g: %q, want %q", c.low, c.high, got, c.want)
		}
	}
}

func TestMeetings(t *testing.T) {
	_, plan, dog := blocktest.Loop(t)
	walk := plan.Walks[0]
	got := Words{}.Meetings(&walk, dog)
	if len(got) != 2 {
		t.Fatalf("%d sorts, want dogs and children", len(got))
	}
	for _, c := range []struct{ got, want string }{
		{got[0].Near, "a dog near enough to matter (nearer than 38 m) on 1 walk in 2; you may see 1 farther off"}, {got[0].Time, "about 40 seconds nearer than 38 m"},
		{got[1].Near, "a child near enough to matter (nearer than 25 m) on 1 walk in 50"}, {got[1].Time, ""},
	} {
		if plain(c.got) != c.want {
			t.Errorf("got %q, want %q", plain(c.got), c.want)
		}
	}
}

func TestProofAndEvidence(t *testing.T) {
	w := Words{}
	loop, way := routing.Walk{Shape: routing.Loop}, routing.Walk{Shape: routing.Way}
	for _, c := range []struct {
		walk *routing.Walk
		q    routing.Quality
		want string
	}{
		{&loop, routing.Quality{Proved: true, Covers: routing.Covered{Shape: routing.Loop}}, "Checked against all loops of this length from here."},
		{&way, routing.Quality{Proved: true}, "Checked against all walks like this from here."},
		{&loop, routing.Quality{WithinPct: 1.2}, "Nearly the best: another could save at most 2 in 100 of the trouble."},
		{&loop, routing.Quality{WithinPct: -1, Checking: true}, "Still checking for a calmer one."},
		{&loop, routing.Quality{WithinPct: -1}, "The calmest found; a calmer one may exist."},
	} {
		c.walk.Quality = c.q
		if got := w.Proof(c.walk); got != c.want {
			t.Errorf("%+v: %q, want %q", c.q, got, c.want)
		}
	}
	if got := w.Evidence(0.3, 12); got != "Known from: map 70 %, your 12 walks 30 %." {
		t.Error(got)
	}
	if got := w.Evidence(0, 0); got != "Nobody has walked here yet: all from the map." {
		t.Error(got)
	}
}

func TestCompare(t *testing.T) {
	w := Words{}
	walk := func(p, x float64) *routing.Walk { return &routing.Walk{CalmChance: p, ExpectedReactions: x} }
	for _, c := range []struct {
		a, b *routing.Walk
		want string
	}{
		{walk(.71, .34), walk(.6, .5), ""},
		{walk(.71, .34), walk(.70, .36), "about as calm as B"},
		{walk(.74, .28), walk(.66, .42), "a little calmer than B"},
		{walk(.66, .42), walk(.74, .28), "a little less calm than B"},
		{walk(.99, .01), walk(.97, .03), "half as much trouble as B"},
		{walk(.97, .03), walk(.99, .01), "twice as much trouble as B"},
	} {
		if got := w.Compare(c.a, c.b, "B"); got != c.want {
			t.Errorf("%+v against %+v: %q, want %q", c.a, c.b, got, c.want)
		}
	}
}

func TestHoursAndDays(t *testing.T) {
	at := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC) // a Wednesday
	for _, c := range []struct{ got, want string }{
		{Words{}.Clock(at), "07:10"}, {Words{TwelveHour: true}.Clock(at), "7:10 am"}, {Words{TwelveHour: true}.Clock(at.Add(6 * time.Hour)), "1:10 pm"},
		{Words{TwelveHour: true}.Clock(at.Add(5 * time.Hour)), "12:10 pm"},
		{Words{}.Day(at), "Wed 25 November"}, {Words{Units: US}.Day(at), "Wed, November 25"}, {Words{}.MapDate(at), "Map of 25 November 2026."},
		{Words{}.MapDate(time.Time{}), "The map does not say its date."},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestLegsInWords(t *testing.T) {
	_, plan, dog := blocktest.Loop(t)
	got := Words{}.Legs(&plan.Walks[0], dog)
	want := []struct{ turn, room, text string }{
		{"Out, 200 m", "Keep right: 9 m", "1. Weaver Row, out, 200 m, from minute 0 to 3. Some trouble. Keep to the right: 9 m of room. Way out: turn round, 20 seconds back."},
		{"Left, 250 m", "Keep right: 8 m", "2. Lime Lane, left, 250 m, from minute 3 to 6. Hard. Keep to the right: 8 m of room. Way out: turn round, 20 seconds back."},
		{"Left, 200 m", "All the room", "3. Race Walk, left, 200 m, from minute 6 to 9. Calm. All the room Kessa needs. Way out: turn round, 20 seconds back."},
		{"Left, 250 m, home", "about 5 m (assumed)", "4. Tanner Row, left, home, 250 m, from minute 9 to 13. Tight. 5 m of room on either side. Room assumed, not mapped. Way out: turn round, 20 seconds back."},
	}
	if len(got) != len(want) {
		t.Fatalf("%d legs, want %d", len(got), len(want))
	}
	for i, w := range want {
		if plain(got[i].Turn) != w.turn || plain(got[i].Room) != w.room || plain(got[i].Text) != w.text {
			t.Errorf("leg %d:\n%q %q\n%q\nwant\n%q %q\n%q", i+1, got[i].Turn, got[i].Room, plain(got[i].Text), w.turn, w.room, w.text)
		}
	}
	if n := len(got[1].Watch); n != 2 || got[2].Watch[0].Number != 3 {
		t.Errorf("%d watch points on the second leg, %v on the third", n, got[2].Watch)
	}
	w := got[2].Watch[0]
	if plain(w.Head) != "3 Dog field, 8 min." || plain(w.Text) != "50 m off, on your right. Keep to the left. Also here: a main road to cross and narrow." {
		t.Errorf("%q %q", w.Head, w.Text)
	}
}

func TestLead(t *testing.T) {
	_, plan, dog := blocktest.Loop(t)
	loud := &exposure.Dog{ByKind: map[exposure.Kind]exposure.Need{exposure.Siren: {WorkingM: 200, ReactionM: 50}}}
	both := &exposure.Dog{ByKind: map[exposure.Kind]exposure.Need{exposure.Siren: {WorkingM: 200, ReactionM: 50}, exposure.Runner: {WorkingM: 20, ReactionM: 9}}}
	for _, c := range []struct {
		name string
		walk routing.Walk
		dog  *exposure.Dog
		want exposure.Kind
		ok   bool
	}{
		{"most reactions", plan.Walks[0], dog, exposure.DogOnLead, true},
		{"nothing met", routing.Walk{}, dog, exposure.DogOnLead, true},
		{"only sounds", routing.Walk{}, loud, exposure.Siren, true},
		{"sounds and a runner", routing.Walk{}, both, exposure.Runner, true},
		{"reacts to nothing", routing.Walk{}, &exposure.Dog{}, 0, false},
	} {
		if got, ok := Lead(&c.walk, c.dog); ok != c.ok || (ok && got != c.want) {
			t.Errorf("%s: %s, %t", c.name, got, ok)
		}
	}
}

// TestJoinLegs: pieces of one street are one leg, scraps of nameless way belong to
// the next leg, and nothing gets lost.
func TestJoinLegs(t *testing.T) {
	leg := func(name, class string, turn network.Turn, x0, y0, x1, y1 float64) routing.Leg {
		l := routing.Leg{Name: name, Class: class, Turn: turn, Line: blocktest.Line(x0, y0, x1, y1), DurationS: 1}
		l.LengthM = l.Line.LengthM()
		return l
	}
	in := []routing.Leg{
		leg("Low Street", "street", network.TurnStart, 0, 0, 100, 0),
		leg("", "crossing", network.TurnLeft, 100, 0, 100, 10),
		leg("Low Street", "street", network.TurnRight, 100, 10, 200, 10),
		leg("", "footpath", network.TurnLeft, 200, 10, 200, 20),
		leg("High Street", "street", network.TurnStraight, 200, 20, 200, 120),
	}
	got := joinLegs(in)
	if len(got) != 2 || got[0].Name != "Low Street" || got[1].Name != "High Street" || got[1].Turn != network.TurnLeft {
		t.Fatalf("%+v", got)
	}
	if got[0].LengthM != 210 || got[1].LengthM != 110 {
		t.Errorf("lengths %g and %g", got[0].LengthM, got[1].LengthM)
	}
	if in[2].LengthM != 100 || len(in[2].Line) != 2 {
		t.Error("the input was changed")
	}
}

func TestLetter(t *testing.T) {
	if Letter(0)+Letter(2) != "AC" {
		t.Error("walks are called A, B, C")
	}
}

func TestAdviceByDriver(t *testing.T) {
	for _, d := range []Driver{DriverUnknown, Fear, Frustration, Excitement} {
		lines := Words{}.TooClose(d)
		asks := strings.Contains(lines[2], "Ask for something easy")
		if len(lines) != 4 || asks != (d == Frustration || d == Excitement) {
			t.Errorf("%q: %q", d, lines)
		}
	}
	if got := (Words{}).Caution("step"); got != "Close work can hurt. Stop at the first refusal of food." {
		t.Error(got)
	}
	if got := (Words{}).Caution("nothing"); got != "" {
		t.Error(got)
	}
}

// thin is the space between a number and its unit; it does not break.
const thin = "\u202f"
