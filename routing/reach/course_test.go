package reach_test

import (
	"errors"
	"slices"
	"testing"

	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

func town(t testing.TB) *reach.Land {
	t.Helper()
	land, err := reach.NewLand(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	return land
}

// FuzzCourse reads what may be no course: it is refused, or comes out again as it
// went in.
func FuzzCourse(f *testing.F) {
	land := town(f)
	for _, c := range []reach.Course{{}, {{Edge: 3, FromM: 0, ToM: land.Snap.Graph.LengthM[3]}}, {{Edge: 5, FromM: 4, ToM: 1}, {Edge: 2, ToM: 0.5}}} {
		f.Add(land.MarshalCourse(c))
	}
	f.Add("not base64")
	f.Add("AAAA")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := land.UnmarshalCourse(text)
		if err != nil {
			if !errors.Is(err, reach.ErrNoCourse) {
				t.Fatal(err)
			}
			return
		}
		again, err := land.UnmarshalCourse(land.MarshalCourse(c))
		if err != nil || !slices.Equal(again, c) {
			t.Fatalf("%v came back as %v, %v", c, again, err)
		}
	})
}

// TestCourseOfAReach: every arc of a reach is found again by its ground.
func TestCourseOfAReach(t *testing.T) {
	land := town(t)
	door, err := land.Place(maptest.Door(land.Snap.Frame))
	if err != nil {
		t.Fatal(err)
	}
	r, err := land.Around(door, nil, 1500)
	if err != nil {
		t.Fatal(err)
	}
	walk := []int32{}
	at := r.Door
	for i := range 40 { // any walk will do
		arcs := r.Star.First[at+1] - r.Star.First[at]
		a := r.Star.First[at] + int32(i*7)%arcs
		walk = append(walk, a)
		at = r.Star.Head[a]
	}
	c := r.Course(walk)
	back, err := r.Along(c)
	if err != nil || !slices.Equal(back, walk) {
		t.Fatalf("%v came back as %v, %v", walk, back, err)
	}
	if line := land.LineOfCourse(c); line.LengthM() < c.LengthM()-0.5 || line.LengthM() > c.LengthM()+0.5 {
		t.Errorf("%.1f m drawn of %.1f m", line.LengthM(), c.LengthM())
	}
	if _, err := r.Along(reach.Course{{Edge: 1 << 30, ToM: 1}}); !errors.Is(err, reach.ErrNoCourse) {
		t.Errorf("no such edge: %v", err)
	}
}
