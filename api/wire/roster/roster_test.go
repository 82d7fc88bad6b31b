package roster_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/roster"
	"wideberth/osmdata/fault"

	"pgregory.net/rapid"
)

var zone = time.FixedZone("here", -5*3600)

var hours = roster.Hours{Start: time.Date(2026, 11, 25, 9, 0, 0, 0, zone), Minutes: 180}

func m(x float64) *float64 { return &x }

// dog is a dog as a table has it.
func dog(name string, roomM, minutes float64, who string, bite bool) wire.OutingDog {
	return wire.OutingDog{Dog: dogfile.File{Name: name, Needs: map[string]*dogfile.Need{"dogs": {WorkingM: m(roomM)}}}, Name: name, Minutes: minutes, Experience: who, BiteHistory: bite}
}

// told makes needs comparable.
func told(list []wire.OutingDog) (out []string) {
	for _, d := range list {
		var needs []string
		for k, n := range d.Dog.Needs {
			text := k + " calm"
			if n != nil {
				text = fmt.Sprintf("%s %.4g", k, *n.WorkingM)
				if n.ReactionM != nil {
					text += fmt.Sprintf("/%.4g", *n.ReactionM)
				}
			}
			needs = append(needs, text)
		}
		slices.Sort(needs)
		out = append(out, fmt.Sprintf("%s|%s|%v|%g|%s|%v|%v|%s|%v|%v|%s|%d|%s|%s|%v|%s", d.Dog.Name, d.Name, needs, d.Minutes, d.Experience, d.BiteHistory, d.First, d.FinishBy, d.OnlyWith, d.NeverWith, d.With, d.People, d.Row, d.Apart, d.Rest, d.DogID))
	}
	return out
}

// TestSameDogsHoweverWritten: commas, semicolons and tabs, quotes as in RFC 4180 section 2,
// with a head line and without. The page reads the same texts (api/web/test/dogtable.test.ts).
func TestSameDogsHoweverWritten(t *testing.T) {
	want := told([]wire.OutingDog{dog("Bram", 40, 30, "new", false), dog("Oro", 60, 25, "experienced", true)})
	for _, text := range []string{
		"Bram, 40 m, 30, any\nOro, 60 m, 25, exp, bite",
		"Bram;40;30 min;any;no\r\nOro;60m;25 minutes;experienced;yes\r\n",
		"Bram\t40 m\t\tanybody\t\nOro\t60 m\t25\tEXP\tx",
		"\ufeffDog,Needs,Min,Experience,Bite history\nBram,40,30,new,\nOro,60,25,exp,1",
		"bite, minutes, dog, colour, room (m), who\n-,30,Bram,brown,40,any\nyes,25,Oro,black,60,exp",
		"\"Bram\",\"40 m\",30,any\n\"Oro\",\"60 m\",\"25\",\"exp\",\"bite\"\n\n",
		"Bram, 8 cars, 30, any\nOro, 12 cars, 25, exp, bite",
		"name,room (ft),who,minutes,bite\nBram,131.2336,any,30,\nOro,196.8504,exp,25,y",
		"\n\n \nname;who;room;bite;minutes\nBram;any;40,0;;30\nOro;exp;60,0;bite;25",
	} {
		got, _, err := roster.Dogs(text, hours)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if !slices.Equal(told(got), want) {
			t.Errorf("%q:\n%v\nwant\n%v", text, told(got), want)
		}
	}
	got, over, err := roster.Dogs("name,room,colour,walks\n\"Oro, the \"\"old\"\" one\",60,black,three", hours)
	if err != nil || len(got) != 1 || got[0].Dog.Name != `Oro, the "old" one` || !slices.Equal(over, []string{"colour", "walks"}) {
		t.Errorf("%v, passed over %v, %v", told(got), over, err)
	}
}

