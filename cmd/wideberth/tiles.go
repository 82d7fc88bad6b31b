package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"
	"wideberth/testdata"
)

// asTiles tells whether the map is imported as tiles: as it is said, else by its size.
func (c *importCommand) asTiles() bool {
	if c.Tiles != nil {
		return *c.Tiles
	}
	info, err := os.Stat(c.Map)
	return err == nil && info.Size() > tiling.AboveBytes
}

// importTiles imports the map into a folder.
func (c *importCommand) importTiles(ctx context.Context, w *world, bar *progressBar) error {
	begin := w.now()
	o := tiling.Options{
		Settings:  tiling.Settings{Map: c.Map, TimeZone: c.TimeZone, Country: c.Country, Heights: c.Heights, Tool: version},
		TileBytes: c.TileSize, Now: w.now, Progress: func(p tiling.Progress) { bar.show(stageTold(p), p.Share) },
	}
	list, where, err := c.countsFile(w)
	if err != nil {
		return err
	}
	for i := range list {
		pointer, told := where(i)
		o.Counts = append(o.Counts, tiling.Count{Count: list[i], Pointer: pointer, Told: told})
	}
	var r io.ReadSeeker = bytes.NewReader(testdata.Town())
	if c.Map == "" {
		o.Map = testdata.TownFile
	} else {
		f, err := os.Open(c.Map)
		if err != nil {
			return err
		}
		defer f.Close()
		r = f
	}
	// Near the limit garbage is collected sooner; nothing is refused. GOMEMLIMIT sets another.
	if o.MemoryBytes = debug.SetMemoryLimit(-1); o.MemoryBytes == math.MaxInt64 {
		o.MemoryBytes = tiling.MemoryPerCore * int64(runtime.GOMAXPROCS(0))
		debug.SetMemoryLimit(o.MemoryBytes)
	}
	shared, err := c.sharing.open(ctx, w, c.Out)
	if err != nil {
		return err
	}
	defer shared.close()
	o.Share = shared.share()
	res, err := o.Import(ctx, r, c.Out)
	bar.clear()
	if problems := (fault.Problems)(nil); errors.As(err, &problems) && len(o.Counts) > 0 {
		return inCounts(problems)
	}
	if err != nil {
		return err
	}
	printTiles(w, res, c.Out, w.now().Sub(begin))
	return shared.publish(ctx, w, c.Out)
}

// stageTold says how far an import is, in few words.
func stageTold(p tiling.Progress) string {
	if p.Stage != "" {
		return p.Stage
	}
	told := fmt.Sprintf("tile %d of %d", min(p.Done+1, p.Tiles), p.Tiles)
	switch minutes := math.Ceil(p.Left.Minutes()); {
	case p.Left == 0:
	case minutes <= 1:
		told += ", about a minute left"
	case minutes < 120:
		told += fmt.Sprintf(", about %.0f min left", minutes)
	default:
		told += fmt.Sprintf(", about %.0f h left", math.Ceil(p.Left.Hours()))
	}
	return told
}

func printTiles(w *world, res *tiling.Result, dir string, took time.Duration) {
	size := int64(0)
	var zones, countries []string
	for _, t := range res.Table.Tiles {
		size += t.Bytes
		zones, countries = append(zones, t.Zone), append(countries, t.Country)
	}
	fmt.Fprintf(w.out, "%s: %s, time zone %s, country %s; %.1f MB in %.1f s\n", dir, number(len(res.Table.Tiles), "tile"), each(zones), each(countries), float64(size)/1e6, took.Seconds())
	if res.Kept > 0 {
		fmt.Fprintf(w.out, "  done before and kept: %d\n", res.Kept)
	}
	for _, kind := range slices.Sorted(maps.Keys(res.Odd)) {
		fmt.Fprintf(w.out, "  odd: %s: %d\n", kind, res.Odd[kind])
	}
	fmt.Fprintln(w.out, snapshot.Licence)
}

func number(n int, of string) string {
	if n == 1 {
		return "1 " + of
	}
	return fmt.Sprintf("%d %ss", n, of)
}

// each lists what there is, each once.
func each(of []string) string {
	of = slices.Compact(slices.Sorted(slices.Values(of)))
	for i := range of {
		if of[i] == "" {
			of[i] = "not known"
		}
	}
	return strings.Join(of, ", ")
}

// checkFolder walks the folder of a map in tiles.
func checkFolder(ctx context.Context, w *world, dir string) error {
	c, err := tiling.Check(ctx, dir)
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: %w: there is no %s in it", dir, flatfile.ErrNotThis, contents.Name)
	}
	if err != nil {
		return err
	}
	for _, b := range c.Breaches {
		fmt.Fprintln(w.out, b)
	}
	for _, name := range c.Leftovers {
		fmt.Fprintf(w.out, "%s: left over, not named in %s; the next import removes it\n", filepath.Join(dir, name), contents.Name)
	}
	if c.Broken {
		fmt.Fprintf(w.out, "%s: an import did not end here; the same command goes on with it\n", dir)
	}
	if len(c.Breaches) > 0 {
		return fmt.Errorf("%s: %w: %d breaches", dir, snapshot.ErrUnsound, len(c.Breaches))
	}
	fmt.Fprintf(w.out, "%s is sound: %s, map of %s\n", dir, number(len(c.Table.Tiles), "tile"), dateOf(c.Table.MapTime))
	return nil
}
