package draw

import (
	"bytes"
	"html"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
)

// TestSlip: the page of a walk in an outing says with whom and when: at the gate, out, in,
// and where to wait, by the numbers of its watch points; a bite history is told once, and
// the times take the room of the ground and of all but three sorts of trigger.
func TestSlip(t *testing.T) {
	at := func(minute int) time.Time { return time.Date(2026, 11, 25, 8, minute, 0, 0, time.UTC) }
	for _, c := range []struct {
		name       string
		words      briefing.Words
		holds      []int // indices of watch points
		slipBites  bool
		dogBites   bool
		has, lacks []string
	}{
		{"plain", briefing.Words{}, nil, false, false, []string{"With Robin", "At the gate 08:05, out 08:10, in by 08:40."}, []string{"Wait there", "Bite history"}},
		{"holds", briefing.Words{}, []int{0, 1}, false, false, []string{"Wait there, not on before: 08:20 at 1, 08:21 at 2."}, nil},
		{"one hold", briefing.Words{TwelveHour: true, Units: briefing.US}, []int{1}, false, false, []string{"At the gate 8:05", "8:21 am at 2"}, []string{"at 1"}},
		{"bites", briefing.Words{}, nil, true, false, []string{(briefing.Words{}).Caution("outing")}, nil},
		{"is known to bite", briefing.Words{}, nil, true, true, []string{(briefing.Words{}).Caution("outing")}, nil},
	} {
		s := blockScene(t, c.words)
		dog := *s.Dog
		dog.ByKind = map[exposure.Kind]exposure.Need{}
		for k := range exposure.KindCount {
			dog.ByKind[k] = exposure.Need{WorkingM: 10 + float64(k), ReactionM: 5}
		}
		dog.Cautions.BiteHistory = c.dogBites
		s.Dog = &dog
		s.Walk.Watch = slices.Clone(s.Walk.Watch)
		for len(s.Walk.Watch) < 2 {
			s.Walk.Watch = append(s.Walk.Watch, routing.WatchPoint{What: "pinch", Deed: routing.DeedWaitClear, At: s.Walk.Line[0]})
		}
		for _, i := range c.holds {
			w := &s.Walk.Watch[i]
			w.What, w.Deed, w.NotBefore = outing.HoldPoint, routing.DeedHold, at(20+i)
		}
		o := &HandOutOptions{Paper: A4, Slip: &Slip{Person: "Robin", Meet: at(5), Leave: at(10), Back: at(40), Bite: c.slipBites}}
		var b bytes.Buffer
		if err := s.HandOut(&b, *o); err != nil {
			t.Fatal(err)
		}
		page := plain(html.UnescapeString(b.String()))
		for _, want := range c.has {
			if !strings.Contains(page, want) {
				t.Errorf("%s: lacks %q", c.name, want)
			}
		}
		for _, no := range c.lacks {
			if strings.Contains(page, no) {
				t.Errorf("%s: has %q", c.name, no)
			}
		}
		if n := strings.Count(page, (briefing.Words{}).Caution("outing")); n > 1 {
			t.Errorf("%s: the bite history stands there %d times", c.name, n)
		}
		slip := s.handOutTexts(o, sheetSizes[A4])
		o.Slip = nil
		bare := s.handOutTexts(o, sheetSizes[A4])
		if slip.Ground != "" || bare.Ground == "" || slip.CarText != "" || bare.CarText == "" || len(slip.Needs) != slipNeedRows || len(bare.Needs) <= slipNeedRows || len(bare.Times) != 0 {
			t.Errorf("%s: ground %q, car %q, %d and %d sorts of trigger", c.name, slip.Ground, slip.CarText, len(slip.Needs), len(bare.Needs))
		}
	}
}

// TestCalmerHourIsOffered: another hour is told by its clock, with its day where that is
// another one, and with its chance.
func TestCalmerHourIsOffered(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	for _, c := range []struct {
		after time.Duration
		day   bool
	}{{3 * time.Hour, false}, {27 * time.Hour, true}} {
		calmer := s.Plan.Depart.Add(c.after)
		h := s.handOutTexts(&HandOutOptions{Paper: A4, Calmer: &Calmer{Depart: calmer, CalmChance: 0.9}}, sheetSizes[A4])
		text, w := plain(h.Calmer), briefing.Words{}
		if !strings.Contains(text, plain(w.Clock(calmer))) || strings.Contains(text, plain(w.Day(calmer))) != c.day || !strings.Contains(text, plain(w.Of(0.9))) {
			t.Errorf("%v later: %q", c.after, text)
		}
	}
}

// TestPlaceOfAVisit: round what is watched lie two lines, each at its distance from it (as
// round corners are drawn straight, up to a hundredth nearer), and its area is the map's.
func TestPlaceOfAVisit(t *testing.T) {
	s, v := stayScene(t, briefing.Words{}, 1)
	p := s.Place(v)
	need := p.Watched.Need
	if p.Watched.Name != v.Watched.Name || !p.Watched.InSight || need.WorkingM <= need.ReactionM || need.ReactionM <= 0 || len(p.Arc) == 0 {
		t.Fatalf("%+v", p.Watched)
	}
	hull := s.watchedHull(v)
	for _, c := range []struct {
		name string
		line []plane.Point
		m    float64
	}{{"works", p.Watched.Works, need.WorkingM}, {"reacts", p.Watched.Reacts, need.ReactionM}} {
		for _, q := range c.line {
			if d := offHull(hull, q); d > c.m+1e-6 || d < 0.99*c.m {
				t.Errorf("%s: a corner is %.2f m off, not %.2f", c.name, d, c.m)
			}
		}
		if len(c.line) < 8 {
			t.Errorf("%s: %d corners", c.name, len(c.line))
		}
	}
	if source := v.Watched.Source; source >= 0 && len(p.Watched.Area) != len(s.Snap.Field.Source(source).Area) {
		t.Errorf("%d areas", len(p.Watched.Area))
	}
	v.Watched.Source = -1
	if ways := s.Place(v); ways.Watched.Area != nil {
		t.Errorf("ways have an area: %v", ways.Watched.Area)
	}
}

// TestOutlineOfASource: all outer corners of its areas; a circle of its radius, or of a
// metre, where it has none.
func TestOutlineOfASource(t *testing.T) {
	at := plane.Point{X: 3, Y: 4}
	for _, c := range []struct{ radius, want float64 }{{25, 25}, {0, 1}, {0.2, 1}} {
		pts := outline(&exposure.Source{At: at, RadiusM: float32(c.radius)})
		if len(pts) < 12 {
			t.Errorf("%d points for a circle", len(pts))
		}
		for _, q := range pts {
			if d := q.DistanceM(at); math.Abs(d-c.want) > 1e-6 {
				t.Errorf("%g m off the middle of a circle of %g m", d, c.radius)
			}
		}
	}
	a := plane.Polygon{Outer: plane.Ring{{}, {X: 9}, {Y: 9}}, Holes: []plane.Ring{{{X: 1, Y: 1}, {X: 2, Y: 1}, {X: 1, Y: 2}}}}
	b := plane.Polygon{Outer: plane.Ring{{X: 20}, {X: 29}, {X: 20, Y: 9}}}
	if pts := outline(&exposure.Source{At: at, RadiusM: 50, Area: []plane.Polygon{a, b}}); !slices.Equal(pts, slices.Concat(a.Outer, b.Outer)) {
		t.Errorf("%v", pts)
	}
}
