package draw

import (
	"cmp"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/outing"
)

// Paper is a size of paper.
type Paper string

// The papers.
const (
	A4       Paper = "a4"     // 210 x 297 mm (ISO 216)
	USLetter Paper = "letter" // 216 x 279 mm
)

// sheetSize is what one paper holds, in millimetres, inside margins of 10 mm. The
// strip begins half-way down the sheet, so that the first fold parts plan and walk.
type sheetSize struct {
	width      float64 // of the whole
	mapW, mapH float64
	stripH     float64 // of the columns, from the heading to the watch points
	watchH     float64 // of the watch points under a column
}

var sheetSizes = map[Paper]sheetSize{
	A4:       {width: 190, mapW: 116, mapH: 115, stripH: 79, watchH: 26},
	USLetter: {width: 196, mapW: 116, mapH: 106, stripH: 71, watchH: 25},
}

// HandOutOptions say what stands on the page besides the plan.
type HandOutOptions struct {
	Paper     Paper
	Driver    briefing.Driver
	From      string  // where the walk begins, as people call it; "" takes the first street
	OwnShare  float64 // share of the prediction that comes from the dog's own walks, 0 to 1
	OwnWalks  int     // and how many those were
	StyleHref string  // where HandOutCSS is served; "" takes /handout.css
	Slip      *Slip   // of a walk in an outing
	Calmer    *Calmer // an hour at which a walk from there stays calmer, where one is known
}

// Calmer is another hour and its chance of a calm walk.
type Calmer struct {
	Depart     time.Time
	CalmChance float64
}

// Slip is what the timetable of an outing says of one walk; the places to wait at
// are watch points of the walk.
type Slip struct {
	Person            string
	Meet, Leave, Back time.Time
	Bite              bool
}

// handOut is what the page's template fills in.
type handOut struct {
	Lang, StyleHref, Title, Leave, Answer, Range, CalmMeans, Calmer string
	RoomHead, Works, Near, CarText                                  string
	TakeHead, Take, CloseHead, StopHead, Stop                       string
	Ground                                                          string // what there is besides: traffic, soft ground, the form of the walk
	Paper                                                           Paper
	Needs                                                           []needRow
	Close                                                           []string
	Foot, Licence, KeyText                                          string
	CareHead                                                        string
	Care                                                            []string // of the dog and the day, before the door
	TimesHead                                                       string   // of an outing
	Times                                                           []string // when to be where, of an outing
	Sheets                                                          []handOutSheet
}

// handOuts is a document of one or several.
type handOuts struct {
	Lang, StyleHref, Title string
	Paper                  Paper
	Pages                  []*handOut
}

type needRow struct{ Who, Works, Near string }

type handOutSheet struct {
	Part, StripHead string
	Map, Key        template.HTML
	Columns         []template.HTML
}

//go:embed sheet/handout.html
var handOutHTML string

//go:embed sheet/handout.css
var handOutCSS []byte

var handOutPage = template.Must(template.New("handout").Parse(handOutHTML))

// HandOutCSS is the style sheet of hand-outs, for a page that allows no inline
// style.
func HandOutCSS() []byte { return handOutCSS }

// sheetLimitS is the duration from which a walk takes two sheets.
const sheetLimitS = 62 * 60

// HandOut writes the page that a handler carries, as HTML for a browser to print:
// one sheet, two for a walk of more than an hour. All text is text, in reading
// order; there is no inline style and no script. The error names a paper that does
// not exist, or is the writer's.
func (s *Scene) HandOut(w io.Writer, o HandOutOptions) error {
	return HandOuts(w, []*Scene{s}, []HandOutOptions{o})
}

// HandOuts writes the pages of several walks one after the other into one
// document, on the paper of the first; each walk has options of its own.
func HandOuts(w io.Writer, scenes []*Scene, options []HandOutOptions) error {
	var doc handOuts
	for i, s := range scenes {
		o := &options[i]
		o.Paper = options[0].Paper
		size, ok := sheetSizes[o.Paper]
		if !ok {
			return fmt.Errorf("paper %q: use a4 or letter", o.Paper)
		}
		doc.Pages = append(doc.Pages, s.handOut(o, size, i))
	}
	if len(doc.Pages) == 0 {
		return errors.New("no walk to print")
	}
	first := doc.Pages[0]
	doc.Lang, doc.StyleHref, doc.Title, doc.Paper = first.Lang, first.StyleHref, first.Title, first.Paper
	return handOutPage.Execute(w, &doc)
}

