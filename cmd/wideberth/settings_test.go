package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// said runs the program and gives its exit code and what it printed.
func said(t *testing.T, args ...string) (code int, out, err string) {
	t.Helper()
	var printed, told bytes.Buffer
	code = run(t.Context(), &world{out: &printed, err: &told, now: standing}, args)
	return code, printed.String(), told.String()
}

// TestSettingsByPrecedence: the command line goes before the environment, that before
// the file, that before the default; config says which it was.
func TestSettingsByPrecedence(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.json")
	write := func(s string) {
		t.Helper()
		if err := os.WriteFile(path, []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(`{"snapshot": "file.wb", "listen": "127.0.0.1:1", "drain": "3s", "proxies": ["10.0.0.0/8", "::1"], "quiet": true}`)
	t.Setenv("WIDEBERTH_LISTEN", "127.0.0.1:2")
	t.Setenv("WIDEBERTH_DRAIN", "2s")
	code, out, told := said(t, "config", "--config", path, "--drain", "1s")
	if code != 0 {
		t.Fatal(told)
	}
	for _, row := range []string{
		`snapshot +file\.wb +file \S+settings\.json +WIDEBERTH_SNAPSHOT`,
		`listen +127\.0\.0\.1:2 +environment +WIDEBERTH_LISTEN`,
		`drain +1s +command line +WIDEBERTH_DRAIN`,
		`proxies +10\.0\.0\.0/8,::1 +file `,
		`quiet +true +file `,
		`log +text +default +WIDEBERTH_LOG`,
		`store +file\.db +default `,
	} {
		if !regexp.MustCompile(`(?m)^` + row).MatchString(out) {
			t.Errorf("no row like %s in\n%s", row, out)
		}
	}
	t.Setenv("WIDEBERTH_CONFIG", path)
	if code, out, told := said(t, "config"); code != 0 || !strings.Contains(out, "file.wb") {
		t.Errorf("a file that the environment names: exit code %d, %s%s", code, out, told)
	}
	for content, want := range map[string]string{
		`{"snapshott": "x"}`:               "snapshott: is no setting",
		`{"config": "x"}`:                  "config: is no setting",
		`{"snapshot": {"a": 1}}`:           "snapshot: give a text",
		`["snapshot"]`:                     "must be one JSON object",
		`{"snapshot": "x"`:                 "must be one JSON object",
		`{"snapshot": "x", "log": "xml"}`:  "--log",
		`{"snapshot": "x", "quiet": "ja"}`: "--quiet",
	} {
		write(content)
		if code, out, told := said(t, "config"); code != exitUsage || !strings.Contains(told, want) || strings.Count(told, "\n") != 1 ||
			!strings.Contains(want, "--") && strings.Contains(told, "--snapshot") {
			t.Errorf("%s: exit code %d, %s%s, want %s", content, code, out, told, want)
		}
	}
	if code, _, told := said(t, "config", "--config", path+".none"); code == 0 || !strings.Contains(told, "no such file") {
		t.Errorf("no file: exit code %d, %s", code, told)
	}
}

// TestSettingsAreChecked: serve refuses what it cannot do before it opens anything.
func TestSettingsAreChecked(t *testing.T) {
	for flag, bad := range map[string][]string{"--proxies": {"300.1.1.1", "10.0.0.0/33", "proxy", "fe80::1%eth0"}, "--drain": {"-1s", "11m", "5"}, "--log": {"xml"}} {
		for _, value := range bad {
			for _, verb := range []string{"serve", "config"} {
				code, _, told := said(t, verb, "--snapshot", "none.wb", flag+"="+value)
				if code != exitUsage || !strings.Contains(told, flag) {
					t.Errorf("%s %s=%s: exit code %d, %s", verb, flag, value, code, told)
				}
			}
		}
	}
}

// TestNoPasswordIsEverTold: whatever is mistyped, and wherever, no message repeats what
// may be a password.
func TestNoPasswordIsEverTold(t *testing.T) {
	const secret = "hunter2-5up3r"
	path := filepath.Join(t.TempDir(), "settings.json")
	t.Setenv("PGCONNECT_TIMEOUT", "1")
	for _, address := range []string{
		"postgres://walker:" + secret + "@127.0.0.1:1/db", "postgres://walker:" + secret + "@[::1/db", "postgres:/walker:" + secret + "@h/db",
		"postgres//walker:" + secret + "@h/db", "postgre://walker:" + secret + "@h/db", "host=h password=" + secret, "walker:" + secret + "@h", "//walker:" + secret + "@h/db",
		"postgres://walker:" + secret + "%zz@h/db", "postgresql:walker:" + secret + "@h",
	} {
		content, err := json.Marshal(map[string]string{"snapshot": "x.wb", "store": address})
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		lines := map[string]func() (int, string, string){
			"flag":        func() (int, string, string) { return said(t, "token", "--store", address) },
			"equals":      func() (int, string, string) { return said(t, "token", "--store="+address) },
			"no flag":     func() (int, string, string) { return said(t, "token", address) },
			"command":     func() (int, string, string) { return said(t, address) },
			"other flag":  func() (int, string, string) { return said(t, "token", "--stroe="+address, "--days=x") },
			"file":        func() (int, string, string) { return said(t, "config", "--config", path) },
			"file, wrong": func() (int, string, string) { return said(t, "config", "--config", path, "--drain=x") },
			"as snapshot": func() (int, string, string) { return said(t, "config", "--snapshot", address) },
			"environment": func() (int, string, string) {
				os.Setenv("WIDEBERTH_STORE", address)
				defer os.Unsetenv("WIDEBERTH_STORE")
				return said(t, "token")
			},
			"environment, wrong": func() (int, string, string) {
				os.Setenv("WIDEBERTH_STORE", address)
				defer os.Unsetenv("WIDEBERTH_STORE")
				return said(t, "token", "--days=x")
			},
		}
		for where, line := range lines {
			if code, out, told := line(); strings.Contains(out+told, secret) || code == 0 && !strings.HasPrefix(where, "file") && where != "as snapshot" {
				t.Errorf("%s, %s: exit code %d, %s%s", address, where, code, out, told)
			}
		}
	}
}

// TestHushed holds what is hidden in a line, and that nothing else is.
func TestHushed(t *testing.T) {
	for _, c := range []struct {
		line string
		args []string
		want string
	}{
		{"unexpected argument postgres://a:b@c/d", nil, "unexpected argument [address]"},
		{"at postgres://user@host/database", nil, "at postgres://user@host/database"},
		{"host=h password=x1, user=y", nil, "host=h [address], user=y"},
		{"unexpected a:b@c", []string{"--store=a:b@c"}, "unexpected [address]"},
		{"--from = 39.75,-75.56: give a latitude", []string{"--from", "39.75,-75.56"}, "--from = 39.75,-75.56: give a latitude"},
		{"open x.wb: no such file", []string{"--snapshot", "x.wb"}, "open x.wb: no such file"},
	} {
		if got := hushed(c.line, c.args); got != c.want {
			t.Errorf("%q became %q, want %q", c.line, got, c.want)
		}
	}
}

// FuzzHushed: of an address with a password no message keeps the password.
func FuzzHushed(f *testing.F) {
	f.Add("postgres://", "walker", "h/db", "unknown flag ")
	f.Add("", "a", "b", "open ")
	f.Fuzz(func(t *testing.T, scheme, user, host, before string) {
		const secret = "S3cretWord"
		if strings.ContainsAny(scheme+user+host, " \t\n\r\v\f\"',;\u0085\u00a0\u2028\u2029") || strings.Contains(before, secret) {
			return
		}
		address := "postgres://" + user + ":" + secret + "@" + host
		if got := hushed(before+address+" and more", []string{"--store=" + address}); strings.Contains(got, secret) {
			t.Errorf("%q keeps it: %q", before+address, got)
		}
	})
}

// process is the program in a goroutine of its own, with what it says.
type process struct {
	lines chan string // of what it prints
	end   context.CancelFunc
	ended chan int
	told  *bytes.Buffer // to be read when it has ended
}

func begun(t *testing.T, args ...string) *process {
	t.Helper()
	ctx, end := context.WithCancel(context.Background())
	in, out := io.Pipe()
	p := &process{lines: make(chan string, 10), end: end, ended: make(chan int, 1), told: &bytes.Buffer{}}
	go func() {
		for s := bufio.NewScanner(in); s.Scan(); {
			p.lines <- s.Text()
		}
		close(p.lines)
	}()
	go func() {
		code := run(ctx, &world{out: out, err: p.told, now: standing}, args)
		out.Close()
		p.ended <- code
	}()
	t.Cleanup(end)
	return p
}

// addressIn waits for a line and takes the address out of it.
func (p *process) addressIn(t *testing.T) string {
	t.Helper()
	line := <-p.lines
	at := regexp.MustCompile(`http://[^/ ]+`).FindString(line)
	if at == "" {
		t.Fatalf("no address in %q", line)
	}
	return at
}

func imported(t *testing.T) string {
	t.Helper()
	snapshot := filepath.Join(t.TempDir(), "town.wb")
	if code, _, told := said(t, "import", "--out", snapshot); code != 0 {
		t.Fatal(told)
	}
	return snapshot
}

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Get(url)
	if err != nil {
		return 0, err.Error()
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(body)
}

// TestServeDrainsAndIsMeasured: figures have a listener of their own and are nowhere
// else; when its end is asked for, readiness goes first while everything else is
// answered on; each line of the log is a JSON object.
func TestServeDrainsAndIsMeasured(t *testing.T) {
	p := begun(t, "serve", "--snapshot", imported(t), "--listen", "127.0.0.1:0", "--metrics", "127.0.0.1:0", "--drain", "10m", "--log", "json", "--proxies", "192.0.2.0/24")
	figures, base := p.addressIn(t), p.addressIn(t)
	for url, want := range map[string]int{base + "/readyz": 200, base + "/v1/map": 200, base + "/metrics": 404, figures + "/metrics": 200, figures + "/v1/map": 404} {
		if got, body := get(t, url); got != want {
			t.Errorf("%s: %d, want %d: %s", url, got, want, body)
		}
	}
	if _, body := get(t, figures+"/metrics"); !strings.Contains(body, `wideberth_request_duration_seconds_count{operation="map",status="200"} 1`) || !strings.Contains(body, "wideberth_draining 0") {
		t.Errorf("what was asked for is not counted:\n%s", body)
	}
	kept := dialled(t, base)
	if res := kept.get(t, "/v1/map"); res.StatusCode != http.StatusOK || res.Close {
		t.Errorf("%s, closed %v", res.Status, res.Close)
	}
	p.end()
	for ready := 200; ready != 503; ready, _ = get(t, base+"/readyz") {
		if ready != 200 {
			t.Fatalf("readiness is %d", ready)
		}
	}
	if got, body := get(t, base+"/v1/map"); got != 200 {
		t.Errorf("while it drains %d: %s", got, body)
	}
	if res := kept.get(t, "/v1/map"); res.StatusCode != http.StatusOK || !res.Close {
		t.Errorf("while it drains, on a connection that a balancer keeps: %s, closed %v", res.Status, res.Close)
	}
	if _, body := get(t, figures+"/metrics"); !strings.Contains(body, "wideberth_draining 1") {
		t.Error("the figures do not say that it drains")
	}
}

// connection is one that is kept between requests, and never made anew.
type connection struct {
	net.Conn
	in *bufio.Reader
}

func dialled(t *testing.T, base string) connection {
	t.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return connection{c, bufio.NewReader(c)}
}

// get asks for a path and reads the answer's body.
func (c connection) get(t *testing.T, path string) *http.Response {
	t.Helper()
	if _, err := fmt.Fprintf(c, "GET %s HTTP/1.1\r\nHost: localhost\r\n\r\n", path); err != nil {
		t.Fatal(err)
	}
	res, err := http.ReadResponse(c.in, nil)
	if err != nil {
		t.Fatalf("the connection was closed: %v", err)
	}
	if _, err := io.Copy(io.Discard, res.Body); err != nil {
		t.Fatal(err)
	}
	return res
}

// TestServeEndsWhenDrained: it ends by itself, with nothing to complain of, and its log
// can be read by programs.
func TestServeEndsWhenDrained(t *testing.T) {
	p := begun(t, "serve", "--snapshot", imported(t), "--listen", "127.0.0.1:0", "--drain", "10ms", "--log", "json")
	base := p.addressIn(t)
	if got, body := get(t, base+"/v1/map"); got != 200 {
		t.Fatal(body)
	}
	p.end()
	if code := <-p.ended; code != 0 {
		t.Errorf("exit code %d: %s", code, p.told)
	}
	lines := 0
	for line := range strings.Lines(p.told.String()) {
		if strings.HasPrefix(line, "wideberth:") {
			continue // to the person that starts it: a new store
		}
		var entry struct {
			Msg   string    `json:"msg"`
			Route string    `json:"route"`
			Time  time.Time `json:"time"`
		}
		if err := json.Unmarshal([]byte(line), &entry); err != nil || entry.Msg == "" || entry.Time.IsZero() {
			t.Errorf("%q: %v", line, err)
		}
		if entry.Route == "/v1/map" {
			lines++
		}
	}
	if lines != 1 {
		t.Errorf("the request has %d lines in\n%s", lines, p.told)
	}
}

// TestTracesAreSentWhereAsked: without the standard variables nothing is sent; with
// them a collector, here one of the test's own, gets what it can read, and one that is
// away keeps nobody from ending.
func TestTracesAreSentWhereAsked(t *testing.T) {
	snapshot := imported(t)
	for name, want := range map[string]bool{"": false, "OTEL_EXPORTER_OTLP_ENDPOINT": true, "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT": true, "OTEL_SERVICE_NAME": false} {
		if got := tracesWanted(func(n string) string { return map[bool]string{true: "x"}[n == name] }); got != want {
			t.Errorf("%q: %v", name, got)
		}
	}
	for name, value := range map[string]string{"OTEL_SDK_DISABLED": "true", "OTEL_TRACES_EXPORTER": "none"} {
		if tracesWanted(func(n string) string { return map[string]string{"OTEL_EXPORTER_OTLP_ENDPOINT": "x", name: value}[n] }) {
			t.Errorf("%s=%s does not switch them off", name, value)
		}
	}
	got := make(chan string, 10)
	collector := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		got <- fmt.Sprintf("%s %s %s", r.URL.Path, r.Header.Get("Content-Type"), body)
	}))
	defer collector.Close()
	t.Setenv("OTEL_EXPORTER_OTLP_ENDPOINT", collector.URL)
	p := begun(t, "serve", "--snapshot", snapshot, "--listen", "127.0.0.1:0")
	get(t, p.addressIn(t)+"/v1/map")
	p.end()
	if code := <-p.ended; code != 0 {
		t.Errorf("exit code %d: %s", code, p.told)
	}
	select {
	case sent := <-got:
		if !strings.HasPrefix(sent, "/v1/traces application/x-protobuf ") || !strings.Contains(sent, "wideberth") || !strings.Contains(sent, "/v1/map") {
			t.Errorf("sent %q", sent)
		}
	default:
		t.Error("nothing was sent before the end")
	}
	t.Setenv("OTEL_EXPORTER_OTLP_PROTOCOL", "grpc")
	if code, _, told := said(t, "serve", "--snapshot", snapshot, "--listen", "127.0.0.1:0"); code != exitUsage || !strings.Contains(told, "http/protobuf") {
		t.Errorf("another protocol: exit code %d, %s", code, told)
	}
}
