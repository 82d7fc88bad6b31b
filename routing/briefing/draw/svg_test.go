package draw

import (
	"encoding/xml"
	"errors"
	"html"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// idsOf are the ids of a page or drawing, in order.
func idsOf(text string) (out []string) {
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(text, -1) {
		out = append(out, m[1])
	}
	return out
}

// drawnText is a text of a drawing, with the box that it takes.
type drawnText struct {
	text           string
	at             xy // where it is anchored
	mid            xy // the middle of the box
	wide, high     float64
	turn           float64 // radians, clockwise
	size           float64
	colour, anchor string
}

var (
	textElement   = regexp.MustCompile(`<text ([^>]*)>([^<]*)</text>`)
	circleElement = regexp.MustCompile(`<circle cx="([^"]+)" cy="([^"]+)" r="([^"]+)"`)
	rectElement   = regexp.MustCompile(`<rect x="([^"]+)" y="([^"]+)" width="([^"]+)" height="([^"]+)"[^>]*/>`)
	pathData      = regexp.MustCompile(`^[MLHVQZhv0-9. -]+$`)
)

// textsOf reads the texts of a drawing. A capital of the font is about 0.7 of its size
// high; nothing below the line is counted.
func textsOf(t testing.TB, svg string) (out []drawnText) {
	t.Helper()
	for _, m := range textElement.FindAllStringSubmatch(svg, -1) {
		attr := func(name string) string {
			_, after, _ := strings.Cut(" "+m[1], " "+name+`="`)
			value, _, _ := strings.Cut(after, `"`)
			return value
		}
		number := func(name string) float64 {
			v, err := strconv.ParseFloat(attr(name), 64)
			if err != nil {
				t.Fatalf("%s of %q: %v", name, m[0], err)
			}
			return v
		}
		d := drawnText{text: html.UnescapeString(m[2]), at: xy{number("x"), number("y")}, size: number("font-size"), colour: attr("fill"), anchor: attr("text-anchor")}
		d.wide, d.high = textWidth(d.text, d.size, attr("font-weight") == "700"), 0.7*d.size
		off := xy{d.wide / 2, -d.high / 2}
		switch d.anchor {
		case atMiddle:
			off.x = 0
		case atEnd:
			off.x = -d.wide / 2
		}
		if turn := numbersOf(attr("transform")); len(turn) == 3 {
			d.turn = turn[0] * math.Pi / 180
		}
		sin, cos := math.Sincos(d.turn)
		d.mid = xy{d.at.x + off.x*cos - off.y*sin, d.at.y + off.x*sin + off.y*cos}
		out = append(out, d)
	}
	return out
}

// corners of a text's box.
func (d *drawnText) corners() (out []xy) {
	sin, cos := math.Sincos(d.turn)
	for _, k := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := k[0]*d.wide/2, k[1]*d.high/2
		out = append(out, xy{d.mid.x + u*cos - v*sin, d.mid.y + u*sin + v*cos})
	}
	return out
}

// apart tells whether two boxes have a line between them: the separating axis theorem for
// convex shapes (Gottschalk, Lin and Manocha 1996, "OBBTree", from memory).
func apart(a, b *drawnText) bool {
	p, q := a.corners(), b.corners()
	for _, turn := range []float64{a.turn, a.turn + math.Pi/2, b.turn, b.turn + math.Pi/2} {
		sin, cos := math.Sincos(turn)
		span := func(l []xy) (low, high float64) {
			low, high = math.Inf(1), math.Inf(-1)
			for _, c := range l {
				low, high = min(low, c.x*cos+c.y*sin), max(high, c.x*cos+c.y*sin)
			}
			return low, high
		}
		a0, a1 := span(p)
		b0, b1 := span(q)
		if a1 <= b0+0.01 || b1 <= a0+0.01 {
			return true
		}
	}
	return false
}

