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
	Since       *cut.Since       // in what the extract differs from the one that is in the folder; nil: not known
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
	Kept  int            // tiles that were there, or steps towards one
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
	o.Settings.Format = snapshot.Version
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
		Picker: osmdata.NewPicker(snapshot.Rules()), MarginM: o.MarginM, TileBytes: o.TileBytes, Sign: o.Tool, Program: "wideberth " + o.Tool, Since: o.Since,
		Progress: func(stage string, share float64) { o.tell(Progress{Stage: stage, Share: share}) },
	}.Cut(ctx, r, dir)
	if err != nil {
		return nil, fmt.Errorf("import %s: %w", o.Map, err)
	}
	if err := checkCounts(blocks, o.Counts); err != nil {
		return nil, err
	}
	res = &Result{Odd: blocks.Odd, Table: contents.Table{MapTime: blocks.MapTime}}
	var due []*cut.Block
	for i := range blocks.Blocks {
		b := &blocks.Blocks[i]
		tile, walked, kept := past.keeps(b, o.Counts)
		switch {
		case !kept:
			due = append(due, b)
			continue
		case walked:
			res.Table.Tiles = append(res.Table.Tiles, tile)
		default:
			res.Empty++
		}
		res.Kept++
	}
	if err := o.make(ctx, dir, &making{all: blocks.Blocks, due: due, table: before, past: past}, res); err != nil {
		return nil, err
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
	slices.SortFunc(res.Table.Tiles, func(a, b contents.Tile) int { return strings.Compare(a.Key, b.Key) })
	res.Table.Made = o.Now()
	if err := contents.Write(dir, res.Table); err != nil {
		return nil, err
	}
	return res, errors.Join(os.RemoveAll(filepath.Join(dir, beforeFolder)), sweepSteps(dir, func(name string) bool { return strings.HasPrefix(name, string(Join)) }))
}

// making is what an import has to make.
type making struct {
	all   []cut.Block
	due   []*cut.Block // whose tiles are to be made
	table contents.Table
	past  *before
}

// make has the tiles made that are due. All parts of the map tell what they know of the
// whole; then each that is wanted is surveyed, and the tiles are joined.
func (o *Options) make(ctx context.Context, dir string, m *making, res *Result) error {
	if len(m.due) == 0 {
		return sweep(dir, m.table, nil, nil)
	}
	begun := o.Now()
	glances := make([]Step, len(m.all))
	for i := range m.all {
		glances[i] = step(Glance, &m.all[i], o.Settings, nil)
		if err := glances[i].name(); err != nil {
			return err
		}
	}
	if err := o.do(ctx, dir, glances, phase{begun, 0, glanceShare, 0, len(m.due)}, new(int)); err != nil {
		return err
	}
	told, err := gather(dir, glances)
	if err != nil {
		return err
	}
	surveys, joins, err := o.surveysAndJoins(m, told)
	if err != nil {
		return err
	}
	// What is left over from earlier goes before room is needed; what the table names stays
	// for those who read it.
	if err := sweep(dir, m.table, slices.Concat(glances, surveys, joins), told); err != nil {
		return err
	}
	wanted := slices.DeleteFunc(slices.Clone(surveys), func(s Step) bool {
		return !slices.ContainsFunc(joins, func(j Step) bool { return !j.Done(dir) && slices.Contains(j.Inputs, s.Output) })
	})
	if err := o.do(ctx, dir, wanted, phase{begun, glanceShare, surveyShare, 0, len(m.due)}, &res.Kept); err != nil {
		return err
	}
	if err := o.do(ctx, dir, joins, phase{begun, surveyShare, 1, 1, len(m.due)}, &res.Kept); err != nil {
		return err
	}
	for i := range joins {
		t, walked, err := joins[i].tile(dir)
		if err != nil {
			return err
		}
		if walked {
			res.Table.Tiles = append(res.Table.Tiles, t)
		} else {
			res.Empty++
		}
	}
	return nil
}

