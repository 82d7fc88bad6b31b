package fault

import (
	"slices"
	"strings"
)

// Clip shortens text from outside before it is quoted back.
func Clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// Nearest gives up to three of the names that resemble a name, or all of them
// when none does.
func Nearest(name string, names []string) []string {
	name = strings.ToLower(Clip(name))
	type near struct {
		name string
		d    int
	}
	var all []near
	for _, n := range names {
		d := editDistance(name, n)
		if len(name) >= 3 && (strings.Contains(n, name) || strings.Contains(name, n)) {
			d = 0
		}
		if d <= 1+len(n)/3 {
			all = append(all, near{n, d})
		}
	}
	if len(all) == 0 {
		return names
	}
	slices.SortStableFunc(all, func(a, b near) int { return a.d - b.d })
	var out []string
	for _, n := range all[:min(3, len(all))] {
		out = append(out, n.name)
	}
	return out
}

// editDistance is the number of letters to add, drop or change that turn one
// word into the other (Levenshtein 1966, by the usual two-row table).
func editDistance(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range ra {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range rb {
			change := diagonal
			if x != y {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(rb)]
}
