package draw

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
)

func drawPoint(t *rapid.T, within float64) plane.Point {
	c := rapid.Float64Range(-within, within)
	return plane.Point{X: c.Draw(t, "x"), Y: c.Draw(t, "y")}
}

// TestFitShowsTheWholeBox: the box lies in the middle of the drawing, all of it, one
// scale across and along, north up, and one of its sides fills the paper.
func TestFitShowsTheWholeBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawPoint(t, 5000)
		size := rapid.Float64Range(1, 3000)
		b := plane.Box{Min: a, Max: a.Add(plane.Point{X: size.Draw(t, "wide"), Y: size.Draw(t, "high")})}
		w, h := rapid.Float64Range(20, 2000).Draw(t, "w"), rapid.Float64Range(20, 2000).Draw(t, "h")
		v := fit(b, w, h)
		low, high := v.at(plane.Point{X: b.Min.X, Y: b.Max.Y}), v.at(plane.Point{X: b.Max.X, Y: b.Min.Y})
		if low.x < -1e-6 || low.y < -1e-6 || high.x > w+1e-6 || high.y > h+1e-6 {
			t.Fatalf("the box is drawn from %v to %v on %g by %g", low, high, w, h)
		}
		if !near(low.x, w-high.x, 1e-6) || !near(low.y, h-high.y, 1e-6) {
			t.Fatalf("the box from %v to %v is not in the middle of %g by %g", low, high, w, h)
		}
		if min(low.x, low.y) > 1e-6 {
			t.Fatalf("%g and %g units are left on both sides", low.x, low.y)
		}
		p, q := drawPoint(t, 5000), drawPoint(t, 5000)
		if x, y := v.at(p), v.at(q); !near(math.Hypot(x.x-y.x, x.y-y.y), p.DistanceM(q)*v.scale, 1e-6*(1+v.scale)*5000) {
			t.Fatalf("%g m are drawn as %g units at %g a metre", p.DistanceM(q), math.Hypot(x.x-y.x, x.y-y.y), v.scale)
		}
		if north, east := v.at(p.Add(plane.Point{Y: 1})), v.at(p.Add(plane.Point{X: 1})); north.y >= v.at(p).y || east.x <= v.at(p).x {
			t.Fatal("north is not up, or east not to the right")
		}
	})
}

// TestFitOfNothing: a place without size gets a metre, not a division by nothing.
func TestFitOfNothing(t *testing.T) {
	v := fit(plane.Box{Min: plane.Point{X: 3, Y: 4}, Max: plane.Point{X: 3, Y: 4}}, 300, 200)
	if v.scale != 200 {
		t.Errorf("%g units a metre, want 200", v.scale)
	}
	if at := v.at(plane.Point{X: 3, Y: 4}); !near(at.x, 150, 1e-9) || !near(at.y, 100, 1e-9) {
		t.Errorf("the place is drawn at %v", at)
	}
}

// TestWidened: about the same middle, k times as wide and high; 0 is as it was.
func TestWidened(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawPoint(t, 100)
		b := plane.Box{Min: a, Max: a.Add(plane.Point{X: rapid.Float64Range(0, 90).Draw(t, "wide"), Y: rapid.Float64Range(0, 90).Draw(t, "high")})}
		k := rapid.SampledFrom([]float64{0, 0.5, 1, 1.6, 4}).Draw(t, "k")
		got, want := widened(b, k), k
		if k == 0 {
			want = 1
		}
		if !near(got.Max.X-got.Min.X, want*(b.Max.X-b.Min.X), 1e-9) || !near(got.Max.Y-got.Min.Y, want*(b.Max.Y-b.Min.Y), 1e-9) {
			t.Fatalf("%v times %g is %v", b, k, got)
		}
		if d := got.Min.Add(got.Max).DistanceM(b.Min.Add(b.Max)); d > 1e-9 {
			t.Fatalf("the middle moved by %g m", d/2)
		}
	})
}