// surveysAndJoins lists the steps that make the tiles that are due. A tile that is made of
// the one before needs no survey.
func (o *Options) surveysAndJoins(m *making, told wholes) (surveys, joins []Step, err error) {
	for _, b := range m.due {
		j := step(Join, b, o.Settings, told)
		j.before = m.past
		joins = append(joins, j)
	}
	afresh := func(b *cut.Block) bool {
		return slices.ContainsFunc(joins, func(j Step) bool {
			_, _, renewed := m.past.of(&j)
			return !renewed && contents.Box(b.Core).Meets(j.Served)
		})
	}
	for i := range m.all {
		if !afresh(&m.all[i]) {
			continue
		}
		s := step(Survey, &m.all[i], o.Settings, told)
		if err := s.name(); err != nil {
			return nil, nil, err
		}
		surveys = append(surveys, s)
	}
	for i := range joins {
		if _, _, renewed := m.past.of(&joins[i]); !renewed {
			joins[i].take(surveys)
		}
		if err := joins[i].name(); err != nil {
			return nil, nil, err
		}
	}
	return surveys, joins, nil
}

// Shares of the time after cutting by which looking at all parts, and surveying, are
// done; measured on a state.
const (
	glanceShare = 0.06
	surveyShare = 0.8
)

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
// outputs that are of none of the steps, nor what the whole map told. With no steps notes
// of earlier ones stay.
func sweep(dir string, before contents.Table, steps []Step, told wholes) error {
	keep, ours := before, map[string]bool{}
	keep.Tiles = slices.Clone(keep.Tiles)
	for _, name := range told {
		ours[filepath.Base(filepath.FromSlash(name))] = true
	}
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
	for _, name := range left {
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			return err
		}
	}
	return sweepSteps(dir, func(name string) bool { return ours[name] || len(steps) == 0 })
}

// sweepSteps removes outputs that are not kept.
func sweepSteps(dir string, kept func(name string) bool) error {
	entries, err := os.ReadDir(filepath.Join(dir, stepsFolder))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range entries {
		if kept(e.Name()) {
			continue
		}
		if err := os.Remove(filepath.Join(dir, stepsFolder, e.Name())); err != nil {
			return err
		}
	}
	return nil
}

// do does the steps that are not done, the largest first, on a worker a core as far as
// memory allows, and counts those that are.
func (o *Options) do(ctx context.Context, dir string, steps []Step, p phase, kept *int) error {
	var due []*Step
	for i := range steps {
		if steps[i].Done(dir) {
			*kept++
		} else {
			due = append(due, &steps[i])
		}
	}
	slices.SortStableFunc(due, func(a, b *Step) int { return int(b.Bytes - a.Bytes) })
	c := &clock{o: o, phase: p, due: due, shares: make([]float64, len(due)), done: (len(steps) - len(due)) * p.each}
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

// phase is the part of an import that steps of one kind are.
type phase struct {
	begun    time.Time // the first one
	from, to float64   // shares of all
	each     int       // tiles that a step finishes
	tiles    int       // in all
}

// clock tells how far the steps of a phase are, by the bytes of their inputs.
type clock struct {
	o *Options
	phase
	mu     sync.Mutex // guards what follows
	due    []*Step
	shares []float64
	done   int
}

func (c *clock) show(step int, share float64, done int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.shares[step] = max(c.shares[step], share)
	c.done += done * c.each
	got, all := 0.0, 0.0
	for i, s := range c.due {
		got += c.shares[i] * float64(s.Bytes)
		all += float64(s.Bytes)
	}
	p := Progress{Share: c.from + (c.to-c.from)*got/max(all, 1), Done: c.done, Tiles: c.tiles}
	if p.Share > leastForecast {
		p.Left = time.Duration(float64(c.o.Now().Sub(c.begun)) * (1 - p.Share) / p.Share)
	}
	c.o.tell(p)
}

// leastForecast is the share from which on the time left is worth telling.
const leastForecast = 0.02
