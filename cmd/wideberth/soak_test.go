package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"math"
	mrand "math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"text/tabwriter"
	"time"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
)

// What a soak holds, over its last two thirds.
const (
	soakCheapMS = 500  // of cheap requests, 99 in 100 are answered within, while searches take all places
	soakGrowth  = 1.15 // memory in the last third over that of the second, at most
	soakSpareMB = 24   // and so much more: what one large plan takes
	soakIdle    = 8    // goroutines and files more than before, once all have gone
	soakOthers  = 0.25 // share of the machine that others may take before a time says nothing
)

// TestSoak lets a busy shelter and many owners use a server in a process of its own,
// over loopback: plans without a pause that fill the gate, and beside them, at fixed
// rates, logs, tiles, ways out, places, reports, exports and outings. Memory, goroutines
// and open files stay flat. WIDEBERTH_SOAK says for how long (make soak: ten minutes,
// with the program as it is given to people); left out, a few seconds of the same with
// fewer owners, in which times are not judged.
func TestSoak(t *testing.T) {
	long, owners := 4*time.Second, 12
	if text := os.Getenv("WIDEBERTH_SOAK"); text != "" {
		var err error
		if long, err = time.ParseDuration(text); err != nil || long < 10*time.Second || long > time.Hour {
			t.Fatalf("WIDEBERTH_SOAK = %s: give 10s to 1h", text)
		}
		owners = 200
	}
	snap := os.Getenv("WIDEBERTH_SOAK_MAP")
	if snap == "" {
		snap = townFile(t)
	}
	s := newSoak(t, snap, owners)
	s.warm()
	s.before = s.levels()
	s.run(long)
	s.rest()
	s.print(long)
	s.judge(long)
}

// asker is somebody with a key and a dog.
type asker struct{ key, dog string }

type soak struct {
	t       *testing.T
	server  *running
	client  *http.Client
	owners  []asker
	shelter []asker // people of one account, each with a dog at hand
	doors   [][2]float64
	rng     struct {
		sync.Mutex
		*mrand.Rand
	}

	mu      sync.Mutex // guards what follows
	kinds   []string   // in the order they came
	ms      map[string][]float64
	refused map[string]int // 429 and 503
	samples []levels
	before  levels
	after   levels
	others  float64 // share of the machine's time that went to nobody of ours
}

// levels are what must not grow.
type levels struct {
	rssMB             float64
	goroutines, files int
}

func newSoak(t *testing.T, snap string, owners int) *soak {
	t.Helper()
	s := &soak{t: t, ms: map[string][]float64{}, refused: map[string]int{}, client: &http.Client{Timeout: time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 64}}}
	s.rng.Rand = mrand.New(mrand.NewPCG(12, 13))
	memory := filepath.Join(t.TempDir(), "memory.db")
	s.people(memory, owners)
	s.places(snap)
	s.server = serving(t, "--snapshot", snap, "--store", memory, "--metrics", "127.0.0.1:0", "--clock", standing().Format(time.RFC3339))
	return s
}