// svgNumber is what may stand for a number in path data. Source: SVG 1.1, 8.3.9, the
// grammar for path data, from memory; exponents are allowed there, but not drawn here.
var svgNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]{1,2})?$`)

// TestNumbersOfDrawings: two decimals at most, as near as they can be, in SVG's grammar.
func TestNumbersOfDrawings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.Float64Range(-0.02, 0.02)).Draw(t, "v")
		text := num(v)
		if !svgNumber.MatchString(text) || text == "-0" {
			t.Fatalf("%g is written %q", v, text)
		}
		if got, err := strconv.ParseFloat(text, 64); err != nil || math.Abs(got-v) > 0.005+1e-9 {
			t.Fatalf("%g is written %q", v, text)
		}
	})
	for v, want := range map[float64]string{0: "0", 10: "10", -0.001: "0", 0.5: "0.5", 100: "100", 1.999: "2", -3.25: "-3.25", 12.3456: "12.35"} {
		if got := num(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
}

// allowed is a character that an XML document may hold. Source: Extensible Markup
// Language (XML) 1.0, fifth edition, production 2 (Char).
func allowed(r rune) bool {
	return r == 0x9 || r == 0xA || r == 0xD || r >= 0x20 && r <= 0xD7FF || r >= 0xE000 && r <= 0xFFFD || r >= 0x10000 && r <= 0x10FFFF
}

// TestTextComesBackAsItWas: whatever somebody called something is read back by an XML
// reader, but for what XML has no place for; attribute and text alike.
func TestTextComesBackAsItWas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[<>&"'a\x00-\x1f\x{fffd}-\x{ffff}]{0,20}`),
			rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) })).Draw(t, "text")
		want := strings.Map(func(r rune) rune {
			if r < ' ' || !allowed(r) {
				return -1
			}
			return r
		}, strings.ToValidUTF8(text, ""))
		dec := xml.NewDecoder(strings.NewReader(`<text a="` + escaped(text) + `">` + escaped(text) + `</text>`))
		var in, of string
		for {
			tok, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%q: %v", text, err)
			}
			switch e := tok.(type) {
			case xml.StartElement:
				of = e.Attr[0].Value
			case xml.CharData:
				in += string(e)
			}
		}
		if in != want || of != want {
			t.Fatalf("%q is read as %q and %q, want %q", text, in, of, want)
		}
	})
}

// TestPathsAreReadBack: every line of two or more places is in the path, in order and in
// its places; lines of one are not; closed ones say so.
func TestPathsAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lines, want [][]xy
		for range rapid.IntRange(0, 5).Draw(t, "lines") {
			var l []xy
			for range rapid.IntRange(0, 5).Draw(t, "points") {
				p := drawPoint(t, 999)
				l = append(l, xy{p.X, p.Y})
			}
			if lines = append(lines, l); len(l) > 1 {
				want = append(want, l)
			}
		}
		closed := rapid.Bool().Draw(t, "closed")
		got := pathLines(pathOf(lines, closed))
		if len(got) != len(want) {
			t.Fatalf("%d lines, want %d", len(got), len(want))
		}
		for i := range want {
			if !slices.EqualFunc(got[i].at, want[i], func(a, b xy) bool { return near(a.x, b.x, 0.006) && near(a.y, b.y, 0.006) }) || got[i].closed != closed {
				t.Fatalf("%v is read as %v, closed %t", want[i], got[i].at, got[i].closed)
			}
		}
	})
}

// drawnLine is a line as it stands in path data.
type drawnLine struct {
	at     []xy
	closed bool
}

// pathLines reads path data of the commands M, L and Z.
func pathLines(d string) (out []drawnLine) {
	for _, one := range strings.Split(d, "M")[1:] {
		n := numbersOf(one)
		l := drawnLine{closed: strings.HasSuffix(one, "Z")}
		for i := 0; i+1 < len(n); i += 2 {
			l.at = append(l.at, xy{n[i], n[i+1]})
		}
		out = append(out, l)
	}
	return out
}

// TestClippedRingBySampling: a place of the box lies in what is left of a ring where it
// lies in the ring, and nothing is left outside the box.
func TestClippedRingBySampling(t *testing.T) {
	box := plane.Box{Min: plane.Point{X: -40, Y: -30}, Max: plane.Point{X: 40, Y: 30}}
	rapid.Check(t, func(t *rapid.T) {
		var ring plane.Ring // a star about a middle: simple, but seldom convex
		mid, n := drawPoint(t, 50), rapid.IntRange(3, 14).Draw(t, "corners")
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			ring = append(ring, mid.Add(plane.Point{X: cos, Y: sin}.Mul(rapid.Float64Range(5, 90).Draw(t, "far"))))
		}
		cut := clipRing(ring, box)
		for _, p := range cut {
			if !box.Grown(1e-6).Contains(p) {
				t.Fatalf("%v is left of a ring cut to %v", p, box)
			}
		}
		edge := plane.Polyline(append(ring[:n:n], ring[0]))
		for range 40 {
			p := plane.Point{X: rapid.Float64Range(-39.9, 39.9).Draw(t, "x"), Y: rapid.Float64Range(-29.9, 29.9).Draw(t, "y")}
			if _, _, d := edge.Nearest(p); d < 0.01 {
				continue // on the edge: either is right
			}
			if in := len(cut) > 2 && cut.Contains(p); in != ring.Contains(p) {
				t.Fatalf("%v: in the ring %t, in what is left of it %t", p, ring.Contains(p), in)
			}
		}
	})
}

