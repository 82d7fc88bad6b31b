package draw

import (
	"cmp"
	"io"
	"math"
	"slices"
	"strconv"

	"wideberth/routing/briefing"
)

// StripOptions say how to draw the walk unrolled.
type StripOptions struct {
	WidthPX, HeightPX float64 // CSS pixels
	Columns           int     // 0 takes as many as the height asks for at this scale
	PxPerM            float64 // scale, that of the map beside it; 0 fills the height
	Theme             Theme
	Prefix            string // of ids, where several drawings stand in one page
}

// Strip draws the walk unrolled as SVG, in columns that are read upwards. The error
// is the writer's.
func (s *Scene) Strip(w io.Writer, o StripOptions) error {
	c := &canvas{theme: o.Theme, px: 1, prefix: o.Prefix}
	c.open(o.WidthPX, o.HeightPX, "px", s.describe())
	room := o.HeightPX - stripTopPX - stripFootPX
	length := s.Walk.Line.LengthM()
	if o.Columns == 0 {
		o.Columns = 3
		if o.PxPerM > 0 {
			o.Columns = max(1, int(math.Ceil(length*o.PxPerM/room)))
		}
	}
	scale := o.PxPerM
	if most := room * float64(o.Columns) / length; scale == 0 || scale > most {
		scale = most
	}
	width := o.WidthPX / float64(o.Columns)
	strip := s.Unroll(o.Columns, 0.3*width/scale)
	for i := range strip.Columns {
		d := columnDrawing{s: s, c: c, strip: strip, col: &strip.Columns[i], scale: scale, left: width * float64(i), width: width, height: o.HeightPX, sources: true}
		d.draw()
	}
	if strip.Note != "" {
		c.text(label{at: xy{4, o.HeightPX - 3}, text: strip.Note, size: 13, colour: need})
	}
	c.close()
	_, err := io.WriteString(w, c.String())
	return err
}

// Margins of a column in CSS pixels: the paper above and below its band, and the
// gutter of the minutes.
const (
	stripTopPX  = 20
	stripFootPX = 36
	gutterPX    = 30
	textGapPX   = 11
	stripText   = 12 // size of the legs' text
	stripLine   = 14.5
)

// columnDrawing is one column being drawn. Lengths are the drawing's units.
type columnDrawing struct {
	s       *Scene
	c       *canvas
	strip   *Strip
	col     *Column
	scale   float64 // units in a metre
	left    float64 // of the column
	width   float64
	height  float64
	pad     float64 // paper left free beside the fold
	sources bool
	skipped int // legs whose label found no room
}

// x is the place of metres across the walk, y of metres along it.
func (d *columnDrawing) x(m float64) float64 {
	return d.left + gutterPX*d.c.px + (d.strip.SideM+m)*d.scale
}

func (d *columnDrawing) y(fromM float64) float64 {
	return d.height - stripFootPX*d.c.px - (fromM-d.col.FromM)*d.scale
}

func (d *columnDrawing) points(l []XY) []xy {
	out := make([]xy, len(l))
	for i, p := range l {
		out[i] = xy{d.x(p[0]), d.y(d.col.FromM + p[1])}
	}
	return out
}

func (d *columnDrawing) draw() {
	if d.sources {
		d.beside()
	}
	d.band()
	d.gauge()
	for step := len(tones); step > 0; step-- {
		for _, r := range d.col.Line {
			if r.Step == step {
				d.c.ribbonRun([]xy{{d.x(0), d.y(r.FromM)}, {d.x(0), d.y(r.ToM)}}, step)
			}
		}
	}
	d.legs()
	d.marks()
}

// borderPX is the paper between the ribbon and a border of the room.
const borderPX = 2

// band draws the borders of the room where it falls short, nowhere so near that the
// ribbon swallows them.
func (d *columnDrawing) band() {
	for _, e := range d.col.Edges {
		l := d.points(e.Line)
		for i := range l {
			least := (stripWidths[d.stepAt(d.col.FromM+e.Line[i][1])-1]/2 + stripEdgePX + borderPX) * d.c.px
			if off := l[i].x - d.x(0); math.Abs(off) < least {
				l[i].x = d.x(0) + math.Copysign(least, off)
			}
		}
		st := stroke{colour: ink, width: 1.1, butt: true}
		if e.Assumed {
			st.dash = "4 4"
		}
		d.c.lines([][]xy{l}, st)
	}
}