// TestEveryColumn: what each column of the head means.
func TestEveryColumn(t *testing.T) {
	text := "name,room,minutes,who,bite,goes first,finish by,only with,never with,child,Traffic (ft)\n" +
		"Kessa,38 / 15 m,20,regular,,yes,10:30,Ada / Sam,Kit,calm,100\n" +
		"Pip,20/8 cars,,,,,11.15,,,12,\n"
	got, over, err := roster.Dogs(text, hours)
	if err != nil || len(over) != 0 {
		t.Fatal(over, err)
	}
	want := []string{
		"Kessa|Kessa|[child calm dogs 38/15 traffic 30.48]|20|regular|false|true|2026-11-25T10:30:00-05:00|[Ada Sam]|[Kit]||0|||[]|",
		"Pip|Pip|[child 12 dogs 100/40]|30||false|false|2026-11-25T11:15:00-05:00|[]|[]||0|||[]|",
	}
	if !slices.Equal(told(got), want) {
		t.Errorf("%v\nwant\n%v", told(got), want)
	}
	if got, _, err = roster.Dogs("dog,kept as,minutes\nOro,7f3a,25\n,9c,", hours); err != nil || got[0].DogID != "7f3a" || got[0].Name != "Oro" || got[1].DogID != "9c" || got[1].Minutes != 30 {
		t.Errorf("%v, %v", told(got), err)
	}
	people, over, err := roster.People("colour,name,until\nx,y,10pm", hours)
	if err != nil || len(over) != 1 || people[0].Name != "y" || people[0].To != "2026-11-25T22:00:00-05:00" {
		t.Errorf("%v, passed over %v, %v", people, over, err)
	}
}

// TestPeople: hours are of the outing's day; where it goes on past midnight, early ones
// are of the next.
func TestPeople(t *testing.T) {
	want := []wire.OutingPerson{{Name: "Ada", Experience: "regular", From: "2026-11-25T09:15:00-05:00", To: "2026-11-25T11:00:00-05:00"}, {Name: "Sam", Experience: "experienced"}, {Name: "Kit", Experience: "new", From: "2026-11-25T08:30:00-05:00"}}
	for _, text := range []string{
		"Ada,regular,09:15,11:00\nSam,exp\nKit,any,08:30",
		"leaves at;comes at;experience;person\n11.00;9:15am;reg;Ada\n;;expert;Sam\n;8:30 AM;n;Kit",
	} {
		got, _, err := roster.People(text, hours)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	night := roster.Hours{Start: time.Date(2026, 12, 31, 21, 0, 0, 0, zone), Minutes: 300}
	got, _, err := roster.People("Ada,,21:30,01:00\nSam,,20:30,2am\nKit,,,02:30", night)
	if err != nil {
		t.Fatal(err)
	}
	for i, w := range [][2]string{{"2026-12-31T21:30:00-05:00", "2027-01-01T01:00:00-05:00"}, {"2026-12-31T20:30:00-05:00", "2027-01-01T02:00:00-05:00"}, {"", "2026-12-31T02:30:00-05:00"}} {
		if got[i].From != w[0] || got[i].To != w[1] {
			t.Errorf("%s is there from %q to %q, want %v", got[i].Name, got[i].From, got[i].To, w)
		}
	}
}

// TestFaults: each is told by row, as lines are numbered, and column, all at once, and
// nothing is taken.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string
	}{
		{"name,room,minutes,who,bite\nBram,40,30,any,\nArlo,,30\nPip,far,30\n,20 m\nNell,30 m,long,boss,perhaps", []string{
			"/row 3/room", "/row 4/room = far", "/row 5/name", "/row 6/minutes = long", "/row 6/who = boss", "/row 6/bite = perhaps"}},
		{"Bram,40,30,any,no,early", []string{"/row 1/column 6 = early"}},
		{"name,room,finish by,child\nBram,40,noon,near\nOro,40,25:00,-3", []string{"/row 2/finish by = noon", "/row 2/child = near", "/row 3/finish by = 25:00", "/row 3/child = -3"}},
		{"name,room,name\nBram,40,Oro", []string{"/row 1/name"}},
		{"name,child,child\nBram,40,30", []string{"/row 1/child"}},
		{"name,room\n\"Bram,40", []string{"/row 2"}},
		{"name,room\n\n\nBra\"m,40", []string{"/row 4"}},
		{"", []string{"/row 1"}},
		{" \n,,\n", []string{"/row 1"}},
		{strings.Repeat("x,1\n", 61), []string{"/row 61"}},
		{"name,room" + strings.Repeat(",", 90) + "\n", []string{"/row 1"}},
		{"name,room\n" + strings.Repeat(" ", roster.MostBytes), []string{"/row 1"}},
		{"name,room,only with\nBram,40," + strings.Repeat("a/", 41), []string{"/row 2/only with"}},
	} {
		list, _, err := roster.Dogs(c.text, hours)
		var ps fault.Problems
		if !errors.As(err, &ps) || len(list) != 0 {
			t.Errorf("%.60q: %d dogs, %v", c.text, len(list), err)
			continue
		}
		for i, want := range c.want {
			if len(ps) != len(c.want) || !strings.HasPrefix(ps[i].String(), want) || ps[i].Mend == "" {
				t.Errorf("%.60q: %v, want %v", c.text, ps, c.want)
				break
			}
		}
	}
	if _, _, err := roster.People("Ada,sometimes,9h", hours); err == nil || !strings.Contains(err.Error(), "/row 1/experience") || !strings.Contains(err.Error(), "/row 1/from") {
		t.Errorf("%v", err)
	}
}