// TestPartsKeepWhatIsSeen: each place of a line that lies in the picture is drawn, no
// farther off than a drawn line may stray, and nothing is drawn that is not on the line.
func TestPartsKeepWhatIsSeen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var line plane.Polyline
		for range rapid.IntRange(2, 12).Draw(t, "points") {
			line = append(line, drawPoint(t, 300))
		}
		scale := rapid.Float64Range(0.2, 6).Draw(t, "scale")
		v := view{box: plane.Box{Min: plane.Point{X: -100, Y: -80}, Max: plane.Point{X: 100, Y: 80}}, scale: scale}
		d := &mapDrawing{c: &canvas{px: 1}, v: v, around: v.box.Grown(marginM)}
		parts := d.parts(line)
		off := func(q xy, lines [][]xy) float64 {
			best := math.Inf(1)
			for _, l := range lines {
				for i := 1; i < len(l); i++ {
					best = min(best, segmentDistance(q, l[i-1], l[i]))
				}
			}
			return best
		}
		whole := line.LengthM()
		for m := 0.0; m <= whole; m += max(whole/80, 0.1) {
			if p := line.At(m); v.box.Contains(p) {
				if far := off(v.at(p), parts); far > sparePX+0.01 {
					t.Fatalf("%v is drawn %.2f px beside its place", p, far)
				}
			}
		}
		for _, l := range parts {
			if len(l) < 2 {
				t.Fatalf("a part of %d places", len(l))
			}
			for _, q := range l {
				if far := off(q, [][]xy{v.line(line)}); far > sparePX+0.01 {
					t.Fatalf("%v is drawn %.2f px beside the line", q, far)
				}
			}
		}
	})
}

// TestSegmentDistanceSlowly compares with a walk along the segment in small steps.
func TestSegmentDistanceSlowly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, p0, p1 := drawPoint(t, 50), drawPoint(t, 50), drawPoint(t, 50)
		a, b, p := xy{p0.X, p0.Y}, xy{p1.X, p1.Y}, xy{q.X, q.Y}
		if rapid.Bool().Draw(t, "no length") {
			b = a
		}
		const steps = 2000
		least := math.Inf(1)
		for i := range steps + 1 {
			s := float64(i) / steps
			least = min(least, math.Hypot(p.x-a.x-(b.x-a.x)*s, p.y-a.y-(b.y-a.y)*s))
		}
		got := segmentDistance(p, a, b)
		if got > least+1e-9 || got < least-math.Hypot(b.x-a.x, b.y-a.y)/steps {
			t.Fatalf("%g, by small steps %g", got, least)
		}
	})
}

// TestRowCoversItsText: a row of discs leaves no gap along the text's middle line and
// does not reach beyond its ends.
func TestRowCoversItsText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mid, width, r := drawPoint(t, 200), rapid.Float64Range(1, 200).Draw(t, "width"), rapid.Float64Range(2, 12).Draw(t, "r")
		turn := rapid.Float64Range(-math.Pi/2, math.Pi/2).Draw(t, "turn")
		ds := row(xy{mid.X, mid.Y}, width, r, turn)
		sin, cos := math.Sincos(turn)
		for u := -0.5; u <= 0.5; u += 1.0 / 64 {
			q := xy{mid.X + u*width*cos, mid.Y + u*width*sin}
			if !slices.ContainsFunc(ds, func(d disc) bool { return math.Hypot(d.at.x-q.x, d.at.y-q.y) <= d.r+1e-9 }) {
				t.Fatalf("nothing covers the text at %g of its width", u)
			}
		}
		for _, d := range ds {
			along := (d.at.x-mid.X)*cos + (d.at.y-mid.Y)*sin
			if across := (d.at.y-mid.Y)*cos - (d.at.x-mid.X)*sin; math.Abs(across) > 1e-9 || math.Abs(along)+d.r > max(width/2, r)+1e-9 {
				t.Fatalf("a disc %g along and %g across reaches beyond %g", along, across, width/2)
			}
		}
	})
}

