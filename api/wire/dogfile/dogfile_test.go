package dogfile

import (
	"errors"
	"math"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

func TestDogRefused(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"not JSON", `{"name":`, "not JSON"},
		{"a list", `[1]`, "must be an object"},
		{"null", `null`, "must be an object"},
		{"name missing", `{"needs":{"dogs":{"working_m":4}}}`, "/name"},
		{"name too long", `{"name":"` + strings.Repeat("ä", 81) + `","needs":{"dogs":{"working_m":4}}}`, "81 characters"},
		{"name of 5,000", `{"name":"` + strings.Repeat("x", 5000) + `","needs":{"dogs":{"working_m":4}}}`, "5000 characters"},
		{"name with a bell", `{"name":"a\u0007","needs":{"dogs":{"working_m":4}}}`, "control"},
		{"name a number", `{"name":7,"needs":{"dogs":{"working_m":4}}}`, "/name = 7"},
		{"bite history a text", `{"name":"A","cautions":{"bite_history":"yes"}}`, "/cautions/bite_history = "},
		{"unknown caution", `{"name":"A","cautions":{"bites":true}}`, "did you mean bite_history"},
		{"medical too long", `{"name":"A","cautions":{"medical":"` + strings.Repeat("x", 501) + `"}}`, "at most 500"},
		{"food a number", `{"name":"A","food":3}`, "/food = 3"},
		{"needs a list", `{"name":"A","needs":[]}`, "/needs = []"},
		{"need a number", `{"name":"A","needs":{"dogs":40}}`, "/needs/dogs = 40"},
		{"negative", `{"name":"A","needs":{"dogs":{"working_m":-3}}}`, "/needs/dogs/working_m = -3"},
		{"zero", `{"name":"A","needs":{"dogs":{"working_m":0}}}`, "write null"},
		{"absurd", `{"name":"A","needs":{"dogs":{"working_m":50000}}}`, "5000 m"},
		{"tiny", `{"name":"A","needs":{"dogs":{"working_m":0.01}}}`, "0.1"},
		{"text for a number", `{"name":"A","needs":{"dogs":{"working_m":"40"}}}`, "/needs/dogs/working_m"},
		{"NaN is not JSON", `{"name":"A","needs":{"dogs":{"working_m":NaN}}}`, "not JSON"},
		{"reaction above", `{"name":"A","needs":{"dogs":{"working_m":20,"reaction_m":30}}}`, "/needs/dogs/reaction_m = 30"},
		{"reaction equal", `{"name":"A","needs":{"dogs":{"working_m":20,"reaction_m":20}}}`, "less than working_m"},
		{"reaction negative", `{"name":"A","needs":{"dogs":{"working_m":20,"reaction_m":-1}}}`, "/needs/dogs/reaction_m = -1"},
		{"working missing", `{"name":"A","needs":{"dogs":{"reaction_m":20}}}`, "/needs/dogs/working_m"},
		{"unknown kind", `{"name":"A","needs":{"skatebord":{"working_m":20}}}`, "kind or category"},
		{"unknown kind, near", `{"name":"A","needs":{"bycicle":{"working_m":20}}}`, "bicycle"},
		{"unknown field", `{"name":"A","needs":{"dogs":{"working":20}}}`, "/needs/dogs/working: unknown field"},
		{"unknown field on top", `{"nam":"A","needs":{"dogs":{"working_m":20}}}`, "/nam: unknown field: did you mean name"},
		{"slash in a name", `{"name":"A","needs":{"a/b~":{"working_m":20}}}`, "/needs/a~1b~0"},
		{"speed", `{"name":"A","speed_mps":40,"needs":{"dogs":{"working_m":20}}}`, "/speed_mps = 40"},
		{"speed a text", `{"name":"A","speed_mps":"quick","needs":{"dogs":{"working_m":20}}}`, "/speed_mps"},
		{"too long", strings.Repeat(" ", 1<<20+1), "1 MiB"},
		{"deep", strings.Repeat(`{"needs":`, 20000) + strings.Repeat("}", 20000), "not JSON"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Decode(strings.NewReader(c.text))
			var ps fault.Problems
			if !errors.As(err, &ps) || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("%.200v, want it to say %q", err, c.want)
			}
		})
	}
}

func TestDogSeveralProblemsAtOnce(t *testing.T) {
	_, err := Decode(strings.NewReader(`{"name":"","speed_mps":-1,"needs":{"dogs":{"working_m":-3},"peple":{"working_m":3},"car":{"working_m":5,"reaction_m":9}}}`))
	var ps fault.Problems
	if !errors.As(err, &ps) || len(ps) != 5 {
		t.Fatalf("want five problems, got %v", err)
	}
}

func TestDogFromNumbersThatAreNone(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if _, err := (File{Name: "A", Needs: map[string]*Need{"dogs": {WorkingM: &x}}}).Dog(); err == nil {
			t.Errorf("%g m is taken as a working distance", x)
		}
		w := 20.0
		if _, err := (File{Name: "A", SpeedMPS: &x, Needs: map[string]*Need{"dogs": {WorkingM: &w}}}).Dog(); err == nil {
			t.Errorf("%g m/s is taken as a speed", x)
		}
	}
	far := 3000.0
	if _, err := (File{Name: "A", Needs: map[string]*Need{"dogs": {WorkingM: &far}}}).Dog(); err != nil {
		t.Errorf("3,000 m is refused: %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add(`{"name":"Fern","speed_mps":1.1,"needs":{"dogs":{"working_m":40,"reaction_m":18},"car":null}}`)
	f.Add(`{"name":"A","needs":{"":{"working_m":1e308}}}`)
	f.Fuzz(func(t *testing.T, text string) {
		d, err := Decode(strings.NewReader(text))
		if err != nil {
			return
		}
		for k := range exposure.KindCount {
			n := d.Need(k)
			if n != (exposure.Need{}) && !(n.ReactionM > 0 && n.ReactionM < n.WorkingM && n.WorkingM <= mostDistanceM) {
				t.Fatalf("%s: accepted %v", k, n)
			}
			if p := n.P(10); !(p >= 0 && p <= 1) {
				t.Fatalf("%s: P = %g", k, p)
			}
		}
	})
}

// TestDogWithoutDistances: a file that says nothing of distances has the stated
// defaults, and its cautions hold all the same.
func TestDogWithoutDistances(t *testing.T) {
	d, err := Decode(strings.NewReader(`{"name":"A","speed_mps":1,"food":"cheese","cautions":{"bite_history":true,"muzzle":true,"experienced_only":true,"medical":"one eye"}}`))
	if err != nil {
		t.Fatal(err)
	}
	if want := (exposure.Cautions{BiteHistory: true, Muzzle: true, ExperiencedOnly: true, Medical: "one eye"}); !d.Typical || d.Cautions != want || d.Food != "cheese" || d.SpeedMPS != 1 || d.Need(exposure.DogOnLead) != exposure.DogOnLead.Info().Default {
		t.Errorf("%+v", d)
	}
}
