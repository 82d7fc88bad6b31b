package draw

import (
	"io"
	"math"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/snapshot"
	"wideberth/routing/training/setup"
)

// SetupMap draws the ground of a set-up as SVG at true scale: the line of the helper and
// those of the dog with their distances, both ways in, the car and what one can step
// behind. The one whose sheet it is, if any, has the thick lines. The error is the
// writer's.
func SetupMap(w io.Writer, snap *snapshot.Snapshot, words briefing.Words, s *setup.Setup, role setup.Role, o MapOptions) error {
	c := &canvas{theme: o.Theme, px: 1, prefix: o.Prefix}
	setupMap(c, snap, words, s, role, o.WidthPX, o.HeightPX, "px")
	_, err := io.WriteString(w, c.String())
	return err
}

// aroundSetupM is the ground shown beyond the ways of a set-up.
const aroundSetupM = 20

func setupMap(c *canvas, snap *snapshot.Snapshot, words briefing.Words, s *setup.Setup, role setup.Role, w, h float64, unit string) {
	d := &mapDrawing{s: &Scene{Snap: snap, Words: words, Walk: &routing.Walk{}, Band: &Band{}}, c: c, w: w, h: h}
	box := s.Helper.Box().Union(s.DogIn.Box()).Union(s.HelperIn.Box())
	for i := range s.Lines {
		box = box.Union(s.Lines[i].At.Box())
	}
	foot := footPX * c.px
	d.v = fit(box.Grown(aroundSetupM), w, h-foot)
	d.v.box.Min.Y -= foot / d.v.scale
	d.around = d.v.box.Grown(marginM)
	d.p = placer{w: w, h: h, px: c.px}
	c.open(w, h, unit, words.Say("setup.map", "n", len(s.Lines), "distance", words.Own(s.Lines[0].NeedM)))
	d.ground()
	width := func(of setup.Role) float64 {
		if role == "" || role == of {
			return 4.5
		}
		return 1.8
	}
	d.course(s.DogIn, stroke{colour: ink, width: width(setup.DogSide), dash: "2.4 7", casing: casingPX})
	d.course(s.HelperIn, stroke{colour: need, width: width(setup.HelperSide), dash: "2.4 7", casing: casingPX})
	for i := range s.Lines {
		d.course(s.Lines[i].At, stroke{colour: ink, width: width(setup.DogSide), casing: casingPX})
	}
	d.course(s.Helper, stroke{colour: need, width: width(setup.HelperSide), casing: casingPX})
	d.setupBars(s)
	d.setupLabels(s)
	d.bars()
	d.names()
	c.close()
}

// course draws a line and keeps words off it.
func (d *mapDrawing) course(l plane.Polyline, s stroke) {
	line := d.v.line(l)
	d.c.lines([][]xy{line}, s)
	d.p.lines = append(d.p.lines, line)
}

// setupBars draws a bar where each waits, across its line.
func (d *mapDrawing) setupBars(s *setup.Setup) {
	bar := func(l plane.Polyline, colour token) {
		at, dir, half := d.v.at(l[0]), l.DirectionAt(0), standPX/3*d.c.px
		d.c.lines([][]xy{{{at.x + dir.Y*half, at.y + dir.X*half}, {at.x - dir.Y*half, at.y - dir.X*half}}}, stroke{colour: colour, width: 7, casing: casingPX, butt: true})
		d.p.taken = append(d.p.taken, disc{at, half})
	}
	for i := range s.Lines {
		bar(s.Lines[i].At, ink)
	}
	bar(s.Helper, need)
}

// setupLabels writes what is what, the distances first.
func (d *mapDrawing) setupLabels(s *setup.Setup) {
	w := d.s.Words
	d.labelNear(w.Say("setup.map.helper"), d.v.at(s.Helper[1]), 8, need)
	for i := range s.Lines {
		l := &s.Lines[i]
		d.labelNear(w.Say("setup.map.dog", "line", i+1)+", "+w.Own(l.NeedM), d.v.at(l.At[1]), 8, ink)
	}
	d.labelNear(w.Say("setup.map.car"), d.v.at(s.DogIn[0]), 8, ink)
	if s.HelperIn[0].DistanceM(s.DogIn[0]) > 1 {
		d.labelNear(w.Say("setup.map.kerb"), d.v.at(s.HelperIn[0]), 8, need)
	}
	if s.Screen == nil {
		return
	}
	at, r := d.v.at(*s.Screen), 5*d.c.px
	box := [][]xy{{{at.x - r, at.y - r}, {at.x + r, at.y - r}, {at.x + r, at.y + r}, {at.x - r, at.y + r}}}
	d.c.lines(box, stroke{colour: ink, width: 2, casing: 1, closed: true})
	d.p.taken = append(d.p.taken, disc{at, math.Sqrt2 * r})
	d.labelNear(w.Say("setup.map.screen"), at, 8, ink)
}
