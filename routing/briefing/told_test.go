package briefing

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/routing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// told is one row of the table that Go and the page are both held to
// (api/web/test/catalogue.test.mjs reads the same file).
type told struct {
	What     string    `json:"what"`
	Units    string    `json:"units"`
	Category string    `json:"category,omitempty"`
	Of       []float64 `json:"of"`
	Want     string    `json:"want"`
}

// tell tells a row.
func (r *told) tell(t *testing.T) string {
	t.Helper()
	w := Words{}
	if r.Units == "us" {
		w.Units = US
	}
	x := func(i int) float64 {
		if i >= len(r.Of) {
			t.Fatalf("%+v: too few numbers", r)
		}
		return r.Of[i]
	}
	switch r.What {
	case "distance":
		return w.Distance(x(0))
	case "own":
		return w.Own(x(0))
	case "far":
		return w.Far(x(0))
	case "minutes":
		return w.Minutes(x(0))
	case "minutes_spelt":
		return w.MinutesSpelt(x(0))
	case "into":
		return w.into(x(0))
	case "seconds":
		return w.seconds(x(0))
	case "answer":
		return w.Answer(x(0))
	case "of":
		return w.Of(x(0))
	case "range":
		return w.Range(x(0), x(1))
	case "treats":
		return w.Treats(int(x(0)), int(x(1)))
	case "near":
		dog, kind := alikeDog(t, r.Category)
		dog.ByCategory[kind.Category()] = exposure.Need{WorkingM: x(2), ReactionM: 1}
		return w.near(&routing.KindOutlook{Kind: kind, Inside: x(0), Expected: x(1)}, dog)
	case "compare":
		return w.Compare(&routing.Walk{ExpectedReactions: x(0), CalmChance: x(2)}, &routing.Walk{ExpectedReactions: x(1), CalmChance: x(3)}, "B")
	case "laps":
		return w.Say("walk.laps", "n", int(x(0)))
	}
	t.Fatalf("%+v: nobody tells that", r)
	return ""
}

// alikeDog is a dog to which all of a category are alike, and one of the category.
func alikeDog(t *testing.T, category string) (*exposure.Dog, exposure.Kind) {
	t.Helper()
	c, err := exposure.ParseCategory(category)
	if err != nil {
		t.Fatal(err)
	}
	return &exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{c: {WorkingM: 30, ReactionM: 10}}}, c.Kinds()[0]
}

// TestGoldenTold: Go and the page round and pluralise alike. The table's borders
// are where rules change; halves of a tenth of a kilometre are the ones that the
// two languages' own functions round apart.
func TestGoldenTold(t *testing.T) {
	const name = "testdata/told.json"
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var rows []told
	if err := json.Unmarshal(b, &rows); err != nil || len(rows) < 200 {
		t.Fatal(len(rows), err)
	}
	var again bytes.Buffer
	again.WriteString("[\n")
	for i := range rows {
		r := &rows[i]
		got := r.tell(t)
		if got != r.Want && !*update {
			t.Errorf("%s %s of %v in %s: %q, want %q", r.What, r.Category, r.Of, r.Units, got, r.Want)
		}
		r.Want = got
		line, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		again.WriteString("  " + strings.ReplaceAll(string(line), thin, `\u202f`))
		if i < len(rows)-1 {
			again.WriteString(",")
		}
		again.WriteString("\n")
	}
	again.WriteString("]\n")
	if *update {
		if err := os.WriteFile(name, again.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
