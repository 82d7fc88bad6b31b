package dogfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

func metres(x float64) *float64 { return &x }

// TestDogTaken: what is written is what the dog has: distances under kinds and categories,
// half of the working distance where no reaction distance is written, calm where null is.
func TestDogTaken(t *testing.T) {
	d, err := Decode(strings.NewReader(`{"name":"Fern","food":"cheese\nor ham","speed_mps":1.1,"cautions":{"muzzle":true},
		"needs":{"dogs":{"working_m":40,"reaction_m":18},"child":{"working_m":25},"car":null,"wheels":{"working_m":0.1,"reaction_m":null},"traffic":{"working_m":5000,"reaction_m":0.1}}}`))
	if err != nil {
		t.Fatal(err)
	}
	if d.Name != "Fern" || d.Food != "cheese\nor ham" || d.SpeedMPS != 1.1 || d.Cautions != (exposure.Cautions{Muzzle: true}) || d.Typical {
		t.Errorf("%+v", d)
	}
	if want := map[exposure.Kind]exposure.Need{exposure.Child: {WorkingM: 25, ReactionM: 12.5}, exposure.Car: {}}; !maps.Equal(d.ByKind, want) {
		t.Errorf("by kind %v, want %v", d.ByKind, want)
	}
	if want := map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 40, ReactionM: 18}, exposure.Wheels: {WorkingM: 0.1, ReactionM: 0.05}, exposure.Traffic: {WorkingM: 5000, ReactionM: 0.1}}; !maps.Equal(d.ByCategory, want) {
		t.Errorf("by category %v, want %v", d.ByCategory, want)
	}
	if got, want := slices.Sorted(maps.Keys(d.AssumedR)), []string{"child", "wheels"}; !slices.Equal(got, want) {
		t.Errorf("the reaction distances to %q are assumed, want %q", got, want)
	}
}

