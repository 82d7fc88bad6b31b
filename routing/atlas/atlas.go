// Package atlas is the maps of one service: several files and folders of tiles, of which
// each question is answered by the one that its place lies in. It hides which tile that
// is, what of it is open, and how maps are changed while people walk on them.
//
// A tile is opened when somebody asks for a place in it, once however many ask, and closed
// when others need the room and nobody uses it.
package atlas

import (
	"container/list"
	"context"
	"errors"
	"fmt"
	"os"
	"reflect"
	"slices"
	"sync"
	"time"

	"wideberth/routing"
	"wideberth/routing/depot"
	"wideberth/routing/gazetteer"
	"wideberth/routing/snapshot"
)

// Options of an atlas.
type Options struct {
	// MemoryBytes is how much open maps may take of what the process holds, 0 for all that
	// there is: of each the bytes of its file, as if all pages of what is mapped were
	// looked at, and twice those of its planner (Planner.Bytes) and of what is kept beside
	// it, as the collector lets as much garbage lie as lives. Maps that requests are using
	// count, and are never closed, so it may be more for as long as these take. Not in it
	// are the program itself and the words of names, about a thousandth of the files' bytes,
	// which stay in memory once a text was looked for.
	MemoryBytes int64

	Cache      string           // folder for the tiles of maps that lie in buckets, needed where one does
	CacheBytes int64            // of tiles kept in it, of each bucket; 0 for no bound
	Now        func() time.Time // the clock, likewise
}

// Atlas is the maps of one service. Safe for concurrent use.
type Atlas struct {
	paths   []string
	opt     Options
	closing func(*routing.Planner)

	reloading sync.Mutex // one at a time

	mu      sync.Mutex // guards what follows, and the counts of every sheet
	now     *edition
	depots  map[string]*depot.Depot // by path; changed while reading only
	sheets  map[string]*Sheet       // those that are open or being opened, by the identity of their files
	order   list.List               // of *Sheet, the one that was asked for last in front
	bytes   int64
	opened  int64 // how often a file was opened,
	failed  int64 // and how often that failed
	gists   map[gistKey]*gist
	recent  list.List // of *gist, the one that was asked for last in front
	gistsB  int64     // bytes of them, which count in bytes
	grounds map[string]func() (ground, error)
	words   map[string]func() (*gazetteer.Words, error)
}

// edition is the tiles that are there at one time. Immutable.
type edition struct {
	tiles []*Tile
	files map[string]bool // by their identities
}

func newEdition(tiles []*Tile) *edition {
	e := &edition{tiles: tiles, files: make(map[string]bool, len(tiles))}
	for _, t := range tiles {
		e.files[t.id] = true
	}
	return e
}

// Sheet is a tile that is open.
type Sheet struct {
	*Tile
	Planner *routing.Planner

	snap        *snapshot.Snapshot // as it was opened: what the planner has may be a view of it
	ready       chan struct{}      // closed when Planner, or err, is there
	err         error
	users       int
	bytes       int64         // with those of beside
	at          *list.Element // in the order; nil once it was put away
	stays       bool          // it was made in memory: nobody could open it again
	beside      map[besideKey]*thing
	besideBytes int64
}

// besideKey tells things kept beside a sheet apart. They may depend on which tiles lie
// round it.
type besideKey struct {
	of  reflect.Type
	now *edition
}

// thing is something that is made once for a sheet and goes with it.
type thing struct {
	once  sync.Once
	value any
}

// Open makes an atlas of snapshots' files, of folders of tiles, and of buckets with tiles. A single file is opened
// at once; of several it is read what they show. Errors are *TileError.
func Open(ctx context.Context, paths []string, o Options) (*Atlas, error) {
	a := made(paths, o)
	next, err := a.read(ctx)
	if err != nil {
		return nil, err
	}
	a.now = next
	if len(next.tiles) == 1 {
		v := a.View()
		defer v.Close()
		if _, err := v.open(ctx, next.tiles[0]); err != nil {
			return nil, err
		}
	}
	return a, nil
}

