package tiling

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/cut"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/contents"
	"wideberth/routing/counts"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
	"wideberth/routing/survey"
)

// Kind is what a step does.
type Kind string

// The kinds of steps, in the order in which they are done. Where there is nothing to walk
// the share is null, and the snapshots are empty files.
const (
	Glance Kind = "glance" // what a block tells of the whole map, as JSON
	Survey Kind = "survey" // the snapshot of a block whose rows are good in the tile's core
	Join   Kind = "join"   // the snapshot of the tile, put together from the surveys about it
)

// Step is a piece of an import after cutting. It knows files alone, all of them relative
// to the folder of the map, so that it can be done anywhere its inputs are, and holds
// nothing else. What its output is called depends on all that is in it: a step whose
// output is there is done.
type Step struct {
	Kind     Kind         `json:"kind"`
	Key      string       `json:"key"`    // of the tile
	Inputs   []string     `json:"inputs"` // whose names change with what they hold
	Output   string       `json:"output"`
	Core     contents.Box `json:"core"`   // of the tile
	Served   contents.Box `json:"served"` // core and margin
	Bytes    int64        `json:"bytes"`  // of the inputs: memory and time go with them
	Settings Settings     `json:"settings"`

	// Of a join: the cores of the surveys among its inputs, which are the last ones. Without
	// any the tile is surveyed as a whole, margin and all.
	Surveyed []contents.Box `json:"surveyed,omitempty"`

	before *before // that the output may be made of; nil for none
}

// Settings are what steps do alike, and the counts of one tile.
type Settings struct {
	Map      string  `json:"map"`       // what the map is called
	TimeZone string  `json:"time_zone"` // as in snapshot.ImportOptions
	Country  string  `json:"country"`
	Heights  string  `json:"heights"`
	Tool     string  `json:"tool"`
	Format   int     `json:"format"` // of snapshots; set by Import
	Counts   []Count `json:"counts,omitempty"`
}

// Count is something counted on the ground and where its file says so.
type Count struct {
	exposure.Count
	Pointer string `json:"pointer"`
	Told    string `json:"told"`
}

// stepsFolder is where outputs stand.
const stepsFolder = "steps"

// checkCounts tells of counts that lie in no tile.
func checkCounts(blocks *cut.Blocks, list []Count) error {
	var wrong fault.Problems
	for _, c := range list {
		on := false
		for _, b := range blocks.Blocks {
			on = on || contents.Box(b.Core).Holds(c.Lon, c.Lat)
		}
		if !on {
			wrong = append(wrong, fault.Problem{Pointer: c.Pointer + "/lat", Value: fmt.Sprintf("%g, %g", c.Lat, c.Lon), Mend: "lies off the map"})
		}
	}
	return wrong.Err()
}

// countsIn are those that lie in a box.
func countsIn(list []Count, box contents.Box) (out []Count) {
	for _, c := range list {
		if box.Holds(c.Lon, c.Lat) {
			out = append(out, c)
		}
	}
	return out
}

// step is one of a kind for a block; told are the files of what all blocks told, nil where
// they are not needed.
func step(k Kind, b *cut.Block, s Settings, told wholes) Step {
	out := Step{Kind: k, Key: b.Key, Inputs: []string{blockName(b)}, Core: b.Core, Served: b.Box, Bytes: b.Bytes, Settings: s}
	if told != nil {
		out.Inputs = append(out.Inputs, told[b.Key])
	}
	out.Settings.Counts = nil
	if k == Join {
		out.Settings.Counts = countsIn(s.Counts, b.Box)
	}
	return out
}

func blockName(b *cut.Block) string { return filepath.ToSlash(filepath.Join(cut.Folder, b.File)) }

// take makes surveys inputs of a join: its own first, then those whose cores it meets.
func (s *Step) take(surveys []Step) {
	for own := range 2 {
		for i := range surveys {
			x := &surveys[i]
			if mine := x.Key == s.Key; mine == (own == 0) && x.Core.Meets(s.Served) {
				s.Inputs, s.Surveyed = append(s.Inputs, x.Output), append(s.Surveyed, x.Core)
			}
		}
	}
}

// name gives the output the name that all else asks for.
func (s *Step) name() error {
	b, err := json.Marshal(s)
	if err != nil {
		return fmt.Errorf("describe a step: %w", err)
	}
	sum := sha256.Sum256(b)
	ending := snapshotEnding
	if s.Kind == Glance {
		ending = noteEnding
	}
	s.Output = fmt.Sprintf("%s/%s.%s.%s%s", stepsFolder, s.Kind, s.Key, hex.EncodeToString(sum[:6]), ending)
	return nil
}

