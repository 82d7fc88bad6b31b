package roster_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/roster"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/outing"

	"pgregory.net/rapid"
)

// TestRecordsOfRFC4180 takes the definitions of RFC 4180, section 2, one by one: lines
// that end in CR LF, the last with an end or without, spaces and quotes within quotes, and
// cells that go on over the end of a line.
func TestRecordsOfRFC4180(t *testing.T) {
	for rule, c := range map[string]struct {
		text  string
		names []string
	}{
		"1, each record on a line of its own":       {"Bram,40\r\nOro,60\r\n", []string{"Bram", "Oro"}},
		"2, the last may have no end":               {"Bram,40\r\nOro,60", []string{"Bram", "Oro"}},
		"3, a head line in the same format":         {"name,room\r\nBram,40\r\n", []string{"Bram"}},
		"4, cells may be empty":                     {"Bram,40,,,\r\n", []string{"Bram"}},
		"5, cells may stand in quotes":              {"\"Bram\",\"40\"\r\nOro,60", []string{"Bram", "Oro"}},
		"6, separators within quotes are no ends":   {"\"Bram, the elder\",40\r\n\"B\r\nC\",50\r\nOro,60", []string{"Bram, the elder", "B\nC", "Oro"}},
		"7, a quote within quotes is written twice": {"\"\"\"Bram\"\"\",40\r\n\"O\"\"r\"\"o\",60", []string{`"Bram"`, `O"r"o`}},
	} {
		list, _, err := roster.Dogs(c.text, hours)
		var names []string
		for i := range list {
			names = append(names, list[i].Name)
		}
		if err != nil || !slices.Equal(names, c.names) {
			t.Errorf("rule %s: %q, %v", rule, names, err)
		}
	}
	// after a cell of two lines rows are still numbered as the lines of the text are
	ps := refused(t, "name,room\n\"B\nC\",50\nOro,far")
	if len(ps) != 1 || ps[0].Pointer != "/row 4/room" || ps[0].Value != "far" {
		t.Errorf("%v", ps)
	}
}

// refused are the faults of a table that must have such, and nothing else.
func refused(t *testing.T, text string) fault.Problems {
	t.Helper()
	list, over, err := roster.Dogs(text, hours)
	var ps fault.Problems
	if !errors.As(err, &ps) || list != nil || over != nil {
		t.Fatalf("%q: %d dogs, passed over %v, %v", text, len(list), over, err)
	}
	return ps
}

// TestEveryBadCell: field, value and mend of each cell that cannot be read, whatever its
// column; the cell beside it that can be is no fault.
func TestEveryBadCell(t *testing.T) {
	for _, c := range []struct{ head, good, bad, mend string }{
		{"room", "40 m", "forty", "give a distance, like 40 m"},
		{"room", "40 / 18", "40 / near", "give a distance, like 40 m"},
		{"room", "40 / 18", "wide / 18", "give a distance, like 40 m"},
		{"child", "12", "12 mm", "give a distance, like 40 m"},
		{"minutes", "30", "30 s", "give minutes, like 30"},
		{"who", "exp", "me", "use any, regular or exp"},
		{"bite", "yes", "sometimes", "use yes or no"},
		{"first", "no", "second", "use yes or no"},
		{"finish by", "9.30", "9h30", "give an hour, like 09:20"},
		{"only with", "Ada", strings.Repeat("a / ", 41), "name up to 40"},
		{"never with", strings.Repeat("a / ", 40), strings.Repeat("a / ", 41), "name up to 40"},
		{"people", "2", "3", "give 1 or 2"},
		{"people", "1", "0", "give 1 or 2"},
		{"apart", "quarantine", "alone-ish", "use ground or last"},
		{"rest", "sat / sun", "sat / sat", "give days of the week, each once, like sat / sun"},
		{"rest", "wednesday", "wedding", "give days of the week, each once, like sat / sun"},
	} {
		head, row := "name\troom\t"+c.head, "\nOro\t60\t"
		if c.head == "room" {
			head, row = "name\troom", "\nOro\t"
		}
		if _, _, err := roster.Dogs(head+row+c.good, hours); err != nil {
			t.Errorf("%s %q: %v", c.head, c.good, err)
		}
		ps := refused(t, head+row+c.good+row+c.bad)
		if want := (fault.Problem{Pointer: "/row 3/" + c.head, Value: fault.Clip(strings.TrimSpace(c.bad)), Mend: c.mend}); len(ps) != 1 || ps[0] != want {
			t.Errorf("%+v, want %+v", ps, want)
		}
	}
	for _, c := range []struct{ row, column, mend string }{
		{"\t60", "name", "give the dog's name: it is how the timetable tells dogs apart"},
		{"Oro\t", "room", "give how far other dogs must stay off, like 40 m"},
		{"Oro", "room", "give how far other dogs must stay off, like 40 m"},
	} {
		ps := refused(t, "name\troom\n"+c.row)
		if want := (fault.Problem{Pointer: "/row 2/" + c.column, Mend: c.mend}); len(ps) != 1 || ps[0] != want {
			t.Errorf("%+v, want %+v", ps, want)
		}
	}
}