// OnClosing names who is told of each planner whose map is about to be closed. It is
// called before the atlas is used.
func (a *Atlas) OnClosing(told func(*routing.Planner)) { a.closing = told }

// Of is an atlas of planners that are there already. They are never closed.
func Of(planners ...*routing.Planner) *Atlas {
	a := made(nil, Options{})
	var tiles []*Tile
	for i, p := range planners {
		snap := p.Snapshot()
		t := tileOf(&snap.About, snap.Frame)
		t.id = fmt.Sprint("made ", i)
		s := &Sheet{Tile: t, Planner: p, ready: make(chan struct{}), stays: true}
		close(s.ready)
		s.at = a.order.PushFront(s)
		a.sheets[t.id] = s
		tiles = append(tiles, t)
	}
	a.now = newEdition(tiles)
	return a
}

func made(paths []string, o Options) *Atlas {
	return &Atlas{paths: paths, opt: o, depots: map[string]*depot.Depot{}, sheets: map[string]*Sheet{}, gists: map[gistKey]*gist{}, grounds: map[string]func() (ground, error){},
		words: map[string]func() (*gazetteer.Words, error){}}
}

// read finds out what is there now.
func (a *Atlas) read(ctx context.Context) (*edition, error) {
	var out []*Tile
	for _, path := range a.paths {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if depot.Is(path) {
			tiles, err := a.ofBucket(ctx, path)
			if err != nil {
				return nil, err
			}
			out = append(out, tiles...)
			continue
		}
		if info, err := os.Stat(path); err == nil && info.IsDir() {
			tiles, err := ofFolder(path)
			if err != nil {
				return nil, err
			}
			out = append(out, tiles...)
			continue
		}
		t, err := ofFile(path)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	seen := map[string]bool{}
	out = slices.DeleteFunc(out, func(t *Tile) bool {
		twice := seen[t.id]
		seen[t.id] = true
		return twice
	})
	if len(out) == 0 {
		return nil, errors.New("there is no map: name a snapshot or a folder of tiles")
	}
	return newEdition(out), nil
}

// open gives a tile's sheet, which stays open until it is released. Whoever asks first
// opens it; the others wait for that, as long as their contexts last.
func (a *Atlas) open(ctx context.Context, t *Tile) (*Sheet, error) {
	a.mu.Lock()
	s := a.sheets[t.id]
	first := s == nil
	if first {
		s = &Sheet{Tile: t, ready: make(chan struct{})}
		a.sheets[t.id] = s
		s.at = a.order.PushFront(s)
	}
	s.users++
	a.order.MoveToFront(s.at)
	a.mu.Unlock()
	if first {
		a.fill(context.WithoutCancel(ctx), s) // others wait for it
	}
	select {
	case <-s.ready:
	case <-ctx.Done():
		a.release(s)
		return nil, ctx.Err()
	}
	if s.err != nil {
		a.release(s)
		return nil, s.err
	}
	return s, nil
}

// touch notes that somebody asks for a sheet that is open.
func (a *Atlas) touch(s *Sheet) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if s.at != nil {
		a.order.MoveToFront(s.at)
	}
}

// fill opens a sheet's file. One that cannot be opened is forgotten, so that the next who
// asks tries again.
func (a *Atlas) fill(ctx context.Context, s *Sheet) {
	defer close(s.ready)
	s.err = errors.New("opening it ended early") // should what follows not come to its end
	defer func() {
		a.mu.Lock()
		defer a.mu.Unlock()
		if s.err != nil {
			a.failed++
			a.forget(s)
			return
		}
		a.opened++
		s.bytes += s.Tile.Bytes + withGarbage*s.Planner.Bytes()
		if s.at != nil {
			a.bytes += s.bytes
			a.trim(s)
		}
	}()
	var snap *snapshot.Snapshot
	err := s.bring(ctx)
	if err == nil {
		snap, err = snapshot.Open(s.Path)
	}
	if err == nil {
		if s.Planner, err = routing.NewPlanner(snap, nil); err != nil {
			err = errors.Join(err, snap.Close())
		}
	}
	if err != nil {
		s.err = &TileError{Path: s.Path, Name: s.Name, Err: err}
		return
	}
	s.snap, s.err = snap, nil
}

