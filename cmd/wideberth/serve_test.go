package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// standing is a clock that stands still, a school day at twenty to seven.
func standing() time.Time { return time.Date(2026, 11, 25, 6, 40, 0, 0, time.UTC) }

// TestServeOpensToOthersWithTokensOnly runs the program in its order of use: it
// refuses an address that others reach, a token is made, and then it serves there
// those who send it.
func TestServeOpensToOthersWithTokensOnly(t *testing.T) {
	dir := t.TempDir()
	snapshot, memory := filepath.Join(dir, "town.wb"), filepath.Join(dir, "memory.db")
	var printed, said bytes.Buffer
	w := &world{out: &printed, err: &said, now: standing}
	if code := run(t.Context(), w, []string{"import", "--out", snapshot}); code != 0 {
		t.Fatal(said.String())
	}
	serve := []string{"serve", "--snapshot", snapshot, "--store", memory, "--quiet", "--listen"}
	soon, stop := context.WithTimeout(t.Context(), time.Minute) // if it serves after all
	defer stop()
	if code := run(soon, w, append(serve, "0.0.0.0:0")); code != exitUsage || !strings.Contains(said.String(), "no token was made") {
		t.Fatalf("without tokens exit code %d: %s", code, said.String())
	}
	onLoopback := served(t, append(serve, "127.0.0.1:0"))
	if got := status(t, onLoopback, ""); got != http.StatusOK {
		t.Errorf("the machine itself is answered %d before any token", got)
	}

	printed.Reset()
	if code := run(t.Context(), w, []string{"token", "--store", memory}); code != 0 {
		t.Fatal(said.String())
	}
	token := strings.TrimSpace(printed.String())
	if got := status(t, onLoopback, ""); got != http.StatusUnauthorized {
		t.Errorf("the running program answers %d without the token that now exists", got)
	}
	toAll := served(t, append(serve, "0.0.0.0:0"))
	for _, c := range []struct {
		name, token string
		want        int
	}{{"none", "", http.StatusUnauthorized}, {"another", "x" + token, http.StatusUnauthorized}, {"the one made", token, http.StatusOK}} {
		if got := status(t, toAll, c.token); got != c.want {
			t.Errorf("token %s: status %d, want %d", c.name, got, c.want)
		}
	}
}

var servingAt = regexp.MustCompile(`at http://\S+:(\d+) `)

// served runs the program until the test ends and gives its address on this
// machine.
func served(t *testing.T, args []string) string {
	t.Helper()
	return servedBy(t, standing, args)
}

// servedBy does so by a clock.
func servedBy(t *testing.T, now func() time.Time, args []string) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	in, out := io.Pipe()
	ended := make(chan int, 1)
	var said bytes.Buffer // read when the program has ended
	go func() {
		code := run(ctx, &world{out: out, err: &said, now: now}, args)
		out.Close()
		ended <- code
	}()
	t.Cleanup(func() {
		stop()
		if code := <-ended; code != 0 {
			t.Errorf("serve ended with %d: %s", code, said.String())
		}
	})
	line, err := bufio.NewReader(in).ReadString('\n')
	m := servingAt.FindStringSubmatch(line)
	if m == nil {
		t.Fatalf("serve said %q, %v", line, err)
	}
	return "http://" + net.JoinHostPort("127.0.0.1", m[1])
}

// status asks for the dogs.
func status(t *testing.T, base, token string) int {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, base+"/v1/dogs", nil)
	if err != nil {
		t.Fatal(err)
	}
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	return res.StatusCode
}

// TestServeRehearsesAnotherDay gives the server a clock: it shows that time, runs on
// with the machine's, and dates what is kept; what is no time is refused.
func TestServeRehearsesAnotherDay(t *testing.T) {
	dir := t.TempDir()
	snapshot := filepath.Join(dir, "town.wb")
	var printed, said bytes.Buffer
	var gone atomic.Int64
	w := &world{out: &printed, err: &said, now: func() time.Time { return standing().Add(time.Duration(gone.Load())) }}
	if code := run(t.Context(), w, []string{"import", "--time-zone", "Europe/London", "--out", snapshot}); code != 0 {
		t.Fatal(said.String())
	}
	serve := []string{"serve", "--snapshot", snapshot, "--quiet", "--listen", "127.0.0.1:0", "--clock"}
	for _, bad := range []string{"2028-02-30T12:00:00Z", "2028-02-29T12:00:00", "noon"} {
		said.Reset()
		if code := run(t.Context(), w, append(serve, bad)); code != exitUsage || !strings.Contains(said.String(), "--clock = "+bad+": give a time with its zone") {
			t.Errorf("%s: exit code %d: %s", bad, code, said.String())
		}
	}
	base := servedBy(t, w.now, append(serve, "2027-03-28T00:59:30Z"))
	for _, c := range []struct {
		gone time.Duration
		now  string
	}{{0, "2027-03-28T00:59:30Z"}, {30 * time.Second, "2027-03-28T02:00:00+01:00"}, {48 * time.Hour, "2027-03-30T01:59:30+01:00"}} {
		gone.Store(int64(c.gone))
		var told struct {
			Now string `json:"now"`
		}
		exchange(t, http.MethodGet, base+"/v1/map", "", &told)
		if told.Now != c.now {
			t.Errorf("after %v it is %s, want %s", c.gone, told.Now, c.now)
		}
	}
	var dog struct {
		Created time.Time `json:"created"`
	}
	exchange(t, http.MethodPost, base+"/v1/dogs", `{"name":"Fenn","needs":{"dogs":{"working_m":38,"reaction_m":15}}}`, &dog)
	if want := time.Date(2027, 3, 30, 0, 59, 30, 0, time.UTC); !dog.Created.Equal(want) {
		t.Errorf("the dog is dated %v, want %v", dog.Created, want)
	}
}

// exchange sends a body, if there is one, and reads the answer.
func exchange(t *testing.T, method, url, body string, into any) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if b, err := io.ReadAll(res.Body); err != nil || res.StatusCode/100 != 2 || json.Unmarshal(b, into) != nil {
		t.Fatalf("%s %s: %s, %v, %s", method, url, res.Status, err, b)
	}
}