// TestMostThatGoes: the last table that each bound lets in, beside the first that it keeps
// out.
func TestMostThatGoes(t *testing.T) {
	row := func(n int) string { return strings.Repeat("x,1\n", n) }
	cells := func(n int) string { return "Oro,60" + strings.Repeat(",", n-2) }
	long := func(n int) string { return "Oro,60" + strings.Repeat(" ", n-6) }
	for what, c := range map[string]struct{ ok, bad, pointer, mend string }{
		"rows":       {row(60), row(61), "/row 61", "at most 60 can go"},
		"headed":     {"name,room\n" + row(60), "name,room\n" + row(61), "/row 62", "at most 60 can go"},
		"empty ones": {row(60) + "\n,\n\n", row(60) + "\n,\n\n" + row(1), "/row 64", "at most 60 can go"},
		"cells":      {cells(80), cells(81), "/row 1", "a row has at most 80 cells"},
		"bytes":      {long(roster.MostBytes), long(roster.MostBytes + 1), "/row 1", "a table has at most 262144 bytes"},
	} {
		if list, _, err := roster.Dogs(c.ok, hours); err != nil || len(list) == 0 {
			t.Errorf("%s: %d dogs, %v", what, len(list), err)
		}
		if ps := refused(t, c.bad); len(ps) != 1 || ps[0].Pointer != c.pointer || !strings.HasPrefix(ps[0].Mend, c.mend) || ps[0].Value == "" {
			t.Errorf("%s: %v", what, ps)
		}
	}
	if people, _, err := roster.People(strings.Repeat("Ada\n", 40), hours); err != nil || len(people) != 40 {
		t.Errorf("%d people, %v", len(people), err)
	}
	if people, _, err := roster.People(strings.Repeat("Ada\n", 41), hours); err == nil || people != nil || !strings.Contains(err.Error(), "at most 40") {
		t.Errorf("%d people, %v", len(people), err)
	}
}

// TestEveryKindIsAColumn: whatever a dog can have a distance for can stand over a column,
// and is written and read as the same; the columns stand in the order of their names.
func TestEveryKindIsAColumn(t *testing.T) {
	d := dog("Oro", 60, 30, "", false)
	var names []string
	for k := range exposure.KindCount {
		names = append(names, k.String())
	}
	for c := range exposure.CategoryCount {
		if c != exposure.Dogs {
			names = append(names, c.String())
		}
	}
	for i, name := range names {
		d.Dog.Needs[name] = &dogfile.Need{WorkingM: m(float64(20 + i)), ReactionM: m(5)}
		if i%3 == 0 {
			d.Dog.Needs[name] = nil
		}
	}
	var out bytes.Buffer
	if err := roster.WriteDogs(&out, []wire.OutingDog{d}, hours); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(out.Bytes())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(names)
	for i, name := range names {
		if name == "people" {
			names[i] += " (m)" // people alone are those who walk it
		}
	}
	if over := rows[0][len(rows[0])-len(names):]; !slices.Equal(over, names) {
		t.Errorf("columns %v, want %v", over, names)
	}
	back, over, err := roster.Dogs(out.String(), hours)
	if err != nil || len(over) > 0 || !slices.Equal(told(back), told([]wire.OutingDog{d})) {
		t.Errorf("%v, passed over %v, %v", told(back), over, err)
	}
}

