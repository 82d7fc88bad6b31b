package update

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/change"
	"wideberth/osmdata/cut"
	"wideberth/osmdata/fault"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"

	"github.com/paulmach/osm"
)

// FolderOutcome says what an update of a map in tiles came to.
type FolderOutcome struct {
	*tiling.Result
	Beyond int // nodes of the changes that lie far outside the map
	Was    time.Time
}

// FolderOptions say what a map in tiles is brought up to.
type FolderOptions struct {
	Extract  string   // path of the extract that it was imported from; "" for the one that an update left in the folder
	Changes  []string // paths of files of changes since the map's time, in any order, or of one newer extract
	Tool     string   // version of the program
	Now      func() time.Time
	Progress func(tiling.Progress)
}

// What an update by files of changes leaves in the folder: the whole extract as it is
// now, which the next one changes.
const (
	extractName = tiling.ExtractName
	nextName    = ".next.osm.pbf" // until the tiles are made of it
)

// Folder brings a map in tiles up to date. Tiles whose part of the map did not change
// stay; of the others what lies about changes is surveyed. Until the end the folder
// serves the old map, and what was broken off goes on with the same call. Errors are
// those of File and of tiling.Options.Import.
func Folder(ctx context.Context, dir string, o FolderOptions) (*FolderOutcome, error) {
	how, table, err := tiling.Kept(dir)
	if err != nil {
		return nil, err
	}
	if how.Tool != o.Tool {
		return nil, fault.One("dir", dir, fmt.Sprintf("it was imported by version %s of the program, and this is %s: import it again", how.Tool, o.Tool))
	}
	how.Now, how.Progress = o.Now, o.Progress
	u := &folding{dir: dir, o: o, how: how, table: table, out: FolderOutcome{Was: table.MapTime}}
	if err := u.settle(ctx); err != nil {
		return nil, err
	}
	newer, err := newerExtract(o.Changes)
	if err != nil {
		return nil, err
	}
	if newer != "" {
		err = u.replace(ctx, newer)
	} else {
		err = u.change(ctx)
	}
	if err != nil {
		return nil, err
	}
	return &u.out, nil
}

// folding is an update of a folder under way.
type folding struct {
	dir   string
	o     FolderOptions
	how   tiling.Options
	table contents.Table
	out   FolderOutcome
}

func (u *folding) at(name string) string { return filepath.Join(u.dir, name) }

