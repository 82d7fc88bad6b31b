package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"wideberth/api/store"
	"wideberth/api/store/pgtest"
	"wideberth/api/wire/kept"
	"wideberth/testdata"
)

// refusedAtMost is the longest that a request may be refused, however often it is sent
// again: after a server was killed, and after the database came back. While servers are
// exchanged one after another none is refused at all.
const refusedAtMost = 10 * time.Second

// TestReplicas runs two servers on one PostgreSQL behind a balancer: what is bounded
// for all is bounded over both, and no acknowledged write is lost while one server is
// killed, the database restarts, and the servers are exchanged.
func TestReplicas(t *testing.T) {
	pg, err := pgtest.Start(true)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("PostgreSQL is missing: %v", err)
		}
		t.Skipf("skipped without PostgreSQL: %v", err)
	}
	t.Cleanup(pg.Stop)
	rounds, restarts := 1, []string{"fast"}
	if os.Getenv("WIDEBERTH_SLOW") == "1" {
		rounds, restarts = 6, []string{"fast", "immediate", "fast", "immediate"}
	} else {
		t.Log("one round; WIDEBERTH_SLOW=1 does six, and pulls the database's plug")
	}
	c := newCluster(t, pg.URL)
	t.Run("bounds", c.testBounds)
	l := newLoad(c)
	for n := range rounds {
		c.killOne(l, n%len(c.servers))
	}
	for _, mode := range restarts {
		c.restart(l, pg, mode)
	}
	for range rounds {
		c.exchange(l)
	}
	l.finish()
}

// cluster is two servers on one database behind a balancer.
type cluster struct {
	t        *testing.T
	args     []string
	servers  [2]*running
	balancer *balancer
	base     string // of the balancer
	key      string // of the keeper
}

func newCluster(t *testing.T, database string) *cluster {
	t.Helper()
	c := &cluster{t: t, args: []string{"--snapshot", townFile(t), "--store", database, "--proxies", "127.0.0.1", "--drain", "2s", "--clock", standing().Format(time.RFC3339)}, balancer: newBalancer(t)}
	var printed, said bytes.Buffer
	if code := run(t.Context(), &world{out: &printed, err: &said, now: standing}, []string{"token", "--store", database}); code != 0 {
		t.Fatal(said.String())
	}
	c.key = strings.TrimSpace(printed.String())
	web := httptest.NewServer(c.balancer)
	t.Cleanup(web.Close)
	c.base = web.URL
	for i := range c.servers {
		c.start(i)
	}
	return c
}

// start starts a server and waits until requests are sent to it.
func (c *cluster) start(i int) {
	c.t.Helper()
	c.servers[i] = serving(c.t, c.args...)
	c.balancer.set(i, c.servers[i].base)
	c.balancer.until(c.t, "server is ready", func() bool { return c.balancer.backs[i].ready })
}

