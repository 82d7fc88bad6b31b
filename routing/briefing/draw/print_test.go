package draw

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/blocktest"
	"wideberth/routing/briefing/message"
	"wideberth/routing/outing"
)

// manyLegs is the block walked so often that it takes the given minutes, each leg
// with a name of its own and a watch point: as crowded as a walk gets.
func manyLegs(t testing.TB, minutes float64) *Scene {
	t.Helper()
	snap, plan, dog := blocktest.Loop(t)
	w := &plan.Walks[0]
	round := *w
	dog.Name = strings.Repeat("Wilhelmina ", 6)
	w.Legs, w.Line, w.Watch, w.LengthM, w.DurationS = nil, nil, nil, 0, 0
	for w.DurationS < minutes*60 {
		for _, l := range round.Legs {
			l.Name = "Upper Wilmington Marketgate Promenade " + message.Number(float64(len(w.Legs)+100))
			l.StartS = w.DurationS
			l.Edges = append([]routing.LegEdge(nil), l.Edges...)
			l.Edges[0].FromM, l.Edges[0].StartS = w.LengthM, w.DurationS
			w.Watch = append(w.Watch, routing.WatchPoint{What: "pinch", Deed: routing.DeedWaitClear, Name: l.Name, At: l.Line[0], AtS: w.DurationS, FromM: w.LengthM, RoomM: 3})
			w.Legs, w.Line = append(w.Legs, l), append(w.Line, l.Line...)
			w.LengthM, w.DurationS = w.LengthM+l.LengthM, w.DurationS+l.DurationS
		}
	}
	for range 20 {
		plan.Assumed = append(plan.Assumed, exposure.Assumption{What: outing.AssumedStraight})
	}
	s, err := NewScene(snap, plan, 0, dog, briefing.Words{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestCrowdedPage: with the longest names, however many legs and watch points,
// everything drawn stays on its sheet and no label of a leg runs into another.
func TestCrowdedPage(t *testing.T) {
	for _, minutes := range []float64{15, 30, 60, 90, 120} {
		s := manyLegs(t, minutes)
		for paper, size := range sheetSizes {
			sheet := handOutSheet{}
			s.paperStrip(&sheet, size, 0, 0, s.Walk.Line.LengthM())
			for _, col := range sheet.Columns {
				last := -1.0
				for _, m := range regexp.MustCompile(`<text x="([\d.]+)" y="(-?[\d.]+)" font-size="3.17"[^>]*>([^<]*)<`).FindAllStringSubmatch(string(col), -1) {
					if strings.Contains(m[0], "text-anchor") {
						continue
					}
					y := numbersOf(m[2])[0]
					if y < 0 || y > size.stripH+size.watchH {
						t.Errorf("%s, %g minutes: %q at %.1f of %.1f mm", paper, minutes, m[3], y, size.stripH+size.watchH)
					}
					if y == last {
						t.Errorf("%s, %g minutes: two lines at %.1f mm", paper, minutes, y)
					}
					last = y
				}
			}
		}
	}
}

// TestPrintedPages prints the crowded page in a browser and counts: one page on A4
// and on Letter up to an hour, two beyond, with the legs as text in walking order.
func TestPrintedPages(t *testing.T) {
	browser, err := exec.LookPath("chromium")
	if os.Getenv("WIDEBERTH_SLOW") == "" || err != nil {
		t.Skip("prints in a browser, some seconds a page: set WIDEBERTH_SLOW=1 and have chromium")
	}
	for paper, size := range map[Paper]string{A4: "A4", USLetter: "letter"} {
		for minutes, want := range map[float64]int{15: 1, 45: 1, 90: 2} {
			dir := t.TempDir()
			var page bytes.Buffer
			if err := manyLegs(t, minutes).HandOut(&page, HandOutOptions{Paper: paper, StyleHref: "handout.css"}); err != nil {
				t.Fatal(err)
			}
			css := append([]byte("@page { size: "+size+"; }\n"), HandOutCSS()...)
			for name, text := range map[string][]byte{"page.html": page.Bytes(), "handout.css": css} {
				if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			pdf := filepath.Join(dir, "page.pdf")
			out, err := exec.Command(browser, "--headless", "--no-sandbox", "--no-pdf-header-footer", "--user-data-dir="+filepath.Join(dir, "profile"), "--print-to-pdf="+pdf, "file://"+filepath.Join(dir, "page.html")).CombinedOutput()
			if err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			text, err := os.ReadFile(pdf)
			if err != nil {
				t.Fatal(err)
			}
			if n := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(text, -1)); n != want {
				t.Errorf("%s, %g minutes: %d pages, want %d", paper, minutes, n, want)
			}
		}
	}
}
