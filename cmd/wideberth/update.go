package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"
	"wideberth/routing/update"
)

type updateCommand struct {
	Map     string   `arg:"" placeholder:"FILE|DIR" help:"Snapshot to bring up to date, or the folder of a map in tiles."`
	Changes []string `arg:"" help:"Files of changes since then (.osc plain, .gz or .bz2), in any order; or one newer extract."`
	Extract string   `name:"map" placeholder:"EXTRACT" help:"The extract that it was imported from. Left out: the one that an update left in the folder."`
	Heights string   `placeholder:"DIR" help:"Folder of .hgt height tiles, if the snapshot was imported with one."`
}

func (c *updateCommand) Run(ctx context.Context, w *world) error {
	begin := w.now()
	bar := progressBar{w: w.err, on: w.tty}
	if info, err := os.Stat(c.Map); err == nil && info.IsDir() {
		return c.folder(ctx, w, &bar)
	}
	if c.Extract == "" {
		return wrong("map", "", "name the extract that the snapshot was imported from")
	}
	out, err := update.File(ctx, c.Map, update.Options{Extract: c.Extract, Changes: c.Changes, Heights: c.Heights, Tool: version, Progress: bar.show})
	bar.clear()
	if err != nil {
		return err
	}
	printUpdate(w, c.Map, out, w.now().Sub(begin))
	return nil
}

// folder brings a map in tiles up to date.
func (c *updateCommand) folder(ctx context.Context, w *world, bar *progressBar) error {
	if c.Heights != "" {
		return wrong("heights", c.Heights, "the folder knows how it was imported: leave this out")
	}
	begin := w.now()
	out, err := update.Folder(ctx, c.Map, update.FolderOptions{Extract: c.Extract, Changes: c.Changes, Tool: version, Now: w.now, Progress: func(p tiling.Progress) { bar.show(stageTold(p), p.Share) }})
	bar.clear()
	if err != nil {
		return err
	}
	fmt.Fprintf(w.out, "%s: map of %s, was of %s; %d tiles, %d as they were, %d renewed (%d of their %d edges surveyed anew); %.1f s\n",
		c.Map, dateOf(out.Table.MapTime), dateOf(out.Was), len(out.Table.Tiles), out.Kept, out.Renewed, out.Surveyed, out.Edges, w.now().Sub(begin).Seconds())
	printBeyond(w, out.Beyond)
	fmt.Fprintln(w.out, snapshot.Licence)
	return nil
}

func printBeyond(w *world, beyond int) {
	if beyond > 0 {
		fmt.Fprintf(w.out, "  %d places passed over that lie far outside the map\n", beyond)
	}
}

func printUpdate(w *world, path string, o *update.Outcome, took time.Duration) {
	t := &o.Touched
	fmt.Fprintf(w.out, "%s: map of %s, was of %s; %d objects new, %d changed, %d gone\n", path, dateOf(o.Snapshot.MapTime), dateOf(o.Was), t.Made, t.Changed, t.Gone)
	if o.Whole != "" {
		fmt.Fprintf(w.out, "  all %d edges surveyed anew, as %s; %.1f s\n", o.Edges, o.Whole, took.Seconds())
	} else {
		fmt.Fprintf(w.out, "  %d of %d edges surveyed anew; %.1f s\n", o.Surveyed, o.Edges, took.Seconds())
	}
	if t.Known > 0 {
		fmt.Fprintf(w.out, "  %d versions passed over that the map has already\n", t.Known)
	}
	if t.Missing > 0 {
		fmt.Fprintf(w.out, "  %d deletions passed over of what the map does not have\n", t.Missing)
	}
	printBeyond(w, o.Beyond)
	fmt.Fprintln(w.out, snapshot.Licence)
}