func (d *columnDrawing) stepAt(fromM float64) int {
	for _, r := range d.col.Line {
		if fromM <= r.ToM {
			return r.Step
		}
	}
	return 1
}

// gauge draws the two straight lines at the room needed, if they are on the paper.
func (d *columnDrawing) gauge() {
	if d.strip.NeedM == 0 || d.strip.SideM < d.strip.NeedM {
		return
	}
	for _, side := range []float64{-1, 1} {
		x := d.x(side * d.strip.NeedM)
		d.c.lines([][]xy{{{x, d.y(d.col.FromM)}, {x, d.y(d.col.ToM)}}}, stroke{colour: need, width: 1.6, casing: 0.8, butt: true})
	}
}

// beside draws the sources at their true sideways distance.
func (d *columnDrawing) beside() {
	for _, b := range d.col.Sources {
		sign := -1.0
		if b.Right {
			sign = 1
		}
		x0, x1 := d.x(sign*b.NearM), d.x(sign*b.FarM)
		if x0 > x1 {
			x0, x1 = x1, x0
		}
		x0, x1 = max(x0, d.left), min(x1, d.left+d.width)
		if x1 <= x0 {
			continue
		}
		ring := []xy{{x0, d.y(b.FromM)}, {x1, d.y(b.FromM)}, {x1, d.y(b.ToM)}, {x0, d.y(b.ToM)}}
		d.c.area([][]xy{ring}, "url(#"+d.c.prefix+"source)", ` stroke="`+d.c.theme.colour(ink)+`" stroke-width="`+num(1.2*d.c.px)+`"`)
	}
}

// marks draws doors, minutes and watch points.
func (d *columnDrawing) marks() {
	px := d.c.px
	if d.col.Start {
		d.c.door(xy{d.x(0), d.y(d.col.FromM) + 9*px})
	}
	if d.col.End && briefing.Homeward(d.s.Walk) {
		d.c.door(xy{d.x(0), d.y(d.col.ToM) - 6*px})
	}
	right := d.x(-d.strip.SideM) - 5*px
	marks := d.plates()
	for _, m := range d.col.Minutes {
		y := d.y(m.AtM)
		if slices.ContainsFunc(marks, func(p xy) bool { return math.Abs(p.y-y) < minuteClearPX*px }) {
			continue // a watch point stands there: its own minute is told below
		}
		d.c.lines([][]xy{{{right, y}, {right + 9*px, y}}}, stroke{colour: ink, width: 1.6, butt: true})
		d.c.text(label{at: xy{right - 2*px, y - 1*px}, text: strconv.Itoa(m.Minute), size: stripText, bold: true, anchor: atEnd, colour: ink})
		d.c.text(label{at: xy{right - 2*px, y + 10*px}, text: d.s.Words.Say("unit.min.bare"), size: 11.5, anchor: atEnd, colour: ink})
	}
	for i, w := range d.col.Watch {
		d.c.lines([][]xy{{{d.x(0), d.y(w.AtM)}, marks[i]}}, stroke{colour: ink, width: 1.3, casing: 1})
	}
	for i, w := range d.col.Watch {
		d.c.square(marks[i], w.Number)
	}
}

// minuteClearPX is how far a minute stands from a watch point's plate at least.
const minuteClearPX = 22

// plates are the places of the watch points beside the line, on the side of the
// minutes, none over another.
func (d *columnDrawing) plates() []xy {
	const apart = 21
	px := d.c.px
	marks := make([]xy, len(d.col.Watch))
	last := math.Inf(1)
	for i, w := range d.col.Watch {
		marks[i] = xy{d.x(-d.strip.SideM) - 14*px, min(d.y(w.AtM), last-apart*px)}
		last = marks[i].y
	}
	return marks
}

// A legLabel is the label of one leg: lines from top to bottom, standing on the rule
// where the leg begins.
type legLabel struct {
	lines []string
	rule  float64 // where the leg begins
	foot  float64 // where the block stands, at or above the rule
}