// Done tells whether the output is there, be it as the file of a tile.
func (s *Step) Done(dir string) bool {
	_, err := os.Stat(s.at(dir))
	if err != nil && s.Kind == Join {
		_, put := s.note(dir)
		return put
	}
	return err == nil
}

// at is where the output stands.
func (s *Step) at(dir string) string { return filepath.Join(dir, filepath.FromSlash(s.Output)) }

// notePath is where it is noted as what tile's file the output was put.
func (s *Step) notePath(dir string) string {
	return strings.TrimSuffix(s.at(dir), snapshotEnding) + noteEnding
}

const (
	snapshotEnding = ".wb"
	noteEnding     = ".json"
)

// note reads that; false where there is no note, or no such file.
func (s *Step) note(dir string) (t contents.Tile, put bool) {
	b, err := os.ReadFile(s.notePath(dir))
	if err != nil || json.Unmarshal(b, &t) != nil {
		return t, false
	}
	info, err := os.Stat(filepath.Join(dir, t.File))
	return t, err == nil && info.Size() == t.Bytes
}

// Do makes the output, unless it is there: under another name, which it gets rid of at
// the end. Progress, a share of the step, may be nil.
func (s *Step) Do(ctx context.Context, dir string, progress func(share float64)) error {
	if s.Done(dir) {
		return nil
	}
	do := map[Kind]func(context.Context, io.ReadSeeker, string, snapshot.ImportOptions) (*snapshot.Snapshot, error){Survey: s.survey, Join: s.join}[s.Kind]
	if do == nil && s.Kind != Glance || s.Settings.Format != snapshot.Version {
		return fmt.Errorf("a step of the kind %q and format %d: not one of this program", s.Kind, s.Settings.Format)
	}
	out := s.at(dir)
	if err := os.MkdirAll(filepath.Dir(out), 0o755); err != nil {
		return err
	}
	f, err := os.Open(s.input(dir, 0))
	if err != nil {
		return err
	}
	defer f.Close()
	o, err := s.options(dir, progress)
	if err != nil {
		return err
	}
	if s.Kind == Glance {
		return s.glance(ctx, f, out, o)
	}
	snap, err := do(ctx, f, dir, o)
	switch {
	case nothing(err):
		return flatfile.Replace(out, nil)
	case err != nil:
		return fmt.Errorf("tile %s: %w", s.Key, err)
	}
	return snap.WriteFile(out)
}

// nothing tells whether there is nothing to walk.
func nothing(err error) bool {
	return errors.Is(err, osmdata.ErrNothingToWalk) || errors.Is(err, network.ErrNoStreets)
}

// input is where an input stands.
func (s *Step) input(dir string, i int) string {
	return filepath.Join(dir, filepath.FromSlash(s.Inputs[i]))
}

// options are those of the step's snapshot, with what the whole map told where that is
// among the inputs.
func (s *Step) options(dir string, progress func(share float64)) (snapshot.ImportOptions, error) {
	o := snapshot.ImportOptions{TimeZone: s.Settings.TimeZone, Country: s.Settings.Country, Heights: s.Settings.Heights, Tool: s.Settings.Tool}
	if progress != nil {
		o.Progress = func(_ string, share float64) { progress(share) }
	}
	if s.Kind == Glance {
		o.Core = s.Core.Holds
		return o, nil
	}
	if s.Kind == Join {
		o.CheckCount = s.check
	}
	for _, c := range s.Settings.Counts {
		o.Counts = append(o.Counts, c.Count)
	}
	b, err := os.ReadFile(s.input(dir, 1))
	if err != nil {
		return o, err
	}
	o.Whole = &survey.Whole{}
	if err := json.Unmarshal(b, o.Whole); err != nil {
		return o, fmt.Errorf("%s: %w: %w", s.input(dir, 1), flatfile.ErrDamaged, err)
	}
	return o, nil
}

// glance writes what the block tells of the whole map.
func (s *Step) glance(ctx context.Context, block io.ReadSeeker, out string, o snapshot.ImportOptions) error {
	share, err := snapshot.Glance(ctx, block, o)
	if nothing(err) {
		share, err = nil, nil
	}
	if err != nil {
		return fmt.Errorf("tile %s: %w", s.Key, err)
	}
	b, err := json.Marshal(share)
	if err != nil {
		return fmt.Errorf("tile %s: %w", s.Key, err)
	}
	return flatfile.Replace(out, b)
}

// wholes names, by the key of each block, the file of what its part of the map must know
// of the whole.
type wholes map[string]string

