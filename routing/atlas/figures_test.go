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
	t.Logf("%d maps known, resident: %s", states, resident(t))
	doors := maptest.Doors(state, 20, 1)
	rng := rand.New(rand.NewPCG(1, 1))
	most := int64(0)
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
		most = max(most, l.Bytes)
		if n%15 == 14 {
			t.Logf("after %d plans: %d of %d open, %.0f MB counted, opened %d times, resident: %s", n+1, l.Open, l.Tiles, float64(l.Bytes)/1e6, l.Opened, resident(t))
		}
	}
	if most > room {
		t.Errorf("%d bytes were open, of %d", most, room)
	}
}

// resident is what the kernel says of the program's memory (proc(5)): its own and that of
// files it has mapped.
func resident(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return "not known here"
	}
	var out []string
	for line := range strings.Lines(string(text)) {
		name, value, _ := strings.Cut(line, ":")
		if name == "RssAnon" || name == "RssFile" {
			kB, err := strconv.Atoi(strings.Fields(value)[0])
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, fmt.Sprintf("%s %.0f MB", name, float64(kB)*1.024/1000))
		}
	}
	return strings.Join(out, ", ")
}
