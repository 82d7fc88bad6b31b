package replay

import (
	"slices"
	"testing"

	"wideberth/osmdata/plane"
)

// far are two walks that never come near each other: what they break is of the house.
func far(change func(a, b *Walk, r *Rules)) ([]Walk, Rules) {
	a := timed("a", 0, 1, plane.Point{}, plane.Point{X: 600}, plane.Point{})
	b := timed("b", 3000, 1, plane.Point{Y: 900}, plane.Point{X: 600, Y: 900}, plane.Point{Y: 900})
	a.People, b.People = []string{"Ada"}, []string{"Ada"}
	r := Rules{SlowShare: 0.8, FastShare: 1.25, TurnS: 600, Gate: plane.Point{}, StemM: 100}
	change(&a, &b, &r)
	return []Walk{a, b}, r
}

// TestRulesOfTheHouse: each rule is kept on one side of its edge and broken on the other,
// worked out by hand: a takes 1,200 s as usual, so 960 to 1,500 s at these paces.
func TestRulesOfTheHouse(t *testing.T) {
	sameLine := func(b *Walk) { b.Line = plane.Polyline{{}, {X: 600}, {}} }
	for name, c := range map[string]struct {
		change func(a, b *Walk, r *Rules)
		want   []BreachOf
	}{
		"nothing":                    {func(*Walk, *Walk, *Rules) {}, nil},
		"hands, in time":             {func(_, b *Walk, _ *Rules) { b.StartS = 2100 }, nil},
		"hands, too soon":            {func(_, b *Walk, _ *Rules) { b.StartS = 2099 }, []BreachOf{BreachHands}},
		"hands, at once":             {func(_, b *Walk, _ *Rules) { b.StartS = 30 }, []BreachOf{BreachHands}},
		"hands, others":              {func(_, b *Walk, _ *Rules) { b.StartS, b.People = 30, []string{"Sam"} }, nil},
		"hands, the second of two":   {func(a, b *Walk, _ *Rules) { b.StartS, a.People = 30, []string{"Sam", "Ada"} }, []BreachOf{BreachHands}},
		"hands, not looked at":       {func(_, b *Walk, r *Rules) { b.StartS, r.TurnS = 30, 0 }, nil},
		"hands, under way":           {func(_, b *Walk, _ *Rules) { b.StartS, b.Begun = 30, true }, nil},
		"hands, nobody says":         {func(a, b *Walk, _ *Rules) { b.StartS, a.People, b.People = 30, nil, nil }, nil},
		"row, far apart":             {func(a, b *Walk, _ *Rules) { a.Row, b.Row = "A", "A" }, nil},
		"row, in time":               {func(a, b *Walk, _ *Rules) { a.Row, b.Row, b.StartS = "A", "A", 2100 }, nil},
		"row, out while one is back": {func(a, b *Walk, _ *Rules) { a.Row, b.Row, b.StartS, b.People = "A", "A", 2090, nil }, []BreachOf{BreachRow}},
		"row, out one by one":        {func(a, b *Walk, _ *Rules) { a.Row, b.Row, b.StartS, b.People = "A", "A", 599, nil }, []BreachOf{BreachRow}},
		"row, others":                {func(a, b *Walk, _ *Rules) { a.Row, b.Row, b.StartS, b.People = "A", "B", 599, nil }, nil},
		"ground, another":            {func(a, _ *Walk, _ *Rules) { a.Apart = GroundAlone }, nil},
		"ground, the same":           {func(a, b *Walk, _ *Rules) { a.Apart = GroundAlone; sameLine(b) }, []BreachOf{BreachGround}},
		"ground, of the other":       {func(_, b *Walk, _ *Rules) { b.Apart = GroundAlone; sameLine(b) }, []BreachOf{BreachGround}},
		"ground, by the gate":        {func(a, b *Walk, r *Rules) { a.Apart, r.StemM = GroundAlone, 700; sameLine(b) }, nil},
		"ground, crossed": {func(a, b *Walk, _ *Rules) {
			a.Apart = GroundAlone
			b.Line = plane.Polyline{{X: 300, Y: -300}, {X: 300, Y: 300}, {X: 300, Y: -300}}
		}, nil},
		"ground, last and it is":      {func(_, b *Walk, _ *Rules) { b.Apart = GroundLast; sameLine(b) }, nil},
		"ground, last and both are":   {func(a, b *Walk, _ *Rules) { a.Apart, b.Apart = GroundLast, GroundLast; sameLine(b) }, nil},
		"ground, last and goes first": {func(a, b *Walk, _ *Rules) { a.Apart = GroundLast; sameLine(b) }, []BreachOf{BreachGround}},
		"ground, last but too soon": {func(_, b *Walk, _ *Rules) {
			b.Apart, b.StartS, b.People = GroundLast, 1499, nil
			sameLine(b)
		}, []BreachOf{BreachGround}},
		"rest":                {func(_, _ *Walk, r *Rules) { r.Resting = []string{"b"} }, []BreachOf{BreachRest}},
		"rest, others":        {func(_, _ *Walk, r *Rules) { r.Resting = []string{"c"} }, nil},
		"heat, between":       {func(_, _ *Walk, r *Rules) { r.ShutFromS, r.ShutToS = 1500, 3000 }, nil},
		"heat, home too late": {func(_, _ *Walk, r *Rules) { r.ShutFromS, r.ShutToS = 1499, 3000 }, []BreachOf{BreachHeat}},
		"heat, out too soon":  {func(_, _ *Walk, r *Rules) { r.ShutFromS, r.ShutToS = 1500, 3001 }, []BreachOf{BreachHeat}},
		"heat, too long":      {func(_, _ *Walk, r *Rules) { r.MostS = 1199 }, []BreachOf{BreachHeat, BreachHeat}},
		"heat, short":         {func(_, _ *Walk, r *Rules) { r.MostS = 1200 }, nil},
		"beside, not there":   {func(a, _ *Walk, _ *Rules) { a.With = "b" }, []BreachOf{BreachBeside}},
		"beside, nobody":      {func(a, _ *Walk, _ *Rules) { a.With = "z" }, []BreachOf{BreachBeside}},
		"beside": {func(a, b *Walk, r *Rules) {
			*b = *a
			b.Dog, b.With, a.With, r.Together = "b", "a", "b", [][2]string{{"a", "b"}}
		}, nil},
		"beside, another hand": {func(a, b *Walk, r *Rules) {
			*b = *a
			b.Dog, a.With, b.People, r.Together = "b", "b", []string{"Sam"}, [][2]string{{"a", "b"}}
		}, []BreachOf{BreachBeside}},
		"beside, a minute on": {func(a, b *Walk, r *Rules) {
			*b = *a
			b.Dog, a.With, b.StartS, r.Together = "b", "b", 60, [][2]string{{"a", "b"}}
		}, []BreachOf{BreachBeside, BreachHands}},
	} {
		walks, rules := far(c.change)
		report := check(t, rules, 3, walks...)
		var got []BreachOf
		for _, b := range report.Breaches {
			got = append(got, b.Rule)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v (%+v)", name, got, c.want, report.Breaches)
		}
		if len(c.want) > 0 && report.Kept() {
			t.Errorf("%s: a breach passes", name)
		}
	}
}

// TestLateRows: where people may be late, a row has to be left for so much longer.
func TestLateRows(t *testing.T) {
	for late, want := range map[float64]int{0: 0, 180: 1} {
		walks, rules := far(func(a, b *Walk, r *Rules) {
			a.Row, b.Row, b.StartS, b.People, r.LateS = "A", "A", 2100, nil, late
		})
		if got := check(t, rules, 1, walks...).Breaches; len(got) != want {
			t.Errorf("%g s late: %+v", late, got)
		}
	}
}

// TestHouseRulesInRange: what no rule can say is refused.
func TestHouseRulesInRange(t *testing.T) {
	for name, spoil := range map[string]func(r *Rules){"turn": func(r *Rules) { r.TurnS = -1 }, "stem": func(r *Rules) { r.StemM = 1e9 }, "most": func(r *Rules) { r.MostS = -5 }, "shut": func(r *Rules) { r.ShutToS = 1e300 }} {
		walks, rules := far(func(_, _ *Walk, r *Rules) { spoil(r) })
		if err := checkInput(walks, &rules, 1); err == nil {
			t.Errorf("%s passes", name)
		}
	}
}
