package roster_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire/roster"
	"wideberth/routing/briefing"
)

// words are those that a text of the catalogue lists.
func words(key string) []string {
	var out []string
	for w := range strings.SplitSeq(briefing.Words{}.Say(key), ",") {
		out = append(out, strings.TrimSpace(w))
	}
	return out
}

// only reads the only row of a table of dogs.
func only(t *testing.T, text string) string {
	t.Helper()
	list, over, err := roster.Dogs(text, hours)
	if err != nil || len(list) != 1 || len(over) != 0 {
		t.Errorf("%q: %d dogs, passed over %v, %v", text, len(list), over, err)
		return ""
	}
	return told(list)[0]
}

// TestEveryWordOfAHead: each word that the catalogue lists over a column means that
// column, however it is written.
func TestEveryWordOfAHead(t *testing.T) {
	cells := map[string]struct{ cell, want string }{
		"minutes": {"25", "|25|"},
		"who":     {"exp", "|experienced|"},
		"bite":    {"yes", "||true|false|"},
		"first":   {"yes", "||false|true|"},
		"by":      {"10:30", "|2026-11-25T10:30:00-05:00|"},
		"only":    {"Ada", "|[Ada]|[]|"},
		"never":   {"Ada", "|[]|[Ada]|"},
		"kept":    {"7f", "|7f"},
		"with":    {"Tilly", "|Tilly|0|"},
		"hands":   {"2", "|2||"},
		"row":     {"A 1", "|0|A 1|"},
		"apart":   {"quarantine", "|last|[]|"},
		"rest":    {"Saturday / sun", "|[sat sun]|"},
	}
	for key, c := range cells {
		heads := words("table.head." + key)
		for _, head := range slices.Concat(heads, []string{strings.ToUpper(heads[0]), "  " + heads[0] + " "}) {
			got := only(t, fmt.Sprintf("name\troom\t%s\nOro\t60 m\t%s", head, c.cell))
			if !strings.Contains(got, c.want) {
				t.Errorf("%q over %q gives %s", head, c.cell, got)
			}
		}
	}
	for _, name := range words("table.head.name") {
		for _, room := range words("table.head.room") {
			got := only(t, name+";"+room+"\nOro;60")
			if !strings.HasPrefix(got, "Oro|Oro|[dogs 60]") {
				t.Errorf("%q and %q give %s", name, room, got)
			}
		}
	}
}

// TestEveryWordOfAPerson: the same over a table of people.
func TestEveryWordOfAPerson(t *testing.T) {
	for _, name := range words("table.head.person") {
		for _, who := range words("table.head.experience") {
			for _, from := range words("table.head.from") {
				for _, to := range words("table.head.to") {
					text := strings.Join([]string{to, from, who, name}, ",") + "\n11:00,9:30,reg,Ada"
					got, over, err := roster.People(text, hours)
					if err != nil || len(over) > 0 {
						t.Fatalf("%q: passed over %v, %v", text, over, err)
					}
					p := got[0]
					if p.Name != "Ada" || p.Experience != "regular" || p.From[11:16] != "09:30" || p.To[11:16] != "11:00" {
						t.Errorf("%q: %+v", text, p)
					}
				}
			}
		}
	}
}

// TestEveryWordOfACell: who, yes, no and calm.
func TestEveryWordOfACell(t *testing.T) {
	for _, step := range []string{"new", "regular", "experienced"} {
		for _, w := range words("table.who." + step) {
			if got := only(t, "Oro\t60\t30\t"+strings.ToUpper(w)); !strings.Contains(got, "|"+step+"|") {
				t.Errorf("%q gives %s", w, got)
			}
		}
		is := words("table.is." + step)[0]
		if got := only(t, "Oro,60,30,"+is); !strings.Contains(got, "|"+step+"|") {
			t.Errorf("what is written, %q, gives %s", is, got)
		}
	}
	for _, w := range words("table.yes") {
		if got := only(t, "Oro\t60\t30\tany\t"+w); !strings.Contains(got, "|new|true|") {
			t.Errorf("%q gives %s", w, got)
		}
	}
	for _, w := range words("table.no") {
		if got := only(t, "Oro\t60\t30\tany\t"+w); !strings.Contains(got, "|new|false|") {
			t.Errorf("%q gives %s", w, got)
		}
	}
	for _, way := range []string{"ground", "last"} {
		for _, w := range words("table.apart." + way) {
			if got := only(t, "name\troom\tapart\nOro\t60\t"+w); !strings.Contains(got, "|"+way+"|") {
				t.Errorf("%q gives %s", w, got)
			}
		}
	}
	for _, cell := range []string{"Oro\t60\tnever\t\t", "Oro\t60\t\t3\t", "Oro\t60\t\t\tsun / sunday", "Oro\t60\t\t\tsu", "Oro\t60\t\t\tsat,sun"} {
		if list, _, err := roster.Dogs("name\troom\tapart\tpeople\trest\n"+cell, hours); err == nil {
			t.Errorf("%q gives %v", cell, told(list))
		}
	}
	for _, w := range words("table.calm") {
		if got := only(t, "name\troom\tchild\nOro\t60\t"+w); !strings.Contains(got, "[child calm dogs 60]") {
			t.Errorf("%q gives %s", w, got)
		}
	}
}

