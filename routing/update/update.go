// Package update brings a map that was imported up to what has changed on the ground
// since: by files of changes, or by a newer extract. It hides which files are in the map
// already, what has to be surveyed anew, and how the new map takes the place of the old.
package update

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/change"
	"wideberth/osmdata/fault"
	"wideberth/routing/snapshot"

	"github.com/paulmach/osm"
)

// Options say what a map is brought up to.
type Options struct {
	Extract  string   // path of the extract that the map was imported from
	Changes  []string // paths of all files of changes since then, in any order, or of one newer extract
	Heights  string   // folder of .hgt tiles, as at the import
	Tool     string   // version of the program
	Progress func(stage string, share float64)
}

// Outcome says what an update came to.
type Outcome struct {
	snapshot.Renewed
	Touched  change.Touched
	Beyond   int // nodes of the changes that lie far outside the map
	Snapshot *snapshot.Snapshot
	Was      time.Time // of the old map
}

// beyondM is how far outside of its bounds changes can lie that are taken into a map:
// ways of it may lead there. Our assumption.
const beyondM = 20_000

// File brings the map in a file up to date. The file holds the old map until the new one
// is whole, and then that; whoever has the old one open keeps it. What is wrong with the
// changes, or does not go with the map, is fault.Problems; damaged files are
// *osmdata.FormatError; errors of the map's file those of snapshot.Open.
func File(ctx context.Context, path string, o Options) (_ *Outcome, err error) {
	old, err := snapshot.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, old.Close()) }()
	f, err := os.Open(o.Extract)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	u := &updating{o: o, old: old, out: Outcome{Was: old.MapTime}, base: change.NewSet(change.UsualMemory, ""), fresh: change.NewSet(change.UsualMemory, ""), all: change.NewSet(change.UsualMemory, "")}
	defer func() { err = errors.Join(err, u.base.Close(), u.fresh.Close(), u.all.Close()) }()
	u.tell("looking at the extract", 0)
	if u.e, err = osmdata.OpenElements(ctx, f, 1, nil); err != nil {
		return nil, err
	}
	if err := head(ctx, u.e); err != nil {
		return nil, err
	}
	x, err := u.extract(ctx)
	if err != nil {
		return nil, err
	}
	u.tell("building the network", changesShare)
	s, done, err := snapshot.Update(ctx, old, x, o.Extract, snapshot.Change{Boxes: u.out.Touched.Boxes}, u.importing())
	if err != nil {
		return nil, err
	}
	if err := s.WriteFile(path); err != nil {
		return nil, err
	}
	u.out.Renewed, u.out.Snapshot = done, s
	return &u.out, nil
}

// changesShare is the share of an update's time until all changes are read: measured on a
// state.
const changesShare = 0.3

// updating is an update under way.
type updating struct {
	o     Options
	old   *snapshot.Snapshot
	e     *osmdata.Elements // of the extract that the map was imported from
	base  *change.Set       // changes that are in the map already
	fresh *change.Set       // those that are not
	all   *change.Set       // both
	out   Outcome
}

func (u *updating) tell(stage string, share float64) {
	if u.o.Progress != nil {
		u.o.Progress(stage, share)
	}
}

// importing are the options under which the map was imported.
func (u *updating) importing() snapshot.ImportOptions {
	o := snapshot.ImportOptions{TimeZone: u.old.Zone, Heights: u.o.Heights, Tool: u.o.Tool, Counts: u.old.Counts, Progress: func(stage string, share float64) {
		u.tell(stage, changesShare+(1-changesShare)*share)
	}}
	if u.old.CountryFrom == snapshot.ByName {
		o.Country = u.old.Country
	}
	return o
}

// head reads what an extract says of itself.
func head(ctx context.Context, e *osmdata.Elements) error {
	return e.Relations(ctx, func(*osm.Relation) bool { return false }, func(*osm.Relation) error { return nil })
}

// extract makes the new extract, and finds out where it differs from that of the map.
func (u *updating) extract(ctx context.Context) (*osmdata.Extract, error) {
	newer, err := newerExtract(u.o.Changes)
	switch {
	case err != nil:
		return nil, err
	case newer != "":
		return u.replaced(ctx, newer)
	}
	return u.changed(ctx)
}

// newerExtract is the extract among what a map is to be brought up to, "" where that is
// files of changes.
func newerExtract(paths []string) (newer string, err error) {
	for _, path := range paths {
		changes, err := isChanges(path)
		if err != nil {
			return "", err
		}
		if !changes {
			newer = path
		}
	}
	switch {
	case len(paths) == 0:
		return "", fault.One("changes", "", "name the files of changes since the extract, or a newer extract")
	case newer != "" && len(paths) > 1:
		return "", fault.One("changes", newer, "it is an extract: name it alone, or files of changes alone")
	}
	return newer, nil
}

