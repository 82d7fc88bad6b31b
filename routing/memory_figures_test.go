package routing_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"runtime/pprof"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"wideberth/exposure"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// residentMB is how much memory the process has, shared and not, of which so much is pages
// of files.
func residentMB(t *testing.T) (all, files float64) {
	t.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip(err)
	}
	for line := range strings.Lines(string(text)) {
		var kb float64
		if n, _ := fmt.Sscanf(line, "VmRSS: %f kB", &kb); n == 1 {
			all = kb / 1024
		}
		if n, _ := fmt.Sscanf(line, "RssFile: %f kB", &kb); n == 1 {
			files = kb / 1024
		}
	}
	return all, files
}

// TestFiguresResident: what the memory of a process comes to that plans a thousand walks all
// over a state, as many at once as there are cores and one more, half of them for an account
// with a report of its own.
func TestFiguresResident(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	doors := stateDoors(p, 1000)
	all, files := residentMB(t)
	t.Logf("before the first plan %.0f MB, %.0f of them pages of files", all, files)
	var next, planned atomic.Int64
	var at sync.WaitGroup
	for range runtime.NumCPU() + 1 {
		at.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(doors)); i = next.Add(1) - 1 {
				var no *reach.Infeasible
				on := p
				if i%2 == 1 {
					on = p.WithLaid([]*exposure.Laid{p.Lay(exposure.Source{OSM: "report/1", As: "dog_barking", At: doors[i], RadiusM: 20})})
				}
				w := figureWish(on, doors[i])
				w.Walks = 3
				if _, err := on.Plan(context.Background(), w); err == nil {
					planned.Add(1)
				} else if !errors.As(err, &no) {
					t.Error(err)
				}
				if n := i + 1; n == 200 || n == 1000 {
					all, files := residentMB(t)
					t.Logf("after %d plans %.0f MB, %.0f of them pages of files", n, all, files)
				}
			}
		})
	}
	at.Wait()
	all, files = residentMB(t)
	t.Logf("%d walks planned; %.0f MB resident, %.0f of them pages of files", planned.Load(), all, files)
	if path := os.Getenv("WIDEBERTH_HEAP"); path != "" {
		f, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		runtime.GC()
		if err := pprof.Lookup("heap").WriteTo(f, 0); err != nil {
			t.Fatal(err)
		}
	}
	if all > 250 {
		t.Errorf("%.0f MB are resident, 250 are allowed", all)
	}
	if planned.Load() < 500 {
		t.Errorf("only %d walks were planned", planned.Load())
	}
}
