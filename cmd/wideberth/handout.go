package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"

	"wideberth/api/wire"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
)

type handOutCommand struct {
	wishFlags
	To     string `placeholder:"PLACE" help:"Where it leads; left out: back to the start."`
	Shape  string `placeholder:"SHAPE" help:"calmest, loop, there_and_back or way; left out: calmest, with --to a way."`
	Walk   string `default:"A" placeholder:"LETTER" help:"Which walk of the plan."`
	Out    string `required:"" placeholder:"FILE.html" help:"Where the page goes; print it from a browser without scaling."`
	Paper  string `enum:"a4,letter" default:"a4" help:"a4 or letter."`
	Units  string `enum:"metric,us" default:"metric" help:"metric or us."`
	Place  string `placeholder:"TEXT" help:"What the start is called; left out: its street."`
	Driver string `enum:",fear,frustration,excitement" default:"" placeholder:"WORD" help:"What drives the dog, for the advice only: fear, frustration or excitement."`
	JSON   bool   `name:"json" help:"Tell what was written for other programs to read."`
}

// handOutTold is what the command says of the page that it wrote.
type handOutTold struct {
	File string    `json:"file"`
	Walk wire.Walk `json:"walk"`
	Care []string  `json:"care" doc:"What stands on it before the door."`
}

// Run plans a walk and writes the page that a handler carries.
func (c *handOutCommand) Run(ctx context.Context, w *world) error {
	p, wish, err := c.asked(w, func(p *routing.Planner, b *wire.WishBody) (wrong fault.Problems) {
		b.Shape = c.Shape
		if c.To != "" {
			to, ps := latLon(p, "to", c.To)
			b.To, wrong = &to, ps
		}
		return wrong
	})
	if err != nil {
		return err
	}
	plan, err := p.Plan(ctx, wish)
	if err != nil {
		return byFlag(err)
	}
	number := -1
	for i := range plan.Walks {
		if strings.EqualFold(briefing.Letter(i), c.Walk) {
			number = i
		}
	}
	if number < 0 {
		return wrong("walk", c.Walk, "this plan has the walks A to "+briefing.Letter(len(plan.Walks)-1))
	}
	told := briefing.Words{}
	if c.Units == "us" {
		told = briefing.Words{Units: briefing.US, TwelveHour: true}
	}
	scene, err := draw.NewScene(p.Snapshot(), plan, number, &wish.Dog, told, nil)
	if err != nil {
		return err
	}
	var page bytes.Buffer
	if err := scene.HandOut(&page, draw.HandOutOptions{Paper: draw.Paper(c.Paper), Driver: briefing.Driver(c.Driver), From: c.Place, StyleHref: handOutStyle}); err != nil {
		return err
	}
	if err := os.WriteFile(c.Out, alone(page.Bytes()), 0o644); err != nil {
		return err
	}
	out := handOutTold{File: c.Out, Walk: wire.NewWalk(&plan.Walks[number], p.Frame(), plan.Depart, briefing.Words{}), Care: scene.Care()}
	if c.JSON {
		return w.json(out)
	}
	walk := &plan.Walks[number]
	fmt.Fprintf(w.out, "%s: walk %s, %.0f min, %.1f km, stays calm %s\n", c.Out, briefing.Letter(number), walk.DurationS/60, walk.LengthM/1000, words.Of(walk.CalmChance))
	for _, line := range out.Care {
		fmt.Fprintln(w.out, plain(line))
	}
	return nil
}

// handOutStyle stands in the page until its style does.
const handOutStyle = "handout.css"

// alone is a page with its style inside, so that one file is all there is to carry.
func alone(page []byte) []byte {
	link := []byte(`<link rel="stylesheet" href="` + handOutStyle + `">`)
	return bytes.Replace(page, link, []byte("<style>\n"+string(draw.HandOutCSS())+"</style>"), 1)
}