// giftWrapped is the convex hull by Jarvis' march (1973, Information Processing Letters
// 2:18-21): a slow twin that shares nothing with hullOf.
func giftWrapped(pts []plane.Point) (out []plane.Point) {
	first := pts[0]
	for _, p := range pts {
		if p.X < first.X || p.X == first.X && p.Y < first.Y {
			first = p
		}
	}
	for at := first; ; {
		out = append(out, at)
		next := at
		for _, p := range pts {
			turn := next.Sub(at).Cross(p.Sub(at))
			if next == at || turn < 0 || turn == 0 && p.DistanceM(at) > next.DistanceM(at) {
				next = p
			}
		}
		if at = next; at == first || len(out) > len(pts) {
			return out
		}
	}
}

// TestHullSlowly: the same corners, in the same order, as by wrapping; on small whole
// numbers, where many points are equal or in line.
func TestHullSlowly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pts []plane.Point
		for range rapid.IntRange(3, 16).Draw(t, "n") {
			pts = append(pts, plane.Point{X: float64(rapid.IntRange(-6, 6).Draw(t, "x")), Y: float64(rapid.IntRange(-6, 6).Draw(t, "y"))})
		}
		given := slices.Clone(pts)
		if got, want := hullOf(pts), giftWrapped(pts); !slices.Equal([]plane.Point(got), want) {
			t.Fatalf("hull of %v: %v, want %v", pts, got, want)
		}
		if !slices.Equal(pts, given) {
			t.Fatal("the points given were put in another order")
		}
	})
}

// TestGrownHoldsAllWithin: a place lies inside the outline if it is nearer to what the
// outline is round than its distance, and outside if farther. Between its corners a round
// outline runs inside the true one, by less than 1 % (a chord of 15 degrees).
func TestGrownHoldsAllWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pts []plane.Point
		for range rapid.IntRange(1, 8).Draw(t, "n") {
			pts = append(pts, drawPoint(t, 40))
		}
		hull, m := hullOf(pts), rapid.Float64Range(3, 60).Draw(t, "m")
		ring := grown(hull, m)
		for range 30 {
			p := drawPoint(t, 120)
			off := plane.Polyline(append(hull[:len(hull):len(hull)], hull[0]))
			_, _, d := off.Nearest(p)
			if len(hull) > 2 && hull.Contains(p) {
				d = 0
			}
			if in := ring.Contains(p); in != (d < m) && math.Abs(d-m) > 0.01*m {
				t.Fatalf("%v is %.2f m off, the outline stands at %.2f m: inside %t", p, d, m, in)
			}
		}
	})
}

// TestWidthsGrowWithTheZoom: never narrower nearer by, no jump, and between the widths at
// both ends.
func TestWidthsGrowWithTheZoom(t *testing.T) {
	for _, stops := range [][]stop{streetWidths, walkEdgeWidths, walkWidths, coreWidths, coreCaseWidths} {
		last := widthAt(stops, 0)
		if last != stops[0].px {
			t.Errorf("%g px far out, want %g", last, stops[0].px)
		}
		for z := 11.0; z < 20; z += 0.01 {
			w := widthAt(stops, z)
			if w < last || w-last > 0.1 {
				t.Fatalf("%g px at zoom %g after %g", w, z, last)
			}
			last = w
		}
		if end := stops[len(stops)-1]; last != end.px {
			t.Errorf("%g px near by, want %g", last, end.px)
		}
	}
	for z := 11.0; z < 19; z += 0.25 { // paper, then ribbon, then the line's case, then the line
		if a, b, c, d := widthAt(walkEdgeWidths, z), widthAt(walkWidths, z)+hairPX, widthAt(coreCaseWidths, z), widthAt(coreWidths, z); a <= b || b <= c || c <= d {
			t.Errorf("zoom %g: edge %g, ribbon %g, case %g and line %g px cover one another", z, a, b, c, d)
		}
	}
}