// mostSheets is how many sheets one walk takes at most.
const mostSheets = 2

// handOut draws the sheets of one walk, the number-th of its document.
func (s *Scene) handOut(o *HandOutOptions, size sheetSize, number int) *handOut {
	h := s.handOutTexts(o, size)
	parts := 1
	if s.Walk.DurationS > sheetLimitS {
		parts = mostSheets
	}
	length := s.Walk.Line.LengthM()
	for i := range parts {
		sheet := handOutSheet{}
		if parts > 1 {
			sheet.Part = s.Words.Say("sheet.part", "n", i+1, "of", parts)
		}
		part := mostSheets*number + i
		c := &canvas{theme: Print, px: pxMM, prefix: fmt.Sprintf("m%d", part)}
		s.drawMap(c, size.mapW, size.mapH, "mm", false)
		sheet.Key = s.keySVG(part) // of its own on each sheet, as no id may stand twice in a page
		sheet.Map = template.HTML(c.String())
		s.paperStrip(&sheet, size, part, length*float64(i)/float64(parts), length*float64(i+1)/float64(parts))
		h.Sheets = append(h.Sheets, sheet)
	}
	return h
}

// handOutTexts fills in everything but the drawings of the sheets.
func (s *Scene) handOutTexts(o *HandOutOptions, size sheetSize) *handOut {
	w, walk := s.Words, s.Walk
	dog := briefing.Clip(w.Dog(s.Dog), 24)
	h := &handOut{Lang: w.Lang(), Paper: o.Paper, StyleHref: cmp.Or(o.StyleHref, "/handout.css"),
		Answer: w.Answer(walk.CalmChance), Range: briefing.Sentence(w.Range(walk.CalmLow, walk.CalmHigh)) + ".", CalmMeans: w.CalmMeans(),
		RoomHead: w.Say("sheet.room", "dog", dog), Works: w.Say("sheet.works"), Near: w.Say("sheet.near"), CarText: w.Say("sheet.car", "distance", w.Own(briefing.CarM)),
		TakeHead: w.Say("sheet.take"), Take: s.take(), CloseHead: w.Say("sheet.close"), Close: w.TooClose(o.Driver),
		StopHead: w.Say("sheet.stop"), Stop: w.Say("sheet.stop.text"), Licence: w.Say("map.credits"), KeyText: w.Say("sheet.key", "dog", dog),
		Needs: s.needRows()}
	h.Title = briefing.Sentence(s.title(o, dog, size.width-titleSpareMM))
	h.Leave = w.Say("sheet.leave", "day", w.Day(s.Plan.Depart), "clock", w.Clock(s.Plan.Depart), "minutes", w.Minutes(walk.DurationS), "length", w.Far(walk.LengthM))
	if c := o.Calmer; c != nil {
		h.Calmer = w.Say("sheet.calmer", "clock", w.Clock(c.Depart), "of", w.Of(c.CalmChance))
		if s.Plan.Depart.YearDay() != c.Depart.YearDay() {
			h.Calmer = w.Say("sheet.calmer.day", "day", w.Day(c.Depart), "clock", w.Clock(c.Depart), "of", w.Of(c.CalmChance))
		}
	}
	h.Foot = s.foot(o, size)
	s.addCare(h)
	if o.Slip == nil { // whose times take its room
		h.Ground = briefing.Sentence(w.Ground(walk)) + "."
	} else {
		s.addSlip(h, o.Slip)
	}
	return h
}

// mostCare is how many cautions the page has room for, those of the dog first; each
// beyond the first takes the room of a sort of trigger.
const (
	mostCare  = 5
	careRunes = 80
)

// Care is what to know and do before the door: what the dog needs, then what the day
// asks for, in sentences.
func (s *Scene) Care() (out []string) {
	for _, n := range slices.Concat(routing.DogNotes(s.Dog), s.Walk.Care) {
		if n.What != routing.NoteFood && len(out) < mostCare { // food stands beside how much to take
			out = append(out, briefing.Clip(briefing.Sentence(s.Words.NoteShort(n)), careRunes)+".")
		}
	}
	return out
}

