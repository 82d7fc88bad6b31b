// Package tiling imports a map of any size as tiles: it cuts the extract, does the steps
// that each tile needs, as many at once as memory allows, and puts a table of contents
// before the files when all of them are there. It hides what is done in which order and
// how an import that was broken off goes on.
package tiling

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/parallel"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
)

// MarginM is how far about its core a tile reaches: half of a walk of 180 minutes, so
// that the tile of the start answers a plan whole.
const MarginM = 7000

// AboveBytes is how large an extract is that is imported as tiles by itself: a single
// snapshot of one takes some 8 GB of memory (measured on smaller ones).
const AboveBytes = 100 << 20

// MemoryPerCore is how much the steps that are under way may take together for each core,
// where nothing else is asked for.
const MemoryPerCore = 512 << 20

// memoryPerByte is what a survey takes for each byte of its block, at most: measured on
// parts of a state.
const memoryPerByte = 100

// Options say how to import.
type Options struct {
	Settings
	TileBytes   int64            // as in cut.Options; 0 for the usual
	MarginM     float64          // 0 for MarginM
	MemoryBytes int64            // 0 for MemoryPerCore on each; one step is done however large it is
	Now         func() time.Time // for the time left, and when the table was made
	Progress    func(Progress)   // called by one goroutine at a time, may be nil

	// Share has steps done on other machines, and their outputs in the folder: done is told
	// of each by its index. Nil: they are done here.
	Share func(ctx context.Context, due []*Step, done func(i int)) error
}

// Progress tells how far an import is.
type Progress struct {
	Stage       string // of cutting; "" for the steps after it
	Share       float64
	Done, Tiles int           // of the steps after cutting
	Left        time.Duration // as long as the steps that are to be done will take, at the rate until now; 0 where nothing is known yet
}

// Result is what an import made.
type Result struct {
	Table contents.Table
	Kept  int            // tiles that were there
	Empty int            // parts of the map without a way to walk
	Odd   map[string]int // oddities of the map as a whole

	Renewed         int // tiles that were made of those before
	Edges, Surveyed int // of those: all, and those that were surveyed anew
}

// names are what a folder of a map holds beside its tiles.
const (
	lockName = "import.lock"
	// ExtractName is what the whole extract is called where one is kept in the folder.
	ExtractName = "map.osm.pbf"
)

// Import imports an extract into a folder, which is made if need be. One that was broken
// off goes on; tiles whose part of the map and settings did not change are kept. Until
// the end the folder serves what it did before. Another import into it at the same time
// is refused (flatfile.ErrInUse), as is a folder with other things in it. Errors are
// those of cut.Options.Cut and snapshot.ImportFrom.
func (o Options) Import(ctx context.Context, r io.ReadSeeker, dir string) (res *Result, err error) {
	if o.MarginM == 0 {
		o.MarginM = MarginM
	}
	if o.MemoryBytes == 0 {
		o.MemoryBytes = MemoryPerCore * int64(runtime.GOMAXPROCS(0))
	}
	if err := prepare(dir); err != nil {
		return nil, err
	}
	release, err := flatfile.Lock(filepath.Join(dir, lockName))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, release()) }()
	before, err := contents.Read(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	past, err := o.beforeOf(dir, before)
	if err != nil {
		return nil, err
	}
	blocks, err := cut.Options{
		Picker: osmdata.NewPicker(snapshot.Rules()), MarginM: o.MarginM, TileBytes: o.TileBytes, Sign: o.Tool, Program: "wideberth " + o.Tool,
		Progress: func(stage string, share float64) { o.tell(Progress{Stage: stage, Share: share}) },
	}.Cut(ctx, r, dir)
	if err != nil {
		return nil, fmt.Errorf("import %s: %w", o.Map, err)
	}
	steps, err := Steps(blocks, o.Settings)
	if err != nil {
		return nil, err
	}
	// What is left over from earlier goes before room is needed; what the table names stays
	// for those who read it.
	if err := sweep(dir, before, steps); err != nil {
		return nil, err
	}
	res = &Result{Odd: blocks.Odd}
	for i := range steps {
		steps[i].before = past
	}
	if err := o.do(ctx, dir, steps, res); err != nil {
		return nil, err
	}
	res.Table = contents.Table{Made: o.Now(), MapTime: blocks.MapTime}
	for i := range steps {
		t, walked, err := steps[i].tile(dir)
		if err != nil {
			return nil, err
		}
		if walked {
			res.Table.Tiles = append(res.Table.Tiles, t)
		} else {
			res.Empty++
		}
	}
	if len(res.Table.Tiles) == 0 {
		return nil, fmt.Errorf("import %s: %w", o.Map, osmdata.ErrNothingToWalk)
	}
	if res.Table.Settings, err = json.Marshal(o.kept()); err != nil {
		return nil, fmt.Errorf("import %s: %w", o.Map, err)
	}
	if past != nil {
		res.Renewed, res.Edges, res.Surveyed = past.tilesOf, past.renewed.Edges, past.renewed.Surveyed
	}
	if err := contents.Write(dir, res.Table); err != nil {
		return nil, err
	}
	return res, os.RemoveAll(filepath.Join(dir, beforeFolder))
}