// TestDogProblems: each fault with its pointer, value and mend; what stands at a bound is
// taken.
func TestDogProblems(t *testing.T) {
	good := func() File { return File{Name: "Fern", Needs: map[string]*Need{"dogs": {WorkingM: metres(40)}}} }
	for _, c := range []struct {
		what   string
		change func(*File)
		want   fault.Problems
	}{
		{"as it is", func(*File) {}, nil},
		{"paces at the bounds", func(f *File) { f.SpeedMPS = metres(0.2) }, nil},
		{"the other", func(f *File) { f.SpeedMPS = metres(4) }, nil},
		{"slower", func(f *File) { f.SpeedMPS = metres(0.19) }, fault.Problems{{Pointer: "/speed_mps", Value: "0.19", Mend: "must lie between 0.2 and 4 m/s"}}},
		{"a name of 80", func(f *File) { f.Name = strings.Repeat("ä", 80) }, nil},
		{"no name", func(f *File) { f.Name = "" }, fault.Problems{{Pointer: "/name", Mend: "missing: the dog needs a name"}}},
		{"a blank name", func(f *File) { f.Name = " " }, fault.Problems{{Pointer: "/name", Mend: "missing: the dog needs a name"}}},
		{"a name in pieces", func(f *File) { f.Name = "a\xffb" }, fault.Problems{{Pointer: "/name", Value: `"a\xffb"`, Mend: "holds control characters: leave them out"}}},
		{"a name with a delete", func(f *File) { f.Name = "a\x7f" }, fault.Problems{{Pointer: "/name", Value: `"a\x7f"`, Mend: "holds control characters: leave them out"}}},
		{"a name in two lines", func(f *File) { f.Name = "a\nb" }, fault.Problems{{Pointer: "/name", Value: `"a\nb"`, Mend: "holds control characters: leave them out"}}},
		{"a name with a space", func(f *File) { f.Name = "Fern the Second" }, nil},
		{"food of 200", func(f *File) { f.Food = strings.Repeat("ä", 200) }, nil},
		{"food of 201", func(f *File) { f.Food = strings.Repeat("f", 201) }, fault.Problems{{Pointer: "/food", Value: strings.Repeat("f", 40) + "…", Mend: "201 characters long: at most 200"}}},
		{"food with a bell", func(f *File) { f.Food = "a\a" }, fault.Problems{{Pointer: "/food", Value: `"a\a"`, Mend: "holds control characters: leave them out"}}},
		{"food with a delete", func(f *File) { f.Food = "a\x7f" }, fault.Problems{{Pointer: "/food", Value: `"a\x7f"`, Mend: "holds control characters: leave them out"}}},
		{"food in pieces", func(f *File) { f.Food = "a\xc3" }, fault.Problems{{Pointer: "/food", Value: `"a\xc3"`, Mend: "holds control characters: leave them out"}}},
		{"food in lines, with spaces", func(f *File) { f.Food = "ham \n cheese" }, nil},
		{"medical of 500", func(f *File) { f.Cautions = &Cautions{Medical: strings.Repeat("m", 500)} }, nil},
		{"no needs", func(f *File) { f.Needs = nil }, fault.Problems{{Pointer: "/needs", Mend: `empty: name at least one kind or category and its distances, like "dogs": {"working_m": 40}`}}},
		{"at the bounds", func(f *File) { f.Needs = map[string]*Need{"dogs": {WorkingM: metres(5000), ReactionM: metres(0.1)}} }, nil},
		{"too far", func(f *File) { f.Needs["dogs"].WorkingM = metres(5000.5) }, fault.Problems{{Pointer: "/needs/dogs/working_m", Value: "5000.5", Mend: "must lie between 0.1 and 5000 m"}}},
		{"both wrong", func(f *File) { f.Needs["dogs"] = &Need{WorkingM: metres(-3), ReactionM: metres(9000)} }, fault.Problems{
			{Pointer: "/needs/dogs/working_m", Value: "-3", Mend: "must be more than 0 m; write null for a kind that the dog is calm about"},
			{Pointer: "/needs/dogs/reaction_m", Value: "9000", Mend: "must lie between 0.1 and 5000 m"}}},
		{"no number", func(f *File) { f.Needs["dogs"].ReactionM = metres(math.NaN()) }, fault.Problems{{Pointer: "/needs/dogs/reaction_m", Value: "NaN", Mend: "must be a number in metres"}}},
		{"equal", func(f *File) { f.Needs["dogs"].ReactionM = metres(40) }, fault.Problems{{Pointer: "/needs/dogs/reaction_m", Value: "40", Mend: "must be less than working_m (40): the dog reacts nearer than it works"}}},
	} {
		f := good()
		c.change(&f)
		_, err := f.Dog()
		var got fault.Problems
		errors.As(err, &got)
		if !slices.Equal(got, c.want) || (err == nil) != (len(c.want) == 0) {
			t.Errorf("%s: %v, want %v", c.what, err, c.want)
		}
	}
}

// TestAsManyNeedsAsThereAre: a dog may have one for every kind and category, and not one more.
func TestAsManyNeedsAsThereAre(t *testing.T) {
	f := File{Name: "Fern", Needs: map[string]*Need{}}
	for k := range exposure.KindCount {
		f.Needs[k.String()] = &Need{WorkingM: metres(20)}
	}
	for c := range exposure.CategoryCount {
		f.Needs[c.String()] = nil
	}
	d, err := f.Dog()
	if err != nil || len(d.ByKind) != int(exposure.KindCount) || len(d.ByCategory) != int(exposure.CategoryCount) {
		t.Fatalf("all of them: %v", err)
	}
	f.Needs["one more"] = nil
	_, err = f.Dog()
	var got fault.Problems
	if !errors.As(err, &got) || len(got) != 1 || got[0].Pointer != "/needs" || !strings.HasSuffix(got[0].Value, " entries") {
		t.Errorf("one more: %v", err)
	}
}

// TestNamesGivenTwice and what stops being read: told by pointer, whatever else is wrong.
func TestNamesGivenTwice(t *testing.T) {
	_, err := Decode(strings.NewReader(`{"name":"A","name":"B","needs":{"dogs":{"working_m":4,"working_m":5},"peeple":null}}`))
	var got fault.Problems
	errors.As(err, &got)
	var at []string
	for _, p := range got {
		at = append(at, p.Pointer)
	}
	if want := []string{"/name", "/needs/dogs/working_m"}; !slices.Equal(at, want) {
		t.Errorf("%q, want %q: %v", at, want, err)
	}
}

