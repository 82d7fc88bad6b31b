package briefing

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/routing"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/reach"
	"wideberth/routing/training"
)

func TestRefusals(t *testing.T) {
	w := Words{}
	for _, c := range []struct {
		e    reach.Infeasible
		want string
	}{
		{reach.Infeasible{Reason: reach.NoStreetNear, Short: 418}, "The nearest path is 420 m away. Move the start nearer to one."},
		{reach.Infeasible{Reason: reach.OffTheMap, Short: 4000}, "That is 4.0 km outside the map loaded here."},
		{reach.Infeasible{Reason: reach.LimitsForbid, Limit: reach.Limit{What: reach.LimitSteps}}, "No 30-minute walk from here keeps this limit: no steps."},
		{reach.Infeasible{Reason: reach.NoLoop}, "No 30-minute loop starts here. Try there and back, another length or another start."},
		{reach.Infeasible{Reason: reach.TooShort, Short: 300}, "The quickest way takes 5 minutes more. Allow more time."},
		{reach.Infeasible{Reason: reach.MapTooSmall, Short: 90}, "The map knows only 90 m of path here. Start elsewhere."},
		{reach.Infeasible{Reason: reach.NothingInRange, Short: 90}, "Nothing in range: the nearest is 90 m away."},
		{reach.Infeasible{Reason: reach.NoStand}, "It cannot be watched from there: out of sight, too near, no way out, or no place to stand. Choose another place."},
		{reach.Infeasible{Reason: reach.NoWayIn}, "No way there and home can be walked then. Take another hour or place, or drop a limit."},
		{reach.Infeasible{Reason: reach.NobodyThen}, "At that hour there may be nobody to watch, or something else is too near. Take another hour."},
		{reach.Infeasible{Reason: reach.NotConnected}, "No way that may be walked goes there. Choose another place or drop a limit."},
	} {
		if got := plain(w.Refusal(&c.e, 30)); got != c.want {
			t.Errorf("%s: %q, want %q", c.e.Reason, got, c.want)
		}
	}
}

// constants are the values of the constants of a type, as the sources of a package
// declare them.
func constants(t *testing.T, dir, typ string) (values []string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			v, ok := n.(*ast.ValueSpec)
			if !ok || v.Type == nil || len(v.Values) == 0 {
				return true
			}
			of := ""
			switch x := v.Type.(type) {
			case *ast.Ident:
				of = x.Name
			case *ast.SelectorExpr:
				of = x.Sel.Name
			}
			if s, ok := text(v.Values[0]); ok && of == typ {
				values = append(values, s)
			}
			return true
		})
	}
	return values
}

// TestEveryReasonHasWords walks the closed lists of the packages below, so that one
// that is added there cannot be forgotten here.
func TestEveryReasonHasWords(t *testing.T) {
	special := map[string]string{"limit.never_nearer": "limit.never.line", "outing.short.pairs": "outing.short.pairs"}
	for _, c := range []struct {
		dir, typ, family string
		least            int
	}{
		{"../../exposure", "Assumed", "assumed.", 3}, {"..", "Assumed", "assumed.", 5}, {"../training", "Assumed", "assumed.", 4}, {"../outing", "Assumed", "assumed.", 6},
		{"..", "NoteWhat", "note.", 4}, {"../reach", "LimitWhat", "limit.", 11}, {"../training", "LackWhy", "lack.", 6}, {"../training", "Grade", "grade.", 4},
		{"../training", "Strictness", "order.", 3}, {"../outing", "ShortageCause", "outing.short.", 4}, {"../outing", "HelpWhat", "outing.help.", 5},
		{"../outing", "LeadCause", "outing.lead.", 4},
	} {
		values := constants(t, c.dir, c.typ)
		if len(values) < c.least {
			t.Errorf("%s of %s: only %q were found", c.typ, c.dir, values)
		}
		for _, v := range values {
			key := c.family + v
			if k, ok := special[key]; ok {
				key = k
			}
			if !(Words{}).has(key) {
				t.Errorf("%s %q of %s has no text %s", c.typ, v, c.dir, key)
			}
		}
	}
	seen := map[string]bool{}
	for _, r := range constants(t, "../reach", "Reason") {
		said := (Words{}).Refusal(&reach.Infeasible{Reason: reach.Reason(r), Short: 100}, 0)
		if seen[said] || said == "" {
			t.Errorf("%s is told as %q, like another", r, said)
		}
		seen[said] = true
	}
	if len(seen) < 11 {
		t.Errorf("%d reasons", len(seen))
	}
}

