package wire_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/outing"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// faults are those of an error that must be of such.
func faults(t *testing.T, err error) fault.Problems {
	t.Helper()
	var wrong fault.Problems
	if !errors.As(err, &wrong) || len(wrong) == 0 {
		t.Fatalf("no list of faults: %v", err)
	}
	return wrong
}

// toldAt wants each fault by pointer and value, in order, with a mend that says something.
func toldAt(t *testing.T, err error, want ...[2]string) {
	t.Helper()
	var got [][2]string
	for _, p := range faults(t, err) {
		got = append(got, [2]string{p.Pointer, p.Value})
		if len(p.Mend) < 10 {
			t.Errorf("%s: the mend is %q", p.Pointer, p.Mend)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("faults at %q, want %q", got, want)
	}
}

// setAlone gives one field a value that is none of a zero form.
func setAlone(t *testing.T, v reflect.Value) {
	t.Helper()
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		v.SetFloat(2.5)
	case reflect.Int, reflect.Uint64:
		v.Set(reflect.ValueOf(7).Convert(v.Type()))
	case reflect.String:
		v.SetString("x")
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		setAlone(t, v.Index(0))
	case reflect.Array:
		setAlone(t, v.Index(0))
	case reflect.Struct:
		for i := range v.NumField() {
			setAlone(t, v.Field(i))
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		setAlone(t, v.Elem())
	default:
		t.Fatalf("a field of kind %s", v.Kind())
	}
}

// changedFields are the names of the fields in which two structs differ.
func changedFields(a, b any) (names []string) {
	x, y := reflect.ValueOf(a), reflect.ValueOf(b)
	for i := range x.NumField() {
		if !x.Type().Field(i).IsExported() {
			continue
		}
		if !reflect.DeepEqual(x.Field(i).Interface(), y.Field(i).Interface()) {
			names = append(names, x.Type().Field(i).Name)
		}
	}
	return names
}

// TestEveryLimitArrives: each limit alone becomes the limit of its own name and no other;
// a limit that is dropped on the way would let a walk go where a handler will not.
func TestEveryLimitArrives(t *testing.T) {
	f := maptest.Invented().Frame
	form := reflect.TypeFor[wire.LimitsBody]()
	for i := range form.NumField() {
		var b wire.WishBody
		setAlone(t, reflect.ValueOf(&b.Limits).Elem().Field(i))
		name := form.Field(i).Name
		got := b.Wish(f).Limits
		if ch := changedFields(reach.Limits{}, got); !slices.Equal(ch, []string{name}) {
			t.Errorf("%s alone becomes %v", name, ch)
		}
		for of, other := range map[string]reach.Limits{"visits": visitLimits(t, b.Limits), "outing": outingLimits(t, b.Limits)} {
			if !reflect.DeepEqual(other, got) {
				t.Errorf("%s of %s: %+v, of a walk %+v", name, of, other, got)
			}
		}
	}
	if n := reflect.TypeFor[reach.Limits]().NumField(); n != form.NumField() {
		t.Errorf("%d limits can be asked for, a planner knows %d", form.NumField(), n)
	}
	b := wire.WishBody{Limits: wire.LimitsBody{NeverNearer: []wire.KeepBody{{From: "school", M: 60}}, Avoid: []wire.Circle{{At: wire.LatLon{Lat: 47.2, Lon: -7}, RadiusM: 30}}}}
	got := b.Wish(f).Limits
	if got.NeverNearer[0] != (reach.Keep{From: "school", M: 60}) || got.Avoid[0] != (reach.Circle{At: f.Forward(-7, 47.2), RadiusM: 30}) {
		t.Errorf("distances and circles become %+v", got)
	}
}

func visitLimits(t *testing.T, l wire.LimitsBody) reach.Limits {
	b := wire.VisitsBody{WatchBody: wire.WatchBody{Kind: "dogs"}, Limits: l}
	w, err := b.Wish(maptest.Invented().Frame, time.UTC, maptest.Morning)
	if err != nil {
		t.Fatal(err)
	}
	return w.Limits
}

func outingLimits(t *testing.T, l wire.LimitsBody) reach.Limits {
	b := wire.OutingBody{Start: "2026-11-25T09:00:00Z", Limits: l}
	o, err := b.Outing(maptest.Invented().Frame, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return o.Limits
}

// TestEveryFieldOfAWishArrives: each field alone changes what it is named for and nothing
// else; a dog and a departure are filled in elsewhere.
func TestEveryFieldOfAWishArrives(t *testing.T) {
	f := maptest.Invented().Frame
	becomes := map[string][]string{
		"Shape": {"Shape", "Minutes"}, "From": {"From"}, "To": {"Shape", "To", "Minutes"}, "Minutes": {"Minutes"}, "MaxReactions": {"MaxX"},
		"Depart": nil, "Dog": nil, "DogID": nil, "Limits": {"Limits"}, "Walks": {"Walks"}, "Weather": {"Weather"}, "Strain": {"Strain"},
		"SoftGround": {"Soft"}, "Away": {"Away"}, "Stacking": {"Stacking"},
	}
	form := reflect.TypeFor[wire.WishBody]()
	bare := new(wire.WishBody).Wish(f)
	for i := range form.NumField() {
		name := form.Field(i).Name
		want, known := becomes[name]
		if !known {
			t.Errorf("%s: say here what it becomes", name)
			continue
		}
		if name == "Dog" {
			continue // read by the file of a dog
		}
		var b wire.WishBody
		setAlone(t, reflect.ValueOf(&b).Elem().Field(i))
		if got := changedFields(bare, b.Wish(f)); !slices.Equal(got, want) {
			t.Errorf("%s alone changes %v, want %v", name, got, want)
		}
	}
}

// TestShapeAndMinutesLeftOut: a way where there is a place to go, else the calmest; half
// an hour where a walk comes back, and none (twice the quickest, the most that the budget
// of reactions allows) where it does not.
func TestShapeAndMinutesLeftOut(t *testing.T) {
	f := maptest.Invented().Frame
	to, ten, none := wire.LatLon{Lat: 47.21, Lon: -7}, 10.0, 0.0
	for _, c := range []struct {
		in      wire.WishBody
		shape   routing.Shape
		minutes float64
	}{
		{wire.WishBody{}, routing.Calmest, 30},
		{wire.WishBody{To: &to}, routing.Way, 0},
		{wire.WishBody{To: &to, Minutes: &ten}, routing.Way, 10},
		{wire.WishBody{To: &to, Shape: "loop"}, routing.Loop, 30},
		{wire.WishBody{Shape: "there_and_back"}, routing.ThereAndBack, 30},
		{wire.WishBody{Shape: "longest_calm"}, routing.LongestCalm, 0},
		{wire.WishBody{Shape: "calmest", Minutes: &ten}, routing.Calmest, 10},
		{wire.WishBody{Minutes: &none}, routing.Calmest, 0}, // said: the planner refuses it
	} {
		if w := c.in.Wish(f); w.Shape != c.shape || w.Minutes != c.minutes {
			t.Errorf("%+v: %s of %g minutes, want %s of %g", c.in, w.Shape, w.Minutes, c.shape, c.minutes)
		}
	}
	e := (&wire.WhereBody{WishBody: wire.WishBody{Shape: "longest_calm"}}).Errand(routing.Wish{})
	drive := 7.0
	g := (&wire.WhereBody{WishBody: wire.WishBody{Minutes: &ten}, DriveMinutes: &drive, OnFoot: true, Most: 3}).Errand(routing.Wish{Minutes: 10})
	if e.Minutes != 30 || e.DriveMinutes != 15 || e.OnFoot || e.Most != 0 || g.Minutes != 10 || g.DriveMinutes != 7 || !g.OnFoot || g.Most != 3 {
		t.Errorf("where to go: %g min and %g min by car; %+v", e.Minutes, e.DriveMinutes, g)
	}
}

// TestTimesAreRead takes the examples of RFC 3339, section 5.8, and forms that it has not.
func TestTimesAreRead(t *testing.T) {
	now := time.Date(1988, 1, 1, 12, 0, 0, 0, time.UTC)
	zone := time.FixedZone("", -5*3600)
	for text, want := range map[string]time.Time{
		"":                          now,
		"1985-04-12T23:20:50.52Z":   time.Date(1985, 4, 12, 23, 20, 50, 520e6, time.UTC),
		"1996-12-19T16:39:57-08:00": time.Date(1996, 12, 20, 0, 39, 57, 0, time.UTC),
		"1990-12-31T15:59:59-08:00": time.Date(1990, 12, 31, 23, 59, 59, 0, time.UTC),
		"1987-01-01T12:00:27+00:20": time.Date(1987, 1, 1, 11, 40, 27, 0, time.UTC),
		"1983-01-01T12:00:00Z":      now.AddDate(-5, 0, 0),
	} {
		got, err := wire.ParseTime("/depart", text, now, zone)
		if err != nil || !got.Equal(want) || got.Location() != zone {
			t.Errorf("%q: %v in %v, %v", text, got, got.Location(), err)
		}
	}
	for _, text := range []string{"tomorrow", "2026-11-25", "2026-11-25T07:10", "2026-11-25T07:10:00", "2026-11-25 07:10:00Z", "2026-13-25T07:10:00Z", "2026-02-30T07:10:00Z",
		"2026-11-25T24:00:00Z", "2026-11-25T07:10:00+0100", "20261125T071000Z", "1982-12-31T23:59:59Z"} {
		_, err := wire.ParseTime("/depart", text, now, zone)
		toldAt(t, err, [2]string{"/depart", fmt.Sprintf("%q", text)})
		past := strings.HasPrefix(text, "1982")
		if mend := faults(t, err)[0].Mend; past != strings.Contains(mend, "the last 5 years") || past == strings.Contains(mend, "with its zone") {
			t.Errorf("%q: %s", text, mend)
		}
	}
}

// TestWeatherIsUnderstood: nothing said is not the same as nought degrees or no rain.
func TestWeatherIsUnderstood(t *testing.T) {
	zero, frost := 0.0, -60.0
	for _, c := range []struct {
		in   *wire.WeatherBody
		want hours.Weather
	}{
		{nil, hours.Weather{}},
		{&wire.WeatherBody{}, hours.Weather{}},
		{&wire.WeatherBody{TemperatureC: &zero}, hours.Weather{HasTmax: true}},
		{&wire.WeatherBody{TemperatureC: &frost, Rain: "heavy"}, hours.Weather{TmaxC: -60, HasTmax: true, Rain: hours.HeavyRain}},
		{&wire.WeatherBody{Feel: "hot", Rain: "none"}, hours.Weather{Feel: hours.Hot, Rain: hours.NoRain}},
		{&wire.WeatherBody{Feel: "cold", Rain: "light"}, hours.Weather{Feel: hours.Cold, Rain: hours.LightRain}},
	} {
		if got := c.in.Weather(); got != c.want {
			t.Errorf("%+v becomes %+v, want %+v", c.in, got, c.want)
		}
		if got := (&wire.WishBody{Weather: c.in}).Wish(plane.NewFrame(0, 0)).Weather; got != c.want {
			t.Errorf("of a walk: %+v", got)
		}
	}
	if hours.NoRain == (hours.Weather{}).Rain {
		t.Error("no rain said and nothing said are one")
	}
}

// TestOutingFaultsAreToldAtOnce: every bad input with its field, its value and how to
// mend it, in one answer.
func TestOutingFaultsAreToldAtOnce(t *testing.T) {
	f := maptest.Invented().Frame
	wet, hot := "wet", 61.0
	var b wire.OutingBody
	body := `{"start":"at nine","dogs":[
	 {"dog":{"name":"A","needs":{}},"experience":"expert","finish_by":"noon"},
	 {"dog":{"name":"B","needs":{"dgos":{"working_m":38}}}},
	 {"dog_id":"kept","dog":{"needs":{"dgos":{}}}}],
	 "people":[{"name":"Ada","from":"9"},{"name":"Bo","to":"2026-11-25T25:00:00Z","experience":"none"}]}`
	if err := json.Unmarshal([]byte(body), &b); err != nil {
		t.Fatal(err)
	}
	b.Weather = &wire.WeatherBody{TemperatureC: &hot, Feel: "warm", Rain: wet}
	_, err := b.Outing(f, time.UTC)
	toldAt(t, err, [2]string{"/start", `"at nine"`}, [2]string{"/weather/temperature_c", "61"}, [2]string{"/weather/feel", "warm"}, [2]string{"/weather/rain", "wet"},
		[2]string{"/dogs/0/experience", `"expert"`}, [2]string{"/dogs/0/finish_by", `"noon"`}, [2]string{"/dogs/1/dog/needs/dgos", faults(t, err)[6].Value},
		[2]string{"/people/0/from", `"9"`}, [2]string{"/people/1/experience", `"none"`}, [2]string{"/people/1/to", `"2026-11-25T25:00:00Z"`})
	for _, p := range faults(t, err) {
		if strings.HasSuffix(p.Pointer, "experience") && !strings.Contains(p.Mend, "experienced") {
			t.Errorf("%s does not say which there are: %s", p.Pointer, p.Mend)
		}
	}
	for _, edge := range []float64{hours.ColdestC, hours.HottestC} {
		ok := wire.OutingBody{Start: "2026-11-25T09:00:00Z", Weather: &wire.WeatherBody{TemperatureC: &edge}}
		if _, err := ok.Outing(f, time.UTC); err != nil {
			t.Errorf("%g degrees: %v", edge, err)
		}
	}
	nan := math.NaN()
	odd := wire.OutingBody{Start: "2026-11-25T09:00:00Z", Weather: &wire.WeatherBody{TemperatureC: &nan}}
	_, err = odd.Outing(f, time.UTC)
	toldAt(t, err, [2]string{"/weather/temperature_c", fault.Number(nan)})
}

// TestEveryFieldOfAnOutingArrives: each field alone changes what it is named for.
func TestEveryFieldOfAnOutingArrives(t *testing.T) {
	f := maptest.Invented().Frame
	becomes := map[string][]string{"Gate": {"Gate"}, "ZoneM": {"ZoneM"}, "Minutes": {"Minutes"}, "Together": {"Together"}, "Slack": {"Slack"}, "Limits": {"Limits"},
		"MinutePrice": {"MinutePrice"}, "TurnMinutes": {"TurnMin"}, "Waiting": {"Waiting"}, "AnyLoads": {"AnyLoads"}, "NoBreaks": {"NoBreaks"}, "Seed": {"Seed"}}
	read := func(b *wire.OutingBody) outing.Wish {
		b.Start = "2026-11-25T09:00:00.75-05:00"
		o, err := b.Outing(f, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	bare := read(&wire.OutingBody{})
	if !bare.Start.Equal(time.Date(2026, 11, 25, 14, 0, 0, 0, time.UTC)) || bare.Start.Location() != time.UTC {
		t.Errorf("begins %v, want whole seconds of the place's own time", bare.Start)
	}
	form := reflect.TypeFor[wire.OutingBody]()
	for name, want := range becomes {
		var b wire.OutingBody
		field, ok := form.FieldByName(name)
		if !ok {
			t.Fatalf("no field %s", name)
		}
		setAlone(t, reflect.ValueOf(&b).Elem().FieldByIndex(field.Index))
		if got := changedFields(bare, read(&b)); !slices.Equal(got, want) {
			t.Errorf("%s alone changes %v, want %v", name, got, want)
		}
	}
	o := read(&wire.OutingBody{
		Dogs: []wire.OutingDog{{Dog: dogfile.File{Name: "Oro"}, Name: "Oro the second", Minutes: 25, Experience: "regular", BiteHistory: true, First: true, FinishBy: "2026-11-25T16:00:00Z", OnlyWith: []string{"Ada"}, NeverWith: []string{"Bo"}},
			{DogID: "kept", Minutes: 20}},
		People: []wire.OutingPerson{{Name: "Ada", From: "2026-11-25T14:30:00Z", To: "2026-11-25T15:30:00Z", Experience: "experienced"}, {Name: "Bo"}}})
	noon := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	want := outing.Dog{Dog: o.Dogs[0].Dog, Minutes: 25, Experience: outing.Regular, Bite: true, First: true, FinishBy: noon, OnlyWith: []string{"Ada"}, NeverWith: []string{"Bo"}}
	if o.Dogs[0].Dog.Name != "Oro the second" || !reflect.DeepEqual(o.Dogs[0], want) || !reflect.DeepEqual(o.Dogs[1], outing.Dog{Minutes: 20}) {
		t.Errorf("dogs become %+v", o.Dogs)
	}
	people := []outing.Person{{Name: "Ada", From: noon.Add(-90 * time.Minute), To: noon.Add(-30 * time.Minute), Experience: outing.Experienced}, {Name: "Bo"}}
	if !reflect.DeepEqual(o.People, people) {
		t.Errorf("people become %+v", o.People)
	}
}

// TestSetupIsUnderstood: what is left out, what is said, and all that can be wrong.
func TestSetupIsUnderstood(t *testing.T) {
	f := maptest.Invented().Frame
	zone := time.FixedZone("", 3600)
	now := time.Date(2026, 11, 28, 7, 10, 42, 5, time.UTC)
	bare, err := new(wire.SetupBody).Wish(f, zone, now)
	if err != nil || bare.Kind != exposure.DogOnLead || !bare.At.Equal(time.Date(2026, 11, 28, 8, 10, 0, 0, time.UTC)) || bare.At.Location() != zone || bare.Car != nil {
		t.Errorf("left out: %+v, %v", bare, err)
	}
	b := wire.SetupBody{Helper: wire.HelperBody{Kind: "runner", Calmness: "lively"}, Steps: []float64{2, 1}, Modes: []string{"stand", "approach"}, At: "2026-11-28T08:30:00Z",
		LineM: 50, MaxReactions: 0.3, Ground: "green", Together: true, Struck: []wire.Circle{{At: wire.LatLon{Lat: 47.2, Lon: -7}, RadiusM: 20}}, Car: &wire.LatLon{Lat: 47.21, Lon: -7.01}}
	got, err := b.Wish(f, zone, now)
	car := f.Forward(-7.01, 47.21)
	want := setup.Wish{Kind: exposure.Runner, Calm: "lively", Steps: []float64{2, 1}, Modes: []setup.Mode{setup.Stand, setup.Approach}, At: time.Date(2026, 11, 28, 9, 30, 0, 0, zone),
		LineM: 50, MaxX: 0.3, Ground: "green", Together: true, Struck: []reach.Circle{{At: f.Forward(-7, 47.2), RadiusM: 20}}, Car: &car}
	if err != nil || !got.At.Equal(want.At) {
		t.Errorf("at %v, %v", got.At, err)
	}
	if got.At = want.At; !reflect.DeepEqual(got, want) {
		t.Errorf("said: %+v, want %+v", got, want)
	}
	bad := wire.SetupBody{Helper: wire.HelperBody{Kind: "runer"}, At: "at nine"}
	_, err = bad.Wish(f, zone, now)
	toldAt(t, err, [2]string{"/helper/kind", `"runer"`}, [2]string{"/at", `"at nine"`})
	if !strings.Contains(faults(t, err)[0].Mend, "runner") {
		t.Errorf("no kind like it is named: %v", err)
	}
}

// TestVisitsAreUnderstood: fields, places in their order, and faults.
func TestVisitsAreUnderstood(t *testing.T) {
	f := maptest.Invented().Frame
	p := func(i float64) wire.LatLon { return wire.LatLon{Lat: 47.2 + i/1000, Lon: -7 - i/1000} }
	at := func(i float64) plane.Point { return f.Forward(-7-i/1000, 47.2+i/1000) }
	b := wire.VisitsBody{WatchBody: wire.WatchBody{From: p(1), Kind: "dogs", ReachM: 900, LeastGrade: "B"}, Farthest: 2.5, Nearest: 1.25, MaxReactions: 0.7,
		Times: []string{"2026-11-28T07:20:00+01:00"}, Pins: []wire.LatLon{p(2), p(3)}, Bans: []wire.LatLon{p(4)}, Keep: []wire.LatLon{p(5), p(6)}}
	got, err := b.Wish(f, time.UTC, maptest.Morning)
	want := training.Wish{From: at(1), Kinds: exposure.Dogs.Kinds(), Farthest: 2.5, Nearest: 1.25, ReachM: 900, DriveMin: 20, MaxX: 0.7, Least: training.GradeB,
		Times: []time.Time{time.Date(2026, 11, 28, 6, 20, 0, 0, time.UTC)}, Pins: []plane.Point{at(2), at(3)}, Bans: []plane.Point{at(4)}, Keep: []plane.Point{at(5), at(6)}}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, want %+v (%v)", got, want, err)
	}
	b.Kind = "cat fish"
	_, err = b.Wish(f, time.UTC, maptest.Morning)
	toldAt(t, err, [2]string{"/kind", `"cat fish"`})
	b.Kind, b.Times = "runner", []string{"2026-11-28T07:20:00Z", "later"}
	_, err = b.Wish(f, time.UTC, maptest.Morning)
	toldAt(t, err, [2]string{"/times/1", `"later"`})
}

// TestUsualTimesKeepTheClock: four times a day on the five days from tomorrow, by the
// place's own clock also where a day has 25 hours: Eastern time ended daylight saving on
// Sunday, 1 November 2026 (15 U.S.C. 260a: the first Sunday of November, from 2 to 1).
func TestUsualTimesKeepTheClock(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	b := wire.VisitsBody{WatchBody: wire.WatchBody{Kind: "dogs"}}
	now := time.Date(2026, 10, 31, 3, 0, 0, 0, time.UTC) // Friday the 30th, 23:00 there
	w, err := b.Wish(maptest.Invented().Frame, zone, now)
	if err != nil || len(w.Times) != 20 {
		t.Fatalf("%d times, %v", len(w.Times), err)
	}
	for i, at := range w.Times {
		day, clock := []string{"10-31", "11-01", "11-02", "11-03", "11-04"}[i/4], []string{"07:30", "11:00", "15:30", "18:30"}[i%4]
		offset := "-05:00"
		if i < 4 {
			offset = "-04:00"
		}
		if got := at.Format("2006-01-02T15:04:05Z07:00"); got != "2026-"+day+"T"+clock+":00"+offset {
			t.Errorf("time %d is %s, want the %s at %s%s", i, got, day, clock, offset)
		}
	}
}

// TestBoxHoldsWhatIsAskedFor: every place between the four sides lies in the box, in each
// half of the Earth: a parallel is bent on the plane, so its ends are not its extremes.
func TestBoxHoldsWhatIsAskedFor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon0, lat0 := rapid.Float64Range(-170, 170).Draw(t, "lon0"), rapid.Float64Range(-75, 75).Draw(t, "lat0")
		f := plane.NewFrame(lon0, lat0)
		bounds := plane.EmptyBox().With(plane.Point{X: -20_000, Y: -20_000}).With(plane.Point{X: 20_000, Y: 20_000})
		side := func(name string) float64 { return rapid.Float64Range(0.001, 0.4).Draw(t, name) }
		b := wire.AroundBody{BBox: [4]float64{lon0 - side("w"), lat0 - side("s"), lon0 + side("e"), lat0 + side("n")}}
		box, err := b.Box(f, bounds)
		if err != nil {
			t.Fatal(err)
		}
		u, v := rapid.Float64Range(0, 1).Draw(t, "u"), rapid.Float64Range(0, 1).Draw(t, "v")
		lon, lat := b.BBox[0]+u*(b.BBox[2]-b.BBox[0]), b.BBox[1]+v*(b.BBox[3]-b.BBox[1])
		p := f.Forward(lon, lat)
		if !box.Grown(1e-3).Contains(p) {
			t.Fatalf("%g, %g lies at %v, outside %+v", lon, lat, p, box)
		}
	})
}