// gather puts together what all shares, which glances made, tell of the whole map, and
// writes for each part what it must know of that: into a file whose name changes with it,
// and not with what a settlement far away says. Of the shares one at a time is in memory.
func gather(dir string, glances []Step) (wholes, error) {
	g := &survey.Gatherer{}
	for i := range glances {
		s, err := glances[i].share(dir)
		if err != nil {
			return nil, err
		}
		if s != nil {
			g.Add(s)
		}
	}
	whole, out := g.Whole(), wholes{}
	for i := range glances {
		s, err := glances[i].share(dir)
		if err != nil {
			return nil, err
		}
		b, err := json.Marshal(whole.About(s))
		if err != nil {
			return nil, fmt.Errorf("put together what the parts of the map tell: %w", err)
		}
		sum := sha256.Sum256(b)
		name := fmt.Sprintf("%s/%s%s.%s%s", stepsFolder, wholePrefix, glances[i].Key, hex.EncodeToString(sum[:6]), noteEnding)
		if err := flatfile.Replace(filepath.Join(dir, filepath.FromSlash(name)), b); err != nil {
			return nil, err
		}
		out[glances[i].Key] = name
	}
	return out, nil
}

// share reads the output of a glance; nil where there is nothing to walk.
func (s *Step) share(dir string) (out *survey.Share, err error) {
	b, err := os.ReadFile(s.at(dir))
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(b, &out); err != nil {
		return nil, fmt.Errorf("%s: %w: %w", s.at(dir), flatfile.ErrDamaged, err)
	}
	return out, nil
}

const wholePrefix = "whole."

func (s *Step) survey(ctx context.Context, block io.ReadSeeker, _ string, o snapshot.ImportOptions) (*snapshot.Snapshot, error) {
	o.Core = s.Core.Holds
	return snapshot.ImportFrom(ctx, block, s.Settings.Map, o)
}

// join makes the tile of the one before and of what changed, else of surveys, else alone.
func (s *Step) join(ctx context.Context, block io.ReadSeeker, dir string, o snapshot.ImportOptions) (*snapshot.Snapshot, error) {
	if before, tile, ok := s.before.of(s); ok {
		snap, err := s.renew(ctx, dir, before, tile, o)
		if err == nil || ctx.Err() != nil || nothing(err) {
			return snap, err
		}
		// What was before is damaged or of another version: the tile is made without it.
	}
	if len(s.Surveyed) == 0 {
		return snapshot.ImportFrom(ctx, block, s.Settings.Map, o)
	}
	var parts []snapshot.Part
	first := len(s.Inputs) - len(s.Surveyed)
	for i, core := range s.Surveyed {
		path := s.input(dir, first+i)
		if info, err := os.Stat(path); err != nil {
			return nil, err
		} else if info.Size() == 0 {
			continue
		}
		snap, err := snapshot.Open(path)
		if err != nil {
			return nil, err
		}
		defer snap.Close()
		parts = append(parts, snapshot.Part{From: snap, Holds: core.Holds})
	}
	return snapshot.Join(ctx, block, s.Settings.Map, o, parts)
}

// check says what is wrong with the counts in the core; a neighbour says it of others.
func (s *Step) check(g *network.Graph, f plane.Frame) fault.Problems {
	var mine []Count
	var list []exposure.Count
	for _, c := range s.Settings.Counts {
		if s.Core.Holds(c.Lon, c.Lat) {
			mine, list = append(mine, c), append(list, c.Count)
		}
	}
	m := counts.Map{Graph: g, Frame: f}
	return m.Check(list, func(i int) (pointer, told string) { return mine[i].Pointer, mine[i].Told })
}

// tile makes the file of a tile of the output, under the name that its bytes ask for, and
// describes it; false where there is nothing to walk. Broken off, it is done again.
func (s *Step) tile(dir string) (t contents.Tile, walked bool, err error) {
	if t, put := s.note(dir); put {
		return t, true, nil
	}
	out := s.at(dir)
	info, err := os.Stat(out)
	if err != nil || info.Size() == 0 {
		return t, false, err
	}
	about, _, err := snapshot.ReadAbout(out)
	if err != nil {
		return t, false, err
	}
	t = contents.Tile{Key: s.Key, Core: s.Core, Served: s.Served, Name: about.Name, Zone: about.Zone, Country: about.Country, Licence: about.Licence}
	if t.File, t.Bytes, err = contents.FileName(s.Key, out); err != nil {
		return t, false, err
	}
	b, err := json.Marshal(t)
	if err != nil {
		return t, false, fmt.Errorf("describe tile %s: %w", s.Key, err)
	}
	if err := flatfile.Replace(s.notePath(dir), b); err != nil {
		return t, false, err
	}
	return t, true, os.Rename(out, filepath.Join(dir, t.File))
}
