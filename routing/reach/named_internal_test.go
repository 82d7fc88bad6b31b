package reach

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wideberth/routing/network"
	"wideberth/routing/snapshot"
)

// TestNamesInAnyCase: a name is there exactly where the standard library's EqualFold
// says so of one of them, whatever the letters and however many names there are.
func TestNamesInAnyCase(t *testing.T) {
	letters := []rune("aAbBkK\u212aßẞsSſσςΣéÉiIİı -1\ufffd")
	r := rand.New(rand.NewPCG(3, 14))
	word := func() string {
		out := make([]rune, 1+r.IntN(3))
		for i := range out {
			out[i] = letters[r.IntN(len(letters))]
		}
		return string(out)
	}
	there := 0
	for range 60 {
		names := []string{""}
		for range r.IntN(40) {
			names = append(names, word())
		}
		land := &Land{Snap: &snapshot.Snapshot{Graph: &network.Graph{Names: names}}, named: func() []int32 { return namesInOrder(names) }}
		for range 40 {
			asked := word()
			want := slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, asked) })
			if got := land.HasStreet(asked); got != want {
				t.Fatalf("%q among %q: %v, want %v", asked, names, got, want)
			}
			if want {
				there++
			}
		}
		if land.HasStreet("") {
			t.Error("no name is a street's name")
		}
	}
	if there < 100 {
		t.Errorf("only %d were there", there)
	}
}
