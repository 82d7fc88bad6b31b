package main

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"wideberth/api/metrics"
)

// TestServiceFilesNameWhatExists: every command, flag and variable of ours that the
// files for operators and their page name is one that the program has, and every figure
// that the page tells to watch is one that is counted or stands in the source.
func TestServiceFilesNameWhatExists(t *testing.T) {
	parser, err := kong.New(&command{})
	if err != nil {
		t.Fatal(err)
	}
	flags, variables := map[string][]string{}, []string{}
	for _, c := range parser.Model.Children {
		for _, f := range slices.Concat(c.Flags, parser.Model.Flags) {
			flags[c.Name] = append(flags[c.Name], f.Name)
			variables = append(variables, f.Envs...)
		}
	}
	call := regexp.MustCompile(`(?:wideberth|docker compose run --rm server) ([a-z]+)((?: +(?:--?[a-z]+[= ]\S+|"[^"]*"|\S+))*)`)
	files, err := filepath.Glob("service/*")
	if err != nil || len(files) < 6 {
		t.Fatal(files, err)
	}
	calls, named := 0, 0
	for _, path := range files {
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(raw)) {
			for _, m := range call.FindAllStringSubmatch(line, -1) {
				known, ok := flags[m[1]]
				if !ok {
					if strings.Contains(m[2], "--") {
						t.Errorf("%s: there is no command %q", path, m[1])
					}
					continue
				}
				for _, f := range regexp.MustCompile(`--([a-z]+)`).FindAllStringSubmatch(m[2], -1) {
					if calls++; !slices.Contains(known, f[1]) {
						t.Errorf("%s: %s has no flag --%s", path, m[1], f[1])
					}
				}
			}
		}
		for _, v := range regexp.MustCompile(`WIDEBERTH_[A-Z]+`).FindAllString(string(raw), -1) {
			if named++; !slices.Contains(variables, v) {
				t.Errorf("%s: no flag is set by %s", path, v)
			}
		}
	}
	if calls < 6 || named < 6 {
		t.Errorf("only %d flags and %d variables were found: nothing was checked", calls, named)
	}
}

// TestPageNamesFiguresThatExist holds the figures of the operator's page against what
// the program counts.
func TestPageNamesFiguresThatExist(t *testing.T) {
	m := metrics.New("test")
	m.Enter()("plan", 200, 1)
	m.Plan("loop", "done", 1, &metrics.Proof{Work: 1, WithinPct: 1})
	m.Stored(true, 1, "done")
	rec := httptest.NewRecorder()
	m.Handler().ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	levels, err := os.ReadFile(filepath.Join("..", "..", "api", "observe.go"))
	if err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile("service/OPERATING.md")
	if err != nil {
		t.Fatal(err)
	}
	names := regexp.MustCompile("`wideberth_([a-z_]+)").FindAllStringSubmatch(string(page), -1)
	if len(names) < 5 {
		t.Fatalf("only %d figures are named", len(names))
	}
	for _, n := range names {
		if !strings.Contains(rec.Body.String(), "wideberth_"+n[1]) && !strings.Contains(string(levels), `"`+n[1]+`"`) {
			t.Errorf("wideberth_%s is not counted", n[1])
		}
	}
}