// addCare puts it on the page.
func (s *Scene) addCare(h *handOut) {
	if s.Dog.Food != "" {
		h.Take += " " + briefing.Sentence(s.Words.Note(routing.Note{What: routing.NoteFood, Name: briefing.Clip(s.Dog.Food, careRunes)})) + "."
	}
	if h.Care = s.Care(); len(h.Care) > 0 {
		h.CareHead = s.Words.Say("sheet.care")
		h.Needs = h.Needs[:min(len(h.Needs), max(1, mostNeedRows+1-len(h.Care)))]
	}
}

// slipNeedRows is how many sorts of trigger are told beside the times of an outing.
const slipNeedRows = 3

// addSlip tells when to be where: at the gate, at each hold and back.
func (s *Scene) addSlip(h *handOut, slip *Slip) {
	w := s.Words
	h.TimesHead = w.Say("slip.head", "person", briefing.Clip(slip.Person, briefing.MostNameRunes))
	h.Leave = w.Say("slip.leave", "day", w.Day(slip.Leave), "minutes", w.Minutes(s.Walk.DurationS), "length", w.Far(s.Walk.LengthM))
	h.Times = []string{w.Say("slip.gate", "meet", w.Clock(slip.Meet), "leave", w.Clock(slip.Leave), "back", w.Clock(slip.Back))}
	var holds []string
	for i := range s.Walk.Watch {
		if p := &s.Walk.Watch[i]; p.What == outing.HoldPoint {
			holds = append(holds, w.Say("slip.hold", "clock", w.Clock(p.NotBefore), "n", i+1))
		}
	}
	if len(holds) > 0 {
		h.Times = append(h.Times, w.Say("slip.wait", "places", strings.Join(holds, ", ")))
	}
	if slip.Bite && !s.Dog.Cautions.BiteHistory { // of which the cautions tell
		h.Times = append(h.Times, w.Caution("outing"))
	}
	h.Needs, h.CarText = h.Needs[:min(len(h.Needs), slipNeedRows)], "" // the times take their room
}

// titleSpareMM is what the head's width loses to the title's heavier weight beyond the
// widths that are reckoned with.
const titleSpareMM = 4

// title is the page's title, cut so that it stays on its line.
func (s *Scene) title(o *HandOutOptions, dog string, roomMM float64) string {
	w := s.Words
	minutes := w.MinutesSpelt(s.Walk.DurationS)
	place := o.From
	if place == "" && len(s.Walk.Legs) > 0 {
		place = s.Walk.Legs[0].Name
	}
	if place == "" {
		return w.Say("sheet.title.bare", "dog", dog, "minutes", minutes)
	}
	const sizeMM = 18 * 25.4 / 72
	bare := textWidth(w.Say("sheet.title", "dog", dog, "minutes", minutes, "place", ""), sizeMM, true)
	return w.Say("sheet.title", "dog", dog, "minutes", minutes, "place", cut(place, max(roomMM-bare, 20), sizeMM, true))
}

func (s *Scene) take() string {
	if s.Walk.TreatsHigh < 1 {
		return s.Words.Say("take.none")
	}
	return s.Words.Say("take", "treats", s.Words.Treats(s.Walk.TreatsLow, s.Walk.TreatsHigh))
}

// mostNeedRows is how many sorts of trigger the page has room for.
const mostNeedRows = 5

// needRows lists the dog's distances by what leads the walk's reactions, then by
// distance; kinds that are alike to the dog are one row.
func (s *Scene) needRows() (rows []needRow) {
	w := s.Words
	var kinds []exposure.Kind
	add := func(k exposure.Kind) {
		if s.Dog.Need(k).WorkingM == 0 || slices.ContainsFunc(kinds, func(h exposure.Kind) bool {
			return h == k || h.Category() == k.Category() && briefing.Alike(k.Category(), s.Dog)
		}) {
			return
		}
		kinds = append(kinds, k)
	}
	for _, k := range s.Walk.Kinds {
		add(k.Kind)
	}
	var rest []exposure.Kind
	for k := range exposure.KindCount {
		rest = append(rest, k)
	}
	slices.SortStableFunc(rest, func(a, b exposure.Kind) int {
		return cmp.Compare(s.Dog.Need(b).WorkingM, s.Dog.Need(a).WorkingM)
	})
	for _, k := range rest {
		add(k)
	}
	tell := func(m float64) string {
		if cars := w.Cars(m); cars != "" {
			return w.Own(m) + " · " + cars
		}
		return w.Own(m)
	}
	for _, k := range kinds[:min(len(kinds), mostNeedRows)] {
		n := s.Dog.Need(k)
		rows = append(rows, needRow{w.Noun(k, s.Dog, "row"), tell(n.WorkingM), tell(n.ReactionM)})
	}
	return rows
}