// broken reads so much and fails then.
type broken struct{ text string }

func (b *broken) Read(p []byte) (int, error) {
	if b.text == "" {
		return 0, io.ErrUnexpectedEOF
	}
	n := copy(p, b.text)
	b.text = b.text[n:]
	return n, nil
}

// TestDogFromAReaderThatFails: what cannot be read is no fault of the dog.
func TestDogFromAReaderThatFails(t *testing.T) {
	_, err := Decode(&broken{`{"name":"A",`})
	var ps fault.Problems
	if !errors.Is(err, io.ErrUnexpectedEOF) || errors.As(err, &ps) {
		t.Errorf("%v", err)
	}
	long := `{"name":"A"` + strings.Repeat(" ", 1<<20-len(`{"name":"A"}`)) + "}"
	if d, err := Decode(bytes.NewReader([]byte(long))); err != nil || !d.Typical {
		t.Errorf("a mebibyte: %v", err)
	}
}

// TestUnknownFields: a field that nobody knows is named with what it resembles, wherever it
// stands, its name written as a step of a pointer (RFC 6901) and clipped.
func TestUnknownFields(t *testing.T) {
	for _, c := range []struct{ text, at, mend string }{
		{`{"name":"A","speed":1}`, "/speed", "unknown field: did you mean speed_mps?"},
		{`{"name":"A","a/b~c":1}`, "/a~1b~0c", "unknown field: did you mean name, speed_mps, needs, food, cautions?"},
		{`{"name":"A","needs":{"dogs":{"working_m":4,"reacton_m":2}}}`, "/needs/dogs/reacton_m", "unknown field: did you mean reaction_m?"},
		{`{"name":"A","cautions":{"muzzled":true}}`, "/cautions/muzzled", "unknown field: did you mean muzzle?"},
		{`{"name":"A","` + strings.Repeat("z", 300) + `":1}`, "/" + strings.Repeat("z", 40) + "…", "unknown field: did you mean name, speed_mps, needs, food, cautions?"},
	} {
		_, err := Decode(strings.NewReader(c.text))
		var got fault.Problems
		errors.As(err, &got)
		if want := (fault.Problem{Pointer: c.at, Mend: c.mend}); len(got) != 1 || got[0] != want {
			t.Errorf("%.60s: %+v, want %+v", c.text, got, want)
		}
	}
}

// TestCautionsTaken: each stands under its own name, and false is no caution.
func TestCautionsTaken(t *testing.T) {
	for text, want := range map[string]exposure.Cautions{
		`{"bite_history":true}`: {BiteHistory: true}, `{"muzzle":true}`: {Muzzle: true}, `{"experienced_only":true}`: {ExperiencedOnly: true}, `{"medical":"one eye"}`: {Medical: "one eye"}, `{"muzzle":false}`: {},
	} {
		if d, err := Decode(strings.NewReader(`{"name":"A","cautions":` + text + `}`)); err != nil || d.Cautions != want {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// TestCautionsAreWrittenAsRead: what is written of a dog's cautions is read as the same, and
// what is not so is not written.
func TestCautionsAreWrittenAsRead(t *testing.T) {
	for text, c := range map[string]Cautions{`{}`: {}, `{"bite_history":true}`: {BiteHistory: true}, `{"muzzle":true,"medical":"one eye"}`: {Muzzle: true, Medical: "one eye"}, `{"experienced_only":true}`: {ExperiencedOnly: true}} {
		written, err := json.Marshal(c)
		if err != nil || string(written) != text {
			t.Errorf("%+v is written %s, %v", c, written, err)
		}
		var read Cautions
		if wrong := decodeCautions(written, &read); len(wrong) > 0 || read != c {
			t.Errorf("%s is read as %+v, %v", written, read, wrong)
		}
	}
}
