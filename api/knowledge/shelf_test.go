package knowledge

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
)

// accounts lists what a shelf holds, the one that asked last first.
func (h *shelf) accounts() (out []string) {
	for e := h.order.Front(); e != nil; e = e.Next() {
		out = append(out, e.Value.(*slot).of.account)
	}
	return out
}

// ask takes an account's slot and leaves so many bytes in it.
func (h *shelf) ask(t testing.TB, account string, bytes int) *slot {
	t.Helper()
	s := h.slot(of{account: account})
	if err := s.lock(t.Context()); err != nil {
		t.Fatal(err)
	}
	s.known = &known{bytes: bytes}
	h.release(s)
	return s
}

// TestShelfPutsAwayWhoAskedLeastLately: by size, the one that asks stays.
func TestShelfPutsAwayWhoAskedLeastLately(t *testing.T) {
	h := shelf{most: 3*emptyBytes + 300}
	for _, a := range []string{"a", "b", "c"} {
		h.ask(t, a, 100)
	}
	kept := h.ask(t, "a", 100)
	if got := h.accounts(); !slices.Equal(got, []string{"a", "c", "b"}) || h.bytes != 3*emptyBytes+300 {
		t.Errorf("holds %v in %d bytes", got, h.bytes)
	}
	h.ask(t, "d", 100)
	if got := h.accounts(); !slices.Equal(got, []string{"d", "a", "c"}) {
		t.Errorf("with a fourth: %v", got)
	}
	if h.slot(of{account: "a"}) != kept {
		t.Error("what is held was made anew")
	}
	h.ask(t, "big", 1<<30)
	if got := h.accounts(); !slices.Equal(got, []string{"big"}) {
		t.Errorf("beside one that is too big for all: %v", got)
	}
	h.ask(t, "b", 100)
	if got := h.accounts(); !slices.Equal(got, []string{"b"}) || h.bytes != emptyBytes+100 {
		t.Errorf("after it: %v in %d bytes", got, h.bytes)
	}
	late := h.slot(of{account: "late"})
	if err := late.lock(t.Context()); err != nil {
		t.Fatal(err)
	}
	h.ask(t, "c", 1<<30) // puts late away while it is in use
	h.release(late)
	if got := h.accounts(); !slices.Equal(got, []string{"c"}) || h.bytes != emptyBytes+1<<30 {
		t.Errorf("a slot put away in use came back: %v in %d bytes", got, h.bytes)
	}
}

// TestShelfProperties: the sizes add up, nothing is held beyond the bound but a single
// one, and who asked last is held.
func TestShelfProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := shelf{most: rapid.IntRange(0, 10*emptyBytes).Draw(rt, "most")}
		for range rapid.IntRange(1, 40).Draw(rt, "looks") {
			account := fmt.Sprint(rapid.IntRange(0, 9).Draw(rt, "account"))
			h.ask(t, account, rapid.IntRange(0, 3*emptyBytes).Draw(rt, "bytes"))
			sum := 0
			for a, s := range h.by {
				sum += s.bytes
				if a.account != s.of.account || s.at == nil || s.bytes != emptyBytes+s.known.bytes {
					rt.Fatalf("slot of %+v: %+v", a, s)
				}
			}
			if sum != h.bytes || len(h.by) != h.order.Len() || h.accounts()[0] != account || h.bytes > h.most && len(h.by) > 1 {
				rt.Fatalf("%d bytes of %d in %v, %d by their sum", h.bytes, h.most, h.accounts(), sum)
			}
		}
	})
}

// TestWeight: what is laid over more of the map weighs more, and nothing learnt
// weighs next to nothing.
func TestWeight(t *testing.T) {
	weight := func(k *known) int { k.weigh(); return k.bytes }
	laid := func(edges int) *known {
		l := &exposure.Laid{}
		for e := range edges {
			l.Edges, l.Touches = append(l.Edges, int32(e)), append(l.Touches, make([]exposure.Touch, 2))
		}
		return &known{spoken: []*source{{laid: l}}}
	}
	area := &known{spoken: []*source{{made: exposure.Source{Area: []plane.Polygon{{Outer: make(plane.Ring, 200)}}}}}}
	cells := &known{cells: map[exposure.Cell]exposure.Factor{{}: {}}}
	if a, b := weight(laid(10)), weight(laid(1000)); !(weight(&known{}) == 0 && a > sourceBytes && b-a == 990*3*touchBytes && weight(area) >= 200*cornerBytes && weight(cells) == cellBytes) {
		t.Errorf("weights: nothing %d, ten edges %d, a thousand %d, an area %d, a cell %d", weight(&known{}), a, b, weight(area), weight(cells))
	}
}