// people fills the store: a shelter with a tenth as many people as there are owners,
// and owners with an account and a dog each.
func (s *soak) people(memory string, owners int) {
	m, err := store.Open(s.t.Context(), memory, store.Options{Now: standing, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		s.t.Fatal(err)
	}
	defer m.Close()
	m38, m15 := 38.0, 15.0
	profile := kept.Profile{Name: "Fenn", Needs: map[string]*dogfile.Need{"dogs": {WorkingM: &m38, ReactionM: &m15}}}
	said, err := knowledge.Distances(&profile)
	if err != nil {
		s.t.Fatal(err)
	}
	one := func(keeper store.Who, person string) asker {
		d, err := m.AddDog(s.t.Context(), keeper, profile, said)
		if err != nil {
			s.t.Fatal(err)
		}
		key, _, err := m.NewToken(s.t.Context(), keeper, person, "phone", 365)
		if err != nil {
			s.t.Fatal(err)
		}
		return asker{key, d.ID}
	}
	keeper, err := m.CreateAccount(s.t.Context(), "Ash House", "Ada")
	if err != nil {
		s.t.Fatal(err)
	}
	for i := range max(3, owners/10) {
		person, err := m.AddPerson(s.t.Context(), keeper, fmt.Sprintf("Helper %d", i+1), kept.Trainer, nil)
		if err != nil {
			s.t.Fatal(err)
		}
		s.shelter = append(s.shelter, one(keeper, person))
	}
	for i := range owners {
		owner, err := m.CreateAccount(s.t.Context(), fmt.Sprintf("Household %d", i+1), "Sam")
		if err != nil {
			s.t.Fatal(err)
		}
		s.owners = append(s.owners, one(owner, owner.Person))
	}
}

// places draws doors on the map, within 6 km of a place where ways are dense.
func (s *soak) places(path string) {
	snap, err := snapshot.Open(path)
	if err != nil {
		s.t.Fatal(err)
	}
	g := snap.Graph
	at := func() plane.Point {
		line := g.EdgeLine(int32(s.rng.IntN(g.EdgeCount())))
		return line.At(s.rng.Float64() * line.LengthM())
	}
	near := at()
	for len(s.doors) < 300 {
		if p := at(); p.DistanceM(near) < 6000 {
			lon, lat := snap.Frame.Inverse(p)
			s.doors = append(s.doors, [2]float64{lat, lon})
		}
	}
}

func (s *soak) pick(n int) int {
	s.rng.Lock()
	defer s.rng.Unlock()
	return s.rng.IntN(n)
}

func (s *soak) door() [2]float64 { return s.doors[s.pick(len(s.doors))] }

// send sends one request of a kind and notes how it went, from when it was due.
func (s *soak) send(kind string, a asker, method, path, body string) int {
	begin := time.Now()
	req, err := http.NewRequestWithContext(s.t.Context(), method, s.server.base+path, strings.NewReader(body))
	if err != nil {
		s.t.Error(err)
		return 0
	}
	req.Header.Set("Authorization", "Bearer "+a.key)
	req.Header.Set("Content-Type", "application/json")
	res, err := s.client.Do(req)
	if err != nil {
		s.t.Errorf("%s: %v", kind, err)
		return 0
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	took := time.Since(begin)
	status := res.StatusCode
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case err != nil:
		s.t.Errorf("%s: %v", kind, err)
	case status == http.StatusTooManyRequests, status == http.StatusServiceUnavailable:
		s.refused[kind]++
	case status/100 == 2, status == http.StatusUnprocessableEntity && bytes.Contains(answer, []byte("urn:wideberth:no-walk")):
		if s.ms[kind] == nil {
			s.kinds = append(s.kinds, kind)
		}
		s.ms[kind] = append(s.ms[kind], float64(took.Microseconds())/1000)
	default:
		s.t.Errorf("%s: %d %s", kind, status, answer[:min(len(answer), 300)])
	}
	return status
}

const soakDog = `{"name":"Fenn","needs":{"dogs":{"working_m":38,"reaction_m":15},"child":{"working_m":25,"reaction_m":10}}}`

// at is the server's clock when it begins.
var soakAt = standing().Format(time.RFC3339)

func (s *soak) plan(a asker) {
	d := s.door()
	s.send("plan", a, "POST", "/v1/plans", fmt.Sprintf(`{"from":{"lat":%.6f,"lon":%.6f},"minutes":30,"depart":"2026-11-25T17:00:00Z","dog_id":%q}`, d[0], d[1], a.dog))
}

// outing plans for six dogs and two people of the shelter.
func (s *soak) outing(a asker) {
	d, dogs := s.door(), make([]string, 6)
	for i := range dogs {
		dogs[i] = fmt.Sprintf(`{"dog":{"name":"D%d","needs":{"dogs":{"working_m":%d}}},"minutes":15}`, i, 15+3*i)
	}
	s.send("outing", a, "POST", "/v1/outings", fmt.Sprintf(`{"gate":{"lat":%.6f,"lon":%.6f},"start":"2026-11-25T09:00:00Z","minutes":120,"dogs":[%s],"people":[{"name":"Ada"},{"name":"Sam"}]}`, d[0], d[1], strings.Join(dogs, ",")))
}

// habit is what somebody does now and then.
type habit struct {
	kind      string
	perSecond float64
	cheap     bool
	do        func(i int, a asker)
}

// habits are what a shelter and two hundred owners do beside planning, about as often
// as on a Saturday morning, when half of them are out.
func (s *soak) habits() []habit {
	tile := func(z int) func(int, asker) {
		return func(_ int, a asker) {
			d := s.door()
			n := math.Exp2(float64(z)) // slippy tiles of Web Mercator
			x := int(n * (d[1] + 180) / 360)
			y := int(n * (1 - math.Asinh(math.Tan(d[0]*math.Pi/180))/math.Pi) / 2)
			s.send("tile", a, "GET", fmt.Sprintf("/tiles/%d/%d/%d.mvt", z, x, y), "")
		}
	}
	return []habit{
		{"log a meeting", 8, true, func(i int, a asker) {
			s.send("log a meeting", a, "POST", "/v1/dogs/"+a.dog+"/encounters", fmt.Sprintf(`{"key":"m%d","at":%q,"kind":"dogs","nearest":"about"}`, i, soakAt))
		}},
		{"log a walk", 2, true, func(i int, a asker) {
			s.send("log a walk", a, "POST", "/v1/dogs/"+a.dog+"/walks", fmt.Sprintf(`{"key":"w%d","started":%q,"all_told":true}`, i, soakAt))
		}},
		{"dogs and walks", 6, true, func(_ int, a asker) {
			s.send("dogs", a, "GET", "/v1/dogs", "")
			s.send("walks", a, "GET", "/v1/dogs/"+a.dog+"/walks", "")
		}},
		{"tile", 10, true, tile(15)},
		{"tile", 4, true, tile(13)},
		{"way out", 6, true, func(_ int, a asker) {
			d := s.door()
			s.send("way out", a, "POST", "/v1/ways-out", fmt.Sprintf(`{"at":{"lat":%.6f,"lon":%.6f},"threat":{"lat":%.6f,"lon":%.6f},"speed_mps":1.4,"dog":%s}`, d[0], d[1], d[0]+2e-4, d[1], soakDog))
		}},
		{"place", 4, true, func(_ int, a asker) {
			s.send("place", a, "POST", "/v1/places", `{"text":"row"}`)
		}},
		{"report", 1, true, func(i int, a asker) {
			d := s.door()
			s.send("report", a, "POST", "/v1/reports", fmt.Sprintf(`{"kind":"dog_behind_fence","what":"fence %d","lat":%.6f,"lon":%.6f,"there":true}`, i, d[0], d[1]))
		}},
		{"export", 0.2, false, func(_ int, a asker) { s.send("export", a, "GET", "/v1/dogs/"+a.dog+"/export", "") }},
		{"ways out along", 0.2, false, func(_ int, a asker) {
			d := s.door()
			s.send("ways out along", a, "POST", "/v1/ways-out/along", fmt.Sprintf(`{"line":[[%.6f,%.6f],[%.6f,%.6f]],"dog":%s}`, d[1], d[0], d[1]+4e-3, d[0]+4e-3, soakDog))
		}},
		{"outing", 0.1, false, func(int, asker) { s.outing(s.shelter[s.pick(len(s.shelter))]) }},
	}
}

// warm makes what is made once: the first plan, the first tile, the list of names.
func (s *soak) warm() {
	for _, e := range s.habits() {
		e.do(-1, s.owners[0])
	}
	s.plan(s.owners[0])
	s.client.CloseIdleConnections()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.kinds, s.ms, s.refused = nil, map[string][]float64{}, map[string]int{}
}

// run does it all for so long.
func (s *soak) run(long time.Duration) {
	ctx, stop := context.WithTimeout(s.t.Context(), long)
	defer stop()
	busy, ours := machine(s.t), s.ours()
	var all sync.WaitGroup
	for range 2*runtime.GOMAXPROCS(0) + 4 { // more than there are places
		all.Go(func() {
			for ctx.Err() == nil {
				s.plan(s.somebody())
			}
		})
	}
	var sent atomic.Int64
	for _, e := range s.habits() {
		all.Go(func() {
			tick := time.NewTicker(time.Duration(float64(time.Second) / e.perSecond))
			defer tick.Stop()
			for {
				select {
				case <-ctx.Done():
					return
				case <-tick.C:
					i := int(sent.Add(1))
					all.Go(func() { e.do(i, s.somebody()) }) // whether or not the last was answered
				}
			}
		})
	}
	all.Go(func() {
		tick := time.NewTicker(max(time.Second, long/200))
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
				s.samples = append(s.samples, s.levels())
			}
		}
	})
	all.Wait()
	if spent := machine(s.t) - busy; spent > 0 {
		s.others = max(0, 1-(s.ours()-ours)/spent)
	}
}

