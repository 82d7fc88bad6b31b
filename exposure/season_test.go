package exposure

import (
	"math/rand/v2"
	"testing"
	"time"

	"wideberth/exposure/hours"
)

// north is a clock where the seasons are those that were counted.
func north(t testing.TB) *hours.Clock {
	t.Helper()
	loc, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	return &hours.Clock{Loc: loc, Lat: 52.4, Lon: 13.5, Country: "DE"}
}

func on(c *hours.Clock, month time.Month, day, hour int) hours.Moment {
	return c.At(time.Date(2026, month, day, hour, 30, 0, 0, c.Loc))
}

// The fast form and the full one agree in every season, light and weather, with
// visitors, parks and shut terraces in them.
func TestSumsAgreeInEverySeason(t *testing.T) {
	const seed = 12
	r := rand.New(rand.NewPCG(seed, 1))
	f := randomField(r, 60)
	for e := range f.Marks {
		f.Marks[e] |= Mark(r.IntN(2)) * Visitors
	}
	for i := range f.Touches {
		f.Touches[i].Bare = f.Touches[i].InSight && r.IntN(2) == 0
	}
	f.Boards = .03
	d := wary()
	for _, w := range []hours.Weather{{}, {HasTmax: true, TmaxC: -3, Rain: hours.HeavyRain}, {HasTmax: true, TmaxC: 33, Rain: hours.NoRain}} {
		c := north(t).Under(w)
		for _, m := range []hours.Moment{on(c, 1, 14, 18), on(c, 7, 18, 13), on(c, 10, 31, 20)} {
			sums := allHazards(f, d, m)
			for e := range int32(f.EdgeCount()) {
				want := 0.0
				for _, term := range f.Explain(e, d, m, nil) {
					want += term.HazardPerS
				}
				if !nearly(float64(sums[e]), want) {
					t.Fatalf("seed %d, %+v, %v: edge %d has %g, its terms %g", seed, w, m.Time, e, sums[e], want)
				}
			}
		}
	}
}

// A dog that chases bicycles has half the risk in January that it has in July, on
// the same way at the same hour, and a dog that minds dogs about the same.
func TestChasersInWinterAndSummer(t *testing.T) {
	f := emptyField(1)
	f.OwnPerDay[WheelTrips][0], f.OwnPerDay[DogWalks][0] = 200, 60
	c := north(t)
	x := func(k Kind, month time.Month) float64 {
		d := &Dog{ByKind: map[Kind]Need{k: {WorkingM: 20, ReactionM: 8}}}
		return float64(allHazards(f, d, on(c, month, 14, 12))[0])
	}
	if jan, jul := x(Bicycle, 1), x(Bicycle, 7); jan > jul/2 {
		t.Errorf("bicycles: %g in January, %g in July", jan, jul)
	}
	if jan, jul := x(DogOnLead, 1), x(DogOnLead, 7); jan < .85*jul || jan > 1.2*jul {
		t.Errorf("dogs: %g in January, %g in July", jan, jul)
	}
}

// A terrace in January is hardly likely to be in use, whatever its size and though its
// inn is open; in June it is. A vet's practice is no terrace.
func TestTerracesInWinter(t *testing.T) {
	f := emptyField(1)
	f.Sources = []Source{
		{As: "outdoor_seating", Activity: hours.Cafe, Hours: "Mo-Su 08:00-22:00", Mix: []Presence{{Kind: Adult, Present: 30}}},
		{As: "veterinary", Activity: ruleOf("veterinary").activity, Mix: []Presence{{Kind: Adult, Present: 3}}},
	}
	c, d := north(t), wary()
	if p := f.Active(0, d, on(c, 1, 14, 13), nil); p > .15 {
		t.Errorf("a terrace on a January noon: %.2f", p)
	}
	if p := f.Active(0, d, on(c, 6, 17, 13), nil); p < .9 {
		t.Errorf("a terrace on a June noon: %.2f", p)
	}
	if a, b := f.Active(1, d, on(c, 1, 14, 10), nil), f.Active(1, d, on(c, 6, 17, 10), nil); a != b || a < .5 {
		t.Errorf("a practice: %.2f in January, %.2f in June", a, b)
	}
	if n, m := f.Present(0, Adult, on(c, 1, 14, 13), nil), f.Present(0, Adult, on(c, 6, 17, 13), nil); n > .2*m {
		t.Errorf("on the terrace: %.2f expected in January, %.2f in June", n, m)
	}
}