// Room for the foot: lines and their width in millimetres, and its type.
const (
	footLines  = 5
	keyMM      = 88
	footSizeMM = 8.6 * 25.4 / 72
)

// mostAssumed is how many assumptions stand in the foot.
const mostAssumed = 3

// foot says what the prediction rests on, with as many assumptions as fit.
func (s *Scene) foot(o *HandOutOptions, size sheetSize) string {
	w := s.Words
	assumed := s.Plan.Assumed
	for most := min(mostAssumed, len(assumed)); ; most-- {
		var shown []string
		for _, a := range assumed[:max(0, most)] {
			shown = append(shown, w.AssumedShort(a))
		}
		if rest := len(assumed) - most; rest > 0 && most > 0 {
			shown = append(shown, briefing.Sentence(w.Say("sure.more", "n", rest))+".")
		}
		text := w.Say("sheet.foot", "map", w.MapDate(s.Plan.MapTime), "evidence", w.Evidence(o.OwnShare, o.OwnWalks), "proof", w.Proof(s.Walk), "assumed", strings.Join(shown, " "))
		text = strings.Join(strings.Fields(text), " ")
		if most <= 0 || len(wrap(text, size.width-keyMM-2, footSizeMM, false, 99)) <= footLines-1 {
			return text
		}
	}
}

// keySVG is a ribbon cut in the shares of the four steps, with the minutes to one
// reaction that they mean.
func (s *Scene) keySVG(number int) template.HTML {
	c := &canvas{theme: Print, px: pxMM, prefix: fmt.Sprintf("k%d", number)}
	const w, h, y = 84.0, 15.5, 6.4
	rank, words := &s.Plan.Ground.Rank, s.Words
	c.openText(w, h, "mm")
	c.text(label{at: xy{0, 2.9}, text: words.Say("key.at", "time", words.Clock(s.Plan.Depart)), size: 11.5, colour: ink})
	x := 0.3
	for i, share := range rank.Share {
		to := x + share*(w-0.6)
		if to > x {
			c.ribbonRun([]xy{{x, y}, {to, y}}, i+1)
		}
		if text := words.StepMinutes(rank, i+1, share < keyNarrow); textWidth(text, 12*pxMM, true) < to-x {
			c.text(label{at: xy{(x + to) / 2, y + 5}, text: text, size: 12, bold: true, anchor: atMiddle, colour: ink})
		}
		x = to
	}
	c.text(label{at: xy{0.3, h - 0.7}, text: words.Say("key.calmest"), size: 11.5, bold: true, colour: ink})
	c.text(label{at: xy{w - 0.3, h - 0.7}, text: words.Say("key.hardest"), size: 11.5, bold: true, anchor: atEnd, colour: ink})
	c.close()
	return template.HTML(c.String())
}

// keyNarrow is the share under which the minutes of a step are told short: "over 32" is
// ">32" there.
const keyNarrow = 0.13

// Columns of the strip on paper, and how far a column goes to each side at most, in
// millimetres: the rest is for words.
const (
	paperColumns = 4
	mostColumns  = 5
	paperSideMM  = 8
	leastShare   = 0.6 // of the scale that fills the sheet
)

// paperStrip draws the part of the walk from fromM to toM in four columns, five
// where the legs crowd.
func (s *Scene) paperStrip(sheet *handOutSheet, size sheetSize, part int, fromM, toM float64) {
	for n := paperColumns; n <= mostColumns; n++ {
		columns, crowded := s.paperColumns(size, part, n, fromM, toM)
		sheet.Columns = columns
		sheet.StripHead = s.Words.Say("sheet.strip", "n", s.Words.Say("count."+strconv.Itoa(n)))
		if !crowded {
			return
		}
	}
}