// TestWritten: the table that comes out, byte for byte, and what no table holds.
func TestWritten(t *testing.T) {
	oro := dog("Oro", 60, 25, "experienced", true)
	oro.FinishBy, oro.OnlyWith, oro.First = "2026-11-25T15:30:00Z", []string{"Ada", "Sam"}, true
	oro.With, oro.People, oro.Row, oro.Apart, oro.Rest = "Tilly", 2, "A", "last", []string{"sat", "sun"}
	oro.Dog.Needs["child"] = nil
	formula := dog("=1+1", 20.5, 30, "", false)
	formula.Dog.Needs["dogs"].ReactionM = m(9)
	var out bytes.Buffer
	if err := roster.WriteDogs(&out, []wire.OutingDog{oro, formula, {DogID: "7f", Name: "Tilly", Minutes: 15}}, hours); err != nil {
		t.Fatal(err)
	}
	want := "name,room,minutes,who,bite,first,finish by,only with,never with,goes with,people,row,apart,rest,kept as,child\n" +
		"Oro,60 m,25,exp,yes,yes,10:30,Ada / Sam,,Tilly,2,A,last,sat / sun,,calm\n" +
		"'=1+1,20.5 / 9 m,30,,,,,,,,,,,,,\n" +
		"Tilly,,15,,,,,,,,,,,,7f,\n"
	if out.String() != want {
		t.Errorf("%s\nwant\n%s", out.String(), want)
	}
	for name, d := range map[string]wire.OutingDog{
		"food":   {Dog: dogfile.File{Name: "x", Food: "cheese", Needs: oro.Dog.Needs}},
		"muzzle": {Dog: dogfile.File{Name: "x", Cautions: &dogfile.Cautions{Muzzle: true}, Needs: oro.Dog.Needs}},
		"needs":  {Dog: dogfile.File{Name: "x"}},
		"none":   {Dog: dogfile.File{Name: "x", Needs: map[string]*dogfile.Need{"dogs": {}}}},
		"day":    {Dog: oro.Dog, FinishBy: "2026-11-27T10:00:00-05:00"},
		"second": {Dog: oro.Dog, FinishBy: "2026-11-25T10:00:20-05:00"},
		"moment": {Dog: oro.Dog, FinishBy: "soon"},
		"stroke": {Dog: oro.Dog, OnlyWith: []string{"Ada/Sam"}},
	} {
		out.Reset()
		var ps fault.Problems
		if err := roster.WriteDogs(&out, []wire.OutingDog{oro, d}, hours); !errors.As(err, &ps) || out.Len() != 0 || !strings.HasPrefix(ps[0].Pointer, "/1") {
			t.Errorf("%s: %v, %d bytes written", name, err, out.Len())
		}
	}
}

// TestWalks: a timetable for a spreadsheet.
func TestWalks(t *testing.T) {
	table := &wire.Timetable{Rows: []wire.TimeRow{{Dog: "Oro", Person: "Ada", Second: "Sam", With: "Tilly", BiteHistory: true, Meet: "2026-11-25T09:02:00-05:00", Leave: "2026-11-25T09:05:00-05:00", BackBy: "2026-11-25T14:35:40Z",
		GrantedMinutes: 24.5, NeedM: 60, Holds: []wire.Hold{{NotBefore: "2026-11-25T09:14:20.5-05:00"}, {NotBefore: "2026-11-25T09:22:00-05:00"}}}}}
	var out bytes.Buffer
	if err := roster.WriteWalks(&out, table, zone); err != nil {
		t.Fatal(err)
	}
	if want := "name,with,goes with,be there,leave,back by,minutes,room,bite,wait until\nOro,Ada / Sam,Tilly,09:02,09:05,09:35,24.5,60 m,yes,09:14 / 09:22\n"; out.String() != want {
		t.Errorf("%s\nwant\n%s", out.String(), want)
	}
	table.Rows[0].Holds[0].NotBefore = "later"
	if err := roster.WriteWalks(&out, table, zone); err == nil || !strings.Contains(err.Error(), "/0/wait until") {
		t.Errorf("%v", err)
	}
	table.Rows[0].Leave = ""
	if err := roster.WriteWalks(&out, table, zone); err == nil || !strings.Contains(err.Error(), "/0/leave") {
		t.Errorf("%v", err)
	}
}

