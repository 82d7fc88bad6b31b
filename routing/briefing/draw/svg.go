package draw

import (
	"html"
	"strconv"
	"strings"

	"wideberth/osmdata/plane"
)

// pxMM is a CSS pixel in millimetres: 1/96 inch (CSS Values and Units 4).
const pxMM = 25.4 / 96

// xy is a place on the paper.
type xy struct{ x, y float64 }

// canvas writes SVG with presentation attributes only: neither style attributes nor
// style elements, so that a page with a strict content security policy can hold it.
// Lengths are in the drawing's own units; px turns CSS pixels into them.
type canvas struct {
	wider float64 // of a map: how much more ground than needed, 0 for 1
	strings.Builder
	theme  Theme
	px     float64 // units in a CSS pixel
	prefix string  // of ids, so that two drawings can share a page
}

// escaped makes text of whatever somebody called something: markup is text, and
// what XML 1.0 does not allow (control characters, broken UTF-8) is left out.
func escaped(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	return html.EscapeString(s)
}

// num writes a number with two decimals at most.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

// open begins the drawing; unit is "px" or "mm".
func (c *canvas) open(w, h float64, unit, label string) {
	c.raw(`<svg xmlns="http://www.w3.org/2000/svg" width="`, num(w), unit, `" height="`, num(h), unit, `" viewBox="0 0 `, num(w), " ", num(h), `"`)
	if label == "" {
		c.raw(` aria-hidden="true"`)
	} else {
		c.raw(` role="img" aria-label="`, escaped(label), `"`)
	}
	c.raw(` font-family="Atkinson Hyperlegible Next, sans-serif">`, "\n")
	c.patterns()
}

func (c *canvas) raw(parts ...string) {
	for _, p := range parts {
		c.WriteString(p)
	}
}

// patterns defines the hatching of sources.
func (c *canvas) patterns() {
	t := c.theme
	pattern := func(id string, size float64, turn, body string) {
		c.raw(`<pattern id="`, c.prefix, id, `" width="`, num(size*c.px), `" height="`, num(size*c.px), `" patternUnits="userSpaceOnUse"`, turn, `>`, body, "</pattern>\n")
	}
	c.raw("<defs>\n")
	plus := `<path d="M` + num(5*c.px) + " " + num(2*c.px) + "v" + num(6*c.px) + "M" + num(2*c.px) + " " + num(5*c.px) + "h" + num(6*c.px) + `" stroke="` + t.colour(ink) + `" stroke-width="` + num(1.2*c.px) + `"/>`
	pattern("source", 10, "", plus)
	c.raw("</defs>\n")
}

func (c *canvas) close() { c.raw("</svg>\n") }

// pathOf writes lines as path data.
func pathOf(lines [][]xy, closed bool) string {
	var b strings.Builder
	for _, l := range lines {
		if len(l) < 2 {
			continue
		}
		for i, p := range l {
			b.WriteByte("ML"[min(i, 1)])
			b.WriteString(num(p.x) + " " + num(p.y))
		}
		if closed {
			b.WriteByte('Z')
		}
	}
	return b.String()
}

// area fills rings as one path; overlapping rings that run the same way round fill
// once.
func (c *canvas) area(rings [][]xy, fill, attrs string) {
	if d := pathOf(rings, true); d != "" {
		c.raw(`<path d="`, d, `" fill="`, fill, `"`, attrs, "/>\n")
	}
}

// stroke is how a line is drawn; widths and dashes in CSS pixels.
type stroke struct {
	colour token
	width  float64
	dash   string // pairs in CSS pixels, "" for whole
	casing float64
	butt   bool
	round  bool // dots of the line's width where the dash is nothing
	closed bool
}

func (c *canvas) lines(lines [][]xy, s stroke) {
	d := pathOf(lines, s.closed)
	if d == "" {
		return
	}
	ends := ` stroke-linecap="round"`
	if s.butt || (s.dash != "" && !s.round) {
		ends = ""
	}
	if s.casing > 0 {
		c.raw(`<path d="`, d, `" fill="none" stroke="`, c.theme.colour(sheet), `" stroke-width="`, num((s.width+2*s.casing)*c.px), `" stroke-linejoin="round"`, ends, "/>\n")
	}
	c.raw(`<path d="`, d, `" fill="none" stroke="`, c.theme.colour(s.colour), `" stroke-width="`, num(s.width*c.px), `" stroke-linejoin="round"`, ends)
	if s.dash != "" {
		c.raw(` stroke-dasharray="`, c.dashes(s.dash), `"`)
	}
	c.raw("/>\n")
}

func (c *canvas) dashes(s string) string {
	parts := strings.Fields(s)
	for i, p := range parts {
		v, _ := strconv.ParseFloat(p, 64)
		parts[i] = num(v * c.px)
	}
	return strings.Join(parts, " ")
}

