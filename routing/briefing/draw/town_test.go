package draw

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"math"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/snapshot/maptest"
)

// townPlans are plans on the invented town: rounds, there and back, and a round so slow
// that it takes more than an hour, and two sheets.
var townPlans = sync.OnceValues(func() (plans []*routing.Plan, err error) {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		return nil, err
	}
	for _, w := range []routing.Wish{
		{Shape: routing.Loop, Minutes: 25, Walks: 3},
		{Shape: routing.ThereAndBack, Minutes: 20, Walks: 2},
	} {
		w.From, w.Depart, w.Dog = maptest.Door(p.Frame()), maptest.Morning, maptest.Kessa()
		plan, err := p.Plan(context.Background(), w)
		if err != nil {
			return nil, err
		}
		plans = append(plans, plan)
	}
	slow := *plans[0]
	slow.Walks = slices.Clone(slow.Walks[:1])
	w := &slow.Walks[0]
	w.Legs = slices.Clone(w.Legs)
	for i := range w.Legs {
		w.Legs[i].StartS, w.Legs[i].DurationS = 3*w.Legs[i].StartS, 3*w.Legs[i].DurationS
	}
	w.DurationS *= 3
	return append(plans, &slow), nil
})

// townScenes are all walks of those plans.
func townScenes(t testing.TB, words briefing.Words) (out []*Scene) {
	t.Helper()
	plans, err := townPlans()
	if err != nil {
		t.Fatal(err)
	}
	dog := maptest.Kessa()
	for _, plan := range plans {
		for i := range plan.Walks {
			s, err := NewScene(maptest.Invented(), plan, i, &dog, words, nil)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, s)
		}
	}
	if len(out) < 4 {
		t.Fatalf("%d walks", len(out))
	}
	return out
}

// called tells one walk from another in a test's message.
func (s *Scene) called() string {
	return fmt.Sprintf("%s %d, %.0f m", s.Walk.Shape, s.index, s.Walk.LengthM)
}