// somebody is an owner, or one time in four somebody of the shelter.
func (s *soak) somebody() asker {
	if s.pick(4) == 0 {
		return s.shelter[s.pick(len(s.shelter))]
	}
	return s.owners[s.pick(len(s.owners))]
}

// rest waits until nothing is under way and looks what is left.
func (s *soak) rest() {
	s.client.CloseIdleConnections()
	for range 300 {
		s.after = s.levels()
		if s.after.goroutines <= s.before.goroutines+soakIdle && s.after.files <= s.before.files+soakIdle {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
}

// levels asks the server's figures.
func (s *soak) levels() levels {
	res, err := http.Get(s.server.about + "/metrics")
	if err != nil {
		s.t.Error(err)
		return levels{}
	}
	defer res.Body.Close()
	value := map[string]float64{}
	for lines := bufio.NewScanner(res.Body); lines.Scan(); {
		if name, text, ok := strings.Cut(lines.Text(), " "); ok {
			value[name], _ = strconv.ParseFloat(text, 64) // comments have no value
		}
	}
	return levels{value["process_resident_memory_bytes"] / (1 << 20), int(value["go_goroutines"]), int(value["process_open_fds"])}
}

// machine is how long all processors together have been busy, in seconds (proc(5) of
// Linux: /proc/stat counts in hundredths).
func machine(t *testing.T) float64 {
	t.Helper()
	raw, err := os.ReadFile("/proc/stat")
	if err != nil {
		t.Log("no /proc: who else uses the machine is not known")
		return 0
	}
	line, _, _ := strings.Cut(string(raw), "\n")
	busy := 0.0
	for i, text := range strings.Fields(line)[1:] {
		if n, err := strconv.ParseFloat(text, 64); err == nil && i < 8 && i != 3 && i != 4 { // not idle, not waiting for the disk
			busy += n / 100
		}
	}
	return busy
}

// ours is how long of that went to the server and to this generator.
func (s *soak) ours() float64 { return spentS(os.Getpid(), s.server.cmd.Process.Pid) }

// spentS is how long processes have kept processors busy, in seconds (proc(5) of Linux),
// 0 where nobody tells.
func spentS(pids ...int) float64 {
	sum := 0.0
	for _, pid := range pids {
		raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		if err != nil {
			return 0
		}
		_, rest, _ := strings.Cut(string(raw), ") ")
		f := strings.Fields(rest)
		for _, text := range f[11:13] { // utime and stime
			n, _ := strconv.ParseFloat(text, 64) // the kernel's numbers
			sum += n / 100
		}
	}
	return sum
}

// at is a quantile of what took so long.
func quantile(ms []float64, q float64) float64 {
	if len(ms) == 0 {
		return 0
	}
	return ms[min(len(ms)-1, int(q*float64(len(ms))))]
}

// isCheap says which kinds are.
func (s *soak) isCheap(kind string) bool {
	for _, e := range s.habits() {
		if e.kind == kind && !e.cheap {
			return false
		}
	}
	return kind != "plan"
}

// print prints the table.
func (s *soak) print(long time.Duration) {
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "  %d owners, %d people of a shelter, %v, %d cores, others took %.0f %% of the machine's time\n", len(s.owners), len(s.shelter), long, runtime.GOMAXPROCS(0), 100*s.others)
	fmt.Fprintln(w, "  kind\tanswered\ta second\trefused\tp50 ms\tp99 ms\tmost ms\t")
	row := func(kind string, ms []float64, refused int) {
		slices.Sort(ms)
		fmt.Fprintf(w, "  %s\t%d\t%.1f\t%d\t%.0f\t%.0f\t%.0f\t\n", kind, len(ms), float64(len(ms))/long.Seconds(), refused, quantile(ms, .5), quantile(ms, .99), quantile(ms, 1))
	}
	slices.Sort(s.kinds)
	for _, kind := range s.kinds {
		row(kind, s.ms[kind], s.refused[kind])
	}
	cheap, refused := s.cheap()
	row("all cheap ones", cheap, refused)
	w.Flush()
	for i, third := range s.thirds() {
		fmt.Printf("  third %d: memory %.0f MB, %d goroutines, %d files (medians)\n", i+1, third.rssMB, third.goroutines, third.files)
	}
	fmt.Printf("  before %.0f MB, %d goroutines, %d files; at rest afterwards %.0f MB, %d goroutines, %d files; most memory %d MB\n",
		s.before.rssMB, s.before.goroutines, s.before.files, s.after.rssMB, s.after.goroutines, s.after.files, s.server.mostMB())
}

// cheap are the times of all cheap requests, sorted, and how many were refused.
func (s *soak) cheap() (ms []float64, refused int) {
	for kind, list := range s.ms {
		if s.isCheap(kind) {
			ms = append(ms, list...)
			refused += s.refused[kind]
		}
	}
	slices.Sort(ms)
	return ms, refused
}

// thirds are the medians of the samples, by third.
func (s *soak) thirds() (out [3]levels) {
	n := len(s.samples)
	for i := range out {
		part := s.samples[i*n/3 : (i+1)*n/3]
		if len(part) == 0 {
			continue
		}
		median := func(of func(levels) float64) float64 {
			list := make([]float64, len(part))
			for i, l := range part {
				list[i] = of(l)
			}
			slices.Sort(list)
			return list[len(list)/2]
		}
		out[i] = levels{median(func(l levels) float64 { return l.rssMB }), int(median(func(l levels) float64 { return float64(l.goroutines) })), int(median(func(l levels) float64 { return float64(l.files) }))}
	}
	return out
}

// judge holds the bounds.
func (s *soak) judge(long time.Duration) {
	if s.after.goroutines > s.before.goroutines+soakIdle || s.after.files > s.before.files+soakIdle {
		s.t.Errorf("at rest there were %d goroutines and %d files, and are %d and %d", s.before.goroutines, s.before.files, s.after.goroutines, s.after.files)
	}
	cheap, refused := s.cheap()
	if len(s.ms["plan"]) == 0 || len(cheap) < 20 {
		s.t.Errorf("%d plans and %d cheap requests were answered: nothing was tested", len(s.ms["plan"]), len(cheap))
	}
	if refused > 0 {
		s.t.Errorf("%d cheap requests were refused", refused)
	}
	if long < time.Minute {
		return // it is still warming up
	}
	third := s.thirds()
	if most := soakGrowth*third[1].rssMB + soakSpareMB; third[2].rssMB > most {
		s.t.Errorf("memory grew from %.0f MB to %.0f MB", third[1].rssMB, third[2].rssMB)
	}
	switch p99 := quantile(cheap, .99); {
	case p99 <= soakCheapMS:
	case s.others > soakOthers:
		s.t.Logf("99 of 100 cheap requests were answered within %.0f ms, but others used %.0f %% of the machine: not judged", p99, 100*s.others)
	default:
		s.t.Errorf("99 of 100 cheap requests were answered within %.0f ms, want %d", p99, soakCheapMS)
	}
	s.server.signal(syscall.SIGTERM)
	s.server.finished()
}

// mostMB is the most memory that a process has had resident (VmHWM of proc(5)), 0 where
// nobody tells.
func (p *running) mostMB() int {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(raw)) {
		if text, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kB, _ := strconv.Atoi(strings.Fields(text)[0]) // the kernel's number
			return kB >> 10
		}
	}
	return 0
}