// casingPX keeps lines and borders apart from any wash.
const casingPX = 1.5

// Alignments of text.
const (
	atStart  = "start"
	atMiddle = "middle"
	atEnd    = "end"
)

// label is a piece of text.
type label struct {
	at     xy
	text   string
	size   float64 // CSS pixels
	bold   bool
	anchor string
	colour token
	casing token   // 0 none: text on plain paper
	turn   float64 // degrees clockwise
	cased  bool
}

func (c *canvas) text(l label) {
	c.raw(`<text x="`, num(l.at.x), `" y="`, num(l.at.y), `" font-size="`, num(l.size*c.px), `" fill="`, c.theme.colour(l.colour), `"`)
	if l.bold {
		c.raw(` font-weight="700"`)
	}
	if l.anchor != "" && l.anchor != atStart {
		c.raw(` text-anchor="`, l.anchor, `"`)
	}
	if l.cased {
		c.raw(` paint-order="stroke" stroke="`, c.theme.colour(l.casing), `" stroke-width="`, num(3*c.px), `" stroke-linejoin="round"`)
	}
	if l.turn != 0 {
		c.raw(` transform="rotate(`, num(l.turn), " ", num(l.at.x), " ", num(l.at.y), `)"`)
	}
	c.raw(">", escaped(l.text), "</text>\n")
}

// square is a watch point's mark: an ink square with its number.
func (c *canvas) square(at xy, n int) {
	half := 9.5 * c.px
	c.raw(`<rect x="`, num(at.x-half), `" y="`, num(at.y-half), `" width="`, num(2*half), `" height="`, num(2*half), `" fill="`, c.theme.colour(ink),
		`" stroke="`, c.theme.colour(sheet), `" stroke-width="`, num(casingPX*c.px), "\"/>\n")
	c.text(label{at: xy{at.x, at.y + 4.6*c.px}, text: strconv.Itoa(n), size: 13, bold: true, anchor: atMiddle, colour: sheet})
}

// disc is a minute mark.
func (c *canvas) disc(at xy, r float64) {
	c.raw(`<circle cx="`, num(at.x), `" cy="`, num(at.y), `" r="`, num(r*c.px), `" fill="`, c.theme.colour(sheet), `" stroke="`, c.theme.colour(ink), `" stroke-width="`, num(2*c.px), "\"/>\n")
}

// door is the start and end: three sides of a square.
func (c *canvas) door(at xy) {
	w, h := 9*c.px, 18*c.px
	d := "M" + num(at.x-w) + " " + num(at.y+h/2) + "v" + num(-h) + "h" + num(2*w) + "v" + num(h)
	c.raw(`<rect x="`, num(at.x-w), `" y="`, num(at.y-h/2), `" width="`, num(2*w), `" height="`, num(h), `" fill="`, c.theme.colour(sheet), "\"/>\n")
	c.raw(`<path d="`, d, `" fill="none" stroke="`, c.theme.colour(sheet), `" stroke-width="`, num(6*c.px), "\"/>\n")
	c.raw(`<path d="`, d, `" fill="none" stroke="`, c.theme.colour(ink), `" stroke-width="`, num(3*c.px), "\"/>\n")
}

// bar draws a scale bar with its label at the right.
func (c *canvas) bar(at xy, length float64, text string, colour token) {
	tick := 5 * c.px
	c.lines([][]xy{{{at.x, at.y - tick}, {at.x, at.y}, {at.x + length, at.y}, {at.x + length, at.y - tick}}}, stroke{colour: colour, width: 2.4, casing: casingPX, butt: true})
	c.text(label{at: xy{at.x + length + 6*c.px, at.y + 1*c.px}, text: text, size: 13, bold: true, colour: colour, casing: sheet, cased: true})
}

// view turns plane metres into the drawing's units: x to the east, y down.
type view struct {
	box   plane.Box
	scale float64 // units in a metre
}

func (v view) at(p plane.Point) xy {
	return xy{(p.X - v.box.Min.X) * v.scale, (v.box.Max.Y - p.Y) * v.scale}
}

func (v view) line(l []plane.Point) []xy {
	out := make([]xy, len(l))
	for i, p := range l {
		out[i] = v.at(p)
	}
	return out
}

// fit is the view that shows a box in the middle of a drawing of w by h units.
func fit(b plane.Box, w, h float64) view {
	bw, bh := max(b.Max.X-b.Min.X, 1), max(b.Max.Y-b.Min.Y, 1)
	scale := min(w/bw, h/bh)
	mid := b.Min.Add(b.Max).Mul(0.5)
	half := plane.Point{X: w / scale / 2, Y: h / scale / 2}
	return view{box: plane.Box{Min: mid.Sub(half), Max: mid.Add(half)}, scale: scale}
}
