package draw

import (
	"cmp"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"time"

	"wideberth/exposure"
	"wideberth/routing/briefing"
	"wideberth/routing/snapshot"
	"wideberth/routing/training/setup"
)

//go:embed sheet/setup.html
var setupHTML string

var setupPage = template.Must(template.New("setup").Parse(setupHTML))

// SetupSheet is what the sheet of one of the two tells besides the set-up.
type SetupSheet struct {
	Role      setup.Role
	At        time.Time // when both stand on the first line
	Dog       *exposure.Dog
	Bite      bool        // the dog has a bite history
	Wish      *setup.Wish // who meets: muzzles, and a trainer's word; nil for none
	Proof     *setup.Proof
	Paper     Paper
	StyleHref string // where HandOutCSS is served; "" takes /handout.css
}

type setupDoc struct {
	Lang, StyleHref, Title, When, Other           string
	Paper                                         Paper
	Map                                           template.HTML
	MinutesHead, SignsHead, LinesHead, GroundHead string
	Rows                                          []briefing.SetupLine
	Signs, Lines, Ground, Cautions                []string
	StopHead, Stop, Licence                       string
}

// setupMapSizes are the pictures of a set-up's sheet, in millimetres.
var setupMapSizes = map[Paper][2]float64{A4: {190, 112}, USLetter: {196, 100}}

// SetupSheets writes the sheets of a set-up as HTML for a browser to print, one page
// each: what one of the two does, minute by minute, and where the other is. The error
// names a paper that does not exist, or is the writer's.
func SetupSheets(w io.Writer, snap *snapshot.Snapshot, words briefing.Words, s *setup.Setup, sheets []SetupSheet) error {
	var docs []setupDoc
	for i := range sheets {
		o := &sheets[i]
		size, ok := setupMapSizes[o.Paper]
		if !ok {
			return fmt.Errorf("paper %q: use a4 or letter", o.Paper)
		}
		c := &canvas{theme: Print, px: pxMM, prefix: fmt.Sprintf("s%d-", i)}
		setupMap(c, snap, words, s, o.Role, size[0], size[1], "mm")
		docs = append(docs, newSetupDoc(words, s, o, template.HTML(c.String())))
	}
	if len(docs) == 0 {
		return errors.New("no sheet to print: name dog or helper")
	}
	return setupPage.Execute(w, docs)
}

func newSetupDoc(w briefing.Words, s *setup.Setup, o *SetupSheet, picture template.HTML) setupDoc {
	minute := func(after int) string { return w.Clock(o.At.Add(time.Duration(after) * time.Minute)) }
	name := briefing.Clip(briefing.Sentence(w.Dog(o.Dog)), briefing.MostNameRunes)
	doc := setupDoc{Lang: w.Lang(), StyleHref: cmp.Or(o.StyleHref, "/handout.css"), Paper: o.Paper, Map: picture,
		Title: w.Say("setup.title."+string(o.Role), "dog", name), When: w.Say("setup.when", "clock", minute(0), "day", w.Day(o.At)),
		MinutesHead: w.Say("setup.head.minutes"), SignsHead: w.Say("setup.head.signs"), LinesHead: w.Say("setup.head.lines"), GroundHead: w.Say("setup.head.ground"),
		Rows: w.Setup(s, o.Role, o.At), Signs: w.SetupSigns(), Lines: w.SetupLines(s),
		Ground: []string{w.SetupGround(s), w.SetupElse(s, o.Dog)}, Licence: w.Say("map.credits"),
		Cautions: []string{w.Say("setup.caution")}}
	if o.Proof != nil {
		doc.Ground = append(doc.Ground, w.SetupProof(s, o.Proof))
	}
	if o.Bite {
		doc.Cautions = append(doc.Cautions, w.Say("setup.caution.bite"))
	}
	if o.Wish != nil {
		doc.Cautions = append(doc.Cautions, w.SetupMuzzles(o.Wish)...)
		if word := o.Wish.Standing(); word != nil {
			doc.Cautions = append(doc.Cautions, w.SetupWord(word))
		}
	}
	doc.Cautions = append(doc.Cautions, w.Say("caution.professional"))
	if o.Role == setup.HelperSide {
		doc.Other = w.Say("setup.other.dog", "clock", minute(s.Clock.Dog.Entries[0].Min))
	} else {
		doc.Other = w.Say("setup.other.helper", "clock", minute(s.Clock.Helper.Entries[0].Min))
	}
	return doc
}
