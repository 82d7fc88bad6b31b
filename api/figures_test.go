package api_test

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/api"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/snapshot"
)

// statePlanner imports the state extract that the OSM module carries.
func statePlanner(t *testing.T) *routing.Planner {
	t.Helper()
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Fatal(err)
	}
	snap, err := snapshot.Import(context.Background(), filepath.Join(strings.TrimSpace(string(out)), "testdata", "delaware-latest.osm.pbf"), snapshot.ImportOptions{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := routing.NewPlanner(snap, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestFiguresLoad drives the server over loopback at fixed rates, each request a
// loop of thirty minutes with its alternatives from a random door in Wilmington,
// and prints latencies. The generator shares the machine with the server.
func TestFiguresLoad(t *testing.T) {
	if os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("measures and prints figures; set WIDEBERTH_FIGURES=1 (make figures)")
	}
	p := statePlanner(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- api.New(api.Options{Atlas: atlas.Of(p), Now: noon, Version: "figures"}).Serve(ctx, l) }()
	bodies := doorBodies(p, 400)
	for _, rate := range []int{20, 50, 100, 400} {
		load(t, "http://"+l.Addr().String()+"/v1/plans", bodies, rate, 10*time.Second)
	}
	stop()
	<-ended
}

func doorBodies(p *routing.Planner, n int) []string {
	f := p.Frame()
	box := plane.EmptyBox().With(f.Forward(-75.60, 39.70)).With(f.Forward(-75.48, 39.80))
	edges, _ := p.EdgesIn(box, 1<<30)
	rng := rand.New(rand.NewPCG(5, 5))
	out := make([]string, n)
	for i := range out {
		line := p.Snapshot().Graph.EdgeLine(edges[rng.IntN(len(edges))])
		lon, lat := f.Inverse(line.At(rng.Float64() * line.LengthM()))
		out[i] = fmt.Sprintf(`{"from":{"lat":%.6f,"lon":%.6f},"minutes":30,"depart":"2026-11-25T17:00:00-05:00"%s}`, lat, lon, kessa)
	}
	return out
}

// load sends requests at a rate, whether or not earlier ones were answered.
func load(t *testing.T, url string, bodies []string, rate int, long time.Duration) {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 256}}
	var (
		mu     sync.Mutex // guards what follows
		ms     []float64
		status = map[int]int{}
		wg     sync.WaitGroup
	)
	tick := time.NewTicker(time.Second / time.Duration(rate))
	defer tick.Stop()
	for i := range int(long.Seconds()) * rate {
		<-tick.C
		wg.Go(func() {
			begin := time.Now()
			res, err := client.Post(url, "application/json", strings.NewReader(bodies[i%len(bodies)]))
			code := 0
			if err == nil {
				_, _ = io.Copy(io.Discard, res.Body)
				res.Body.Close()
				code = res.StatusCode
			}
			mu.Lock()
			defer mu.Unlock()
			status[code]++
			if code == http.StatusOK || code == http.StatusUnprocessableEntity {
				ms = append(ms, float64(time.Since(begin).Microseconds())/1000)
			}
		})
	}
	wg.Wait()
	slices.Sort(ms)
	at := func(q float64) float64 { return ms[min(len(ms)-1, int(q*float64(len(ms))))] }
	for code := range status {
		if code != 200 && code != 422 && code != 503 {
			t.Errorf("%d answers with status %d at %d a second", status[code], code, rate)
		}
	}
	fmt.Printf("  HTTP, three loops of 30 min, %d requests a second: p50 %.1f ms, p99 %.1f ms; answered %d, no such walk %d, busy %d\n",
		rate, at(.5), at(.99), status[200], status[422], status[503])
}
