package fault_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata/fault"
)

// TestNothingWrongIsNoError: an empty list is no error in an interface, a list is.
func TestNothingWrongIsNoError(t *testing.T) {
	var none fault.Problems
	if err := none.Err(); err != nil {
		t.Errorf("nothing wrong is %v", err)
	}
	if err := (fault.Problems{}).Err(); err != nil {
		t.Errorf("an empty list is %v", err)
	}
	one := fault.One("/a", "1", "no")
	var back fault.Problems
	if err := one.Err(); !errors.As(fmt.Errorf("read: %w", err), &back) || !slices.Equal(back, one) {
		t.Errorf("a problem comes back as %v", back)
	}
}

// TestProblemsRead: pointer, value and mend, with what is missing left out.
func TestProblemsRead(t *testing.T) {
	for want, p := range map[string]fault.Problem{
		"/a/0 = 7: give less": {Pointer: "/a/0", Value: "7", Mend: "give less"},
		"/a: is missing":      {Pointer: "/a", Mend: "is missing"},
		"/: is empty":         {Mend: "is empty"},
		"/ = x: is no JSON":   {Value: "x", Mend: "is no JSON"},
	} {
		if got := p.String(); got != want {
			t.Errorf("%+v reads %q, want %q", p, got, want)
		}
	}
	twenty := make(fault.Problems, 20)
	if text := twenty.Error(); strings.Contains(text, "more") || strings.Count(text, ";") != 19 {
		t.Errorf("twenty problems read %q", text)
	}
	if text := (fault.Problems{}).Error(); text != "" {
		t.Errorf("none read %q", text)
	}
}

// TestWithin: problems of a part are told where the part stands in the whole; the list of
// the part stays as it is, and other errors go through.
func TestWithin(t *testing.T) {
	part := fault.Problems{{Pointer: "/needs/dogs", Value: "0", Mend: "more"}, {Pointer: "", Mend: "whole"}, {Pointer: "/", Mend: "root"}}
	was := slices.Clone(part)
	got := fault.Within("/dogs/2", fmt.Errorf("read: %w", part))
	want := fault.Problems{{Pointer: "/dogs/2/needs/dogs", Value: "0", Mend: "more"}, {Pointer: "/dogs/2", Mend: "whole"}, {Pointer: "/dogs/2", Mend: "root"}}
	var list fault.Problems
	if !errors.As(got, &list) || !slices.Equal(list, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if !slices.Equal(part, was) {
		t.Errorf("the part became %v", part)
	}
	if err := fault.Within("/x", io.EOF); !errors.Is(err, io.EOF) || errors.As(err, new(fault.Problems)) {
		t.Errorf("another error became %v", err)
	}
	if err := fault.Within("/x", nil); err != nil {
		t.Errorf("no error became %v", err)
	}
}

// members is the slow twin of Twice: every pointer of a text, by reading it object by
// object with what the decoder keeps raw; those that come again are given.
func members(raw json.RawMessage, at string, again func(pointer string)) {
	dec := json.NewDecoder(strings.NewReader(string(raw)))
	first, err := dec.Token()
	if err != nil {
		return
	}
	open, is := first.(json.Delim)
	if !is {
		return
	}
	seen := map[string]bool{}
	for i := 0; dec.More(); i++ {
		name := fmt.Sprint(i)
		if open == '{' {
			key, err := dec.Token()
			if err != nil {
				return
			}
			name = strings.ReplaceAll(strings.ReplaceAll(key.(string), "~", "~0"), "/", "~1") // RFC 6901, section 3
			if seen[name] {
				again(at + "/" + name)
			}
			seen[name] = true
		}
		var inner json.RawMessage
		if dec.Decode(&inner) != nil {
			return
		}
		members(inner, at+"/"+name, again)
	}
}

// FuzzTwice: of any JSON, the members that are given twice are those that a plain reading
// object by object finds, and text that is none does no harm.
func FuzzTwice(f *testing.F) {
	for _, text := range []string{`{"a":1,"a":2}`, `[[{"a":{"b":1,"b":[{"c":1,"c":1}]}}]]`, `{"a/b":{"~":1,"~":2},"a/b":3}`, `{"":1,"":2}`, `{"a":[1,2,{"x":1}],"b":{"a":1}}`, `{"a":}`, `]`, `{"a":1}{"a":1}`, `"a"`,
		`{"a":{"a":{"a":1},"a":2},"a":3}`, `[{"k":1},{"k":2,"k":3},[],{},{"k":{"k":1,"k":1}}]`} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := fault.Twice([]byte(text))
		if !json.Valid([]byte(text)) || strings.Count(text, "[")+strings.Count(text, "{") > 50 {
			return
		}
		var want, have []string
		members(json.RawMessage(text), "", func(p string) { want = append(want, p) })
		for _, p := range got {
			have = append(have, p.Pointer)
			if p.Mend != "is given twice: keep one" {
				t.Errorf("%q is told %q", p.Pointer, p.Mend)
			}
		}
		slices.Sort(want)
		slices.Sort(have)
		if !slices.Equal(have, want) {
			t.Errorf("%s: %q are given twice, want %q", text, have, want)
		}
	})
}

// TestTwiceDeep: nothing is looked for deeper than anybody nests, and whatever comes before
// is still told.
func TestTwiceDeep(t *testing.T) {
	deep := func(n int) string {
		return `{"a":1,"a":` + strings.Repeat("[", n) + `{"b":1,"b":2}` + strings.Repeat("]", n) + `}`
	}
	if got := fault.Twice([]byte(deep(48))); len(got) != 2 {
		t.Errorf("at the fiftieth depth: %v", got)
	}
	if got := fault.Twice([]byte(deep(49))); len(got) != 1 || got[0].Pointer != "/a" {
		t.Errorf("below it: %v", got)
	}
	if got := fault.Twice([]byte(deep(100_000))); len(got) != 1 {
		t.Errorf("far below it: %v", got)
	}
}
