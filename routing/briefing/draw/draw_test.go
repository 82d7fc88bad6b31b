package draw

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/blocktest"
)

var update = flag.Bool("update", false, "write the golden files anew")

// plain makes narrow spaces ordinary ones, to be read in tests.
func plain(s string) string { return strings.ReplaceAll(s, "\u202f", " ") }

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

func blockScene(t testing.TB, words briefing.Words) *Scene {
	t.Helper()
	snap, plan, dog := blocktest.Loop(t)
	s, err := NewScene(snap, plan, 0, dog, words, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// drawings makes one of each.
func drawings(t testing.TB, s *Scene) map[string]string {
	t.Helper()
	out := map[string]string{}
	put := func(name string, draw func(*bytes.Buffer) error) {
		var b bytes.Buffer
		if err := draw(&b); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out[name] = b.String()
	}
	for th := range themeCount {
		put("map-"+th.String()+".svg", func(b *bytes.Buffer) error { return s.Map(b, MapOptions{WidthPX: 720, HeightPX: 452, Theme: th}) })
	}
	put("strip.svg", func(b *bytes.Buffer) error {
		return s.Strip(b, StripOptions{WidthPX: 640, HeightPX: 452, Theme: Light, Prefix: "s"})
	})
	put("visit.svg", func(b *bytes.Buffer) error {
		return s.VisitMap(b, blocktest.Visit(s.Walk), MapOptions{WidthPX: 390, HeightPX: 392, Theme: Light, Prefix: "v"})
	})
	for _, p := range []Paper{A4, USLetter} {
		put("handout-"+string(p)+".html", func(b *bytes.Buffer) error { return s.HandOut(b, HandOutOptions{Paper: p, Driver: briefing.Fear}) })
	}
	return out
}

// TestGolden compares every drawing of the invented block with the one that was
// looked at; -update writes them anew, to be looked at again.
func TestGolden(t *testing.T) {
	for name, got := range drawings(t, blockScene(t, briefing.Words{})) {
		path := filepath.Join("testdata", name)
		if *update {
			if err := os.MkdirAll("testdata", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s differs from the golden file: look at it, then run with -update", name)
		}
	}
}

// TestColoursOnlyFromTheTable: no other colour is drawn, none by an attribute that a
// strict content security policy forbids.
func TestColoursOnlyFromTheTable(t *testing.T) {
	known := map[string]bool{}
	for _, row := range tokenTable {
		for _, c := range row.colour {
			known[c] = true
		}
	}
	for name, text := range drawings(t, blockScene(t, briefing.Words{})) {
		for _, c := range regexp.MustCompile(`#[0-9A-Fa-f]{6}\b`).FindAllString(text, -1) {
			if !known[c] {
				t.Errorf("%s: colour %s is not in the table", name, c)
			}
		}
		for _, bad := range []string{" style=", "<style", "<script", "javascript:", "NaN", "Inf"} {
			if strings.Contains(text, bad) {
				t.Errorf("%s holds %q", name, bad)
			}
		}
	}
}

// TestWellFormed reads every SVG with a strict XML reader, also with names full of
// markup, and checks that nothing of it becomes an element.
func TestWellFormed(t *testing.T) {
	snap, plan, dog := blocktest.Loop(t)
	dog.Name = `<script>alert("x")</script> & 'ש'`
	plan.Walks[0].Legs[2].Name = `Race <b onload="x">Walk</b>`
	plan.Walks[0].Watch[0].Name = strings.Repeat("<i>long</i> ", 60)
	plan.Walks[0].Passed[0].Name = `"><svg onload=x>`
	s, err := NewScene(snap, plan, 0, dog, briefing.Words{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range drawings(t, s) {
		for _, bad := range []string{"<script", "<b ", "<i>", "<svg onload"} {
			if strings.Contains(text, bad) {
				t.Errorf("%s: %q came through", name, bad)
			}
		}
		if strings.HasSuffix(name, ".svg") {
			if err := xml.Unmarshal([]byte(text), new(struct{})); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

var aNumber = regexp.MustCompile(`-?\d+(?:\.\d+)?`)

// numbersOf gives all numbers of an attribute value.
func numbersOf(s string) (out []float64) {
	for _, m := range aNumber.FindAllString(s, -1) {
		v, _ := strconv.ParseFloat(m, 64)
		out = append(out, v)
	}
	return out
}

// TestMapScale: the blue bar is as long as the room needed, to a tenth of a pixel.
func TestMapScale(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	c := &canvas{theme: Light, px: 1}
	d := s.drawMap(c, 720, 452, "px", false)
	want := 38 * d.v.scale
	bar := regexp.MustCompile(`<path d="M10 [\d.]+L10 ([\d.]+)L([\d.]+) [\d.]+L[\d. ]+" fill="none" stroke="` + Light.colour(need)).FindStringSubmatch(c.String())
	if bar == nil {
		t.Fatal("no blue bar")
	}
	if got := numbersOf(bar[2])[0] - 10; !near(got, want, 0.1) {
		t.Errorf("the blue bar is %g px long, want %g", got, want)
	}
	if !strings.Contains(plain(c.String()), "38 m: room Kessa needs from dogs") {
		t.Error("the blue bar has no words")
	}
}

// TestRibbonOfSteps: the walk lies on a ribbon in the tones of its steps, calm ground is
// drawn wider than middling and that wider than harder, and no line has a pattern.
func TestRibbonOfSteps(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	c := &canvas{theme: Light, px: 1}
	d := s.drawMap(c, 720, 452, "px", false)
	text := c.String()
	if strings.Count(text, `stroke="`+Light.colour(k4)+`"`) < 2 {
		t.Error("neither street nor walk has the tone of the hardest step")
	}
	c.Reset()
	d.tones()
	widths := map[int][]float64{}
	for step, tone := range tones {
		for _, m := range regexp.MustCompile(`stroke="`+Light.colour(tone)+`" stroke-width="([\d.]+)"`).FindAllStringSubmatch(c.String(), -1) {
			widths[step+1] = append(widths[step+1], numbersOf(m[1])[0])
		}
		if len(widths[step+1]) == 0 {
			t.Fatalf("step %d is not drawn", step+1)
		}
	}
	if a, b, e := slices.Max(widths[1]), slices.Max(widths[2]), slices.Max(widths[3]); a < 1.4*b || b < 1.15*e {
		t.Errorf("streets of step 1, 2 and 3 are %.2f, %.2f and %.2f px wide", a, b, e)
	}
	if strings.Contains(strings.ReplaceAll(text, `url(#source)`, ""), "url(#") {
		t.Error("something but a source is drawn with a pattern")
	}
	for _, w := range []stop{{12, 1}, {14, 2.8}, {18, 15}, {20, 15}} {
		if got := widthAt(streetWidths, w.zoom); got != w.px {
			t.Errorf("a street is %g px wide at zoom %g, want %g", got, w.zoom, w.px)
		}
	}
	if got, want := widthAt(streetWidths, 14.5), 2.8+1.6*(math.Pow(1.4, 0.5)-1)/0.4; !near(got, want, 1e-9) {
		t.Errorf("%g px at zoom 14.5, want %g", got, want)
	}
	if z := d.zoom(); z < 14 || z > 18 {
		t.Errorf("a block of 200 m on 720 px is at zoom %.1f", z)
	}
}

// TestHeadsSayTheWay: at least three arrowheads, the first within 60 m of the door, and
// each points along the walk.
func TestHeadsSayTheWay(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	for _, size := range []float64{160, 400, 900} {
		c := &canvas{theme: Light, px: 1}
		d := s.drawMap(c, size, size, "px", false)
		c.Reset()
		d.heads(d.v.line(s.Walk.Line), d.zoom())
		m := regexp.MustCompile(`d="([^"]*)" fill="` + Light.colour(mapInk)).FindStringSubmatch(c.String())
		if m == nil {
			t.Fatal("no heads")
		}
		heads := strings.Split(strings.TrimSuffix(m[1], "Z"), "Z")
		if len(heads) < leastHeads {
			t.Errorf("%g px: %d heads", size, len(heads))
		}
		first := numbersOf(heads[0])
		at := xy{(first[0] + first[2]/2 + first[4]/2) / 2, (first[1] + first[3]/2 + first[5]/2) / 2}
		if m := math.Hypot(at.x-d.v.at(s.Walk.Line[0]).x, at.y-d.v.at(s.Walk.Line[0]).y) / d.v.scale; m > 60 {
			t.Errorf("%g px: the first head is %.0f m from the door", size, m)
		}
		if first[0] <= first[2] || first[0] <= first[4] {
			t.Errorf("%g px: the walk goes east, its first head is %v", size, first)
		}
	}
}

// TestStripSides: a source on the right of the walk stands on the right of the
// strip, columns follow each other, and everything is in the column it belongs to.
func TestStripSides(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	for columns := 1; columns <= 5; columns++ {
		strip := s.Unroll(columns, 0)
		at, legs, watch, sources := 0.0, 0, 0, 0
		for i, c := range strip.Columns {
			if c.FromM != at || c.Start != (i == 0) || c.End != (i == columns-1) {
				t.Errorf("column %d of %d from %g m, start %t, end %t", i, columns, c.FromM, c.Start, c.End)
			}
			at = c.ToM
			legs, watch = legs+len(c.Legs), watch+len(c.Watch)
			y := 0.0
			for _, r := range c.Line {
				if !near(r.FromM-c.FromM, y, 1e-6) {
					t.Errorf("line begins at %g after %g", r.FromM-c.FromM, y)
				}
				y = r.ToM - c.FromM
			}
			if !near(y, c.ToM-c.FromM, 1e-6) {
				t.Errorf("line ends at %g of %g m", y, c.ToM-c.FromM)
			}
			for _, b := range c.Sources {
				sources++
				if !b.Right || b.Name != "Dog field" || !near(b.NearM, 50, 0.1) || b.FarM < 79 || b.FarM > 90 {
					t.Errorf("source %+v, want it on the right 50 to 80 m off", b)
				}
			}
		}
		if !near(at, 900, 1e-6) || legs != 4 || watch != 3 || sources < 1 {
			t.Errorf("%d columns: to %g m with %d legs, %d watch points, %d sources", columns, at, legs, watch, sources)
		}
	}
}

// TestStripIsWiderThanPaper: a dog that needs more room than the paper has gets no
// gauge, but words.
func TestStripIsWiderThanPaper(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	strip := s.Unroll(3, 20)
	if strip.SideM != 20 || plain(strip.Note) != "Room Kessa needs from dogs, 38 m, is wider than drawn here." {
		t.Errorf("%g m, %q", strip.SideM, strip.Note)
	}
	if strip = s.Unroll(3, 50); strip.SideM != 38 || strip.Note != "" {
		t.Errorf("%g m, %q", strip.SideM, strip.Note)
	}
}

// TestClockAndPlaceAreInverse.
func TestClockAndPlaceAreInverse(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Float64Range(0, 900).Draw(t, "m")
		if got := s.metresAt(s.secondsAt(m)); !near(got, m, 1e-6) {
			t.Fatalf("%g m comes back as %g", m, got)
		}
	})
}

// A strip holds the room needed, the hardest ground, a mark every five minutes, borders
// that are assumed and the legs by name, each within its column.
func TestStripHoldsTheWalk(t *testing.T) {
	strip := blockScene(t, briefing.Words{}).Unroll(3, 0)
	steps, assumed, minutes, legs := map[int]bool{}, false, 0, map[string]bool{}
	for _, c := range strip.Columns {
		for _, r := range c.Line {
			steps[r.Step] = true
		}
		for _, e := range c.Edges {
			assumed = assumed || e.Assumed
		}
		for _, m := range c.Minutes {
			if minutes += 5; m.Minute != minutes || m.AtM < c.FromM || m.AtM > c.ToM {
				t.Errorf("minute %d at %g m of %g to %g", m.Minute, m.AtM, c.FromM, c.ToM)
			}
		}
		for _, l := range c.Legs {
			legs[l.Name] = true
		}
	}
	if strip.NeedM != 38 || !steps[4] || !assumed || minutes == 0 || !legs["Lime Lane"] {
		t.Errorf("need %g, steps %v, assumed %v, %d minutes, legs %v", strip.NeedM, steps, assumed, minutes, legs)
	}
}

// TestHandOutText: the legs stand in the page as text in walking order, and all that
// a handler must have is there; no chance is told in per cent.
func TestHandOutText(t *testing.T) {
	for _, words := range []briefing.Words{{}, {Units: briefing.US, TwelveHour: true}} {
		s := blockScene(t, words)
		var b bytes.Buffer
		if err := s.HandOut(&b, HandOutOptions{Paper: A4}); err != nil {
			t.Fatal(err)
		}
		text := plain(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(b.String(), " "))
		text = strings.Join(strings.Fields(text), " ")
		_, walk, _ := strings.Cut(text, words.Say("sheet.take"))
		at := 0
		for _, name := range []string{"Weaver Row", "Lime Lane", "Race Walk", "Tanner Row"} {
			i := strings.Index(walk[at:], name)
			if i < 0 {
				t.Fatalf("%s is not in the page after the leg before", name)
			}
			at += i
		}
		if strings.Index(walk, "Turn away at once.") < at {
			t.Error("the advice stands before the legs in reading order")
		}
		for _, want := range []string{"7 of 10 walks like this stay calm", "Calm means", "25 to 40 treats", "Turn away at once.", "No force, ever.", "A prediction from a map, not a promise.",
			"on soft ground.", "Map of", "Assumed:", "Nearly the best", "© OpenStreetMap contributors", "and muzzles holds."} {
			if !strings.Contains(text, want) {
				t.Errorf("units %d: the page lacks %q", words.Units, want)
			}
		}
		for name, bad := range map[string]string{"pronoun": `(?i)\b(she|he|her|him|his)\b`, "certainty": `\b(10|0) of 10\b`, "side after number": `\d+ ?(m|ft|min) (left|right)\b`} {
			if hit := regexp.MustCompile(bad).FindString(text); hit != "" {
				t.Errorf("%s: %q", name, hit)
			}
		}
	}
}

func TestHandOutSheets(t *testing.T) {
	snap, plan, dog := blocktest.Loop(t)
	for i := range plan.Walks[0].Legs {
		plan.Walks[0].Legs[i].StartS *= 6
		plan.Walks[0].Legs[i].DurationS *= 6
	}
	plan.Walks[0].DurationS *= 6
	s, err := NewScene(snap, plan, 0, dog, briefing.Words{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := s.HandOut(&b, HandOutOptions{Paper: USLetter}); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), `class="sheet"`); n != 2 || !strings.Contains(b.String(), "1 of 2") {
		t.Errorf("%d sheets for 75 minutes", n)
	}
	if err := s.HandOut(&b, HandOutOptions{Paper: "a5"}); err == nil {
		t.Error("a paper that does not exist was printed")
	}
	if len(HandOutCSS()) < 500 {
		t.Error("no style sheet")
	}
}

// TestLabelsFit: with the longest names and in feet, no line of a leg or watch point
// is wider than its column, and none overlaps another.
func TestLabelsFit(t *testing.T) {
	snap, plan, dog := blocktest.Loop(t)
	dog.Name = strings.Repeat("Wilhelmina ", 7)
	for i := range plan.Walks[0].Legs {
		plan.Walks[0].Legs[i].Name = fmt.Sprintf("Upper Wilmington Marketgate Promenade %d North", i)
	}
	for i := range plan.Walks[0].Watch {
		plan.Walks[0].Watch[i].Name = "Upper Wilmington Marketgate Promenade"
	}
	for _, words := range []briefing.Words{{}, {Units: briefing.US}} {
		s, err := NewScene(snap, plan, 0, dog, words, nil)
		if err != nil {
			t.Fatal(err)
		}
		for paper, size := range sheetSizes {
			sheet := handOutSheet{}
			s.paperStrip(&sheet, size, 0, 0, 900)
			width := size.width / float64(len(sheet.Columns))
			for _, col := range sheet.Columns {
				var ys []float64
				for _, m := range regexp.MustCompile(`<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"[^>]*>([^<]*)<`).FindAllStringSubmatch(string(col), -1) {
					n := numbersOf(m[1] + " " + m[2] + " " + m[3])
					bold := strings.Contains(m[0], "700")
					if strings.Contains(m[0], "text-anchor") {
						continue
					}
					if right := n[0] + textWidth(m[4], n[2], bold); right > width+0.01 {
						t.Errorf("%s: %q ends at %.1f of %.1f mm", paper, m[4], right, width)
					}
					ys = append(ys, n[1])
				}
				for _, y := range ys {
					if y < 0 || y > size.stripH+size.watchH {
						t.Errorf("%s: text at %.1f of %.1f mm", paper, y, size.stripH+size.watchH)
					}
				}
			}
		}
	}
}

// TestTypeOnPaper: nothing drawn on paper is smaller than 8.6 pt.
func TestTypeOnPaper(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	const pt = 25.4 / 72
	for name, text := range drawings(t, s) {
		if !strings.HasPrefix(name, "handout") {
			continue
		}
		for _, m := range regexp.MustCompile(`font-size="([\d.]+)"[^>]*>([^<]*)<`).FindAllStringSubmatch(text, -1) {
			if size := numbersOf(m[1])[0]; size < 8.6*pt-0.02 {
				t.Errorf("%s: %q has %.1f pt", name, m[2], size/pt)
			}
		}
	}
}

// TestGrown checks the outline against distances: every point lies m from the hull.
func TestGrown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.Float64Range(-50, 50)
		var cloud []plane.Point
		for range rapid.IntRange(1, 12).Draw(t, "n") {
			cloud = append(cloud, plane.Point{X: coord.Draw(t, "x"), Y: coord.Draw(t, "y")})
		}
		hull := hullOf(cloud)
		area := plane.Polygon{Outer: hull}
		for _, p := range cloud {
			if len(hull) > 2 && area.DistanceM(p) > 1e-6 {
				t.Fatalf("%v lies outside its hull", p)
			}
		}
		m := rapid.Float64Range(1, 60).Draw(t, "m")
		ring := plane.Polyline(append(hull[:len(hull):len(hull)], hull[0]))
		for _, p := range grown(hull, m) {
			if _, _, d := ring.Nearest(p); !near(d, m, 1e-6) {
				t.Fatalf("%v lies %g m off, want %g (hull %v)", p, d, m, hull)
			}
		}
	})
}

// TestClipRing compares areas with sampling.
func TestClipRing(t *testing.T) {
	b := plane.Box{Min: plane.Point{X: 0, Y: 0}, Max: plane.Point{X: 10, Y: 10}}
	for _, c := range []struct {
		name string
		in   plane.Ring
		want float64
	}{
		{"inside", blocktest.Box(2, 2, 4, 4).Outer, 4},
		{"over a corner", blocktest.Box(-5, -5, 5, 5).Outer, 25},
		{"round the box", blocktest.Box(-5, -5, 50, 50).Outer, 100},
		{"outside", blocktest.Box(20, 20, 30, 30).Outer, 0},
		{"a triangle", plane.Ring{{X: 0, Y: 0}, {X: 20, Y: 0}, {X: 0, Y: 20}}, 100},
		{"cut slantwise", plane.Ring{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 0, Y: 20}}, 75},
	} {
		if got := clipRing(c.in, b).AreaM2(); !near(got, c.want, 1e-9) {
			t.Errorf("%s: %g m2, want %g", c.name, got, c.want)
		}
	}
}

func TestWrapAndCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-zA-Zäß ]{0,80}`).Draw(t, "text")
		width := rapid.Float64Range(5, 60).Draw(t, "width")
		most := rapid.IntRange(1, 6).Draw(t, "most")
		lines := wrap(text, width, 4, rapid.Bool().Draw(t, "bold"), most)
		if len(lines) > most {
			t.Fatalf("%d lines, at most %d", len(lines), most)
		}
		whole := strings.Join(lines, " ")
		if !strings.Contains(whole, "…") && whole != strings.Join(strings.Fields(text), " ") {
			t.Fatalf("%q became %q", text, whole)
		}
	})
	if got := cut("Foundry Road", 200, 4, false); got != "Foundry Road" {
		t.Error(got)
	}
	if got := cut("Foundry Road", 15, 4, false); !strings.HasSuffix(got, "…") || textWidth(got, 4, false) > 15 {
		t.Error(got)
	}
}

func TestSceneErrorsAndDogsWithoutNeeds(t *testing.T) {
	snap, plan, dog := blocktest.Loop(t)
	if _, err := NewScene(snap, plan, 3, dog, briefing.Words{}, nil); err == nil || !strings.Contains(err.Error(), "1 walks") {
		t.Errorf("walk 3 of 1: %v", err)
	}
	kind := exposure.Child
	s, err := NewScene(snap, plan, 0, dog, briefing.Words{}, &kind)
	if err != nil || s.needM() != 25 {
		t.Errorf("for children: %g m, %v", s.needM(), err)
	}
	plan.Walks[0].Passed = nil
	calm, err := NewScene(snap, plan, 0, &exposure.Dog{Name: "Oro"}, briefing.Words{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range drawings(t, calm) {
		if strings.Contains(text, "NaN") || strings.Contains(text, "room Oro needs from") {
			t.Errorf("%s: a dog that reacts to nothing needs no room", name)
		}
	}
	far := &exposure.Dog{Name: "Oro", ByKind: map[exposure.Kind]exposure.Need{exposure.DogOnLead: {WorkingM: 3000, ReactionM: 900}}}
	wide, err := NewScene(snap, plan, 0, far, briefing.Words{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range drawings(t, wide) {
		if strings.Contains(text, "NaN") || len(text) < 500 {
			t.Errorf("%s of a dog that needs 3,000 m", name)
		}
	}
}

// FuzzNames: whatever stands in a name, the map stays well-formed.
func FuzzNames(f *testing.F) {
	f.Add("Kessa", "Race Walk")
	f.Add("<>&\"'", strings.Repeat("x", 5000))
	f.Add("ש\u202e", "\x00\xff")
	f.Fuzz(func(t *testing.T, dogName, street string) {
		snap, plan, dog := blocktest.Loop(t)
		dog.Name = dogName
		plan.Walks[0].Legs[1].Name = street
		s, err := NewScene(snap, plan, 0, dog, briefing.Words{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := s.Map(&b, MapOptions{WidthPX: 300, HeightPX: 300}); err != nil {
			t.Fatal(err)
		}
		if err := xml.Unmarshal(b.Bytes(), new(struct{})); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkMap(b *testing.B) {
	s := blockScene(b, briefing.Words{})
	for b.Loop() {
		var out bytes.Buffer
		if err := s.Map(&out, MapOptions{WidthPX: 720, HeightPX: 452}); err != nil {
			b.Fatal(err)
		}
	}
}