// TestPeopleAreTwoThings: over distances a trigger, over numbers those who walk the dog;
// a table may have both.
func TestPeopleAreTwoThings(t *testing.T) {
	for text, want := range map[string]string{
		"name,room,people\nOro,60,2":                    "Oro|Oro|[dogs 60]|30||false|false||[]|[]||2|||[]|",
		"name,room,people (m)\nOro,60,12":               "Oro|Oro|[dogs 60 people 12]|30||false|false||[]|[]||0|||[]|",
		"name,room,people (m)\nOro,60,2 m":              "Oro|Oro|[dogs 60 people 2]|30||false|false||[]|[]||0|||[]|",
		"name,room,people [ft]\nOro,60,100 / 50":        "Oro|Oro|[dogs 60 people 30.48/15.24]|30||false|false||[]|[]||0|||[]|",
		"name,room,people,people (in cars)\nOro,60,2,4": "Oro|Oro|[dogs 60 people 20]|30||false|false||[]|[]||2|||[]|",
		"name,room,people (how many)\nOro,60,1":         "Oro|Oro|[dogs 60]|30||false|false||[]|[]||1|||[]|",
	} {
		if got := only(t, text); got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
	// Under a head with a unit 1 and 2 can be either: nobody is let within two metres of
	// people by a guess.
	for _, head := range []string{"people (m)", "people [ft]"} {
		for _, n := range []string{"1", "2"} {
			ps := refused(t, "name,room,"+head+"\nOro,60,"+n)
			if len(ps) != 1 || ps[0].Value != n || !strings.Contains(ps[0].Mend, "who walks it") || !strings.Contains(ps[0].Mend, n+" m") {
				t.Errorf("%s over %s: %v", head, n, ps)
			}
		}
	}
	ps := refused(t, "name,room,people (m)\nOro,60,many")
	if len(ps) != 1 || ps[0].Pointer != "/row 2/people (m)" || ps[0].Value != "many" {
		t.Errorf("%v", ps)
	}
}

// clockOf reads an hour of the day the slow way: digits, a sign between, am or pm. Minutes
// of the day, -1 for none.
func clockOf(cell string) int {
	text := strings.ToLower(strings.TrimSpace(cell))
	add, twelve := 0, false
	for suffix, hours := range map[string]int{"am": 0, "pm": 12} {
		if rest, ok := strings.CutSuffix(text, suffix); ok {
			text, add, twelve = strings.TrimSuffix(rest, " "), hours, true
		}
	}
	var h, past int
	switch {
	case twelve && !strings.Contains(text, ":"):
		if n, err := fmt.Sscanf(text+"$", "%d$", &h); n != 1 || err != nil {
			return -1
		}
	default:
		sign := ":"
		if !twelve && strings.Contains(text, ".") {
			sign = "."
		}
		if n, err := fmt.Sscanf(text+"$", "%d"+sign+"%d$", &h, &past); n != 2 || err != nil {
			return -1
		}
	}
	if twelve {
		h = h%12 + add
	}
	return 60*h + past
}

// TestHoursOfTheClock: however an hour is written it is the one that a slow reading finds,
// of the outing's day or, where the outing lasts until then, the next; and it is written
// as the same moment.
func TestHoursOfTheClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := roster.Hours{Start: time.Date(2026, 11, 25, rapid.IntRange(0, 23).Draw(t, "start"), 0, 0, 0, zone), Minutes: float64(60 * rapid.IntRange(0, 12).Draw(t, "hours"))}
		at := time.Date(2026, 11, 25, rapid.IntRange(0, 23).Draw(t, "hour"), rapid.IntRange(0, 59).Draw(t, "minute"), 0, 0, zone)
		form := rapid.SampledFrom([]string{"15:04", "15.04", "3:04pm", "3:04 PM", "03:04pm"}).Draw(t, "form")
		cell := at.Format(form)
		if rapid.Bool().Draw(t, "whole") {
			at = at.Truncate(time.Hour)
			cell = at.Format(rapid.SampledFrom([]string{"3pm", "3 pm", "3PM", "15:04"}).Draw(t, "form of a whole one"))
		}
		minute := clockOf(cell)
		if minute != 60*at.Hour()+at.Minute() {
			t.Fatalf("the slow reading of %q is %d", cell, minute)
		}
		want := time.Date(2026, 11, 25, 0, minute, 0, 0, zone)
		if next := want.AddDate(0, 0, 1); want.Before(h.Start) && !next.After(h.Start.Add(time.Duration(h.Minutes)*time.Minute)) {
			want = next
		}
		people, _, err := roster.People("Ada,,"+cell, h)
		if err != nil || people[0].From != want.Format(time.RFC3339) {
			t.Fatalf("%q: %+v, %v; want %v", cell, people, err, want)
		}
		var out strings.Builder
		if err := roster.WritePeople(&out, people, h); err != nil || !strings.Contains(out.String(), "\nAda,,"+want.Format("15:04")+",") {
			t.Fatalf("%q is written %q, %v", cell, out.String(), err)
		}
	})
	for _, cell := range []string{"24:00", "9:60", "13pm", "9", "930", "9:3", "9-30", "noon", "9:30 o'clock", "-1:00", "09:20:30"} {
		if people, _, err := roster.People("Ada,,"+cell, hours); err == nil {
			t.Errorf("%q is read as %q", cell, people[0].From)
		}
	}
}

