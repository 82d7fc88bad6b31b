package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"html"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/blocktest"
	"wideberth/routing/snapshot"
	"wideberth/routing/training/setup"
)

// meeting is a set-up on Kiln Park: the helper keeps a line of 60 m to the east, the dog
// two parallel ones 57 and 38 m south of it. The dog's car stands in the west.
func meeting(t testing.TB) (*snapshot.Snapshot, *setup.Setup, *exposure.Dog) {
	t.Helper()
	snap, _, dog := blocktest.Loop(t)
	s := &setup.Setup{Course: setup.Course{Helper: blocktest.Line(60, 330, 120, 330), Apart: true,
		Lines: []setup.Line{{Multiple: 1.5, NeedM: 57, At: blocktest.Line(60, 273, 120, 273)}, {Multiple: 1, NeedM: 38, At: blocktest.Line(60, 292, 120, 292)}},
		DogIn: blocktest.Line(0, 250, 30, 262, 60, 273), HelperIn: blocktest.Line(150, 360, 60, 330)},
		Car: plane.Point{X: 0, Y: 250}, Place: "Kiln Park", X: 0.12, Else: []setup.Else{{Kind: exposure.DogOffLead}}}
	s.Clock = &setup.Clock{FirstMin: -9, EndMin: 30,
		Dog: setup.Timetable{Role: setup.DogSide, Entries: []setup.Entry{{Min: -6, Do: setup.DoLeave}, {Min: 0, Do: setup.DoStand}, {Min: 5, Do: setup.DoNearer, Line: 1},
			{Min: 6, Do: setup.DoStand, Line: 1}, {Min: 12, Do: setup.DoHome, Line: 1}}},
		Helper: setup.Timetable{Role: setup.HelperSide, Entries: []setup.Entry{{Min: -9, Do: setup.DoLeave}, {Min: 0, Do: setup.DoStand}, {Min: 17, Do: setup.DoHome, Line: 1}}}}
	return snap, s, dog
}

