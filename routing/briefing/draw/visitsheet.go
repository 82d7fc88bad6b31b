package draw

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"wideberth/exposure/learning"
	"wideberth/routing/briefing"
	"wideberth/routing/training"
)

//go:embed sheet/visit.html
var visitHTML string

var visitPage = template.Must(template.New("visit").Parse(visitHTML))

// VisitSheet is what the sheet of a training visit tells besides the visit.
type VisitSheet struct {
	Visit      *training.Visit
	Number, Of int           // of a sequence, from 1; 0 where it belongs to none
	Rule       learning.Rule // when training moves on
	Bite       bool          // the dog has a bite history
	Driver     briefing.Driver
	Paper      Paper
	StyleHref  string // where HandOutCSS is served; "" takes /handout.css
}

// visitMapSizes are the pictures of a visit's sheet, in millimetres.
var visitMapSizes = map[Paper][2]float64{A4: {190, 125}, USLetter: {196, 112}}

type visitDoc struct {
	Lang, StyleHref, Title, When, Times string
	Paper                               Paper
	Map                                 template.HTML
	CautionHead, Caution                string
	Rows                                []visitRow
	Cautions                            []string
	Lists                               []visitList
	Foot                                string
}

type visitRow struct{ Head, Text string }

type visitList struct {
	Head, Text string
	Lines      []string
}

// nearStayMultiple is the multiple of the working distance under which a sheet says
// the caution for close work: the same as where a dog with a bite history needs a
// trainer.
const nearStayMultiple = 1.5

// Room on the sheet of a visit.
const (
	visitNameRunes  = 26
	visitCloseLines = 3
	mostVisitCare   = 3
)

// VisitSheet writes the sheet of a training visit as HTML for a browser to print, one
// page: the place, the facts, what to do and what to write down. The scene is the whole
// visit as one walk, measured for what is watched. The error names a paper that does not
// exist, or is the writer's.
func (s *Scene) VisitSheet(w io.Writer, o *VisitSheet) error {
	size, ok := visitMapSizes[o.Paper]
	if !ok {
		return fmt.Errorf("paper %q: use a4 or letter", o.Paper)
	}
	c := &canvas{theme: Print, px: pxMM, prefix: "v"}
	s.visitMap(c, o.Visit, size[0], size[1], "mm", 1)
	return visitPage.Execute(w, s.visitTexts(o, template.HTML(c.String())))
}

func (s *Scene) visitTexts(o *VisitSheet, picture template.HTML) *visitDoc {
	w, v := s.Words, o.Visit
	dog := briefing.Clip(w.Dog(s.Dog), visitNameRunes)
	until := v.Arrive.Add(time.Duration(v.StayS * float64(time.Second)))
	name := briefing.Clip(v.Vantage.Watched.Name, visitNameRunes)
	doc := &visitDoc{Lang: w.Lang(), StyleHref: cmp.Or(o.StyleHref, "/handout.css"), Paper: o.Paper, Map: picture,
		When:  w.Say("stay.when", "day", w.Day(v.Arrive), "leave", w.Clock(v.Departs()), "from", w.Clock(v.Arrive), "to", w.Clock(until), "distance", w.Own(v.DistM)),
		Times: w.Say("stay.times", "n", times(v.Multiple), "dog", dog)}
	doc.Title = briefing.Sentence(w.Say("stay.title.bare", "dog", dog, "name", name))
	if o.Number > 0 && o.Of > 0 {
		doc.Title = briefing.Sentence(w.Say("stay.title", "dog", dog, "n", o.Number, "of", o.Of, "name", name))
	}
	doc.CautionHead, doc.Caution = w.Dose(v)
	for _, r := range w.VisitFacts(v, o.Rule) {
		doc.Rows = append(doc.Rows, visitRow{r[0], r[1]})
	}
	if v.Multiple < nearStayMultiple {
		doc.Cautions = append(doc.Cautions, w.Caution("step"))
		if o.Bite {
			doc.Cautions = append(doc.Cautions, w.Caution("visit"))
		}
	}
	if v.Changed {
		doc.Cautions = append(doc.Cautions, w.Say("visits.changed"))
	}
	care := s.Care()
	doc.Cautions = append(doc.Cautions, care[:min(len(care), mostVisitCare)]...)
	doc.Lists = []visitList{
		{Head: w.Say("stay.do"), Lines: []string{w.Say("stay.do.feed", "dog", dog), w.Say("stay.do.back"), w.Say("stay.do.home")}},
		{Head: w.Say("sheet.close"), Lines: w.TooClose(o.Driver)[:visitCloseLines]},
		{Head: w.Say("stay.write"), Text: w.Say("stay.write.text")},
		{Head: w.Say("sheet.stop"), Text: w.Say("sheet.stop.text")},
	}
	doc.Foot = strings.Join(strings.Fields(strings.Join([]string{w.Say("visits.caution.map"), w.MapDate(s.Plan.MapTime), w.Say("map.credits")}, " ")), " ")
	return doc
}

// times is a multiple as it is said: one figure after the point at most.
func times(n float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(math.Round(10*n)/10, 'f', 1, 64), ".0")
}