// TestRoundTrip: what is written is read as it was, also by a plain reader of RFC 4180,
// whatever stands in the names.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[\pL'=+@"#;,| -]{0,10}[\pL0-9]`).Filter(func(s string) bool { return strings.TrimSpace(s) == s })
		hour := rapid.Custom(func(t *rapid.T) string {
			if rapid.Bool().Draw(t, "none") {
				return ""
			}
			return hours.Start.Add(time.Duration(rapid.IntRange(0, 180).Draw(t, "minute")) * time.Minute).Format(time.RFC3339)
		})
		step := rapid.SampledFrom([]string{"", "new", "regular", "experienced"})
		need := rapid.Custom(func(t *rapid.T) *dogfile.Need {
			n := &dogfile.Need{WorkingM: m(float64(rapid.IntRange(1, 800).Draw(t, "half metres")) / 2)}
			if rapid.Bool().Draw(t, "reacts") {
				n.ReactionM = m(*n.WorkingM / 4)
			}
			return n
		})
		dogs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) wire.OutingDog {
			d := wire.OutingDog{Minutes: float64(rapid.IntRange(5, 90).Draw(t, "minutes")), Experience: step.Draw(t, "who"), BiteHistory: rapid.Bool().Draw(t, "bite"), First: rapid.Bool().Draw(t, "first"),
				FinishBy: hour.Draw(t, "by"), OnlyWith: rapid.SliceOfN(name, 0, 3).Draw(t, "only"), NeverWith: rapid.SliceOfN(name, 0, 2).Draw(t, "never")}
			d.Name = name.Draw(t, "name")
			d.Dog.Name = d.Name
			d.With, d.Row, d.People = rapid.SampledFrom([]string{"", "Tilly"}).Draw(t, "with"), rapid.SampledFrom([]string{"", "A", "'7"}).Draw(t, "row"), rapid.IntRange(0, 2).Draw(t, "people")
			d.Apart, d.Rest = rapid.SampledFrom([]string{"", "ground", "last"}).Draw(t, "apart"), rapid.SampledFrom([][]string{nil, {"mon"}, {"sat", "sun"}}).Draw(t, "rest")
			if rapid.IntRange(0, 3).Draw(t, "kept") == 0 {
				d.DogID = "k7"
				return d
			}
			d.Dog.Needs = map[string]*dogfile.Need{"dogs": need.Draw(t, "dogs")}
			for _, k := range []string{"child", "traffic"} {
				switch rapid.IntRange(0, 2).Draw(t, k) {
				case 0:
					d.Dog.Needs[k] = nil
				case 1:
					d.Dog.Needs[k] = need.Draw(t, k)
				}
			}
			return d
		}), 1, 6).Draw(t, "dogs")
		var out bytes.Buffer
		if err := roster.WriteDogs(&out, dogs, hours); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(out.Bytes())).ReadAll()
		if err != nil || len(rows) != len(dogs)+1 {
			t.Fatalf("a plain reader has %d rows: %v", len(rows), err)
		}
		for _, row := range rows {
			for _, cell := range row {
				if cell != "" && strings.ContainsAny(cell[:1], "=+-@|%\t") {
					t.Fatalf("a spreadsheet works %q out", cell)
				}
			}
		}
		back, over, err := roster.Dogs(out.String(), hours)
		if err != nil || len(over) != 0 || !slices.Equal(told(back), told(dogs)) {
			t.Fatalf("%s\n%v\nwas\n%v\n%v", out.String(), told(back), told(dogs), err)
		}
		people := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) wire.OutingPerson {
			return wire.OutingPerson{Name: name.Draw(t, "name"), Experience: step.Draw(t, "step"), From: hour.Draw(t, "from"), To: hour.Draw(t, "to"), Rest: rapid.SampledFrom([][]string{nil, {"mon"}, {"wed", "thu"}}).Draw(t, "rest")}
		}), 1, 6).Draw(t, "people")
		out.Reset()
		if err := roster.WritePeople(&out, people, hours); err != nil {
			t.Fatal(err)
		}
		if back, _, err := roster.People(out.String(), hours); err != nil || !reflect.DeepEqual(back, people) {
			t.Fatalf("%s\n%v\nwas\n%v\n%v", out.String(), back, people, err)
		}
	})
}