// TestDistances: metres, feet of 0.3048 m (the international foot, agreed 1959) and
// parked cars as long as everywhere in this program; a unit in the cell goes before
// that of the head.
func TestDistances(t *testing.T) {
	car := float64(briefing.CarM)
	for _, c := range []struct {
		head, cell string
		workM      float64
		reactM     float64 // 0 for none
	}{
		{"room", "40", 40, 0},
		{"room", "40m", 40, 0},
		{"room", "40 metres", 40, 0},
		{"room", "40 meters", 40, 0},
		{"room", "37.5 m", 37.5, 0},
		{"room", "37,5 m", 37.5, 0},
		{"room", "100 ft", 30.48, 0},
		{"room", "100'", 30.48, 0},
		{"room", "100 feet", 30.48, 0},
		{"room", "8 cars", 8 * car, 0},
		{"room", "1 car", car, 0},
		{"room (m)", "40", 40, 0},
		{"room [m]", "40", 40, 0},
		{"room (ft)", "100", 30.48, 0},
		{"room (in feet)", "100", 30.48, 0},
		{"room (ft)", "40 m", 40, 0},
		{"room (cars)", "8", 8 * car, 0},
		{"room", "40/18", 40, 18},
		{"room", "40 / 18 m", 40, 18},
		{"room", "40 m / 18 m", 40, 18},
		{"room", "100 / 50 ft", 30.48, 15.24},
		{"room", "100 ft / 18 m", 30.48, 18},
		{"room (ft)", "100/50", 30.48, 15.24},
		{"room (ft)", "40 / 18 m", 40, 18},
	} {
		list, _, err := roster.Dogs("name\t"+c.head+"\nOro\t"+c.cell, hours)
		if err != nil {
			t.Errorf("%q under %q: %v", c.cell, c.head, err)
			continue
		}
		n := list[0].Dog.Needs["dogs"]
		if math.Abs(*n.WorkingM-c.workM) > 1e-9 {
			t.Errorf("%q under %q: %g m, want %g", c.cell, c.head, *n.WorkingM, c.workM)
		}
		if (n.ReactionM != nil) != (c.reactM > 0) || n.ReactionM != nil && math.Abs(*n.ReactionM-c.reactM) > 1e-9 {
			t.Errorf("%q under %q: reacts at %v, want %g", c.cell, c.head, n.ReactionM, c.reactM)
		}
	}
	for _, cell := range []string{"-40", "40 km", "1e3", "m", "40 m m", "40//18", "40/", "/18", "forty", "∞", "40 18"} {
		list, _, err := roster.Dogs("name\troom\nOro\t"+cell, hours)
		if err == nil {
			t.Errorf("%q gives %v", cell, told(list))
		}
	}
}

// TestMinutesOfACell: whole words for minutes, and nothing that may be hours.
func TestMinutesOfACell(t *testing.T) {
	for cell, want := range map[string]string{
		"":        "|30|",
		"5":       "|5|",
		"25 min":  "|25|",
		"25min.":  "|25|",
		"25 m":    "|25|",
		"12.5":    "|12.5|",
		"90 mins": "|90|",
	} {
		if got := only(t, "Oro\t60\t"+cell); !strings.Contains(got, want) {
			t.Errorf("%q gives %s", cell, got)
		}
	}
	for _, cell := range []string{"half an hour", "1 h", "1:30", "-5", "20 to 30", "min", "99999"} {
		if list, _, err := roster.Dogs("Oro\t60\t"+cell, hours); err == nil {
			t.Errorf("%q gives %v", cell, told(list))
		}
	}
}

// TestHoursOfADayThatChanges: clocks go forward in New York on 8 March 2026 at 2:00
// (Energy Policy Act of 2005, section 110; IANA time zone database): what is written at
// half past nine is half past nine, and reads back.
func TestHoursOfADayThatChanges(t *testing.T) {
	ny, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Skip(err)
	}
	h := roster.Hours{Start: time.Date(2026, 3, 8, 1, 0, 0, 0, ny), Minutes: 600}
	got, _, err := roster.People("Ada,exp,1:30,9:30", h)
	if err != nil {
		t.Fatal(err)
	}
	if got[0].From != "2026-03-08T01:30:00-05:00" || got[0].To != "2026-03-08T09:30:00-04:00" {
		t.Errorf("there from %s to %s", got[0].From, got[0].To)
	}
	var out strings.Builder
	if err := roster.WritePeople(&out, got, h); err != nil || !strings.Contains(out.String(), "Ada,exp,01:30,09:30") {
		t.Errorf("%q, %v", out.String(), err)
	}
}

// TestWhatIsAHead: a line is a head where it names the column that comes first and one
// more; else it is a row.
func TestWhatIsAHead(t *testing.T) {
	for _, c := range []struct {
		text string
		dogs int
	}{
		{"name,room\nOro,60", 1},
		{"dog\nOro", -1},            // a head, but nobody said how far
		{"name,colour\nOro,60", -1}, // no head, and colour is no distance
		{"Name,60\nOro,60", 2},      // a dog may be called so
		{"room,minutes\n60,30", -1},
		{"name,room\n", 0},
	} {
		list, _, err := roster.Dogs(c.text, hours)
		if got := len(list); c.dogs >= 0 && (err != nil || got != c.dogs) || c.dogs < 0 && err == nil {
			t.Errorf("%q: %d dogs, %v", c.text, got, err)
		}
	}
}