func TestRefusalWithoutALength(t *testing.T) {
	for _, c := range []struct {
		e    reach.Infeasible
		want string
	}{
		{reach.Infeasible{Reason: reach.NoLoop}, "No loop of this length starts here. Try there and back, another length or another start."},
		{reach.Infeasible{Reason: reach.LimitsForbid, Limit: reach.Limit{What: reach.LimitReaction, Name: "dog field"}}, "No walk from here keeps this limit: reaction distance from dog field."},
		{reach.Infeasible{Reason: reach.TooShort, Short: 61}, "The quickest way takes 2 minutes more. Allow more time."},
		{reach.Infeasible{Reason: reach.TooShort, Short: 12}, "The quickest way takes 1 minute more. Allow more time."},
	} {
		if got := plain((Words{}).Refusal(&c.e, 0)); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestLimits(t *testing.T) {
	for _, c := range []struct {
		w    Words
		l    reach.Limit
		want string
	}{
		{Words{}, reach.Limit{What: reach.LimitSteps}, "no steps"},
		{Words{}, reach.Limit{What: reach.LimitRoads}, "no main road without a pavement"},
		{Words{Units: US}, reach.Limit{What: reach.LimitRoads}, "no main road without a sidewalk"},
		{Words{}, reach.Limit{What: reach.LimitNever, M: 20, Name: "school"}, "never nearer than 20 m to school"},
		{Words{Units: US}, reach.Limit{What: reach.LimitNever, M: 20, Name: "school"}, "never nearer than 66 ft to school"},
		{Words{}, reach.Limit{What: reach.LimitGround}, "off drives, car parks and loading yards in use and ways through buildings"},
		{Words{}, reach.Limit{What: reach.LimitSlope}, "steepness"},
	} {
		if got := plain(c.w.Limit(c.l)); got != c.want {
			t.Errorf("%v: %q, want %q", c.l, got, c.want)
		}
	}
}

func TestNotes(t *testing.T) {
	for _, c := range []struct {
		n    routing.Note
		want string
	}{
		{routing.Note{What: routing.NoteLaps, N: 2}, "the ground here allows no loop of this length: it is laps, twice round"},
		{routing.Note{What: routing.NoteLaps, N: 3}, "the ground here allows no loop of this length: it is laps, 3 times round"},
		{routing.Note{What: routing.NoteSameWay}, "the ground here allows no loop of this length: it is there and back by the same way"},
		{routing.Note{What: routing.NoteRounds, N: 2}, "it is laps, twice round"},
		{routing.Note{What: routing.NoteOutHome}, "it is there and back by the same way"},
		{routing.Note{What: routing.NoteTail, TimeS: 250}, "it is a round at the end of 4 minutes out, and home by the same street"},
		{routing.Note{What: routing.NoteTurns, N: 1}, "it turns round once on the way"},
		{routing.Note{What: routing.NoteTurns, N: 3}, "it turns round 3 times on the way"},
		{routing.Note{What: routing.NoteMainRoad, TimeS: 430, OfS: 1800}, "7 of 30 minutes are on or beside a main road"},
		{routing.Note{What: routing.NoteFastRoad, Name: "Route 9"}, "part of it is along the carriageway of a fast road (Route 9): there is no other walk from here. Face the traffic, in light clothes"},
		{routing.Note{What: routing.NoteAisles, Class: "service road"}, "part of it is between parked cars or along a loading yard while cars and lorries come and go (Service road): there is no other walk from here"},
		{routing.Note{What: routing.NotePrivate, Class: "drive"}, "part of it is over a private drive or through a building (Drive): ask whose it is"},
		{routing.Note{What: routing.NoteDogRules, Name: "Strand"}, "dogs may be forbidden or bound on Strand: look at the sign"},
		{routing.Note{What: routing.NoteRepeated, Share: 0.416}, "42 % of the walk is on streets already walked"},
		{routing.Note{What: routing.NoteInside, Name: "Dog field", DistM: 23}, "Dog field is 25 m from the start: the first leg goes straight away from it"},
	} {
		if got := plain((Words{}).Note(c.n)); got != c.want {
			t.Errorf("%+v: %q, want %q", c.n, got, c.want)
		}
	}
}

func TestAssumptions(t *testing.T) {
	for _, c := range []struct {
		a           exposure.Assumption
		want, short string
	}{
		{exposure.Assumption{What: exposure.AssumedPace, Numbers: []float64{1.2}}, "walking speed: 1.2 m/s", "Assumed: walking speed."},
		{exposure.Assumption{What: exposure.AssumedReaction, Of: "bicycle"}, "reaction distance for bicycles: half of the working distance", "Assumed: reaction distance for bicycles."},
		{exposure.Assumption{What: exposure.AssumedReaction, Of: "dogs"}, "reaction distance for dogs: half of the working distance", "Assumed: reaction distance for dogs."},
		{exposure.Assumption{What: exposure.AssumedDog, Numbers: []float64{40, 18}}, "distances: a dog that reacts to dogs, working from 40 m and reacting at 18 m, as none were given", "Assumed: distances."},
		{exposure.Assumption{What: routing.AssumedRoom, Numbers: []float64{0.254}}, "room beside the way on 25 % of the walk: a default of the street’s class, as nothing is mapped beside it", "Assumed: room on 25 % of the walk."},
		{exposure.Assumption{What: routing.BasisHere, Of: "wheels", Numbers: []float64{0.6}}, "wheels: counted here, on most of the walk", "Assumed: wheels counted here."},
		{exposure.Assumption{What: routing.BasisHere, Of: "people", Numbers: []float64{0.2}}, "people: counted here, on a part of the walk", "Assumed: people counted here."},
		{exposure.Assumption{What: routing.BasisDogs, Numbers: []float64{21}}, "how many dogs: nobody has counted them here or elsewhere; taken as 21 in 100 households with one, going out about every other day", "Assumed: how many dogs, never counted."},
		{exposure.Assumption{What: routing.BasisGardens, Numbers: []float64{1}}, "dogs behind garden fences: where the map has a fence, wall or hedge before a house; each dog is taken as out an hour a day", "Assumed: dogs behind garden fences."},
		{exposure.Assumption{What: routing.BasisWheels, Numbers: []float64{2}}, "how many bicycles: predicted by the country’s habits; where streets were counted elsewhere they were off by a factor of up to 2; boards and scooters are assumed", "Assumed: how many bicycles, off by up to 2 times where counted."},
		{exposure.Assumption{What: routing.BasisPlaces, Numbers: []float64{12000, 4000}}, "how many live here: the settlements on the map name 12,000 people, its homes hold 4,000", "Assumed: how many live here."},
		{exposure.Assumption{What: routing.AssumedPavements, Numbers: []float64{0.0016}}, "what a minute beside traffic counts (0.01 to 0.1 of a reaction) and a minute in its noise (0.03 from 70 decibels on), and where there are pavements: tags say so on 0.2 % of the metres of main roads here, elsewhere it is inferred from the road and its surroundings", "Assumed: where there are pavements, and what traffic counts."},
		{exposure.Assumption{What: routing.AssumedLogged, Numbers: []float64{12}}, "how many dogs, people and cars there are: predicted from the map, adjusted by what was met and not met on logged walks, 12 so far", "Assumed: how many there are."},
		{exposure.Assumption{What: outing.AssumedLate, Numbers: []float64{3, 5}}, "lateness: up to 3 minutes; 5 minutes from one dog to the next", "Assumed: lateness."},
		{exposure.Assumption{What: outing.AssumedMinutePrice, Numbers: []float64{0.75}}, "a wished minute not granted weighs like 0.75 minutes of the dog’s own best walk", "Assumed: a wished minute not granted weighs like 0.75 minutes of the dog’s own best walk."},
		{exposure.Assumption{What: outing.AssumedChangePrice, Numbers: []float64{1}}, "changing a walk that has not begun weighs like 1 wished minute not granted", "Assumed: changing a walk that has not begun weighs like 1 wished minute not granted."},
		{exposure.Assumption{What: outing.AssumedStraight}, "separation is straight-line: a building between two dogs does not count", "Assumed: separation is straight-line."},
	} {
		if got := plain((Words{}).Assumption(c.a)); got != c.want {
			t.Errorf("%+v: %q, want %q", c.a, got, c.want)
		}
		if got := plain((Words{}).AssumedShort(c.a)); got != c.short {
			t.Errorf("%+v in short: %q, want %q", c.a, got, c.short)
		}
	}
}

func TestLacks(t *testing.T) {
	field := &training.Option{Arrive: time.Date(2026, 11, 30, 7, 20, 0, 0, time.UTC)} // a Monday
	field.Watched.Name, field.Street, field.DistM = "Brick Field", "Kiln Lane", 60
	for _, c := range []struct {
		l    training.Lack
		want string
	}{
		{training.Lack{Why: training.LackSteps}, "There are places at every distance, but no sequence through them whose steps come nearer by at most a quarter."},
		{training.Lack{Why: training.LackRest}, "Every day asked for is a day of rest. Ask for later ones."},
		{training.Lack{Why: training.LackHourApart}, "Two steps in a row fall on about the same hour of the day: at the other hours nothing fits. Offer more hours."},
		{training.Lack{Why: training.LackPin, Pin: 2}, "Pinned place 2 has no room in a sequence of steps of at most a quarter at these hours."},
		{training.Lack{Why: training.LackGround, Multiple: 1.25, DistM: 50, NextM: 60, Instead: field},
			"No place nearer than 60 m sees them, has ways out and is somewhere one may stand; 50 m (1.25 times) was asked for. Closest to that distance: Brick Field from Kiln Lane, 60 m, Mon 07:20."},
		{training.Lack{Why: training.LackGround, Multiple: 1, DistM: 40, NextM: 30, Idle: 1},
			"No place at 40 m, the working distance, sees them, has ways out and is somewhere one may stand. At 1 more place where they may be, hardly anybody is there at these hours."},
		{training.Lack{Why: training.LackReactions, Multiple: 2, DistM: 76, Least: 0.0712, MaxX: 0.05}, "At 76 m (2 times) the calmest visit costs 0.08 expected reactions besides what is watched; the limit is 0.05."},
		{training.Lack{Why: training.LackHours, Multiple: 2, DistM: 76}, "At 76 m (2 times): at these hours nobody is there to be watched, or something else is too near."},
		{training.Lack{Why: training.LackWayIn, Multiple: 1.5, DistM: 57}, "At 57 m (1.5 times) there are places, but no way in that may be walked and keeps within the limit."},
	} {
		if got := plain((Words{}).Lack(&c.l)); got != c.want {
			t.Errorf("%+v:\n%q, want\n%q", c.l, got, c.want)
		}
	}
}

func TestShortages(t *testing.T) {
	for _, c := range []struct {
		s    outing.Shortage
		want string
	}{
		{outing.Shortage{Cause: outing.ShortOfGround, Left: []string{"Oro", "Bram"}, Bare: "Oro"}, "Oro cannot go: no walk from this gate suits. Ask for fewer minutes or take another gate."},
		{outing.Shortage{Cause: outing.ShortOfPeople, Left: []string{"Oro"}, Hands: []outing.Hands{{Least: outing.Experienced, Dogs: 2, People: 1}, {Least: outing.NewHand, Dogs: 1, People: 3}}},
			"Oro cannot go: too few people, or too few with the experience asked for. 2 dogs want somebody experienced, there is one. 1 dog wants anybody, there are 3."},
		{outing.Shortage{Cause: outing.ShortOfPeople, Left: []string{"Oro"}, Hands: []outing.Hands{{Least: outing.Regular, Dogs: 1}}},
			"Oro cannot go: too few people, or too few with the experience asked for. 1 dog wants somebody regular, there is nobody."},
		{outing.Shortage{Cause: outing.ShortOfGate, Left: []string{"Oro", "Bram"}, Gate: outing.GateArithmetic{Walks: 6}}, "Oro, Bram cannot go: the gate lets at most 6 walks through."},
		{outing.Shortage{Cause: outing.ShortOfRoom, Left: []string{"Oro", "Bram"}, Blocked: []outing.Blocked{{Dog: "Oro", By: []outing.Blocker{{Dog: "Tilly", NeedM: 60}}}, {Dog: "Bram"}}},
			"Oro stays in. Most in the way is Tilly (the two need 60 m). Bram stays in: the other dogs leave no start free."},
	} {
		if got := plain((Words{}).Shortage(&c.s)); got != c.want {
			t.Errorf("%s:\n%q, want\n%q", c.s.Cause, got, c.want)
		}
	}
	for _, c := range []struct {
		h    outing.Help
		want string
	}{
		{outing.Help{What: outing.HelpMinutes, Minutes: 30}, "30 minutes more"}, {outing.Help{What: outing.HelpPerson}, "One more experienced person"},
		{outing.Help{What: outing.HelpTogether, Dogs: [2]string{"Oro", "Tilly"}}, "Oro and Tilly may meet"}, {outing.Help{What: outing.HelpWithout, Dogs: [2]string{"Oro"}}, "Oro on another day"},
		{outing.Help{What: outing.HelpHolds}, "Leave on the minute and wait at printed places"},
	} {
		if got := (Words{}).Help(&c.h); got != c.want {
			t.Errorf("%+v: %q, want %q", c.h, got, c.want)
		}
	}
}

func TestOutingRules(t *testing.T) {
	for slack, want := range map[outing.Slack]string{outing.Holds: "Be at the gate 3 minutes before", outing.Printed: "Leave between the printed time", outing.Free: "Leave at most three minutes after"} {
		if got := (Words{}).OutingRule(slack); !strings.HasPrefix(got, want) {
			t.Errorf("%s: %q", slack, got)
		}
	}
}

func TestVerdicts(t *testing.T) {
	start := time.Date(2026, 11, 28, 9, 0, 0, 0, time.UTC)
	pair := replay.Meeting{Dogs: [2]string{"Oro", "Tilly"}, LeastM: 61.9, NeedM: 60, AtS: 1440}
	near := pair
	near.LeastM = 59.9
	for _, c := range []struct {
		r    replay.Report
		want string
	}{
		{replay.Report{Runs: 60}, "Replayed 60 times with people up to 3 min late, slow or fast: no two dogs are ever out together."},
		{replay.Report{Runs: 60, Random: []replay.Meeting{pair}}, "Replayed 60 times with people up to 3 min late, slow or fast: never nearer than 61 m. Rule: 60 m. Nearest are Oro and Tilly at 09:24."},
		{replay.Report{Runs: 60, Directed: []replay.Meeting{near}, Random: []replay.Meeting{pair}}, "Replayed 60 times: Oro and Tilly come as near as 59 m at 09:24. Rule: 60 m. Do not use this timetable."},
		{replay.Report{Runs: 60, ZoneS: 4}, "Replayed 60 times: two dogs are at the gate at one time. Do not use this timetable."},
	} {
		if got := plain((Words{}).Verdict(&c.r, start)); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestMoves(t *testing.T) {
	m := learning.Move{Visits: 2, Triggers: 5, Handled: 5}
	with := func(d learning.Direction, change func(m *learning.Move)) *learning.Move {
		out := m
		out.Direction = d
		if change != nil {
			change(&out)
		}
		return &out
	}
	over := func(m *learning.Move) { m.Visits, m.WentOver, m.RefusedFood, m.TurnedBack = 1, 1, 2, 3 }
	to := Step{Number: 2, DistanceM: 57, Multiple: 1.5}
	same := Step{Number: 1, DistanceM: 76, Multiple: 2, Same: true}
	for _, c := range []struct{ got, want string }{
		{(Words{}).Move(with(learning.Stay, nil)), "2 visits, 5 of 5 handled, none over. Stay at this step."},
		{(Words{}).Move(with(learning.On, nil)), "2 visits, 5 of 5 handled, none over. Move on to the next step?"},
		{(Words{}).Move(with(learning.Back, over)), "1 visit, 5 of 5 handled, 1 over in the last, food refused 2 times, turned back unprompted 3 times. Go back one step?"},
		{(Words{}).MoveTo(with(learning.Stay, nil), to, 0), "Next: visit 2, 57 m (1.5 times). Nothing logged of it yet."},
		{(Words{}).MoveTo(with(learning.On, nil), to, 2), "2 visits, 5 of 5 handled, none over. Move to 1.5 times (57 m)?"},
		{(Words{}).MoveTo(with(learning.Back, nil), to, 2), "2 visits, 5 of 5 handled, none over. Go back to 1.5 times (57 m)?"},
		{(Words{}).MoveTo(with(learning.Stay, nil), same, 2), "2 visits, 5 of 5 handled, none over. Stay at this step."},
		{(Words{}).MoveTo(with(learning.On, nil), same, 2), "2 visits, 5 of 5 handled, none over. That was the nearest visit: repeat it at other hours and places."},
		{(Words{}).MoveTo(with(learning.Back, nil), same, 2), "2 visits, 5 of 5 handled, none over. This is the farthest visit: plan one farther off."},
	} {
		if plain(c.got) != c.want {
			t.Errorf("%q, want %q", plain(c.got), c.want)
		}
	}
}

func TestGradesOrdersAndExpectations(t *testing.T) {
	if got := plain((Words{}).Grade(training.GradeC)); got != "one way, never nearer than nine tenths of the distance, and 20 m of room beside, or some open ground behind" {
		t.Error(got)
	}
	if got := (Words{}).Order(training.OneHarder); got != "each step is harder in one respect only" {
		t.Error(got)
	}
	if got := (Words{}).Expect(&training.Showing{Number: 6.4, LastsLowS: 18, LastsHighS: 41}); got != "Expect about 6, 20 seconds to 40 seconds each." {
		t.Error(got)
	}
	if got := (Words{}).Expect(&training.Showing{Number: 0.4, LastsLowS: 18, LastsHighS: 41}); got != "Expect one or none, 20 seconds to 40 seconds." {
		t.Error(got)
	}
}