func setupPicture(t testing.TB, w briefing.Words, s *setup.Setup, snap *snapshot.Snapshot, role setup.Role, o MapOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := SetupMap(&b, snap, w, s, role, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// strokes are the paths of one colour with their widths, in the order they are drawn.
func strokes(text, colour string) (lines []drawnLine, widths []float64) {
	for _, m := range regexp.MustCompile(`<path d="([^"]+)" fill="none" stroke="`+colour+`" stroke-width="([\d.]+)"`).FindAllStringSubmatch(text, -1) {
		for _, l := range pathLines(m[1]) {
			lines, widths = append(lines, l), append(widths, numbersOf(m[2])[0])
		}
	}
	return lines, widths
}

// TestSetupAtTrueScale: the helper's line and the dog's are drawn as long as they are and
// as far apart as they lie, whatever the picture; whose sheet it is has the thick lines.
func TestSetupAtTrueScale(t *testing.T) {
	snap, s, _ := meeting(t)
	for _, size := range [][2]float64{{300, 300}, {390, 620}, {900, 400}} {
		for role, want := range map[setup.Role][2]float64{"": {4.5, 4.5}, setup.DogSide: {4.5, 1.8}, setup.HelperSide: {1.8, 4.5}} {
			text := setupPicture(t, briefing.Words{}, s, snap, role, MapOptions{WidthPX: size[0], HeightPX: size[1], Theme: Light})
			level := func(colour string, width float64) (ys, long []float64) {
				lines, widths := strokes(text, colour)
				for i, l := range lines {
					if len(l.at) == 2 && widths[i] == width && near(l.at[0].y, l.at[1].y, 0.02) {
						ys, long = append(ys, l.at[0].y), append(long, l.at[1].x-l.at[0].x)
					}
				}
				return ys, long
			}
			dogs, dogLong := level(Light.colour(ink), want[0])
			helper, helperLong := level(Light.colour(need), want[1])
			if len(dogs) != 2 || len(helper) != 1 {
				t.Fatalf("%v, role %q: %d lines of the dog and %d of the helper", size, role, len(dogs), len(helper))
			}
			pxPerM := helperLong[0] / 60
			for i, m := range []float64{57, 38} {
				if !near(dogs[i]-helper[0], m*pxPerM, 0.05) || !near(dogLong[i], 60*pxPerM, 0.05) {
					t.Errorf("%v: line %d is %.1f px long and %.1f px from the helper's, at %.3f px a metre", size, i+1, dogLong[i], dogs[i]-helper[0], pxPerM)
				}
			}
			if most := min(size[0], size[1]); pxPerM <= 0 || pxPerM*150 > most*2 {
				t.Errorf("%v: %g px a metre", size, pxPerM)
			}
		}
	}
}

// TestSetupPictureSaysWhatIsWhat: both, the distances, the car, the other kerb where there
// is one and the screen where there is one, on the paper and not over one another.
func TestSetupPictureSaysWhatIsWhat(t *testing.T) {
	snap, s, _ := meeting(t)
	o := MapOptions{WidthPX: 620, HeightPX: 620, Theme: Light}
	for name, c := range map[string]struct {
		words      briefing.Words
		change     func(*setup.Setup)
		has, lacks []string
	}{
		"two kerbs":  {briefing.Words{}, func(*setup.Setup) {}, []string{"helper comes from here", "car", "dog, line 1, 57 m", "dog, line 2, 38 m"}, []string{"out of sight", " ft"}},
		"one kerb":   {briefing.Words{}, func(s *setup.Setup) { s.HelperIn = blocktest.Line(0, 250, 60, 330) }, []string{"car"}, []string{"helper comes from here"}},
		"a screen":   {briefing.Words{}, func(s *setup.Setup) { s.Screen = &plane.Point{X: 30, Y: 290} }, []string{"out of sight"}, nil},
		"US":         {briefing.Words{Units: briefing.US}, func(*setup.Setup) {}, []string{"dog, line 2, 125 ft"}, []string{" m<"}},
		"one line":   {briefing.Words{}, func(s *setup.Setup) { s.Lines = s.Lines[:1] }, []string{"one line of the dog, farthest 57 m off", "dog, line 1, 57 m"}, []string{"line 2"}},
		"many lines": {briefing.Words{}, func(*setup.Setup) {}, []string{"2 lines of the dog, farthest 57 m off"}, nil},
	} {
		mine := *s
		c.change(&mine)
		text := setupPicture(t, c.words, &mine, snap, "", o)
		if err := xml.Unmarshal([]byte(text), new(struct{})); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		said := plain(html.UnescapeString(text))
		for _, want := range append(c.has, ">helper<", "© OpenStreetMap") {
			if !strings.Contains(said, want) {
				t.Errorf("%s: the picture lacks %q", name, want)
			}
		}
		for _, bad := range append(c.lacks, "NaN", "Inf") {
			if strings.Contains(said, bad) {
				t.Errorf("%s: the picture has %q", name, bad)
			}
		}
		keepsTextApart(t, name, text)
	}
}

// TestSetupSheetOfEach: each of the two gets its own minutes and when the other comes, the
// same lines, signs and cautions; a bite history is told; papers and roles that are not
// there are refused.
func TestSetupSheetOfEach(t *testing.T) {
	snap, s, dog := meeting(t)
	at := time.Date(2026, 11, 28, 6, 30, 0, 0, time.UTC)
	sheets := []SetupSheet{{Role: setup.DogSide, At: at, Dog: dog, Bite: true, Paper: A4, Proof: &setup.Proof{Runs: 30, LeastM: 38.4, LooseM: 12}}, {Role: setup.HelperSide, At: at, Dog: dog, Paper: A4}}
	var b bytes.Buffer
	if err := SetupSheets(&b, snap, briefing.Words{}, s, sheets); err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(plain(html.UnescapeString(b.String())), `<main class="sheet setup">`)
	if len(pages) != 3 {
		t.Fatalf("%d sheets", len(pages)-1)
	}
	const bite, proof = "muzzle on before the door", "Replayed 30 times"
	for i, c := range []struct{ has, lacks []string }{
		{[]string{"Kessa meets a known helper", "The helper leaves at 06:21", "Leave the car, but only after", ">06:24<", bite, proof}, []string{"Stand still at your place."}},
		{[]string{"For the helper: a set-up with Kessa", "starts from its car at 06:24", "Stand still at your place.", ">06:21<"}, []string{bite, proof, "Leave the car, but only after"}},
	} {
		for _, want := range append(c.has, "Both on their places at 06:30", "line 1: 57 m (1.5 times)", "line 2: 38 m (1 times)", "Both arms up: stop.", "Both dogs on leads", "© OpenStreetMap contributors", "ask") {
			if !strings.Contains(pages[i+1], want) {
				t.Errorf("sheet %d lacks %q", i+1, want)
			}
		}
		for _, bad := range append(c.lacks, "NaN") {
			if strings.Contains(pages[i+1], bad) {
				t.Errorf("sheet %d has %q", i+1, bad)
			}
		}
	}
	if ids := idsOf(b.String()); len(ids) != 2 || ids[0] == ids[1] {
		t.Errorf("the ids of both pictures are %q", ids)
	}
	if err := SetupSheets(&b, snap, briefing.Words{}, s, nil); err == nil || !strings.Contains(err.Error(), "name dog or helper") {
		t.Errorf("no sheet: %v", err)
	}
	sheets[1].Paper = "a3"
	if err := SetupSheets(&b, snap, briefing.Words{}, s, sheets); err == nil || !strings.Contains(err.Error(), `paper "a3": use a4 or letter`) {
		t.Errorf("on a3: %v", err)
	}
}

// TestBarsOfASetupStandAcross: where each waits, a bar stands square across its line, its
// middle on the line's beginning.
func TestBarsOfASetupStandAcross(t *testing.T) {
	snap, s, _ := meeting(t)
	for _, turn := range []float64{0, 0.4, 1.1, 2, 3, 4.5} {
		mine := *s
		spin := func(l plane.Polyline) (out plane.Polyline) {
			sin, cos := math.Sincos(turn)
			for _, p := range l {
				q := p.Sub(plane.Point{X: 90, Y: 290})
				out = append(out, plane.Point{X: 90 + q.X*cos - q.Y*sin, Y: 290 + q.X*sin + q.Y*cos})
			}
			return out
		}
		mine.Helper, mine.DogIn, mine.HelperIn = spin(s.Helper), spin(s.DogIn), spin(s.HelperIn)
		mine.Lines = slices.Clone(s.Lines)
		for i := range mine.Lines {
			mine.Lines[i].At = spin(s.Lines[i].At)
		}
		text := setupPicture(t, briefing.Words{}, &mine, snap, "", MapOptions{WidthPX: 500, HeightPX: 500, Theme: Light})
		for _, colour := range []token{ink, need} {
			lines, widths := strokes(text, Light.colour(colour))
			bars := 0
			for i, b := range lines {
				if widths[i] != 7 {
					continue
				}
				bars++
				mid := xy{(b.at[0].x + b.at[1].x) / 2, (b.at[0].y + b.at[1].y) / 2}
				if n := lengthOf(b.at); !near(n, 2*standPX/3, 0.05) {
					t.Errorf("a bar of %.2f px", n)
				}
				at := slices.IndexFunc(lines, func(l drawnLine) bool {
					return len(l.at) == 2 && lengthOf(l.at) > 60 && math.Hypot(l.at[0].x-mid.x, l.at[0].y-mid.y) < 0.1
				})
				if at < 0 {
					t.Errorf("turned by %g: no line begins at the bar's middle %v", turn, mid)
					continue
				}
				l := lines[at].at
				if dot := (l[1].x-l[0].x)*(b.at[1].x-b.at[0].x) + (l[1].y-l[0].y)*(b.at[1].y-b.at[0].y); math.Abs(dot) > 0.02*lengthOf(l)*lengthOf(b.at) {
					t.Errorf("turned by %g: a bar is not square to its line", turn)
				}
			}
			if want := map[token]int{ink: 2, need: 1}[colour]; bars != want {
				t.Errorf("%d bars, want %d", bars, want)
			}
		}
	}
}

// brokenWriter takes nothing.
type brokenWriter struct{}

var errFull = errors.New("the disc is full")

func (brokenWriter) Write([]byte) (int, error) { return 0, errFull }

// TestWritersErrors come back as they are.
func TestWritersErrors(t *testing.T) {
	snap, s, dog := meeting(t)
	scene := blockScene(t, briefing.Words{})
	v := blocktest.Visit(scene.Walk)
	o := MapOptions{WidthPX: 300, HeightPX: 300}
	for name, err := range map[string]error{
		"map":      scene.Map(brokenWriter{}, o),
		"strip":    scene.Strip(brokenWriter{}, StripOptions{WidthPX: 300, HeightPX: 300}),
		"visit":    scene.VisitMap(brokenWriter{}, v, o),
		"set-up":   SetupMap(brokenWriter{}, snap, briefing.Words{}, s, "", o),
		"hand-out": scene.HandOut(brokenWriter{}, HandOutOptions{Paper: A4}),
		"sheets":   SetupSheets(brokenWriter{}, snap, briefing.Words{}, s, []SetupSheet{{Role: setup.DogSide, Dog: dog, Paper: A4}}),
	} {
		if !errors.Is(err, errFull) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := HandOuts(&bytes.Buffer{}, nil, nil); err == nil || err.Error() != "no walk to print" {
		t.Errorf("no walk: %v", err)
	}
}