// forget takes a sheet out of the order; a.mu is held.
func (a *Atlas) forget(s *Sheet) {
	if s.at == nil {
		return
	}
	a.order.Remove(s.at)
	s.at = nil
	if a.sheets[s.id] == s {
		delete(a.sheets, s.id)
	}
	a.bytes -= s.bytes
}

// release gives a sheet back.
func (a *Atlas) release(s *Sheet) {
	a.mu.Lock()
	defer a.mu.Unlock()
	s.users--
	switch {
	case s.users > 0:
	case s.at == nil:
		a.close(s)
	case !a.now.files[s.id]: // of a map that is no more
		a.putAway(s)
	}
	a.trim(nil)
}

// trim puts away sheets that nobody uses, those that were not asked for longest first,
// until all fit, but for one; a.mu is held.
func (a *Atlas) trim(but *Sheet) {
	if a.opt.MemoryBytes == 0 {
		return
	}
	for at := a.order.Back(); at != nil && a.bytes > a.opt.MemoryBytes; {
		s, before := at.Value.(*Sheet), at.Prev()
		if s != but && s.users == 0 && !s.stays {
			a.putAway(s)
		}
		at = before
	}
}

// putAway closes a sheet, now or when the last who uses it has gone; a.mu is held.
func (a *Atlas) putAway(s *Sheet) {
	a.forget(s)
	if s.users == 0 {
		a.close(s)
	}
}

// close ends a sheet that nobody uses and nobody can come by; a.mu is held.
func (a *Atlas) close(s *Sheet) {
	if s.Planner == nil {
		return
	}
	if a.closing != nil {
		a.closing(s.Planner)
	}
	s.beside = nil
	if s.snap != nil {
		_ = s.snap.Close() // of a file that was only read nothing is lost
	}
}

// Level is what an atlas has open.
type Level struct {
	Tiles  int   // that there are
	Open   int   // of these, and of earlier ones that are in use
	Bytes  int64 // of the open ones, as Options.MemoryBytes counts them
	Opened int64 // how often a file was opened so far
	Failed int64 // and how often one could not be
}

// Level says what is open now.
func (a *Atlas) Level() Level {
	a.mu.Lock()
	defer a.mu.Unlock()
	return Level{Tiles: len(a.now.tiles), Open: len(a.sheets), Bytes: a.bytes, Opened: a.opened, Failed: a.failed}
}

// Tiles are the tiles that there are now, in the order in which they were named. They must
// not be changed.
func (a *Atlas) Tiles() []*Tile {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.now.tiles
}

// Beside is what was made for a sheet of the type T: once, when it is first asked for,
// kept as long as the sheet is open, and counted with the bytes that it says it takes.
func Beside[T any](v *View, s *Sheet, first func() (value T, bytes int64)) T {
	key := besideKey{reflect.TypeFor[T](), v.now}
	v.atlas.mu.Lock()
	if s.beside == nil {
		s.beside = map[besideKey]*thing{}
	}
	x := s.beside[key]
	if x == nil {
		x = &thing{}
		s.beside[key] = x
	}
	v.atlas.mu.Unlock()
	x.once.Do(func() {
		value, bytes := first()
		x.value = value
		v.atlas.mu.Lock()
		defer v.atlas.mu.Unlock()
		if s.beside[key] == x { // else the maps were changed meanwhile
			v.atlas.weigh(s, withGarbage*bytes)
			v.atlas.trim(s)
		}
	})
	return x.value.(T)
}

// withGarbage is how many bytes a heap holds for each that lives: the collector begins
// when as much again was asked for (package runtime, GOGC of 100).
const withGarbage = 2

// weigh counts what is kept beside a sheet; a.mu is held.
func (a *Atlas) weigh(s *Sheet, bytes int64) {
	s.bytes += bytes
	s.besideBytes += bytes
	if s.at != nil {
		a.bytes += bytes
	}
}
