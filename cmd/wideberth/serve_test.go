package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// TestServeOpensToOthersWithTokensOnly runs the program in its order of use: it
// refuses an address that others reach, a token is made, and then it serves there
// those who send it.
func TestServeOpensToOthersWithTokensOnly(t *testing.T) {
	dir := t.TempDir()
	snapshot, memory := filepath.Join(dir, "town.wb"), filepath.Join(dir, "memory.db")
	var printed, said bytes.Buffer
	w := &world{out: &printed, err: &said, now: time.Now}
	if code := run(t.Context(), w, []string{"import", "--out", snapshot}); code != 0 {
		t.Fatal(said.String())
	}
	serve := []string{"serve", "--snapshot", snapshot, "--store", memory, "--quiet", "--listen"}
	soon, stop := context.WithTimeout(t.Context(), 5*time.Second) // if it serves after all
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
	ctx, stop := context.WithCancel(context.Background())
	in, out := io.Pipe()
	ended := make(chan int, 1)
	var said bytes.Buffer // read when the program has ended
	go func() {
		code := run(ctx, &world{out: out, err: &said, now: time.Now}, args)
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