// isChanges tells a file of changes from an extract by how it begins.
func isChanges(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	head, err := change.Head(f)
	return bytes.Contains(head, []byte("<osmChange")), err
}

// changed lays files of changes over the extract.
func (u *updating) changed(ctx context.Context) (*osmdata.Extract, error) {
	near := u.bounds().Grow(beyondM)
	for _, s := range []*change.Set{u.base, u.fresh, u.all} {
		s.Keep(near)
	}
	var files []change.File
	known := u.e.Timestamp // up to which changes are in the old map, as far as the files tell
	for i, path := range u.o.Changes {
		u.tell("reading changes", 0.5*changesShare*float64(i)/float64(len(u.o.Changes)))
		f, err := u.all.AddFile(ctx, path)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
		into := u.fresh
		if end := f.End(); !end.IsZero() && !u.old.MapTime.IsZero() && !end.After(u.old.MapTime) {
			into = u.base
			if end.After(known) {
				known = end
			}
		}
		if _, err := into.AddFile(ctx, path); err != nil {
			return nil, err
		}
	}
	state, err := change.State{Time: u.e.Timestamp, Sequence: u.e.Sequence}.Follow(files)
	if err != nil {
		return nil, err
	}
	if err := u.fits(known); err != nil {
		return nil, err
	}
	if !state.Time.IsZero() && !state.Time.After(u.old.MapTime) {
		return nil, fault.One("changes", state.Time.Format(time.RFC3339), "the map is of "+u.old.MapTime.Format(time.RFC3339)+" already: name files that go farther")
	}
	u.out.Beyond = u.all.Beyond()
	return u.lay(ctx, state.Time)
}

// fits tells whether the map is what the extract, and changes up to a time, make.
func (u *updating) fits(known time.Time) error {
	was := u.old.MapTime
	switch {
	case was.IsZero() || u.e.Timestamp.IsZero() || was.Equal(known):
		return nil
	case was.Before(u.e.Timestamp):
		return fault.One("--map", u.o.Extract, fmt.Sprintf("it is of %s and the map of %s: name the extract that the map was imported from, or import this one", u.e.Timestamp.Format(time.RFC3339), was.Format(time.RFC3339)))
	}
	return fault.One("changes", "", fmt.Sprintf("the map is of %s, and the extract with the files named goes up to %s before that: name all files of changes since the extract", was.Format(time.RFC3339), known.Format(time.RFC3339)))
}

// bounds are those of the extract, or else of the old map's network.
func (u *updating) bounds() change.Box {
	if b := u.e.Bounds; b != nil {
		return change.Box{West: b.MinLon, South: b.MinLat, East: b.MaxLon, North: b.MaxLat}
	}
	var out change.Box
	out.West, out.South = u.old.Frame.Inverse(u.old.Bounds.Min)
	out.East, out.North = u.old.Frame.Inverse(u.old.Bounds.Max)
	return out
}

// lay makes the new extract of the old one and the changes.
func (u *updating) lay(ctx context.Context, at time.Time) (*osmdata.Extract, error) {
	o := u.importing()
	reading := o.Reading()
	u.tell("finding what the changes touch", 0.5*changesShare)
	t, err := u.fresh.Touched(ctx, change.Of(u.e, u.base), osmdata.NewPicker(reading.Rules))
	if err != nil {
		return nil, err
	}
	u.out.Touched = *t
	u.tell("reading the map", 0.7*changesShare)
	return reading.ReadObjects(ctx, change.Of(u.e, u.all).Wanted(ctx), at, u.e.Bounds)
}

// replaced reads a newer extract, and finds out where it differs.
func (u *updating) replaced(ctx context.Context, path string) (*osmdata.Extract, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if err := u.fits(u.e.Timestamp); err != nil {
		return nil, err
	}
	now, err := osmdata.OpenElements(ctx, f, 1, nil)
	if err != nil {
		return nil, err
	}
	u.tell("comparing the extracts", 0.2*changesShare)
	if err := u.fresh.AddDifference(change.Of(u.e, nil).Objects(ctx), change.Of(now, nil).Objects(ctx)); err != nil {
		return nil, err
	}
	if was := u.e.Timestamp; !was.IsZero() && now.Timestamp.Before(was) && !now.Timestamp.IsZero() {
		return nil, fault.One("changes", path, fmt.Sprintf("it is of %s and the map of %s: name a newer extract", now.Timestamp.Format(time.RFC3339), was.Format(time.RFC3339)))
	}
	o := u.importing()
	reading := o.Reading()
	t, err := u.fresh.Touched(ctx, change.Of(u.e, nil), osmdata.NewPicker(reading.Rules))
	if err != nil {
		return nil, err
	}
	u.out.Touched = *t
	u.tell("reading the map", 0.7*changesShare)
	return reading.ReadFile(ctx, path)
}