func (s *Scene) paperColumns(size sheetSize, part, n int, fromM, toM float64) (out []template.HTML, crowded bool) {
	band := size.stripH - (stripTopPX+stripFootPX)*pxMM
	scale := band * float64(n) / (toM - fromM)
	if m := s.needM(); m > 0 {
		scale = max(min(scale, paperSideMM/m), leastShare*scale)
	}
	scale = min(scale, mostStripScale)
	width := size.width / float64(n)
	strip := s.unroll(n, paperSideMM/scale, fromM, toM)
	for i := range strip.Columns {
		c := &canvas{theme: Print, px: pxMM, prefix: fmt.Sprintf("s%d%d", part, i)}
		c.openText(width, size.stripH+size.watchH, "mm")
		d := columnDrawing{s: s, c: c, strip: strip, col: &strip.Columns[i], scale: scale, width: width, height: size.stripH}
		if i > 0 {
			d.pad = 6 * pxMM
		}
		d.draw()
		s.stripBar(c, strip, scale, size.stripH, i)
		d.watchTexts(size.stripH, size.watchH)
		c.close()
		crowded = crowded || d.skipped > 0
		out = append(out, template.HTML(c.String()))
	}
	return out, crowded
}

// mostStripScale is the largest scale of a strip on paper, millimetres a metre.
const mostStripScale = 0.4

// stripBar puts the strip's own pair of scale bars under its first two columns.
func (s *Scene) stripBar(c *canvas, strip *Strip, scale, bottom float64, column int) {
	at := xy{6 * c.px, bottom - 3*c.px}
	switch {
	case column == 0:
		m, text := roundBar(s.Words, scale/c.px, mostBarPX)
		c.bar(at, m*scale, text, ink)
	case column == 1 && strip.Note == "" && strip.NeedM > 0:
		c.bar(at, strip.NeedM*scale, s.Words.Own(strip.NeedM), need)
	case column == 1 && strip.Note != "":
		c.text(label{at: at, text: s.Words.Say("strip.wider", "distance", s.Words.Own(strip.NeedM)), size: 12, bold: true, colour: need})
	}
}

// watchTexts writes the watch points of a column under it: all heads, and what to
// do as far as there is room, sources and bells first.
func (d *columnDrawing) watchTexts(top, height float64) {
	c := d.c
	const size, line = 12.0, 15.0
	x, width := d.left+d.pad, d.width-d.pad-5*c.px
	room := int((height - 1) / (line * c.px))
	y := top + 4*c.px
	write := func(lines []string, bold bool) {
		for _, l := range lines {
			y += line * c.px
			c.text(label{at: xy{x, y}, text: l, size: size, bold: bold, colour: ink})
		}
	}
	if len(d.col.ready) == 0 {
		write([]string{d.s.Words.Say("spot.none")}, true)
		return
	}
	heads, texts := d.watchLines(width, room)
	for i := range heads {
		write(heads[i], true)
		write(texts[i], false)
	}
	if rest := len(d.col.ready) - len(heads); rest > 0 {
		write(wrap(briefing.Sentence(d.s.Words.Say("spot.more", "n", rest)), width, size*c.px, false, 1), false)
	}
}

// watchLines breaks the watch points into lines and drops what does not fit: what is
// expected at the later ones, then what to do there, then whole watch points from the end.
func (d *columnDrawing) watchLines(width float64, room int) (heads, texts [][]string) {
	size := 12 * d.c.px
	used := 0
	for i, p := range d.col.ready {
		head := wrap(p.Head, width, size, true, 2)
		rest := min(1, len(d.col.ready)-1-i) // the line that says how many more there are
		if used+len(head)+rest > room {
			break
		}
		heads = append(heads, head)
		used += len(head)
	}
	if len(heads) < len(d.col.ready) {
		used++
	}
	// What to do at each comes before what is expected at any.
	texts = make([][]string, len(heads))
	for _, said := range []func(p *briefing.WatchText) string{
		func(p *briefing.WatchText) string { return p.Deed },
		func(p *briefing.WatchText) string { return p.Text },
	} {
		for i := range heads {
			text := wrap(said(&d.col.ready[i]), width, size, false, 9)
			if more := len(text) - len(texts[i]); used+more <= room {
				texts[i], used = text, used+more
			}
		}
	}
	return heads, texts
}

// openText begins a drawing whose text is to be read: the legs and watch points of
// a column.
func (c *canvas) openText(w, h float64, unit string) {
	c.raw(`<svg xmlns="http://www.w3.org/2000/svg" width="`, num(w), unit, `" height="`, num(h), unit, `" viewBox="0 0 `, num(w), " ", num(h),
		`" font-family="Atkinson Hyperlegible Next, sans-serif">`, "\n")
	c.patterns()
}