// ask sends a request and gives status and body, 0 where nothing came back.
func (c *cluster) ask(base, key, method, path, body, idempotency string) (int, []byte) {
	req, err := http.NewRequestWithContext(c.t.Context(), method, base+path, strings.NewReader(body))
	if err != nil {
		c.t.Error(err)
		return 0, nil
	}
	req.Header.Set("Authorization", "Bearer "+key)
	req.Header.Set("Content-Type", "application/json")
	if idempotency != "" {
		req.Header.Set("Idempotency-Key", idempotency)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0, nil
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil {
		return 0, nil
	}
	return res.StatusCode, answer
}

// must is ask of what has to be answered.
func (c *cluster) must(base, key, method, path, body string, into any) {
	c.t.Helper()
	status, answer := c.ask(base, key, method, path, body, "")
	if status/100 != 2 {
		c.t.Fatalf("%s %s: %d %s", method, path, status, answer)
	}
	if into == nil {
		return
	}
	if err := json.Unmarshal(answer, into); err != nil {
		c.t.Fatal(err)
	}
}

const aDog = `{"name":"Fenn","needs":{"dogs":{"working_m":38,"reaction_m":15}}}`

// testBounds: what counts for an account counts over both servers, and what one is told
// the other knows at once.
func (c *cluster) testBounds(t *testing.T) {
	a, b := c.servers[0].base, c.servers[1].base
	var account kept.Account
	c.must(a, c.key, "GET", "/v1/account", "", &account)
	keys := int(limitOf(t, "key"))
	made, refused, other := c.atOnce(keys+20, func(i int) int {
		status, _ := c.ask([]string{a, b}[i%2], c.key, "POST", "/v1/people/"+account.You.ID+"/keys", `{"label":"phone"}`, "")
		return status
	})
	if made != keys-1 || refused != 21 || other != 0 { // the keeper had one
		t.Errorf("%d keys made over both servers, %d refused, %d other answers; want %d made", made, refused, other, keys-1)
	}

	var dog kept.Dog
	c.must(a, c.key, "POST", "/v1/dogs", aDog, &dog)
	c.must(b, c.key, "GET", "/v1/dogs/"+dog.ID, "", nil)
	same := `{"at":"2026-11-25T07:10:00Z","kind":"dogs"}`
	if made, _, _ := c.atOnce(16, func(i int) int {
		status, _ := c.ask([]string{a, b}[i%2], c.key, "POST", "/v1/dogs/"+dog.ID+"/encounters", same, "phone/1")
		return status
	}); made != 16 {
		t.Errorf("one log sent 16 times under a key was acknowledged %d times", made)
	}
	var logs []kept.Encounter
	c.must(b, c.key, "GET", "/v1/dogs/"+dog.ID+"/encounters", "", &logs)
	if len(logs) != 1 {
		t.Errorf("it is kept %d times", len(logs))
	}

	var person struct{ ID string }
	var key struct {
		Token string
		Info  kept.Token
	}
	c.must(a, c.key, "POST", "/v1/people", `{"name":"Robin","role":"trainer"}`, &person)
	c.must(a, c.key, "POST", "/v1/people/"+person.ID+"/keys", `{}`, &key)
	c.must(b, key.Token, "GET", "/v1/dogs", "", nil)
	c.must(a, c.key, "DELETE", "/v1/keys/"+key.Info.ID, "", nil)
	if status, _ := c.ask(b, key.Token, "GET", "/v1/dogs", "", ""); status != http.StatusUnauthorized {
		t.Errorf("a key revoked at one server opens the other: %d", status)
	}
	for _, base := range []string{a, b} {
		if status, _ := c.ask(base, "", "GET", "/v1/dogs", "", ""); status != http.StatusUnauthorized {
			t.Errorf("without a key: %d", status)
		}
	}
}

// limitOf is how many of something can be kept.
func limitOf(t *testing.T, what string) int64 {
	t.Helper()
	for _, l := range store.Limits() {
		if l.What == what {
			return l.Most
		}
	}
	t.Fatalf("no limit of %s", what)
	return 0
}

// atOnce asks so often, sixteen at a time, and counts answers: done, refused with 409,
// and others.
func (c *cluster) atOnce(n int, ask func(i int) int) (made, refused, other int) {
	var counts [3]atomic.Int64
	var next atomic.Int64
	var all sync.WaitGroup
	for range 16 {
		all.Go(func() {
			for i := next.Add(1) - 1; i < int64(n); i = next.Add(1) - 1 {
				switch status := ask(int(i)); {
				case status/100 == 2:
					counts[0].Add(1)
				case status == http.StatusConflict:
					counts[1].Add(1)
				default:
					counts[2].Add(1)
				}
			}
		})
	}
	all.Wait()
	return int(counts[0].Load()), int(counts[1].Load()), int(counts[2].Load())
}

// killOne kills a server while it plans for somebody, and starts another in its place.
func (c *cluster) killOne(l *load, which int) {
	c.t.Helper()
	before := c.balancer.broken.Load()
	for i := 0; c.balancer.broken.Load() == before; i++ {
		if i == 20 {
			c.t.Fatal("no request was cut off by twenty kills: nothing is tested")
		}
		c.balancer.until(c.t, "server plans", func() bool { return c.balancer.backs[which].plans > 0 })
		c.servers[which].kill()
		l.goOn()
		c.start(which)
	}
	l.goOn()
	l.told(fmt.Sprintf("a server killed while it planned: %d requests cut off", c.balancer.broken.Load()-before), refusedAtMost)
}

// restart stops the database and starts it again.
func (c *cluster) restart(l *load, pg *pgtest.Server, mode string) {
	c.t.Helper()
	begin := time.Now()
	if err := pg.Down(mode); err != nil {
		c.t.Fatal(err)
	}
	c.balancer.until(c.t, "no server says that it is ready", func() bool { return !c.balancer.backs[0].ready && !c.balancer.backs[1].ready })
	for _, p := range c.servers {
		if status, _ := c.ask(p.base, "", "GET", "/healthz", "", ""); status != http.StatusOK {
			c.t.Errorf("without its database the program is not alive: %d", status)
		}
	}
	if err := pg.Up(); err != nil {
		c.t.Fatal(err)
	}
	down := time.Since(begin)
	l.goOn()
	l.told(fmt.Sprintf("the database stopped (%s) and started, %.1f s", mode, down.Seconds()), down+refusedAtMost)
}

// exchange puts new servers in the place of the old ones, one after another: each is
// told to end by one of the signals, says that it goes, and ends in good order. No
// request is refused.
func (c *cluster) exchange(l *load) {
	c.t.Helper()
	for i, end := range []syscall.Signal{syscall.SIGTERM, syscall.SIGINT} {
		c.servers[i].signal(end)
		c.servers[i].finished()
		c.balancer.until(c.t, "server said that it goes", func() bool { return c.balancer.backs[i].goes })
		c.start(i)
		l.goOn()
	}
	l.told("servers exchanged one after another", 0)
}

// balancer is a small reverse proxy as stands before two servers: it asks each twenty
// times a second whether it is ready, and sends to those that are, in turns. It sends
// nothing twice.
type balancer struct {
	mu     sync.Mutex // guards what follows
	backs  [2]backend
	turn   int
	broken atomic.Int64 // requests that a server did not answer
}

type backend struct {
	proxy *httputil.ReverseProxy
	base  string
	ready bool
	goes  bool // it said so
	plans int  // under way
}

func newBalancer(t *testing.T) *balancer {
	b := &balancer{}
	ctx, stop := context.WithCancel(context.Background())
	var all sync.WaitGroup
	for i := range b.backs {
		all.Go(func() {
			client := &http.Client{Timeout: 2 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
			tick := time.NewTicker(50 * time.Millisecond)
			defer tick.Stop()
			for ctx.Err() == nil {
				b.look(ctx, client, i)
				<-tick.C
			}
		})
	}
	t.Cleanup(func() { stop(); all.Wait() })
	return b
}

// look asks a server whether it is ready.
func (b *balancer) look(ctx context.Context, client *http.Client, i int) {
	b.mu.Lock()
	base := b.backs[i].base
	b.mu.Unlock()
	if base == "" {
		return
	}
	status, answer := 0, []byte(nil)
	if req, err := http.NewRequestWithContext(ctx, http.MethodGet, base+"/readyz", nil); err == nil {
		if res, err := client.Do(req); err == nil {
			answer, _ = io.ReadAll(res.Body) // what is cut off says nothing
			res.Body.Close()
			status = res.StatusCode
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if back := &b.backs[i]; back.base == base {
		back.ready = status == http.StatusOK
		back.goes = back.goes || status == http.StatusServiceUnavailable && bytes.Contains(answer, []byte("about to stop"))
	}
}

// set tells where a server is now.
func (b *balancer) set(i int, base string) {
	to, err := url.Parse(base)
	if err != nil {
		panic(err) // the program printed it
	}
	proxy := &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(to)
			r.SetXForwarded()
		},
		Transport: &http.Transport{MaxIdleConnsPerHost: 16},
		ErrorHandler: func(w http.ResponseWriter, _ *http.Request, _ error) {
			b.broken.Add(1)
			b.mu.Lock()
			if b.backs[i].base == base {
				b.backs[i].ready = false // until it says that it is
			}
			b.mu.Unlock()
			w.WriteHeader(http.StatusBadGateway)
		},
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.backs[i] = backend{proxy: proxy, base: base}
}

func (b *balancer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	b.mu.Lock()
	i := -1
	for range b.backs {
		if b.turn = (b.turn + 1) % len(b.backs); b.backs[b.turn].ready {
			i = b.turn
			break
		}
	}
	if i < 0 {
		b.mu.Unlock()
		w.WriteHeader(http.StatusServiceUnavailable)
		return
	}
	proxy, base, plan := b.backs[i].proxy, b.backs[i].base, r.URL.Path == "/v1/plans"
	count := func(n int) {
		if plan && b.backs[i].base == base {
			b.backs[i].plans += n
		}
	}
	count(1)
	b.mu.Unlock()
	defer func() { // ReverseProxy panics where an answer breaks off
		b.mu.Lock()
		count(-1)
		b.mu.Unlock()
	}()
	proxy.ServeHTTP(w, r)
}

// until waits until something holds.
func (b *balancer) until(t *testing.T, what string, holds func() bool) {
	t.Helper()
	for range 6000 {
		b.mu.Lock()
		yes := holds()
		b.mu.Unlock()
		if yes {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("waited for a minute: %s", what)
}

// load is what people send meanwhile: meetings and walks, each under a key and again
// until it is acknowledged, plans and looks.
type load struct {
	c       *cluster
	dog     kept.Dog
	stop    atomic.Bool
	all     sync.WaitGroup
	done    []atomic.Int64 // requests answered, by worker
	mu      sync.Mutex     // guards what follows
	logged  map[string]bool
	longest time.Duration // for which one request was refused, since it was last asked
	again   int
}

const loggers, planners = 4, 3

func newLoad(c *cluster) *load {
	l := &load{c: c, logged: map[string]bool{}, done: make([]atomic.Int64, loggers+planners+1)}
	c.must(c.base, c.key, "POST", "/v1/dogs", aDog, &l.dog)
	for n := range loggers {
		l.work(n, func(i int) bool {
			key, path, body := fmt.Sprintf("%d/%d", n, i), "encounters", `{"at":"2026-11-25T07:10:00Z","kind":"dogs","nearest":"about"}`
			if i%5 == 0 {
				path, body = "walks", `{"started":"2026-11-25T07:00:00Z","ended":"2026-11-25T07:30:00Z","all_told":true}`
			}
			if !l.send("POST", "/v1/dogs/"+l.dog.ID+"/"+path, body, key) {
				return false
			}
			l.mu.Lock()
			defer l.mu.Unlock()
			l.logged[path+" "+key] = true
			return true
		})
	}
	wish := fmt.Sprintf(`{"from":{"lat":%g,"lon":%g},"depart":"2026-11-25T07:10:00Z","minutes":12,"dog":%s}`, testdata.DoorLat, testdata.DoorLon, aDog)
	for n := range planners {
		l.work(loggers+n, func(int) bool { return l.send("POST", "/v1/plans", wish, "") })
	}
	l.work(loggers+planners, func(int) bool { return l.send("GET", "/v1/dogs/"+l.dog.ID, "", "") })
	c.t.Cleanup(func() { l.stop.Store(true); l.all.Wait() })
	l.goOn()
	return l
}

// work has a worker do one thing after another.
func (l *load) work(n int, one func(i int) bool) {
	l.all.Go(func() {
		for i := 0; !l.stop.Load(); i++ {
			if !one(i) {
				return
			}
			l.done[n].Add(1)
		}
	})
}

// send sends a request until it is answered, and notes for how long it was refused. It
// is false when the test ends meanwhile.
func (l *load) send(method, path, body, key string) bool {
	begin := time.Now()
	for tries := 0; ; tries++ {
		status, answer := l.c.ask(l.c.base, l.c.key, method, path, body, key)
		switch {
		case status/100 == 2:
			if tries > 0 {
				l.mu.Lock()
				l.longest, l.again = max(l.longest, time.Since(begin)), l.again+1
				l.mu.Unlock()
			}
			return true
		case l.stop.Load():
			return false
		case status != 0 && status != 429 && status < 502:
			l.c.t.Errorf("%s %s: %d %s", method, path, status, answer)
			return false
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// goOn waits until every worker has had two more requests answered, the second of which
// was sent after what came before.
func (l *load) goOn() {
	l.c.t.Helper()
	for i := range l.done {
		from := l.done[i].Load()
		l.c.balancer.until(l.c.t, "workers go on", func() bool { return l.done[i].Load() >= from+2 || l.c.t.Failed() })
	}
}

// told prints for how long a request was refused at the most, and bounds it.
func (l *load) told(what string, most time.Duration) {
	l.c.t.Helper()
	l.mu.Lock()
	defer l.mu.Unlock()
	l.c.t.Logf("%s; %d requests had to be sent again, refused for %.2f s at the most, %d logs acknowledged so far", what, l.again, l.longest.Seconds(), len(l.logged))
	if l.longest > most {
		l.c.t.Errorf("%s: a request was refused for %v, want at most %v", what, l.longest, most)
	}
	l.longest, l.again = 0, 0
}

// finish ends the load and finds all that was acknowledged, once, on either server.
func (l *load) finish() {
	l.c.t.Helper()
	l.stop.Store(true)
	l.all.Wait()
	for _, p := range l.c.servers {
		found := map[string]int{}
		var logs []kept.Encounter
		l.c.must(p.base, l.c.key, "GET", "/v1/dogs/"+l.dog.ID+"/encounters", "", &logs)
		for _, e := range logs {
			found["encounters "+e.Key]++
		}
		var out struct{ Walks []kept.Walk }
		l.c.must(p.base, l.c.key, "GET", "/v1/dogs/"+l.dog.ID+"/export", "", &out)
		for _, w := range out.Walks {
			found["walks "+w.Key]++
		}
		lost := 0
		for key := range l.logged {
			if found[key] == 0 {
				lost++
			}
		}
		for key, n := range found {
			if n > 1 {
				l.c.t.Errorf("%s is kept %d times", key, n)
			}
		}
		if lost > 0 || len(l.logged) < 50 {
			l.c.t.Errorf("of %d acknowledged logs %d are lost", len(l.logged), lost)
		}
		l.c.t.Logf("%d acknowledged logs, all found", len(l.logged)-lost)
	}
}