// keepsTextApart says that no text of a drawing lies over another.
func keepsTextApart(t testing.TB, name, svg string) {
	t.Helper()
	all := textsOf(t, svg)
	for i := range all {
		for j := range i {
			if !apart(&all[i], &all[j]) {
				t.Errorf("%s: %q and %q lie over one another", name, all[j].text, all[i].text)
			}
		}
	}
}

// paperOf is the width and height of a drawing's view box.
func paperOf(t testing.TB, svg string) (w, h float64) {
	t.Helper()
	m := regexp.MustCompile(`viewBox="0 0 ([\d.]+) ([\d.]+)"`).FindStringSubmatch(svg)
	if m == nil {
		t.Fatal("no view box")
	}
	return numbersOf(m[1])[0], numbersOf(m[2])[0]
}

// staysOnPaper says that no text, mark or plate leaves the drawing. Lines of the ground
// run beyond it, and are cut by the view box.
func staysOnPaper(t testing.TB, name, svg string) {
	t.Helper()
	w, h := paperOf(t, svg)
	inside := func(what string, q xy, r float64) {
		if q.x-r < -0.02 || q.y-r < -0.02 || q.x+r > w+0.02 || q.y+r > h+0.02 {
			t.Errorf("%s: %s at %.1f, %.1f leaves the paper of %g by %g", name, what, q.x, q.y, w, h)
		}
	}
	all := textsOf(t, svg)
	for i := range all {
		for _, q := range all[i].corners() {
			inside(strconv.Quote(all[i].text), q, 0)
		}
	}
	for _, m := range circleElement.FindAllStringSubmatch(svg, -1) {
		n := numbersOf(strings.Join(m[1:], " "))
		inside("a disc", xy{n[0], n[1]}, n[2])
	}
	for _, m := range rectElement.FindAllStringSubmatch(svg, -1) {
		if n := numbersOf(strings.Join(m[1:], " ")); !strings.Contains(m[0], "rotate") {
			inside("a plate", xy{n[0], n[1]}, 0)
			inside("a plate", xy{n[0] + n[2], n[1] + n[3]}, 0)
		}
	}
}

// soundSVG says that a drawing is well-formed, in the namespace of SVG, of no element or
// attribute that SVG 1.1 does not have or a strict page forbids, and that what it refers
// to is there. Sources: SVG 1.1 (second edition), element and attribute indices, from
// memory; paint-order is SVG 2's, role and aria-* are ARIA's.
func soundSVG(t testing.TB, name, svg string) {
	t.Helper()
	elements := map[string]bool{"svg": true, "defs": true, "pattern": true, "path": true, "rect": true, "circle": true, "text": true, "g": true}
	attributes := " xmlns width height viewBox role aria-label aria-hidden font-family id patternUnits d fill fill-rule stroke stroke-width stroke-linejoin stroke-linecap stroke-dasharray" +
		" x y cx cy r font-size font-weight text-anchor paint-order transform "
	dec := xml.NewDecoder(strings.NewReader(svg))
	ids := map[string]int{}
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if e.Name.Space != "http://www.w3.org/2000/svg" || !elements[e.Name.Local] {
			t.Errorf("%s: an element %s of %q", name, e.Name.Local, e.Name.Space)
		}
		for _, a := range e.Attr {
			if !strings.Contains(attributes, " "+a.Name.Local+" ") {
				t.Errorf("%s: %s has %s", name, e.Name.Local, a.Name.Local)
			}
			if a.Name.Local == "id" {
				ids[a.Value]++
			}
			if a.Name.Local == "d" && !pathData.MatchString(a.Value) {
				t.Errorf("%s: a path %.60q", name, a.Value)
			}
		}
	}
	for id, n := range ids {
		if n > 1 {
			t.Errorf("%s: id %s stands %d times", name, id, n)
		}
	}
	for _, m := range regexp.MustCompile(`url\(#([^)]*)\)`).FindAllStringSubmatch(svg, -1) {
		if ids[m[1]] == 0 {
			t.Errorf("%s: nothing has the id %q", name, m[1])
		}
	}
}