// TestBoxesThatCannotBe: west of east, south of north, on the Earth; what lies far off the
// map is no fault and holds nothing, and the whole Earth is the map with its margin.
func TestBoxesThatCannotBe(t *testing.T) {
	s := maptest.Invented()
	for _, bad := range [][4]float64{{}, {-7, 47, -7, 48}, {-6, 47, -7, 48}, {-7, 48, -6, 47}, {-7, 47, -6, 47}, {-7, -91, -6, 47}, {-7, 47, -6, 90.5}, {-181, 47, -6, 48}, {-7, 47, 180.5, 48},
		{math.NaN(), 47, -6, 48}, {-7, 47, -6, math.NaN()}, {math.Inf(-1), 47, -6, 48}} {
		_, err := (&wire.AroundBody{BBox: bad}).Box(s.Frame, s.Bounds)
		toldAt(t, err, [2]string{"/bbox", ""})
	}
	for _, far := range [][4]float64{{-80, 47, -79, 48}, {-7.1, -48, -6.9, -47}, {100, 10, 101, 11}} {
		box, err := (&wire.AroundBody{BBox: far}).Box(s.Frame, s.Bounds)
		if err != nil || box != plane.EmptyBox() {
			t.Errorf("%v, far off, holds %v (%v)", far, box, err)
		}
	}
	all, err := (&wire.AroundBody{BBox: [4]float64{-180, -90, 180, 90}}).Box(s.Frame, s.Bounds)
	if err != nil || !all.Contains(s.Bounds.Min) || !all.Contains(s.Bounds.Max) || all.Max.X-all.Min.X > s.Bounds.Max.X-s.Bounds.Min.X+2*60_000 {
		t.Errorf("the whole Earth is %v of %v (%v)", all, s.Bounds, err)
	}
}

