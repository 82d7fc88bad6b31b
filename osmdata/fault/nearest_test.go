package fault

import "testing"

// TestNearest: names of the same letters, whatever their case; all of them where none is
// like it.
func TestNearest(t *testing.T) {
	streets := []string{"Market Street", "King Street", "Race Walk"}
	if got := Nearest("kin street", streets); got[0] != "King Street" {
		t.Errorf("%q", got)
	}
	if got := Nearest("zzz", streets); len(got) != 3 {
		t.Errorf("%q", got)
	}
}

// Distances of the textbook pairs (Levenshtein 1966; examples common in texts).
func TestEditDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"", "abc", 3}, {"abc", "", 3}, {"straße", "strasse", 2}, {"x", "x", 0}} {
		if got := editDistance(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}