func mapOf(t testing.TB, s *Scene, o MapOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Map(&b, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func stripOf(t testing.TB, s *Scene, o StripOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Strip(&b, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestMapsOfTheTown: of every walk at phone and desk size, near and far, nothing leaves
// the paper, no words lie over others, and what is written is sound.
func TestMapsOfTheTown(t *testing.T) {
	for _, s := range townScenes(t, briefing.Words{}) {
		for _, o := range []MapOptions{{WidthPX: 320, HeightPX: 420}, {WidthPX: 720, HeightPX: 452, Others: true}, {WidthPX: 500, HeightPX: 300, Wider: 1.8, Prefix: "q"}} {
			name := fmt.Sprintf("%s on %g by %g", s.called(), o.WidthPX, o.HeightPX)
			text := mapOf(t, s, o)
			staysOnPaper(t, name, text)
			keepsTextApart(t, name, text)
			soundSVG(t, name, text)
		}
	}
}

// TestWalksAreDrawnWhereTheyLie: by the black bar's own words a walk on the map is as long
// as it is, its corners lie where they lie in metres from the door, and all of it is on
// the paper.
func TestWalksAreDrawnWhereTheyLie(t *testing.T) {
	bar := regexp.MustCompile(`<path d="M10 ([\d.]+)L10 ([\d.]+)L([\d.]+) [\d.]+L[\d. ]+" fill="none" stroke="` + Light.colour(ink) + `"`)
	for _, c := range []struct {
		words briefing.Words
		label *regexp.Regexp
		unitM float64
	}{{briefing.Words{}, regexp.MustCompile(`^([\d,]+) m$`), 1}, {briefing.Words{Units: briefing.US}, regexp.MustCompile(`^([\d,]+) ft$`), 0.3048}} {
		for _, s := range townScenes(t, c.words) {
			text := mapOf(t, s, MapOptions{WidthPX: 640, HeightPX: 480})
			m := bar.FindStringSubmatch(text)
			if m == nil {
				t.Fatalf("%s: no black bar", s.called())
			}
			pxPerM := 0.0
			for _, w := range textsOf(t, text) {
				if said := c.label.FindStringSubmatch(plain(w.text)); said != nil && near(w.at.x, numbersOf(m[3])[0]+6, 0.02) {
					pxPerM = (numbersOf(m[3])[0] - 10) / (numbersOf(strings.ReplaceAll(said[1], ",", ""))[0] * c.unitM)
				}
			}
			if pxPerM == 0 {
				t.Fatalf("%s: the black bar says no length", s.called())
			}
			lines, widths := strokes(text, Light.colour(walkEdge)) // of which the walk's own is the widest
			l := lines[slices.Index(widths, slices.Max(widths))].at
			if len(l) != len(s.Walk.Line) {
				t.Fatalf("%s: %d corners are drawn, the walk has %d", s.called(), len(l), len(s.Walk.Line))
			}
			if got, want := lengthOf(l)/pxPerM, s.Walk.Line.LengthM(); !near(got, want, 0.01*want) {
				t.Errorf("%s: drawn %.0f m long, is %.0f m", s.called(), got, want)
			}
			for i, p := range s.Walk.Line {
				e, n := p.X-s.Walk.Line[0].X, p.Y-s.Walk.Line[0].Y
				if x, y := (l[i].x-l[0].x)/pxPerM, -(l[i].y-l[0].y)/pxPerM; !near(x, e, 3) || !near(y, n, 3) {
					t.Fatalf("%s: corner %d is drawn %.1f m east and %.1f m north of the door, lies %.1f and %.1f", s.called(), i, x, y, e, n)
				}
				if l[i].x < 0 || l[i].y < 0 || l[i].x > 640 || l[i].y > 480-footPX {
					t.Fatalf("%s: corner %d leaves the picture or lies under the bars: %v", s.called(), i, l[i])
				}
			}
		}
	}
}

// TestDarkIsTheSameDrawing: but for its colours a drawing in the dark is that in daylight,
// letter by letter.
func TestDarkIsTheSameDrawing(t *testing.T) {
	colour := regexp.MustCompile(`#[0-9A-F]{6}`)
	for _, s := range townScenes(t, briefing.Words{})[:3] {
		for name, draw := range map[string]func(Theme) string{
			"map": func(th Theme) string { return mapOf(t, s, MapOptions{WidthPX: 500, HeightPX: 400, Theme: th}) },
			"strip": func(th Theme) string {
				return stripOf(t, s, StripOptions{WidthPX: 500, HeightPX: 400, Theme: th})
			},
		} {
			light, dark := draw(Light), draw(Dark)
			if colour.ReplaceAllString(light, "") != colour.ReplaceAllString(dark, "") {
				t.Errorf("%s: the %s in the dark is another drawing", s.called(), name)
			}
			if light == dark {
				t.Errorf("%s: the %s in the dark has the colours of daylight", s.called(), name)
			}
			for _, c := range colour.FindAllString(dark, -1) {
				if !slices.ContainsFunc(tokenTable[:], func(row struct {
					name   string
					colour [themeCount]string
				}) bool {
					return row.colour[Dark] == c
				}) {
					t.Errorf("%s: the %s in the dark has %s", s.called(), name, c)
				}
			}
		}
	}
}

// TestLeftIsLeft: a source that the strip has on the right lies to the right of the way as
// it is walked, as far off as it is told, and is drawn on that side of the line; room to
// the left is drawn on the left.
func TestLeftIsLeft(t *testing.T) {
	sides := [2]int{}
	for _, s := range townScenes(t, briefing.Words{}) {
		for i := range s.Band.Samples {
			p := &s.Band.Samples[i]
			if left, right := p.Dir.Cross(p.across(0)), p.Dir.Cross(p.across(1)); !near(left, 1, 1e-9) || !near(right, -1, 1e-9) {
				t.Fatalf("%s: left of %v is %v", s.called(), p.Dir, p.across(0))
			}
		}
		strip := s.Unroll(3, 0)
		for k := range strip.Columns {
			c := &strip.Columns[k]
			for _, b := range c.Sources {
				at := slices.IndexFunc(s.Walk.Passed, func(p routing.Passed) bool { return p.Name == b.Name && p.NearestM == b.NearM })
				if at < 0 {
					t.Fatalf("%s: nobody passes %q at %g m", s.called(), b.Name, b.NearM)
				}
				p := &s.Walk.Passed[at]
				hull := hullOf(outline(s.Snap.Field.Source(p.Source)))
				here := s.Walk.Line.At(p.FromM)
				to, _, d := plane.Polyline(append(hull[:len(hull):len(hull)], hull[0])).Nearest(here)
				cross := s.Walk.Line.DirectionAt(p.FromM).Cross(to.Sub(here))
				if math.Abs(cross) > 0.5*d && b.Right != (cross < 0) { // square enough to the way to have a side
					t.Errorf("%s: %q lies %.1f m beside the way, drawn on the right: %t", s.called(), b.Name, cross, b.Right)
				}
				if b.NearM > b.FarM || b.FromM > b.ToM || b.FromM < c.FromM || b.ToM > c.ToM {
					t.Errorf("%s: %q from %g to %g m, %g to %g m off, in a column from %g to %g", s.called(), b.Name, b.FromM, b.ToM, b.NearM, b.FarM, c.FromM, c.ToM)
				}
				if b.Right {
					sides[1]++
				} else {
					sides[0]++
				}
			}
			left := 0
			for _, e := range c.Edges {
				first := e.Line[0][0]
				for _, q := range e.Line {
					if q[0]*first < 0 || math.Abs(q[0]) > strip.SideM+1e-9 || q[1] < -1e-9 || q[1] > c.ToM-c.FromM+1e-9 {
						t.Fatalf("%s: a border from %v to %v in %g m to each side", s.called(), e.Line[0], q, strip.SideM)
					}
					got := &s.Band.Samples[s.Band.nearest(c.FromM+q[1])]
					if k := 0; first < 0 && math.Abs(c.FromM+q[1]-got.FromM) < 1e-9 && math.Abs(-q[0]-got.side(k)) > 8 {
						t.Fatalf("%s: %.1f m to the left at %.0f m, measured %.1f", s.called(), -q[0], got.FromM, got.side(k))
					}
				}
				if first < 0 {
					left++
				}
			}
			if left == 0 && len(c.Edges) > 2 {
				t.Errorf("%s: no border of column %d is on the left", s.called(), k)
			}
		}
	}
	if sides[0] == 0 && sides[1] == 0 {
		t.Error("no walk of the town passes anything: the test shows nothing")
	}
}

// TestStripHoldsEveryWalk: columns meet, the whole length is there once, in the steps of
// its ground; every leg, watch point and minute stands in one column, where it belongs.
func TestStripHoldsEveryWalk(t *testing.T) {
	for _, s := range townScenes(t, briefing.Words{}) {
		for _, n := range []int{-1, 0, 1, 2, 4, 7} {
			strip := s.Unroll(n, 0)
			if len(strip.Columns) != max(1, n) {
				t.Fatalf("%d columns for %d", len(strip.Columns), n)
			}
			at, legs, watch, minutes := 0.0, []int(nil), []int(nil), []int(nil)
			for i := range strip.Columns {
				c := &strip.Columns[i]
				if !near(c.FromM, at, 1e-6) {
					t.Errorf("%s: column %d begins at %g m, the one before ends at %g", s.called(), i, c.FromM, at)
				}
				gone := c.FromM
				for _, r := range c.Line {
					if !near(r.FromM, gone, 1e-6) || r.ToM <= r.FromM || r.Step < 1 || r.Step > 4 {
						t.Fatalf("%s: a run %+v after %g m", s.called(), r, gone)
					}
					gone = r.ToM
				}
				if at = c.ToM; !near(gone, at, 1e-4) {
					t.Errorf("%s: column %d is drawn to %g of %g m", s.called(), i, gone, at)
				}
				for _, l := range c.Legs {
					legs = append(legs, l.Number)
					if l.AtM < c.FromM || l.AtM > c.ToM || l.Name != s.Legs[l.Number-1].Name {
						t.Errorf("%s: leg %+v in a column from %g to %g m", s.called(), l, c.FromM, c.ToM)
					}
				}
				for _, w := range c.Watch {
					watch = append(watch, w.Number)
					if w.AtM < c.FromM || w.AtM > c.ToM || !near(w.AtM, s.Walk.Watch[w.Number-1].FromM, 1e-6) {
						t.Errorf("%s: watch point %+v in a column from %g to %g m", s.called(), w, c.FromM, c.ToM)
					}
				}
				for _, m := range c.Minutes {
					minutes = append(minutes, m.Minute)
					if back := s.secondsAt(m.AtM) / 60; !near(back, float64(m.Minute), 0.01) {
						t.Errorf("%s: minute %d is marked where the walk is at minute %.2f", s.called(), m.Minute, back)
					}
				}
			}
			if !near(at, s.Walk.Line.LengthM(), 1e-6) {
				t.Errorf("%s: unrolled to %g m", s.called(), at)
			}
			for what, got := range map[string][]int{"legs": legs, "watch points": watch} {
				most := map[string]int{"legs": len(s.Legs), "watch points": len(s.Walk.Watch)}[what]
				if len(got) != most || !slices.IsSorted(got) || len(slices.Compact(slices.Clone(got))) != most {
					t.Errorf("%s in %d columns: %s %v of %d", s.called(), n, what, got, most)
				}
			}
			step := minuteMarks(s.Walk.DurationS / 60)
			if want := int(math.Ceil((s.Walk.DurationS-endQuietS)/60/float64(step))) - 1; len(minutes) != want {
				t.Errorf("%s in %d columns: minutes %v, want %d marks", s.called(), n, minutes, want)
			}
		}
	}
}

// TestStripsOfTheTown: as drawn, nothing leaves the paper and the writing is sound; by the
// scale asked for, or less where the height is short.
func TestStripsOfTheTown(t *testing.T) {
	for _, s := range townScenes(t, briefing.Words{}) {
		for _, o := range []StripOptions{{WidthPX: 900, HeightPX: 600}, {WidthPX: 700, HeightPX: 460, PxPerM: 0.3}, {WidthPX: 640, HeightPX: 452, Columns: 2, PxPerM: 4, Prefix: "s"}} {
			text, name := stripOf(t, s, o), fmt.Sprintf("%s on %g by %g", s.called(), o.WidthPX, o.HeightPX)
			soundSVG(t, name, text)
			for _, w := range textsOf(t, text) {
				for _, q := range w.corners() {
					if q.y < 0 || q.y > o.HeightPX || q.x < 0 {
						t.Errorf("%s: %q leaves the paper at %.0f, %.0f", name, w.text, q.x, q.y)
					}
				}
			}
		}
	}
}

// TestHandOutsOfTheTown: on both papers and in both units, each picture is of its size,
// the columns together as wide as the sheet, ids stand once on the page, units are not
// mixed, every leg and watch point has its number or its name, and two sheets are used for
// what takes more than an hour.
func TestHandOutsOfTheTown(t *testing.T) {
	mm := regexp.MustCompile(`<svg [^>]*width="([\d.]+)mm" height="([\d.]+)mm"`)
	for _, c := range []struct {
		words briefing.Words
		not   *regexp.Regexp
	}{{briefing.Words{}, regexp.MustCompile(`\d (ft|mi|yd)\b`)}, {briefing.Words{Units: briefing.US, TwelveHour: true}, regexp.MustCompile(`\d (m|km)\b`)}} {
		for _, s := range townScenes(t, c.words) {
			for paper, size := range sheetSizes {
				var b bytes.Buffer
				if err := s.HandOut(&b, HandOutOptions{Paper: paper, Driver: briefing.Fear}); err != nil {
					t.Fatal(err)
				}
				page := b.String()
				name := fmt.Sprintf("%s on %s", s.called(), paper)
				sheets := 1
				if s.Walk.DurationS > 62*60 {
					sheets = 2
				}
				if n := strings.Count(page, `class="sheet`); n != sheets {
					t.Errorf("%s: %d sheets for %.0f minutes", name, n, s.Walk.DurationS/60)
				}
				wide, maps := 0.0, 0
				for _, m := range mm.FindAllStringSubmatch(page, -1) {
					w, h := numbersOf(m[1])[0], numbersOf(m[2])[0]
					switch {
					case near(h, size.stripH+size.watchH, 0.01):
						wide += w
					case near(h, size.mapH, 0.01) && near(w, size.mapW, 0.01):
						maps++
					case h > 20:
						t.Errorf("%s: a picture of %g by %g mm", name, w, h)
					}
				}
				if !near(wide, float64(sheets)*size.width, 0.1) || maps != sheets {
					t.Errorf("%s: columns of %g mm and %d maps on %d sheets of %g mm", name, wide, maps, sheets, size.width)
				}
				ids := idsOf(page)
				slices.Sort(ids)
				if n := len(slices.Compact(slices.Clone(ids))); n != len(ids) {
					t.Errorf("%s: %d ids, %d of them different", name, len(ids), n)
				}
				said := plain(html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")))
				if bad := c.not.FindString(said); bad != "" {
					t.Errorf("%s: %q among other units", name, bad)
				}
				for i := range s.Walk.Watch {
					if !strings.Contains(page, fmt.Sprintf(">%d</text>", i+1)) {
						t.Errorf("%s: watch point %d is nowhere", name, i+1)
					}
				}
				for _, svg := range regexp.MustCompile(`(?s)<svg .*?</svg>`).FindAllString(page, -1) {
					soundSVG(t, name, svg)
					if w, h := paperOf(t, svg); near(h, size.mapH, 0.01) && near(w, size.mapW, 0.01) {
						staysOnPaper(t, name, svg)
						keepsTextApart(t, name, svg)
					}
				}
			}
		}
	}
}

// TestSourcesStandWhereTheDogNeedsThem: all of the outline within which a dog reacts lies
// within that where it still works, and both hold the source itself.
func TestSourcesStandWhereTheDogNeedsThem(t *testing.T) {
	some := 0
	for _, s := range townScenes(t, briefing.Words{}) {
		all := s.Sources()
		for _, a := range all {
			some++
			for _, p := range a.Reacts {
				if !a.Works.Contains(p) && a.Need.ReactionM < 0.98*a.Need.WorkingM {
					t.Errorf("%s: %q: too near at %v, but beyond where the dog works", s.called(), a.Name, p)
				}
			}
			for _, g := range a.Area {
				for _, p := range g.Outer {
					if !a.Works.Contains(p) || !a.Reacts.Contains(p) {
						t.Errorf("%s: %q: its own corner %v lies outside its outlines", s.called(), a.Name, p)
					}
				}
			}
		}
		want := 0
		for i := range s.Walk.Passed {
			if p := &s.Walk.Passed[i]; p.Need.WorkingM > 0 && p.NearestM <= p.Need.WorkingM+30 {
				want++
			}
		}
		if len(all) != want {
			t.Errorf("%s: %d sources are drawn, %d come near", s.called(), len(all), want)
		}
	}
	if some == 0 {
		t.Error("no walk of the town comes near a source: the test shows nothing")
	}
}

// TestRoomNeededByKind: asked for a kind, band, blue bar and note are of that kind.
func TestRoomNeededByKind(t *testing.T) {
	plans, err := townPlans()
	if err != nil {
		t.Fatal(err)
	}
	dog := maptest.Kessa()
	for k := range exposure.KindCount {
		s, err := NewScene(maptest.Invented(), plans[0], 0, &dog, briefing.Words{}, &k)
		if err != nil {
			t.Fatal(err)
		}
		want := dog.Need(k).WorkingM
		if s.needM() != want || s.Band.Room.OtherMPS != k.Info().SpeedMPS {
			t.Errorf("%s: a room of %g m, want %g", k, s.needM(), want)
		}
		for i := range s.Band.Samples {
			if p := &s.Band.Samples[i]; max(p.LeftM, p.RightM) > want+1e-9 {
				t.Fatalf("%s: %g m of room where %g are needed", k, max(p.LeftM, p.RightM), want)
			}
		}
	}
}