// People in a park stay away in the rain and dark more than those in a street;
// where many stay the night summer has more of both.
func TestPeopleByPlace(t *testing.T) {
	f := emptyField(3)
	for e := range 3 {
		f.OwnPerDay[WalkingTrips][e] = 500
	}
	f.Place[1] = PlacePark
	f.Marks[2] = Visitors
	passing := func(w hours.Weather, month time.Month, hour int) []float64 {
		return f.Passing([]int32{0, 1, 2}, Adult, on(north(t).Under(w), month, 14, hour), nil)
	}
	dry, wet, dark := passing(hours.Weather{}, 6, 17), passing(hours.Weather{Rain: hours.LightRain}, 6, 17), passing(hours.Weather{}, 12, 17)
	if a, b := wet[0]/dry[0], wet[1]/dry[1]; a < .8 || b > .55 {
		t.Errorf("in the rain %.2f in a street, %.2f in a park", a, b)
	}
	if a, b := dark[0]/dry[0], dark[1]/dry[1]; a < .8 || b > .6 {
		t.Errorf("on a December evening %.2f of June in a street, %.2f in a park", a, b)
	}
	summer, winter := passing(hours.Weather{}, 8, 12), passing(hours.Weather{}, 1, 12)
	if a, b := summer[0]/winter[0], summer[2]/winter[2]; b < 1.5*a {
		t.Errorf("August over January %.2f in a street, %.2f where many stay the night", a, b)
	}
}

// What is assumed of a season widens the doubt; without a season nothing does.
func TestSeasonWidensTheDoubt(t *testing.T) {
	f := emptyField(1)
	f.OwnPerDay[WheelTrips][0], f.OwnPerDay[CarTraffic][0] = 200, 200
	shape := func(k Kind, m hours.Moment) float64 {
		for _, term := range f.Explain(0, wary(), m, nil) {
			if term.Kind == k {
				return term.Shape
			}
		}
		t.Fatalf("no %s", k)
		return 0
	}
	base := defaultShape(Bicycle, FromHomes)
	if s := shape(Bicycle, at(t, afternoon)); s != base {
		t.Errorf("without a season %g, want %g", s, base)
	}
	said, unsaid := shape(Bicycle, on(north(t).Under(hours.Weather{Rain: hours.NoRain}), 5, 14, 12)), shape(Bicycle, on(north(t), 5, 14, 12))
	if !(unsaid < said && said < base) {
		t.Errorf("weather unsaid %g, said %g, no season %g", unsaid, said, base)
	}
	if s := shape(Car, on(north(t), 5, 14, 12)); s != defaultShape(Car, FromHomes) {
		t.Errorf("cars %g", s)
	}
}

// A place behind trees that shed their leaves counts in winter and not in summer; what
// is heard counts in both.
func TestBehindTrees(t *testing.T) {
	c, d := north(t), wary()
	f := emptyField(1)
	f.Sources = []Source{{OSM: "way/1", As: "pitch", Capacity: 4, RadiusM: 20, Activity: hours.People, Mix: []Presence{{Kind: Adult, Present: 4}}},
		{OSM: "way/2", As: "kennel", Capacity: 4, RadiusM: 20, Activity: hours.People, Mix: []Presence{{Kind: DogBehindFence, Present: 4}}}}
	f.TouchAt = []int32{0, 2}
	f.Touches = []Touch{{Source: 0, DistM: 10, Share: 1, InSight: true, Bare: true}, {Source: 1, DistM: 10, Share: 1, InSight: true, Bare: true}}
	terms := func(m hours.Moment) map[Kind]bool {
		out := map[Kind]bool{}
		for _, x := range f.Explain(0, d, m, nil) {
			out[x.Kind] = x.HazardPerS > 0
		}
		return out
	}
	winter, summer := on(c, 1, 14, 12), on(c, 7, 14, 12)
	if w, s := terms(winter), terms(summer); !w[Adult] || s[Adult] || !w[DogBehindFence] || !s[DogBehindFence] {
		t.Errorf("winter %v, summer %v", w, s)
	}
	if w, s := f.Touches[0].SeenAt(winter), f.Touches[0].SeenAt(summer); !w || s {
		t.Errorf("in sight in winter %v, in summer %v", w, s)
	}
}
