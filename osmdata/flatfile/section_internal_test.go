package flatfile

import (
	"bytes"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

type mixed struct {
	A float64
	B [3]int16
	C uint16
}

// The way through unsafe memory and the way through encoding/binary are one.
func TestFastAndPortableAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := make([]mixed, rapid.IntRange(0, 9).Draw(t, "n"))
		for i := range s {
			s[i] = mixed{A: rapid.Float64().Draw(t, "a"), C: rapid.Uint16().Draw(t, "c")}
			s[i].B[i%3] = rapid.Int16().Draw(t, "b")
		}
		if flatSize[mixed]() != 16 {
			t.Fatalf("size %d", flatSize[mixed]())
		}
		b := toBytes(s)
		if !bytes.Equal(b, swapped(s)) {
			t.Fatalf("% x is not % x", b, swapped(s))
		}
		shifted := append(make([]byte, 1, len(b)+1), b...)[1:]
		for _, got := range [][]mixed{fromBytes[mixed](b), fromBytes[mixed](shifted), unswapped[mixed](b, len(s))} {
			if !slices.Equal(got, s) && len(s) > 0 {
				t.Fatalf("%v, want %v", got, s)
			}
		}
	})
}