// TestRulesThatCannotBe: each bound of a training rule is told where the rule stands.
func TestRulesThatCannotBe(t *testing.T) {
	usual := kept.TrainingRule(learning.DefaultRule())
	if wrong := wire.WrongRule("/rule", &usual); wrong != nil {
		t.Fatalf("common practice is refused: %v", wrong)
	}
	for says, edit := range map[string]func(r *kept.TrainingRule){
		"visits in a row 0":    func(r *kept.TrainingRule) { r.VisitsInARow = 0 },
		"handled share 0":      func(r *kept.TrainingRule) { r.HandledShare = 0 },
		"handled share 1.01":   func(r *kept.TrainingRule) { r.HandledShare = 1.01 },
		"handled share NaN":    func(r *kept.TrainingRule) { r.HandledShare = math.NaN() },
		"least triggers -1":    func(r *kept.TrainingRule) { r.LeastTriggers = -1 },
		"over threshold":       func(r *kept.TrainingRule) { r.OverForBack = 0 },
		"refusals for a step":  func(r *kept.TrainingRule) { r.RefusalsForBack = 0 },
		"visits in a row -100": func(r *kept.TrainingRule) { r.VisitsInARow = -100 },
	} {
		r := usual
		edit(&r)
		wrong := wire.WrongRule("/body/rule", &r)
		if len(wrong) != 1 || wrong[0].Pointer != "/body/rule" || !strings.Contains(wrong[0].Mend, says) || !strings.Contains(wrong[0].Mend, "give") {
			t.Errorf("%s: %v", says, wrong)
		}
	}
}