// TestHourBesideTheEnd: the first hour after midnight that is of the next day, and the
// first that is not; an outing longer than a day is taken as one of a day.
func TestHourBesideTheEnd(t *testing.T) {
	for _, c := range []struct {
		minutes    float64
		cell, want string
	}{
		{300, "02:00", "2026-11-26T02:00:00-05:00"},
		{300, "02:01", "2026-11-25T02:01:00-05:00"},
		{300, "20:59", "2026-11-25T20:59:00-05:00"},
		{300, "21:00", "2026-11-25T21:00:00-05:00"},
		{1e9, "20:59", "2026-11-26T20:59:00-05:00"},
		{1e9, "21:00", "2026-11-25T21:00:00-05:00"},
		{-60, "00:00", "2026-11-25T00:00:00-05:00"},
		{math.NaN(), "21:30", "2026-11-25T21:30:00-05:00"},
	} {
		h := roster.Hours{Start: time.Date(2026, 11, 25, 21, 0, 0, 0, zone), Minutes: c.minutes}
		if got, _, err := roster.People("Ada,,,"+c.cell, h); err != nil || got[0].To != c.want {
			t.Errorf("%g minutes, %s: %+v, %v", c.minutes, c.cell, got, err)
		}
	}
}

// TestColumnsInAnyOrder: a table says the same however its columns stand and whatever
// columns stand between, which are named in their order.
func TestColumnsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.Permutation([][3]string{{"name", "Oro", "Bram"}, {"room", "60 m", "40 / 18 m"}, {"minutes", "25", ""}, {"who", "exp", "any"}, {"bite", "yes", ""}, {"goes with", "Bram", ""},
			{"row", "A", "B"}, {"apart", "", "last"}, {"rest", "sun", "mon / tue"}, {"child", "calm", "12"}, {"colour", "black", "brown"}, {"walks", "", "three"}}).Draw(t, "columns")
		var lines [3][]string
		var over []string
		for _, c := range columns {
			if c[0] == "colour" || c[0] == "walks" {
				over = append(over, c[0])
			}
			for i := range lines {
				lines[i] = append(lines[i], c[i])
			}
		}
		sign := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "sign")
		got, passed, err := roster.Dogs(strings.Join(lines[0], sign)+"\n"+strings.Join(lines[1], sign)+"\n"+strings.Join(lines[2], sign), hours)
		oro, bram := dog("Oro", 60, 25, "experienced", true), dog("Bram", 40, 30, "new", false)
		oro.With, oro.Row, oro.Rest, oro.Dog.Needs["child"] = "Bram", "A", []string{"sun"}, nil
		bram.Dog.Needs["dogs"].ReactionM, bram.Row, bram.Apart, bram.Rest = m(18), "B", string(outing.ApartLast), []string{"mon", "tue"}
		bram.Dog.Needs["child"] = &dogfile.Need{WorkingM: m(12)}
		if err != nil || !slices.Equal(passed, over) || !slices.Equal(told(got), told([]wire.OutingDog{oro, bram})) {
			t.Fatalf("%v\npassed over %v, want %v, %v", told(got), passed, over, err)
		}
	})
}

// TestNoCellIsWorkedOut: a cell that a spreadsheet would take for a formula is written with
// a sign before it (OWASP, CSV injection: =, +, -, @, tab; the wide forms are our
// addition), and read without; a sign that somebody wrote themselves stays.
func TestNoCellIsWorkedOut(t *testing.T) {
	for name, cell := range map[string]string{"=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "|x": "'|x", "%x": "'%x", "＝x": "'＝x", "＋x": "'＋x", "－x": "'－x", "＠x": "'＠x",
		"'x": "''x", "'=x": "''=x", "O'ro": "O'ro", "a=1": "a=1", "é": "é", "'": "''"} {
		var out bytes.Buffer
		if err := roster.WriteDogs(&out, []wire.OutingDog{dog(name, 60, 30, "", false)}, hours); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(out.Bytes())).ReadAll()
		if err != nil || rows[1][0] != cell {
			t.Errorf("%q is written %q, %v", name, rows[1][0], err)
		}
		if back, _, err := roster.Dogs(out.String(), hours); err != nil || back[0].Name != name {
			t.Errorf("%q comes back as %v, %v", name, told(back), err)
		}
	}
}