// settle ends an update that was broken off after its tiles had been put into the table.
func (u *folding) settle(ctx context.Context) error {
	e, f, err := openExtract(ctx, u.at(nextName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil { // not whole: it is written again
		return os.Remove(u.at(nextName))
	}
	done := e.Timestamp.Equal(u.table.MapTime) && !e.Timestamp.IsZero()
	if err := f.Close(); err != nil || !done {
		return err
	}
	return os.Rename(u.at(nextName), u.at(extractName))
}

// openExtract opens an extract and reads what it says of itself.
func openExtract(ctx context.Context, path string) (*osmdata.Elements, *os.File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, err
	}
	e, err := osmdata.OpenElements(ctx, f, 1, nil)
	if err == nil {
		err = head(ctx, e)
	}
	if err != nil {
		return nil, nil, errors.Join(err, f.Close())
	}
	return e, f, nil
}

// replace imports a newer extract.
func (u *folding) replace(ctx context.Context, path string) error {
	e, f, err := openExtract(ctx, path)
	if err != nil {
		return err
	}
	defer f.Close()
	if was := u.table.MapTime; !was.IsZero() && e.Timestamp.Before(was) && !e.Timestamp.IsZero() {
		return fault.One("changes", path, fmt.Sprintf("it is of %s and the map of %s: name a newer extract", e.Timestamp.Format(time.RFC3339), was.Format(time.RFC3339)))
	}
	if err := u.imports(ctx, f); err != nil {
		return err
	}
	// What an earlier update left is no longer what the tiles are made of.
	if err := os.Remove(u.at(extractName)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func (u *folding) imports(ctx context.Context, f *os.File) (err error) {
	u.out.Result, err = u.how.Import(ctx, f, u.dir)
	return err
}

// change lays files of changes over the extract and imports what comes out.
func (u *folding) change(ctx context.Context) (err error) {
	path := u.o.Extract
	if path == "" {
		path = u.at(extractName)
	}
	e, f, err := openExtract(ctx, path)
	if errors.Is(err, fs.ErrNotExist) && u.o.Extract == "" {
		return fault.One("--map", "", "name the extract that the map was imported from: from then on one is kept in the folder")
	}
	if err != nil {
		return err
	}
	defer f.Close()
	if was := u.table.MapTime; !was.Equal(e.Timestamp) {
		return fault.One("--map", path, fmt.Sprintf("it is of %s and the map of %s: name the extract that the map was imported from, or leave this out if it was updated since", timeOf(e.Timestamp), timeOf(was)))
	}
	set := change.NewSet(change.UsualMemory, "")
	defer func() { err = errors.Join(err, set.Close()) }()
	near := u.bounds()
	if b := e.Bounds; b != nil {
		near = change.Box{West: b.MinLon, South: b.MinLat, East: b.MaxLon, North: b.MaxLat}
	}
	set.Keep(near.Grow(beyondM))
	var files []change.File
	for i, path := range u.o.Changes {
		u.tell("reading changes", float64(i)/float64(len(u.o.Changes)))
		file, err := set.AddFile(ctx, path)
		if err != nil {
			return err
		}
		files = append(files, file)
	}
	state, err := change.State{Time: e.Timestamp, Sequence: e.Sequence}.Follow(files)
	if err != nil {
		return err
	}
	u.out.Beyond = set.Beyond()
	if !set.Aside() { // else so much changed that all of it is looked at
		u.tell("finding what the changes touch", 0)
		boxes, err := set.Differs(ctx, change.Of(e, nil), osmdata.NewPicker(snapshot.Rules()))
		if err != nil {
			return err
		}
		u.how.Since = &cut.Since{Extract: f}
		for _, b := range boxes {
			u.how.Since.Boxes = append(u.how.Since.Boxes, [4]float64{b.West, b.South, b.East, b.North})
		}
	}
	u.tell("laying the changes over the map", 0)
	if err := u.write(ctx, change.Of(e, set), cut.Head{Bounds: e.Bounds, Timestamp: state.Time, Program: "wideberth " + u.o.Tool}); err != nil {
		return err
	}
	next, err := os.Open(u.at(nextName))
	if err != nil {
		return err
	}
	defer next.Close()
	if err := u.imports(ctx, next); err != nil {
		return err
	}
	return os.Rename(u.at(nextName), u.at(extractName))
}

func timeOf(t time.Time) string {
	if t.IsZero() {
		return "no known time"
	}
	return t.Format(time.RFC3339)
}

func (u *folding) tell(stage string, share float64) {
	if u.o.Progress != nil {
		u.o.Progress(tiling.Progress{Stage: stage, Share: share})
	}
}

// bounds are those of the cores of all tiles.
func (u *folding) bounds() change.Box {
	first := u.table.Tiles[0].Core
	out := change.Box{West: first[0], South: first[1], East: first[2], North: first[3]}
	for _, t := range u.table.Tiles {
		out = out.Union(change.Box{West: t.Core[0], South: t.Core[1], East: t.Core[2], North: t.Core[3]})
	}
	return out
}

// write writes the changed extract, whole on the disk.
func (u *folding) write(ctx context.Context, m *change.Map, h cut.Head) error {
	f, err := os.Create(u.at(nextName))
	if err != nil {
		return err
	}
	to := bufio.NewWriterSize(f, 1<<20)
	w := cut.NewWriter(to, h)
	err = m.EachPart(ctx, func(p osmdata.Part) error {
		w.Copy(p)
		return nil
	}, func(o osm.Object) error {
		w.Add(o)
		return nil
	})
	_, closed := w.Close()
	err = cmp.Or(err, closed)
	err = cmp.Or(err, to.Flush())
	err = cmp.Or(err, f.Sync())
	if err = cmp.Or(err, f.Close()); err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}
