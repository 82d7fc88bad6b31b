package main

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot/maptest"
)

// wilmington is a box of degrees about a city of the state extract: west, south, east,
// north.
var wilmington = [4]float64{-75.60, 39.70, -75.48, 39.80}

// planServer is the program itself, in a process of its own on the state extract, with
// requests for walks of 30 minutes from doors in a city.
type planServer struct {
	*running
	client *http.Client
	bodies map[string][]string // by shape
}

func newPlanServer(t testing.TB) *planServer {
	t.Helper()
	snap := maptest.Delaware(t)
	file := filepath.Join(t.TempDir(), "state.wb")
	if err := snap.WriteFile(file); err != nil {
		t.Fatal(err)
	}
	s := &planServer{client: &http.Client{Timeout: time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 256, DisableCompression: true}}, bodies: map[string][]string{}}
	f, rng := snap.Frame, rand.New(rand.NewPCG(5, 5))
	edges := snap.Graph.InBox(plane.EmptyBox().With(f.Forward(wilmington[0], wilmington[1])).With(f.Forward(wilmington[2], wilmington[3])))
	for range 400 {
		line := snap.Graph.EdgeLine(edges[rng.IntN(len(edges))])
		lon, lat := f.Inverse(line.At(rng.Float64() * line.LengthM()))
		for _, shape := range []string{"loop", "calmest"} {
			s.bodies[shape] = append(s.bodies[shape], fmt.Sprintf(`{"from":{"lat":%.6f,"lon":%.6f},"shape":%q,"minutes":30,"depart":"2026-11-25T17:00:00-05:00","dog":%s}`, lat, lon, shape, soakDog))
		}
	}
	s.running = serving(t, "--snapshot", file, "--store", filepath.Join(t.TempDir(), "memory.db"), "--clock", standing().Format(time.RFC3339))
	for _, body := range s.bodies["loop"][:20] { // what is derived once is derived
		if code, _, err := s.plan(body); err != nil || code/100 == 5 {
			t.Fatalf("%d, %v", code, err)
		}
	}
	return s
}

// plan asks for a plan and gives the status and the answer as it came: long ones are gzipped.
func (s *planServer) plan(body string) (code int, answer []byte, err error) {
	req, err := http.NewRequest(http.MethodPost, s.base+"/v1/plans", strings.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Accept-Encoding", "gzip")
	res, err := s.client.Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer res.Body.Close()
	answer, err = io.ReadAll(res.Body)
	if err == nil && len(answer) >= 16<<10 && res.Header.Get("Content-Encoding") != "gzip" {
		err = fmt.Errorf("a plan of %d bytes came as it is", len(answer))
	}
	return res.StatusCode, answer, err
}

// BenchmarkPlanHTTP asks the program for one plan after the other.
func BenchmarkPlanHTTP(b *testing.B) {
	s := newPlanServer(b)
	for _, shape := range []string{"loop", "calmest"} {
		b.Run(shape, func(b *testing.B) {
			spent, i := spentS(s.cmd.Process.Pid), 0
			for b.Loop() {
				if code, _, err := s.plan(s.bodies[shape][i%len(s.bodies[shape])]); err != nil || code/100 == 5 {
					b.Fatalf("%d, %v", code, err)
				}
				i++
			}
			b.ReportMetric(1000*(spentS(s.cmd.Process.Pid)-spent)/float64(i), "cpu-ms/plan")
		})
	}
}

// TestFiguresAtOnce asks the program for plans at fixed rates, whether or not earlier
// ones were answered, and prints how long answers took from when they were due, how many
// were refused, and what a plan cost the server. The asker shares the machine with it;
// what others took of it meanwhile is told.
func TestFiguresAtOnce(t *testing.T) {
	maptest.Figures(t)
	s := newPlanServer(t)
	_, small, err := s.plan(s.bodies["calmest"][0])
	if err != nil {
		t.Fatal(err)
	}
	r, err := gzip.NewReader(bytes.NewReader(small))
	if err != nil {
		t.Fatal(err)
	}
	whole, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Printf("  a plan of 30 min is %d kB of JSON, sent as %d kB\n", len(whole)>>10, len(small)>>10)
	for _, shape := range []string{"loop", "calmest"} {
		for _, perS := range []int{20, 100} {
			s.atRate(t, shape, perS, 10*time.Second)
		}
	}
	fmt.Printf("  most resident after %d plans: %d MB\n", 2*(20+100)*10, s.mostMB())
}

// atRate sends plans of a shape for so long.
func (s *planServer) atRate(t *testing.T, shape string, perS int, long time.Duration) {
	t.Helper()
	var (
		mu     sync.Mutex // guards what follows
		ms     []float64
		status = map[int]int{}
		wg     sync.WaitGroup
	)
	pids := []int{os.Getpid(), s.cmd.Process.Pid}
	all, ours, spent := machine(t), spentS(pids...), spentS(s.cmd.Process.Pid)
	begin := time.Now()
	bodies, n := s.bodies[shape], int(long.Seconds())*perS
	for i := range n {
		due := time.Duration(i) * time.Second / time.Duration(perS) // after the first
		time.Sleep(due - time.Since(begin))
		wg.Go(func() {
			code, _, err := s.plan(bodies[i%len(bodies)])
			took := time.Since(begin) - due
			mu.Lock()
			defer mu.Unlock()
			status[code]++
			if err != nil || !slices.Contains([]int{200, 422, 429, 503}, code) {
				t.Errorf("%d at %d a second: %v", code, perS, err)
			}
			if code == http.StatusOK || code == http.StatusUnprocessableEntity {
				ms = append(ms, float64(took.Microseconds())/1000)
			}
		})
	}
	wg.Wait()
	took := time.Since(begin).Seconds()
	slices.Sort(ms)
	answered := max(1, len(ms))
	others := (machine(t) - all - (spentS(pids...) - ours)) / took / float64(runtime.NumCPU())
	fmt.Printf("  HTTP, three walks of 30 min (%s), %d requests a second: p50 %.1f ms, p99 %.1f ms; answered %d, no such walk %d, refused %d; %.1f ms CPU each; others took %.0f %% of the machine\n",
		shape, perS, quantile(ms, .5), quantile(ms, .99), status[200], status[422], status[429]+status[503], 1000*(spentS(s.cmd.Process.Pid)-spent)/float64(answered), 100*others)
}