// TestScaleBars: whatever the scale, a bar that is a round number of its unit, as long as
// its words say, and where any fits, no longer than it may be and long enough to be read.
func TestScaleBars(t *testing.T) {
	round := regexp.MustCompile(`^([125]|3)0*$`)
	rapid.Check(t, func(t *rapid.T) {
		w, unit, name := briefing.Words{}, 1.0, "m"
		if rapid.Bool().Draw(t, "feet") {
			w, unit, name = briefing.Words{Units: briefing.US}, 0.3048, "ft" // the international foot is 0.3048 m exactly (1959)
		}
		pxPerM, most := rapid.Float64Range(0.01, 8).Draw(t, "scale"), rapid.Float64Range(60, 300).Draw(t, "most")
		m, text := roundBar(w, pxPerM, most)
		n := m / unit
		if digits := strconv.FormatFloat(math.Round(n), 'f', 0, 64); !near(n, math.Round(n), 1e-9) || !round.MatchString(digits) {
			t.Fatalf("a bar of %g %s", n, name)
		}
		said := strings.NewReplacer(",", "").Replace(plain(text))
		value, of, _ := strings.Cut(said, " ")
		if of == "km" {
			value, of = value+"000", "m"
		}
		if value != strconv.FormatFloat(math.Round(n), 'f', 0, 64) || of != name {
			t.Fatalf("a bar of %g %s says %q", n, name, text)
		}
		if px := m * pxPerM; pxPerM > 0.05 && (px < 40 || px > min(most, mostBarPX)) && most >= 130 {
			t.Fatalf("a bar of %g px at %g px a metre, at most %g", px, pxPerM, most)
		}
	})
}

// TestCutIsAsLongAsItMay: what is cut fits and ends in an ellipsis, and one letter more
// would not fit; what fits is left as it is.
func TestCutIsAsLongAsItMay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[A-Za-zÄé]{1,12}( [A-Za-zß]{1,9}){0,4}`).Draw(t, "text")
		width, bold := rapid.Float64Range(8, 60).Draw(t, "width"), rapid.Bool().Draw(t, "bold")
		got := cut(text, width, 4, bold)
		if textWidth(text, 4, bold) <= width {
			if got != text {
				t.Fatalf("%q fits and became %q", text, got)
			}
			return
		}
		if textWidth(got, 4, bold) > width || !strings.HasSuffix(got, "…") || !strings.HasPrefix(text, strings.TrimRight(strings.TrimSuffix(got, "…"), " ")) {
			t.Fatalf("%q became %q in %g", text, got, width)
		}
		if kept := []rune(strings.TrimSuffix(got, "…")); len(kept)+3 < len([]rune(text)) {
			more := string([]rune(text)[:len(kept)+2]) + "…"
			if textWidth(more, 4, bold) < width && !strings.Contains(more[len(string(kept)):], " ") {
				t.Fatalf("%q became %q, though %q fits", text, got, more)
			}
		}
	})
}

// TestLinesFitTheirWidth: no line is wider than it may be, none is empty, and a line is
// only broken where the next word had no room.
func TestLinesFitTheirWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-z]{1,7}( {1,2}[a-z]{1,7}){0,12} ?`).Draw(t, "text")
		width, bold := rapid.Float64Range(20, 90).Draw(t, "width"), rapid.Bool().Draw(t, "bold")
		lines := wrap(text, width, 4, bold, 99)
		if strings.Join(lines, " ") != strings.Join(strings.Fields(text), " ") {
			t.Fatalf("%q became %q", text, lines)
		}
		for i, l := range lines {
			if textWidth(l, 4, bold) > width || l == "" {
				t.Fatalf("%q is %g wide of %g", l, textWidth(l, 4, bold), width)
			}
			if i == 0 {
				continue
			}
			if next, _, _ := strings.Cut(l, " "); textWidth(lines[i-1]+" "+next, 4, bold) <= width {
				t.Fatalf("%q has room for %q", lines[i-1], next)
			}
		}
	})
	if got := wrap("", 10, 4, false, 3); len(got) != 0 {
		t.Errorf("nothing became %q", got)
	}
}

