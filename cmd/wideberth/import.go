package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/routing/snapshot"
	"wideberth/testdata"
)

type importCommand struct {
	Map      string `arg:"" optional:"" help:"OpenStreetMap extract: .osm.pbf, or .osm plain, .gz or .bz2. Left out: the invented town of the demo."`
	Out      string `required:"" placeholder:"FILE|DIR" help:"Snapshot to write; with --tiles the folder of the map."`
	Tiles    *bool  `negatable:"" help:"Import as tiles into a folder, with as much memory for a country as for a state; what was broken off goes on. Left out: for a MAP of more than 100 MB."`
	TileSize int64  `hidden:"" placeholder:"BYTES" help:"How much of a PBF file the middle of a tile holds at most, for tests; left out: 8 MB."`
	TimeZone string `placeholder:"NAME" help:"IANA time zone of the place; left out: found from where it lies."`
	Heights  string `placeholder:"DIR" help:"Folder of .hgt height tiles; left out: all ground is taken as level."`
	Counts   string `placeholder:"FILE.csv" help:"What was counted on the ground: columns lat, lon, start (with its zone), minutes, and some of dogs, people, wheels, traffic. It binds the levels there."`
	sharing
	Country string `placeholder:"CODE" help:"Two letters (ISO 3166-1, like US) for who may walk where, habits, holidays and hours. Left out: the general rules of who may walk, all else by the country that addresses on the map or its time zone name."`
}

func (c *importCommand) Run(ctx context.Context, w *world) error {
	if err := c.check(); err != nil {
		return err
	}
	begin := w.now()
	bar := progressBar{w: w.err, on: w.tty}
	if c.asTiles() {
		return c.importTiles(ctx, w, &bar)
	}
	o := snapshot.ImportOptions{TimeZone: c.TimeZone, Country: c.Country, Heights: c.Heights, Tool: version, Progress: bar.show}
	if err := c.readCounts(w, &o); err != nil {
		return err
	}
	snap, err := c.read(ctx, o)
	bar.clear()
	if err != nil {
		return err
	}
	if err := snap.WriteFile(c.Out); err != nil {
		return err
	}
	printImport(w, snap, c.Out, w.now().Sub(begin))
	return nil
}

// read reads the map, or the town that is part of the program.
func (c *importCommand) read(ctx context.Context, o snapshot.ImportOptions) (*snapshot.Snapshot, error) {
	if c.Map == "" {
		return snapshot.ImportFrom(ctx, bytes.NewReader(testdata.Town()), testdata.TownFile, o)
	}
	return snapshot.Import(ctx, c.Map, o)
}

// check says what is wrong before minutes are spent on a map.
func (c *importCommand) check() error {
	if c.Country != "" && !countryCode.MatchString(c.Country) {
		return wrong("country", c.Country, "use a code of two letters, like US")
	}
	if code := hours.Country(c.Country); code != "" && !hours.KnownCountry(code) {
		return wrong("country", c.Country, "no country has this code (ISO 3166-1): use one like US, or leave it out")
	}
	if err := c.sharing.check(c.asTiles()); err != nil {
		return err
	}
	if info, err := os.Stat(c.Out); err == nil && info.IsDir() != c.asTiles() {
		if c.asTiles() {
			return wrong("out", c.Out, "this is a file: tiles want a folder, or a name that is not there")
		}
		return wrong("out", c.Out, "this is a folder: name a file, or import with --tiles")
	}
	dir := filepath.Dir(filepath.Clean(c.Out))
	if info, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
		return wrong("out", c.Out, "there is no folder "+dir+": make it first")
	} else if err == nil && !info.IsDir() {
		return wrong("out", c.Out, dir+" is a file, not a folder")
	}
	return nil
}

// countryCode is the form of an ISO 3166-1 alpha-2 code.
var countryCode = regexp.MustCompile(`^[A-Za-z]{2}$`)

func printImport(w *world, s *snapshot.Snapshot, path string, took time.Duration) {
	size := int64(0)
	if info, err := os.Stat(path); err == nil {
		size = info.Size()
	}
	fmt.Fprintf(w.out, "%s: %s, %d edges, %d junctions, %d sources of triggers, time zone %s, %s; %.1f MB in %.1f s\n",
		path, s.Name, s.Graph.EdgeCount(), s.Graph.Star.VertexCount(), len(s.Field.Sources), s.Zone, countryTold(s), float64(size)/1e6, took.Seconds())
	for _, kind := range slices.Sorted(maps.Keys(s.Odd)) {
		fmt.Fprintf(w.out, "  odd: %s: %d\n", kind, s.Odd[kind])
	}
	fmt.Fprintln(w.out, snapshot.Licence)
}

// countryTold says whose habits hold.
func countryTold(s *snapshot.Snapshot) string {
	known := exposure.HabitsOf(s.Country).Country != ""
	from := map[snapshot.Known]string{snapshot.ByName: "as named", snapshot.ByBorder: "by its boundary on the map",
		snapshot.ByAddresses: "by addresses on the map", snapshot.ByZone: "by the time zone"}[s.CountryFrom]
	switch {
	case s.Country == "":
		return "country not known (habits and holidays by default: name it with --country)"
	case !known:
		return "country " + s.Country + " (nothing known of its habits: those by default; " + from + ")"
	}
	return "country " + s.Country + " (" + from + ")"
}

// progressBar draws how far an import is, on a terminal only.
type progressBar struct {
	w     io.Writer
	on    bool
	shown string
}

const barWidth = 30

func (b *progressBar) show(stage string, share float64) {
	if !b.on {
		return
	}
	full := int(share * barWidth)
	line := fmt.Sprintf("\r[%s%s] %3.0f %%  %-32s", strings.Repeat("=", full), strings.Repeat(" ", barWidth-full), 100*share, stage)
	if line != b.shown {
		fmt.Fprint(b.w, line)
		b.shown = line
	}
}

func (b *progressBar) clear() {
	if b.on {
		fmt.Fprintf(b.w, "\r%*s\r", barWidth+45, "")
	}
}

type checkCommand struct {
	File string `arg:"" help:"Snapshot to check, or the folder of a map in tiles."`
}

func (c *checkCommand) Run(ctx context.Context, w *world) error {
	if info, err := os.Stat(c.File); err == nil && info.IsDir() {
		return checkFolder(ctx, w, c.File)
	}
	snap, err := snapshot.Open(c.File)
	if err != nil {
		return err
	}
	breaches := append(snap.Verify(), snap.Check()...)
	for _, b := range breaches {
		fmt.Fprintln(w.out, b)
	}
	if len(breaches) > 0 {
		return fmt.Errorf("%s: %w: %d breaches", c.File, snapshot.ErrUnsound, len(breaches))
	}
	fmt.Fprintf(w.out, "%s is sound: %s, %d edges, map of %s\n", c.File, snap.Name, snap.Graph.EdgeCount(), dateOf(snap.MapTime))
	return nil
}

func dateOf(t time.Time) string {
	if t.IsZero() {
		return "unknown date"
	}
	return t.Format("2 Jan 2006")
}
