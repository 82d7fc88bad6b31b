package setup

import (
	"fmt"
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/yard"
)

// farOff is ground where the invented town has nothing: yards stand alone there.
var farOff = plane.Point{X: 50_000, Y: 50_000}

// field is a yard whose cells in a square field turned by an angle are public, the car
// near one side; but tells which of them are not.
func field(sideM, turn float64, but func(u, v float64) bool) *yard.Yard {
	y := &yard.Yard{Car: farOff}
	sin, cos := math.Sincos(turn)
	for cell := range yard.Across * yard.Across {
		d := y.Middle(cell).Sub(farOff)
		u, v := cos*d.X+sin*d.Y, -sin*d.X+cos*d.Y-sideM/2+30
		if math.Abs(u) <= sideM/2 && math.Abs(v) <= sideM/2 && (but == nil || !but(u, v)) {
			y.Set(cell, yard.Public)
		}
	}
	return y
}

func wish(t testing.TB, workingM float64) *Wish {
	t.Helper()
	w := Wish{Dog: exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: workingM, ReactionM: workingM / 2}}},
		Kind: exposure.DogOnLead, At: maptest.Morning, Together: true}
	if err := w.fill(); err != nil {
		t.Fatal(err)
	}
	return &w
}

// holds says what is wrong with a course, looked at metre by metre.
func holds(l *layer, y *yard.Yard, c *Course) error {
	for i := range c.Lines {
		line, need := c.Lines[i].At, c.Lines[i].NeedM+slackM
		for m := 0.0; m <= l.w.LineM; m++ {
			for n := 0.0; n <= l.w.LineM; n++ {
				if d := line.At(m).DistanceM(c.Helper.At(n)); d < need-1e-6 {
					return fmt.Errorf("line %d: %.2f m apart, %.2f needed", i, d, need)
				}
			}
			if cell := y.Cell(y.At(line.At(math.Round(m/10) * 10))); cell < l.least {
				return fmt.Errorf("line %d leaves the open ground at %.0f m", i, m)
			}
		}
	}
	keep := wayInShare*l.w.workingM() + slackM
	last := l.offsets[len(l.offsets)-1]
	for _, p := range metres(c.DogIn) {
		if _, _, d := c.Helper.Nearest(p); d < keep-1e-6 {
			return fmt.Errorf("the dog's way in comes within %.1f m of the helper", d)
		}
		if y.Cell(y.At(p)) < yard.Passed {
			return fmt.Errorf("the dog's way in leads over closed ground")
		}
	}
	for _, p := range metres(c.HelperIn) {
		for i := range c.Lines {
			if _, _, d := c.Lines[i].At.Nearest(p); c.Apart && d < last-1e-6 {
				return fmt.Errorf("the helper's way in comes within %.1f m of line %d", d, i)
			}
		}
		if _, _, d := c.DogIn.Nearest(p); c.Apart && d < keep-1e-6 {
			return fmt.Errorf("the ways in come within %.1f m", d)
		}
	}
	return nil
}

func metres(l plane.Polyline) (out []plane.Point) {
	for m := 0.0; m < l.LengthM(); m++ {
		out = append(out, l.At(m))
	}
	return append(out, l[len(l)-1])
}

// TestAFieldAtEveryAngle: on an open square of 200 m two people find room whichever way
// it lies, and what they get holds.
func TestAFieldAtEveryAngle(t *testing.T) {
	s := maptest.Town(t)
	for turn := 0.0; turn < math.Pi/2; turn += math.Pi / 12 {
		l := newLayer(s, wish(t, 38))
		y := field(200, turn, nil)
		c, ok := l.best(y)
		if !ok {
			t.Errorf("turned by %.0f degrees: none", turn*180/math.Pi)
			continue
		}
		if err := holds(l, y, &c); err != nil {
			t.Errorf("turned by %.0f degrees: %v", turn*180/math.Pi, err)
		}
	}
}

// TestGroundThatIsTooSmall: no lines across a lane, none in a strip, none for a dog that
// needs more than the field has.
func TestGroundThatIsTooSmall(t *testing.T) {
	s := maptest.Town(t)
	for name, y := range map[string]*yard.Yard{
		"lanes all over": field(300, 0.3, func(u, v float64) bool { return math.Abs(math.Mod(v, 30)) < 8 }),
		"a strip":        field(300, 0, func(u, v float64) bool { return math.Abs(v+60) > 20 }),
		"too small":      field(70, 0, nil),
	} {
		if c, ok := newLayer(s, wish(t, 38)).best(y); ok {
			t.Errorf("%s: %+v", name, c)
		}
	}
	if _, ok := newLayer(s, wish(t, 90)).best(field(120, 0, nil)); ok {
		t.Error("lines 184 m apart on 120 m, with ways in 139 m off")
	}
}

// TestAWallIsNotCrossed: with a wall along the middle of a field nobody crosses it, on
// lines or on ways in, and no line is seen from beyond it.
func TestAWallIsNotCrossed(t *testing.T) {
	town := maptest.Town(t)
	wall := plane.Polyline{farOff.Add(plane.Point{X: -200, Y: 3}), farOff.Add(plane.Point{X: 200, Y: 3})}
	s := *town
	s.Ground = &snapshot.GroundPlan{Obstacles: []osmdata.Obstacle{{Kind: osmdata.Wall, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: wall}}}
	y := field(300, 0, nil)
	for cell := range yard.Across * yard.Across { // as a survey closes what lies beside a barrier
		if math.Abs(y.Middle(cell).Y-wall[0].Y) < 5.1 {
			y.Set(cell, yard.Closed)
		}
	}
	c, ok := newLayer(&s, wish(t, 25)).best(y)
	if !ok {
		t.Fatal("half a field of 300 m has room for a dog of 25 m")
	}
	side := func(p plane.Point) bool { return p.Y > wall[0].Y }
	for _, l := range []plane.Polyline{c.Helper, c.DogIn, c.HelperIn, c.Lines[0].At, c.Lines[3].At} {
		for _, p := range metres(l) {
			if side(p) != side(c.Helper[0]) {
				t.Fatalf("%v lies beyond the wall", p)
			}
		}
	}
}

// TestEveryYardOfTheTown: whatever is found on real yards holds, for all sorts of dog.
func TestEveryYardOfTheTown(t *testing.T) {
	s := maptest.Town(t)
	found := 0
	for _, workingM := range []float64{10, 20, 38} {
		w := wish(t, workingM)
		w.Ground = Green
		l := newLayer(s, w)
		for i := range s.Yards {
			c, ok := l.best(&s.Yards[i])
			if !ok {
				continue
			}
			found++
			if err := holds(l, &s.Yards[i], &c); err != nil {
				t.Errorf("yard %d, dog of %.0f m: %v", i, workingM, err)
			}
		}
	}
	t.Logf("%d courses on %d yards", found, len(s.Yards))
	if found == 0 {
		t.Error("the town has no ground for a set-up")
	}
}
