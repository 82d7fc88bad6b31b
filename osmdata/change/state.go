package change

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"wideberth/osmdata/fault"

	"github.com/paulmach/osm"
)

// State says how far a map, or a change file, goes in the stream of changes.
type State struct {
	Time     time.Time // up to which all changes are in it, zero where it is not known
	Sequence int64     // number of the last change file in it, 0 where it is not known
}

// File is what is known of a change file that was read.
type File struct {
	Path    string
	State   State // from the state file beside it
	Newest  time.Time
	Objects int
}

// End is when a file's changes end: as its state says, else its newest object; zero where
// neither is known.
func (f *File) End() time.Time {
	if !f.State.Time.IsZero() {
		return f.State.Time
	}
	return f.Newest
}

// AddFile takes in a change file, see Read, and what the state file beside it says, where
// there is one: 871.state.txt beside 871.osc.gz, as servers lay them out. After an error
// the set is good for nothing but Close.
func (s *Set) AddFile(ctx context.Context, path string) (File, error) {
	file := File{Path: path}
	f, err := os.Open(path)
	if err != nil {
		return file, err
	}
	defer f.Close()
	if file.State, err = stateBeside(path); err != nil {
		return file, err
	}
	err = Read(ctx, f, path, func(o osm.Object) error {
		file.Objects++
		if _, v, _, _ := describe(o); v.at != 0 && v.at > file.Newest.Unix() {
			file.Newest = time.Unix(v.at, 0).UTC()
		}
		return s.Add(o)
	})
	return file, err
}

// stateBeside reads the state file of a change file; without one nothing is known.
func stateBeside(path string) (State, error) {
	i := strings.LastIndex(path, ".osc")
	if i < 0 {
		return State{}, nil
	}
	name := path[:i] + ".state.txt"
	b, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return State{}, nil
	}
	if err != nil {
		return State{}, err
	}
	s, err := readState(string(b))
	if err != nil {
		return State{}, fmt.Errorf("%s: %w", name, err)
	}
	return s, nil
}

// readState reads a state file: lines of key and value, in which colons are escaped
// (OpenStreetMap wiki, "Planet.osm/diffs").
func readState(text string) (s State, err error) {
	for line := range strings.Lines(text) {
		k, v, _ := strings.Cut(strings.TrimSpace(line), "=")
		switch k {
		case "sequenceNumber":
			if s.Sequence, err = strconv.ParseInt(v, 10, 64); err != nil || s.Sequence < 0 {
				return State{}, fmt.Errorf("sequenceNumber %q is no number", v)
			}
		case "timestamp":
			if s.Time, err = time.Parse(time.RFC3339, strings.ReplaceAll(v, `\`, "")); err != nil {
				return State{}, fmt.Errorf("timestamp %q is no time", v)
			}
			s.Time = s.Time.UTC()
		}
	}
	return s, nil
}

// Follow tells how far a map goes once the files are laid over it. Files that the map
// already holds, and gaps between it and them or among them, are fault.Problems: by their
// numbers where they are known, by their times where those alone are. Where neither is
// known, nothing is said.
func (s State) Follow(files []File) (State, error) {
	var ps fault.Problems
	files = slices.Clone(files)
	slices.SortStableFunc(files, func(a, b File) int { return cmp.Compare(a.State.Sequence, b.State.Sequence) })
	at := s
	for _, f := range files {
		n := f.State.Sequence
		switch {
		case n > 0 && s.Sequence > 0 && n <= s.Sequence:
			ps = append(ps, fault.Problem{Pointer: "changes", Value: f.Path, Mend: fmt.Sprintf("it is change file %d and the map goes up to %d: leave it out", n, s.Sequence)})
		case n > 0 && at.Sequence > 0 && n == at.Sequence:
			ps = append(ps, fault.Problem{Pointer: "changes", Value: f.Path, Mend: fmt.Sprintf("change file %d is given twice", n)})
		case n > 0 && at.Sequence > 0 && n > at.Sequence+1:
			ps = append(ps, fault.Problem{Pointer: "changes", Value: f.Path, Mend: fmt.Sprintf("it is change file %d, and %s missing before it: give them too, all from one server and of one kind", n, missing(at.Sequence+1, n-1))})
		case n == 0 && !s.Time.IsZero() && !f.End().IsZero() && !f.End().After(s.Time):
			ps = append(ps, fault.Problem{Pointer: "changes", Value: f.Path, Mend: fmt.Sprintf("its changes end %s and the map is of %s: leave it out", f.End().Format(time.RFC3339), s.Time.Format(time.RFC3339))})
		}
		at.Sequence = max(at.Sequence, n)
		if f.End().After(at.Time) {
			at.Time = f.End()
		}
	}
	if at.Sequence == s.Sequence && len(files) > 0 {
		at.Sequence = 0 // it goes farther than that, nobody knows to which number
	}
	return at, ps.Err()
}

// missing names the numbers of files.
func missing(from, to int64) string {
	if from == to {
		return fmt.Sprintf("%d is", from)
	}
	return fmt.Sprintf("%d to %d are", from, to)
}
