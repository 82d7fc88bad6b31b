package reach

import (
	"cmp"
	"slices"
	"unicode"
	"unicode/utf8"
)

// HasStreet tells whether any street of the map has a name, in capitals or not
// (strings.EqualFold). After the first time it costs no more on a large map than on a
// small one.
func (land *Land) HasStreet(name string) bool {
	names := land.Snap.Graph.Names
	_, found := slices.BinarySearchFunc(land.named(), name, func(n int32, name string) int { return foldedOrder(names[n], name) })
	return found && name != ""
}

// namesInOrder are the numbers of names in foldedOrder.
func namesInOrder(names []string) []int32 {
	out := make([]int32, len(names))
	for i := range out {
		out[i] = int32(i)
	}
	slices.SortFunc(out, func(a, b int32) int { return foldedOrder(names[a], names[b]) })
	return out
}

// foldedOrder compares names letter by letter, those that differ in case alone as equal.
func foldedOrder(a, b string) int {
	for a != "" && b != "" {
		x, n := utf8.DecodeRuneInString(a)
		y, m := utf8.DecodeRuneInString(b)
		if x != y {
			if order := cmp.Compare(folded(x), folded(y)); order != 0 {
				return order
			}
		}
		a, b = a[n:], b[m:]
	}
	return cmp.Compare(len(a), len(b))
}

// folded is the least of the letters that differ from one in case alone.
func folded(r rune) rune {
	if 'a' <= r && r <= 'z' {
		return r - 'a' + 'A'
	}
	least := r
	for next := unicode.SimpleFold(r); next != r; next = unicode.SimpleFold(next) {
		least = min(least, next)
	}
	return least
}
