package atlas

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"

	"errors"
)

// TestFiguresManyStates measures ten states in one program: what is counted as open, and
// what the program holds in memory, of its own and of mapped files, while doors of all
// states are planned from in turns.
func TestFiguresManyStates(t *testing.T) {
	maptest.Figures(t)
	const states, room = 10, int64(500e6)
	state, dir := maptest.Delaware(t), t.TempDir()
	var paths []string
	for i := range states {
		moved := *state
		moved.Frame = plane.NewFrame(state.Frame.Lon0+5*float64(i), state.Frame.Lat0)
		moved.Name = fmt.Sprint("State ", i)
		path := filepath.Join(dir, fmt.Sprint(i, ".wb"))
		if err := moved.WriteFile(path); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	a := opened(t, Options{MemoryBytes: room}, paths...)
	outside := residentMB(t)
	t.Logf("%d maps known, resident: %s", states, outside)
	doors := maptest.Doors(state, 20, 1)
	rng := rand.New(rand.NewPCG(1, 1))
	most, mostMB := int64(0), 0.0
	for n := range 60 {
		i := rng.IntN(states)
		lon, lat := state.Frame.Inverse(doors[rng.IntN(len(doors))])
		v := a.View()
		s := at(t, v, Place{lon + 5*float64(i), lat})
		w := routing.Wish{Shape: routing.Loop, Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning, From: s.Planner.Frame().Forward(lon+5*float64(i), lat)}
		var none *reach.Infeasible
		if _, err := s.Planner.Plan(t.Context(), w); err != nil && !errors.As(err, &none) {
			t.Fatal(err)
		}
		v.Close()
		l := a.Level()
		most, mostMB = max(most, l.Bytes), max(mostMB, residentMB(t).all())
		if n%15 == 14 {
			t.Logf("after %d plans: %d of %d open, %.0f MB counted, opened %d times, resident: %s", n+1, l.Open, l.Tiles, float64(l.Bytes)/1e6, l.Opened, residentMB(t))
		}
	}
	if most > room {
		t.Errorf("%d bytes were open, of %d", most, room)
	}
	t.Logf("at most %.0f MB more than before the first was opened", mostMB-outside.all())
	if mostMB-outside.all() > float64(room)/1e6 {
		t.Errorf("open maps took %.0f MB of the process, of %d", mostMB-outside.all(), room/1e6)
	}
}

// held is what the kernel says of the program's memory, in MB: its own and that of files it
// has mapped.
type held struct{ ownMB, filesMB float64 }

func (h held) all() float64 { return h.ownMB + h.filesMB }

func (h held) String() string {
	return fmt.Sprintf("own %.0f MB, files %.0f MB", h.ownMB, h.filesMB)
}

// residentMB reads it from proc(5); zero where there is none.
func residentMB(t *testing.T) (h held) {
	t.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return h
	}
	for line := range strings.Lines(string(text)) {
		name, value, _ := strings.Cut(line, ":")
		to := map[string]*float64{"RssAnon": &h.ownMB, "RssFile": &h.filesMB}[name]
		if to == nil {
			continue
		}
		kB, err := strconv.Atoi(strings.Fields(value)[0])
		if err != nil {
			t.Fatal(err)
		}
		*to = float64(kB) * 1.024 / 1000
	}
	return h
}