// FuzzDogs: whatever is pasted is read or told, and what is read can be written and read.
func FuzzDogs(f *testing.F) {
	for _, text := range []string{"Bram, 40 m, 30, any", "name;room\n\"a;b\";40", "name\troom (ft)\n'=x\t40/8", "\ufeffname,child\nx,calm", "name,finish by,room\nx,23:59,4"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		list, _, err := roster.Dogs(text, hours)
		var ps fault.Problems
		if err != nil {
			if !errors.As(err, &ps) || len(list) > 0 {
				t.Fatalf("%d dogs, %v", len(list), err)
			}
			return
		}
		var out bytes.Buffer
		if err := roster.WriteDogs(&out, list, hours); errors.As(err, &ps) {
			return // needs nobody wrote, hours of another day
		}
		if back, _, err := roster.Dogs(out.String(), hours); err != nil || len(back) != len(list) {
			t.Fatalf("%q\n%q\n%v", text, out.String(), err)
		}
	})
}

// TestBody: both tables are read or none, and each fault says in which it stands.
func TestBody(t *testing.T) {
	b := roster.Body{Dogs: "Bram,40\nOro,60", People: "Ada,exp,9:30", Start: "2026-11-25T14:00:00Z", Minutes: 180}
	got, err := b.Read(zone)
	if err != nil || len(got.Dogs) != 2 || got.People[0].From != "2026-11-25T09:30:00-05:00" {
		t.Errorf("%+v, %v", got, err)
	}
	b.Dogs, b.People = "Bram,far", "Ada,,noon"
	got, err = b.Read(zone)
	if err == nil || !strings.Contains(err.Error(), "/dogs/row 1/room") || !strings.Contains(err.Error(), "/people/row 1/from") {
		t.Errorf("%+v, %v", got, err)
	}
	for pointer, bad := range map[string]roster.Body{"/start": {Dogs: "Bram,40"}, "/dogs": {Start: b.Start}} {
		var ps fault.Problems
		if _, err := bad.Read(zone); !errors.As(err, &ps) || ps[0].Pointer != pointer {
			t.Errorf("%s: %v", pointer, err)
		}
	}
	oro := dog("Oro", 60, 25, "experienced", true)
	for _, c := range []struct {
		asked roster.WrittenBody
		want  string
	}{
		{roster.WrittenBody{Of: "dogs", Start: b.Start, Dogs: []wire.OutingDog{oro}}, "Oro,60 m,25,exp,yes"},
		{roster.WrittenBody{Of: "people", Start: b.Start, People: []wire.OutingPerson{{Name: "Ada"}}}, "Ada,,,,"},
		{roster.WrittenBody{Of: "walks", Timetable: &wire.Timetable{}}, "name,with,goes"},
	} {
		if text, err := c.asked.Write(zone); err != nil || !strings.Contains(string(text), c.want) {
			t.Errorf("%s: %q, %v", c.asked.Of, text, err)
		}
	}
	for pointer, bad := range map[string]roster.WrittenBody{
		"/people/0": {Of: "people", Start: b.Start, People: []wire.OutingPerson{{Name: "Ada", WalkedMinutes: 20}}},
		"/start":    {Of: "dogs"}, "/timetable": {Of: "walks"}, "/dogs/0": {Of: "dogs", Start: b.Start, Dogs: []wire.OutingDog{{Name: "x"}}}} {
		var ps fault.Problems
		if _, err := bad.Write(zone); !errors.As(err, &ps) || ps[0].Pointer != pointer {
			t.Errorf("%s: %v", pointer, err)
		}
	}
}