// TestWidthOfText adds up: a text is as wide as its letters, bold no narrower than plain
// where a word has a few letters, and in proportion to its size.
func TestWidthOfText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, bold := rapid.StringN(0, 20, 60).Draw(t, "text"), rapid.Bool().Draw(t, "bold")
		sum := 0.0
		for _, r := range text {
			sum += textWidth(string(r), 10, bold)
		}
		if got := textWidth(text, 10, bold); !near(got, sum, 1e-9) || !near(textWidth(text, 25, bold), 2.5*got, 1e-9) {
			t.Fatalf("%q is %g wide, its letters %g", text, got, sum)
		}
	})
	for text, want := range map[string]float64{"i": 0.252, "W": 0.856, "é": 0.538, "\u202f": 0.15, "犬": 1, "ש": 0.65, "\u2009": 0.15} {
		if got := textWidth(text, 1, false); !near(got, want, 1e-9) {
			t.Errorf("%q is %g wide, want %g", text, got, want)
		}
	}
	if textWidth("Weaver Row", 12, true) <= textWidth("Weaver Row", 12, false) {
		t.Error("bold is no wider than plain")
	}
}

// TestDashesKeepTheirScale: dashes are told in CSS pixels, whatever the unit of the
// drawing. 96 px are an inch of 25.4 mm (CSS Values and Units 4, 6.2).
func TestDashesKeepTheirScale(t *testing.T) {
	for _, c := range []struct {
		px         float64
		dash, want string
	}{{1, "9 6", "9 6"}, {pxMM, "9.6 5.3", "2.54 1.4"}, {pxMM, "0 96", "0 25.4"}, {2, "", ""}} {
		if got := (&canvas{px: c.px}).dashes(c.dash); got != c.want {
			t.Errorf("%q at %g is %q, want %q", c.dash, c.px, got, c.want)
		}
	}
}

// TestThemesByName: each theme is found by what it calls itself, and no other.
func TestThemesByName(t *testing.T) {
	for th := range themeCount {
		if got, ok := ParseTheme(th.String()); !ok || got != th {
			t.Errorf("%s is found as %s, %t", th, got, ok)
		}
	}
	for _, name := range []string{"", "Dark", "sepia", "print "} {
		if got, ok := ParseTheme(name); ok || got != Light {
			t.Errorf("%q is found as %s", name, got)
		}
	}
}

// TestPapersFit: what is drawn is within the margins of its paper. Sources: ISO 216 (A4 is
// 210 by 297 mm); ANSI/ASME Y14.1 size A, which is US Letter (8.5 by 11 inches).
func TestPapersFit(t *testing.T) {
	css := string(HandOutCSS())
	for paper, size := range map[Paper][2]float64{A4: {210, 297}, USLetter: {8.5 * 25.4, 11 * 25.4}} {
		s := sheetSizes[paper]
		m := regexp.MustCompile(`\.` + string(paper) + ` \.sheet \{ width: ([\d.]+)mm; height: ([\d.]+)mm`).FindStringSubmatch(css)
		if m == nil {
			t.Fatalf("%s has no sheet in the style sheet", paper)
		}
		w, h := numbersOf(m[1])[0], numbersOf(m[2])[0]
		margin := numbersOf(regexp.MustCompile(`@page ` + string(paper) + `[^}]*margin: ([\d.]+)mm`).FindStringSubmatch(css)[1])[0]
		if w != s.width || w > size[0]-2*margin+0.2 || h > size[1]-2*margin+0.2 {
			t.Errorf("%s: a sheet of %g by %g mm within %g mm on %g by %g", paper, w, h, margin, size[0], size[1])
		}
		if s.mapW >= s.width || s.mapH+s.stripH+s.watchH > h {
			t.Errorf("%s: a map of %g by %g and columns of %g mm on %g by %g", paper, s.mapW, s.mapH, s.stripH+s.watchH, w, h)
		}
		for what, picture := range map[string][2]float64{"visit": visitMapSizes[paper], "set-up": setupMapSizes[paper]} {
			if picture[0] != w || picture[1] > 0.55*h {
				t.Errorf("%s: the picture of a %s is %g by %g mm of %g by %g", paper, what, picture[0], picture[1], w, h)
			}
		}
	}
}

// TestMinutesOfMarks: every five minutes up to an hour and a half, then every ten.
func TestMinutesOfMarks(t *testing.T) {
	for minutes, want := range map[float64]int{10: 5, 60: 5, 90: 5, 90.5: 10, 240: 10} {
		if got := minuteMarks(minutes); got != want {
			t.Errorf("%g minutes: every %d, want %d", minutes, got, want)
		}
	}
}
