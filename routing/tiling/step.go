package tiling

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
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
)

// Kind is what a step does.
type Kind string

// Survey makes the snapshot of a tile from its block. Its output is empty where there is
// nothing to walk.
const Survey Kind = "survey"

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

	before *before // that the output may be made of; nil for none
}

// Settings are what steps do alike, and the counts of one tile.
type Settings struct {
	Map      string  `json:"map"`       // what the map is called
	TimeZone string  `json:"time_zone"` // as in snapshot.ImportOptions
	Country  string  `json:"country"`
	Heights  string  `json:"heights"`
	Tool     string  `json:"tool"`
	Format   int     `json:"format"` // of snapshots; set by Steps
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

// Steps lists what is to be done with the blocks of a map, in an order in which every
// input is there when it is needed. Counts that lie in no tile are told as off the map.
//
// What the whole map tells every tile belongs before the surveys, as a step of each
// block and one that gathers them; what tiles take from their neighbours after them, as
// a step whose inputs are the surveys about it.
func Steps(blocks *cut.Blocks, s Settings) ([]Step, error) {
	s.Format = snapshot.Version
	var wrong fault.Problems
	for _, c := range s.Counts {
		on := false
		for _, b := range blocks.Blocks {
			on = on || contents.Box(b.Core).Holds(c.Lon, c.Lat)
		}
		if !on {
			wrong = append(wrong, fault.Problem{Pointer: c.Pointer + "/lat", Value: fmt.Sprintf("%g, %g", c.Lat, c.Lon), Mend: "lies off the map"})
		}
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	var out []Step
	for _, b := range blocks.Blocks {
		step := Step{
			Kind: Survey, Key: b.Key, Inputs: []string{filepath.ToSlash(filepath.Join(cut.Folder, b.File))},
			Core: b.Core, Served: b.Box, Bytes: b.Bytes, Settings: s,
		}
		step.Settings.Counts = nil
		for _, c := range s.Counts {
			if step.Served.Holds(c.Lon, c.Lat) {
				step.Settings.Counts = append(step.Settings.Counts, c)
			}
		}
		if err := step.name(); err != nil {
			return nil, err
		}
		out = append(out, step)
	}
	return out, nil
}

// name gives the output the name that all else asks for.
func (s *Step) name() error {
	b, err := json.Marshal(s)
	if err != nil {
		return fmt.Errorf("describe a step: %w", err)
	}
	sum := sha256.Sum256(b)
	s.Output = fmt.Sprintf("%s/%s.%s.%s%s", stepsFolder, s.Kind, s.Key, hex.EncodeToString(sum[:6]), snapshotEnding)
	return nil
}

// Done tells whether the output is there, be it as the file of a tile.
func (s *Step) Done(dir string) bool {
	_, err := os.Stat(s.at(dir))
	_, put := s.note(dir)
	return err == nil || put
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
	if s.Kind != Survey || s.Settings.Format != snapshot.Version {
		return fmt.Errorf("a step of the kind %q and format %d: not one of this program", s.Kind, s.Settings.Format)
	}
	out := s.at(dir)
	if err := os.MkdirAll(filepath.Dir(out), 0o755); err != nil {
		return err
	}
	snap, err := s.survey(ctx, dir, progress)
	switch {
	case errors.Is(err, osmdata.ErrNothingToWalk), errors.Is(err, network.ErrNoStreets):
		return flatfile.Replace(out, nil)
	case err != nil:
		return fmt.Errorf("tile %s: %w", s.Key, err)
	}
	return snap.WriteFile(out)
}

func (s *Step) survey(ctx context.Context, dir string, progress func(share float64)) (*snapshot.Snapshot, error) {
	f, err := os.Open(filepath.Join(dir, filepath.FromSlash(s.Inputs[0])))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	o := snapshot.ImportOptions{TimeZone: s.Settings.TimeZone, Country: s.Settings.Country, Heights: s.Settings.Heights, Tool: s.Settings.Tool, CheckCount: s.check}
	if progress != nil {
		o.Progress = func(_ string, share float64) { progress(share) }
	}
	for _, c := range s.Settings.Counts {
		o.Counts = append(o.Counts, c.Count)
	}
	if block, tile, ok := s.before.of(s); ok {
		snap, err := s.renew(ctx, dir, block, tile, o)
		if err == nil || ctx.Err() != nil || errors.Is(err, osmdata.ErrNothingToWalk) || errors.Is(err, network.ErrNoStreets) {
			return snap, err
		}
		// What was before is damaged or of another version: the tile is made without it.
	}
	return snapshot.ImportFrom(ctx, f, s.Settings.Map, o)
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
