package change_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wideberth/osmdata/change"
	"wideberth/osmdata/fault"
)

// state is a state file as the comment of the library for replication shows one
// (paulmach/osm, replication/interval.go).
const state = `#Sat Jul 16 06:14:03 UTC 2016
txnMaxQueried=836439235
sequenceNumber=2010580
timestamp=2016-07-16T06\:14\:02Z
txnReadyList=
txnMax=836439235
txnActiveList=836439008
`

func addWithState(t *testing.T, state string) (change.File, error) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{"580.osc": whole, "580.state.txt": state} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return change.NewSet(change.UsualMemory, "").AddFile(t.Context(), filepath.Join(dir, "580.osc"))
}

func TestStateBeside(t *testing.T) {
	f, err := addWithState(t, state)
	if err != nil || f.State.Sequence != 2010580 || !f.State.Time.Equal(time.Date(2016, 7, 16, 6, 14, 2, 0, time.UTC)) || f.Objects != 3 {
		t.Errorf("%+v, %v", f, err)
	}
	for _, bad := range []string{"sequenceNumber=many", "timestamp=yesterday"} {
		if _, err := addWithState(t, bad); err == nil || !strings.Contains(err.Error(), "580.state.txt") {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

// TestFollow: files that a map has already and files between which some are missing are
// refused in words.
func TestFollow(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2026, 11, n, 0, 0, 0, 0, time.UTC) }
	numbered := func(n int64, d int) change.File {
		return change.File{Path: "a.osc", State: change.State{Sequence: n, Time: day(d)}}
	}
	dated := func(d int) change.File { return change.File{Path: "b.osc", Newest: day(d)} }
	for name, c := range map[string]struct {
		state change.State
		files []change.File
		want  change.State
		says  string
	}{
		"the next":           {change.State{Time: day(1), Sequence: 7}, []change.File{numbered(8, 2)}, change.State{Time: day(2), Sequence: 8}, ""},
		"in any order":       {change.State{Time: day(1), Sequence: 7}, []change.File{numbered(9, 3), numbered(8, 2)}, change.State{Time: day(3), Sequence: 9}, ""},
		"known":              {change.State{Time: day(1), Sequence: 7}, []change.File{numbered(7, 1), numbered(8, 2)}, change.State{}, "change file 7 and the map goes up to 7"},
		"twice":              {change.State{Time: day(1), Sequence: 7}, []change.File{numbered(8, 2), numbered(8, 2)}, change.State{}, "change file 8 is given twice"},
		"one missing":        {change.State{Time: day(1), Sequence: 7}, []change.File{numbered(9, 3)}, change.State{}, "and 8 is missing before it"},
		"some missing":       {change.State{Time: day(1), Sequence: 7}, []change.File{numbered(8, 2), numbered(12, 6)}, change.State{}, "and 9 to 11 are missing before it"},
		"missing among them": {change.State{Time: day(1)}, []change.File{numbered(8, 2), numbered(10, 4)}, change.State{}, "and 9 is missing"},
		"by time":            {change.State{Time: day(3)}, []change.File{dated(4)}, change.State{Time: day(4)}, ""},
		"too old":            {change.State{Time: day(3)}, []change.File{dated(3)}, change.State{}, "end 2026-11-03T00:00:00Z and the map is of 2026-11-03T00:00:00Z"},
		"number lost":        {change.State{Time: day(3), Sequence: 7}, []change.File{dated(4)}, change.State{Time: day(4)}, ""},
		"nothing known":      {change.State{}, []change.File{{Path: "c.osc"}}, change.State{}, ""},
	} {
		got, err := c.state.Follow(c.files)
		var ps fault.Problems
		switch {
		case c.says == "" && (err != nil || got != c.want):
			t.Errorf("%s: %+v, %v", name, got, err)
		case c.says != "" && (!errors.As(err, &ps) || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%s: %v", name, err)
		}
	}
}