// Details of a leg's label, in the order in which they fall away where space is
// short. The room of calm legs goes first, then that of legs that are not hard to
// pass, then everything but turn and name.
const (
	allDetails = iota
	roomGone
	brief
)

// shortLegM is the length under which a leg's own length is not worth a line.
const shortLegM = 40

// pushedPX is how far a label may stand above its rule for the sake of another's
// details.
const pushedPX = 30

// legs draws rules and labels of the legs.
func (d *columnDrawing) legs() {
	x := d.x(d.strip.SideM) + textGapPX*d.c.px
	width := d.left + d.width - x - 5*d.c.px
	blocks := d.fitBlocks(width)
	for i := range blocks {
		b := &blocks[i]
		d.c.lines([][]xy{{{d.x(-d.strip.SideM), b.rule}, {x - 9*d.c.px, b.rule}, {x - 2*d.c.px, b.foot}, {x + width, b.foot}}}, stroke{colour: ink, width: 0.9, butt: true})
		for k, line := range b.lines {
			y := b.foot - (float64(len(b.lines)-k-1)*stripLine+4)*d.c.px
			d.c.text(label{at: xy{x, y}, text: line, size: stripText, bold: k == 0, colour: ink, casing: sheet, cased: d.sources})
		}
	}
}

// fitBlocks makes the labels of a column: all of them as brief as need be, then as
// many details as there is room for, troubled and long legs first. Where not even
// the briefest fit, those of the shortest legs are left out.
func (d *columnDrawing) fitBlocks(width float64) []legLabel {
	legs := d.legsHere()
	details := make([]int, len(legs))
	for i := range details {
		details[i] = brief
	}
	for len(legs) > 1 {
		if _, ok := d.stack(legs, details, width); ok {
			break
		}
		short := 0
		for i := range legs {
			if legs[i].LengthM() < legs[short].LengthM() {
				short = i
			}
		}
		legs = slices.Delete(legs, short, short+1)
		details = details[1:]
		d.skipped++
	}
	order := make([]int, len(legs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(legs[b].LengthM(), legs[a].LengthM()) })
	for _, want := range []int{roomGone, allDetails} {
		for _, plain := range []bool{false, true} {
			for _, i := range order {
				if legs[i].Plain != plain || (legs[i].LengthM() < shortLegM && want == roomGone) {
					continue
				}
				before := details[i]
				details[i] = want
				if blocks, ok := d.stack(legs, details, width); !ok || pushed(blocks) > pushedPX*d.c.px {
					details[i] = before
				}
			}
		}
	}
	blocks, _ := d.stack(legs, details, width)
	return blocks
}

// pushed is the farthest that a label stands above its rule.
func pushed(blocks []legLabel) (most float64) {
	for i := range blocks {
		most = max(most, blocks[i].rule-blocks[i].foot)
	}
	return most
}

// legsHere are the legs that begin in the column.
func (d *columnDrawing) legsHere() (out []*briefing.LegText) {
	for _, l := range d.col.Legs {
		out = append(out, &d.s.Legs[l.Number-1])
	}
	return out
}

// stack lets the labels stand on their rules, each pushed up as far as the one
// below it asks for; false if the uppermost leaves the paper.
func (d *columnDrawing) stack(legs []*briefing.LegText, details []int, width float64) ([]legLabel, bool) {
	top := d.height
	var out []legLabel
	for i, l := range legs {
		b := legLabel{lines: d.linesOf(l, details[i], width), rule: d.y(l.FromM)}
		b.foot = min(b.rule, top-3*d.c.px)
		top = b.foot - float64(len(b.lines))*stripLine*d.c.px
		out = append(out, b)
	}
	return out, top >= 0
}

func (d *columnDrawing) linesOf(l *briefing.LegText, detail int, width float64) []string {
	size := stripText * d.c.px
	if detail == brief {
		return []string{cut(l.Brief, width, size, true)}
	}
	out := wrap(l.Name, width, size, true, 2)
	out = append(out, wrap(l.Turn, width, size, false, 2)...)
	if detail == allDetails && l.Room != d.s.Words.Say("keep.all") { // the strip shows it: nothing lies between line and gauge
		out = append(out, cut(l.Room, width, size, false))
	}
	return out
}