func (o *Options) tell(p Progress) {
	if o.Progress != nil {
		o.Progress(p)
	}
}

// prepare makes the folder, or sees that it is one of a map.
func prepare(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return os.MkdirAll(dir, 0o755)
	}
	if err != nil {
		return err
	}
	for _, e := range entries {
		switch e.Name() {
		case lockName, ExtractName, contents.Name, cut.Folder, cut.Unfinished, stepsFolder:
		default:
			if !contents.Ours(e.Name()) && !strings.HasPrefix(e.Name(), ".") { // what was being written
				return fault.One("--out", dir, "holds other things, like "+e.Name()+": give a folder of its own, or the name of one that is not there")
			}
		}
	}
	return nil
}

// sweep removes files of tiles that neither the table names nor a step was put in, and
// outputs that are of none of the steps.
func sweep(dir string, before contents.Table, steps []Step) error {
	keep, ours := before, map[string]bool{}
	keep.Tiles = slices.Clone(keep.Tiles)
	for i := range steps {
		if t, put := steps[i].note(dir); put {
			keep.Tiles = append(keep.Tiles, t)
		}
		ours[filepath.Base(steps[i].at(dir))], ours[filepath.Base(steps[i].notePath(dir))] = true, true
	}
	left, err := keep.Leftovers(dir)
	if err != nil {
		return err
	}
	entries, err := os.ReadDir(filepath.Join(dir, stepsFolder))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range entries {
		if !ours[e.Name()] {
			left = append(left, filepath.Join(stepsFolder, e.Name()))
		}
	}
	for _, name := range left {
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			return err
		}
	}
	return nil
}

// do does the steps that are not done, the largest first, on a worker a core as far as
// memory allows.
func (o *Options) do(ctx context.Context, dir string, steps []Step, res *Result) error {
	var due []*Step
	for i := range steps {
		if steps[i].Done(dir) {
			res.Kept++
		} else {
			due = append(due, &steps[i])
		}
	}
	slices.SortStableFunc(due, func(a, b *Step) int { return int(b.Bytes - a.Bytes) })
	c := newClock(o, due, len(steps))
	if o.Share != nil {
		return o.Share(ctx, due, func(i int) { c.show(i, 1, 1) })
	}
	m := newRoom(o.MemoryBytes)
	return parallel.For(ctx, len(due), func(i int) error {
		s := due[i]
		m.take(memoryPerByte * s.Bytes)
		defer m.give(memoryPerByte * s.Bytes)
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := s.Do(ctx, dir, func(share float64) { c.show(i, share, 0) }); err != nil {
			return err
		}
		c.show(i, 1, 1)
		return nil
	})
}

// room lets in who fits beside those who are in, and whoever would be alone.
type room struct {
	mu   sync.Mutex
	cond *sync.Cond
	left int64
	most int64
}

func newRoom(most int64) *room {
	r := &room{left: most, most: most}
	r.cond = sync.NewCond(&r.mu)
	return r
}

func (r *room) take(n int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for r.left < n && r.left < r.most {
		r.cond.Wait()
	}
	r.left -= n
}

func (r *room) give(n int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.left += n
	r.cond.Broadcast()
}

// clock tells how far the steps are, by the bytes of their inputs.
type clock struct {
	o      *Options
	mu     sync.Mutex // guards what follows
	begun  time.Time
	due    []*Step
	shares []float64
	done   int
	tiles  int
}

func newClock(o *Options, due []*Step, tiles int) *clock {
	return &clock{o: o, begun: o.Now(), due: due, shares: make([]float64, len(due)), done: tiles - len(due), tiles: tiles}
}

func (c *clock) show(step int, share float64, done int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.shares[step] = max(c.shares[step], share)
	c.done += done
	got, all := 0.0, 0.0
	for i, s := range c.due {
		got += c.shares[i] * float64(s.Bytes)
		all += float64(s.Bytes)
	}
	p := Progress{Share: got / max(all, 1), Done: c.done, Tiles: c.tiles}
	if p.Share > leastForecast {
		p.Left = time.Duration(float64(c.o.Now().Sub(c.begun)) * (1 - p.Share) / p.Share)
	}
	c.o.tell(p)
}

// leastForecast is the share from which on the time left is worth telling.
const leastForecast = 0.02
