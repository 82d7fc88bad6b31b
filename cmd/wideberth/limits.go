package main

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing"
)

type limitsCommand struct {
	Snapshot []string `required:"" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times."`
	At       string   `placeholder:"PLACE" help:"Of several maps the one of this place; left out: the first."`
	JSON     bool     `name:"json" help:"For other programs to read."`
}

// limitTold is one limit that plan, hours, handout and visits take.
type limitTold struct {
	Flag  string `json:"flag"`
	Does  string `json:"does"`
	Holds string `json:"holds"` // what this map knows of it
}

// limitsTold are the limits of a map.
type limitsTold struct {
	Limits     []limitTold `json:"limits"`
	Categories []string    `json:"categories"` // that never-nearer knows
	Kinds      []string    `json:"kinds"`
	Places     []string    `json:"places"`
}

// Run lists the limits.
func (c *limitsCommand) Run(w *world) error {
	p, err := openPlanner(w, c.Snapshot, "at", c.At)
	if err != nil {
		return err
	}
	out := limitsOf(p)
	if c.JSON {
		return w.json(out)
	}
	t := tabwriter.NewWriter(w.out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "limit\twhat it does\ton this map")
	for _, l := range out.Limits {
		fmt.Fprintf(t, "%s\t%s\t%s\n", l.Flag, l.Does, l.Holds)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	_, err = fmt.Fprintf(w.out, "\n--never-nearer takes a category (%s), a kind (%s) or a sort of place (%s).\n",
		strings.Join(out.Categories, ", "), strings.Join(out.Kinds, ", "), strings.Join(out.Places, ", "))
	return err
}

// limitsOf tells what a map knows of each limit, by the length of its streets.
func limitsOf(p *routing.Planner) (out limitsTold) {
	snap := p.Snapshot()
	g := snap.Graph
	share := func(is func(q int32) bool) string {
		with, all := 0.0, 0.0
		for e := range int32(g.EdgeCount()) {
			m := float64(g.LengthM[e])
			all += m
			if is(e) {
				with += m
			}
		}
		return fmt.Sprintf("%.2g %%", 100*with/max(all, 1))
	}
	flag := func(f osmdata.StreetFlags) func(e int32) bool {
		return func(e int32) bool { return g.Flags[e]&f != 0 }
	}
	heights := "no heights: import it with --heights"
	if snap.Slopes != nil {
		heights = "has heights"
	}
	sources := map[string]int{}
	for i := range int32(snap.Field.SourceCount()) {
		sources[snap.Field.Source(i).As]++
	}
	out.Limits = []limitTold{
		{"--no-steps", "no steps", share(func(e int32) bool { return g.Class[e] == osmdata.Steps }) + " of the length are steps"},
		{"--lit-only", "only ways tagged as lit, while the sun is down", share(flag(osmdata.FlagLit)) + " of the length is tagged as lit"},
		{"--paved-only", "no unpaved ways", share(flag(osmdata.FlagUnpaved)) + " of the length is unpaved"},
		{"--off-roads", "no main road without a pavement", share(func(e int32) bool { return g.Class[e].Main() && g.Flags[e]&osmdata.FlagSidewalk == 0 }) + " of the length is such a road"},
		{"--crossings-only", "cross roads of four lanes and more only at mapped crossings and signals", "as mapped"},
		{"--any-ground", "private drives, ways through buildings and aisles of car parks too", "otherwise only where there is no other walk"},
		{"--never-nearer WHAT=METRES", "a distance to keep from what is named", fmt.Sprintf("%d fixed sources", snap.Field.SourceCount())},
		{"--avoid-way NAME", "a street not to walk", fmt.Sprintf("%d names of streets", max(0, len(g.Names)-1))},
		{"--avoid LAT,LON,METRES", "a place to stay away from", "anywhere"},
		{"--within METRES", "never farther from the start than this", "anywhere"},
		{"--max-noise DB", "most continuous road noise, dB(A)", "predicted from traffic"},
		{"--max-slope RATIO", "steepest rise over run", heights},
		{"--inside-reaction", "inside the reaction distance of active sources all the same", "otherwise never"},
	}
	for c := range exposure.CategoryCount {
		out.Categories = append(out.Categories, c.String())
	}
	for k := range exposure.KindCount {
		out.Kinds = append(out.Kinds, k.String())
	}
	for sort := range sources {
		out.Places = append(out.Places, sort)
	}
	slices.Sort(out.Places)
	return out
}
