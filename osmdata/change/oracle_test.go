package change_test

import (
	"bytes"
	"compress/gzip"
	"encoding/xml"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/change"

	"github.com/paulmach/osm"
)

// osmium runs osmium-tool, the reference for what a change file means (its manual:
// https://docs.osmcode.org/osmium/latest/osmium-apply-changes.html).
func osmium(t *testing.T, args ...string) string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "osmium", args...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("osmium %s: %v %s (make tools installs it)", strings.Join(args, " "), err, stderr.String())
	}
	return string(out)
}

// who are the fields of OPL (OSM object per line) that say who made an object and where.
var who = regexp.MustCompile(` c\d* (t[^ ]*) i\d* u[^ ]*`)

// opl writes an object as osmium-tool does, without who made it. Tags of the tests have
// no characters that would be escaped.
func opl(o osm.Object) string {
	head := func(letter string, id int64, version int, at time.Time) string {
		stamp := ""
		if !at.IsZero() {
			stamp = at.Format("2006-01-02T15:04:05Z")
		}
		return fmt.Sprintf("%s%d v%d dV t%s", letter, id, version, stamp)
	}
	tags := func(tags osm.Tags) string {
		var parts []string
		for _, t := range tags {
			parts = append(parts, t.Key+"="+t.Value)
		}
		return " T" + strings.Join(parts, ",")
	}
	switch o := o.(type) {
	case *osm.Node:
		return head("n", int64(o.ID), o.Version, o.Timestamp) + tags(o.Tags) + fmt.Sprintf(" x%s y%s", degrees(o.Lon), degrees(o.Lat))
	case *osm.Way:
		var refs []string
		for _, n := range o.Nodes {
			refs = append(refs, fmt.Sprintf("n%d", n.ID))
		}
		return head("w", int64(o.ID), o.Version, o.Timestamp) + tags(o.Tags) + " N" + strings.Join(refs, ",")
	case *osm.Relation:
		var members []string
		for _, m := range o.Members {
			members = append(members, fmt.Sprintf("%c%d@%s", m.Type[0], m.Ref, m.Role))
		}
		return head("r", int64(o.ID), o.Version, o.Timestamp) + tags(o.Tags) + " M" + strings.Join(members, ",")
	}
	return "?"
}

func degrees(v float64) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.7f", v), "0"), ".")
}

// laid reads a map and change files and lays the one over the other; held in so little
// memory, most of it is put aside on the way.
func laid(t *testing.T, memory int, extract string, changes ...string) []string {
	t.Helper()
	set := change.NewSet(memory, t.TempDir())
	defer func() {
		if err := set.Close(); err != nil {
			t.Error(err)
		}
	}()
	for _, path := range changes {
		if _, err := set.AddFile(t.Context(), path); err != nil {
			t.Fatal(err)
		}
	}
	f, err := os.Open(extract)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	src, err := osmdata.OpenElements(t.Context(), f, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for o, err := range set.Over(change.Of(src, nil).Objects(t.Context())) {
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, opl(o))
	}
	return lines
}

func compare(t *testing.T, got []string, want string) {
	t.Helper()
	lines := strings.Split(strings.TrimSpace(who.ReplaceAllString(want, " $1")), "\n")
	for i := range max(len(got), len(lines)) {
		if i >= len(got) || i >= len(lines) || got[i] != lines[i] {
			t.Fatalf("object %d of %d, want %d:\n got %q\nwant %q", i, len(got), len(lines), got[min(i, len(got)-1)], lines[min(i, len(lines)-1)])
		}
	}
}

// draw makes objects at random: few ids, so that files name the same ones again and again.
type draw struct{ *rand.Rand }

func (d draw) tags() string {
	s := ""
	for _, k := range []string{"highway", "name", "building"} {
		if d.IntN(3) == 0 {
			s += fmt.Sprintf(`<tag k="%s" v="v%d"/>`, k, d.IntN(50))
		}
	}
	return s
}

func (d draw) object(kind string, id int64, deleted bool) string {
	stamp := ""
	if d.IntN(5) > 0 {
		stamp = fmt.Sprintf(` timestamp="2026-01-%02dT00:00:%02dZ"`, 1+d.IntN(3), d.IntN(3))
	}
	s := fmt.Sprintf(`<%s id="%d" version="%d"%s`, kind, id, 1+d.IntN(4), stamp)
	if deleted && d.IntN(2) == 0 {
		return s + "/>\n"
	}
	switch kind {
	case "node":
		s += fmt.Sprintf(` lat="%s" lon="%s">`, degrees(float64(d.IntN(1e9)-5e8)/1e7), degrees(float64(d.IntN(2e9)-1e9)/1e7))
	case "way":
		s += ">"
		for range d.IntN(6) {
			s += fmt.Sprintf(`<nd ref="%d"/>`, 1+d.IntN(60))
		}
	case "relation":
		s += ">"
		for range d.IntN(6) {
			s += fmt.Sprintf(`<member type="%s" ref="%d" role="%s"/>`, []string{"node", "way", "relation"}[d.IntN(3)], 1+d.IntN(60), []string{"", "outer", "via"}[d.IntN(3)])
		}
	}
	return s + d.tags() + "</" + kind + ">\n"
}

var kinds = []string{"node", "way", "relation"}

func (d draw) extract() string {
	s := `<osm version="0.6" generator="test">` + "\n"
	for _, kind := range kinds {
		for _, id := range slices.Concat([]int64{-1, -4, -5}, []int64{1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 15, 16, 17, 20, 21, 22, 25, 30, 40, 50}) {
			s += d.object(kind, id, false)
		}
	}
	return s + "</osm>\n"
}

func (d draw) changes(n int) string {
	s := `<?xml version="1.0"?><osmChange version="0.6" generator="test">` + "\n"
	for range n {
		block := []string{"create", "modify", "delete"}[d.IntN(3)]
		s += "<" + block + ">\n"
		for range d.IntN(5) {
			id := int64(d.IntN(66) - 6)
			if id <= 0 {
				id-- // no object has the number 0
			}
			s += d.object(kinds[d.IntN(3)], id, block == "delete")
		}
		s += "</" + block + ">\n"
	}
	return s + "</osmChange>\n"
}

// TestLaidAsOsmiumDoes holds what is laid over an extract against osmium-tool, on maps and
// change files drawn at random: objects made, changed and deleted again and again, in any
// order of versions, with and without times, in several files; all in memory, and put
// aside after every few objects.
func TestLaidAsOsmiumDoes(t *testing.T) {
	const seed = 20261130
	t.Logf("seed %d", seed)
	d := draw{rand.New(rand.NewPCG(seed, 1))}
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for i := range 6 {
		extract := write("map.osm", d.extract())
		a, b := write("a.osc", d.changes(40)), write("b.osc.gz", gzipped(d.changes(10*i)))
		want := osmium(t, "apply-changes", extract, a, b, "-f", "opl", "-o", "-")
		compare(t, laid(t, change.UsualMemory, extract, a, b), want)
		compare(t, laid(t, 1<<10, extract, a, b), want)
	}
}

func gzipped(s string) string {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	if _, err := w.Write([]byte(s)); err != nil {
		panic(err)
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	return b.String()
}

// TestChangeOfLibrary: what the library for OpenStreetMap's types writes is read back.
func TestChangeOfLibrary(t *testing.T) {
	at := time.Date(2026, 11, 1, 9, 0, 0, 0, time.UTC)
	c := osm.Change{Version: "0.6"}
	c.AppendCreate(&osm.Node{ID: 7, Lat: 1.5, Lon: -2.25, Version: 1, Visible: true, Timestamp: at, Tags: osm.Tags{{Key: "barrier", Value: "gate"}}})
	c.AppendModify(&osm.Way{ID: 8, Version: 3, Visible: true, Timestamp: at, Nodes: osm.WayNodes{{ID: 7}, {ID: 9}}})
	c.AppendDelete(&osm.Relation{ID: 9, Version: 2, Timestamp: at})
	b, err := xml.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	err = change.Read(t.Context(), bytes.NewReader(b), "", func(o osm.Object) error {
		visible := map[bool]string{true: "", false: "deleted "}
		switch o := o.(type) {
		case *osm.Node:
			got = append(got, visible[o.Visible]+opl(o))
		case *osm.Way:
			got = append(got, visible[o.Visible]+opl(o))
		case *osm.Relation:
			got = append(got, visible[o.Visible]+opl(o))
		}
		return nil
	})
	want := []string{
		"n7 v1 dV t2026-11-01T09:00:00Z Tbarrier=gate x-2.25 y1.5",
		"w8 v3 dV t2026-11-01T09:00:00Z T Nn7,n9",
		"deleted r9 v2 dV t2026-11-01T09:00:00Z T M",
	}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("got %q, %v", got, err)
	}
}

// TestRealMinute: a minute of OpenStreetMap's own changes, which comes with the library,
// laid over nothing. Map data © OpenStreetMap contributors (ODbL 1.0).
func TestRealMinute(t *testing.T) {
	out, err := exec.CommandContext(t.Context(), "go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Fatal(err)
	}
	minute := filepath.Join(strings.TrimSpace(string(out)), "testdata", "minute_871.osc")
	empty := filepath.Join(t.TempDir(), "empty.osm")
	if err := os.WriteFile(empty, []byte(`<osm version="0.6"></osm>`), 0o600); err != nil {
		t.Fatal(err)
	}
	got := laid(t, 1<<12, empty, minute)
	ids := regexp.MustCompile(`^\w+ v\d+ `)
	var short []string
	for _, line := range got {
		short = append(short, ids.FindString(line))
	}
	var want []string
	for line := range strings.Lines(osmium(t, "apply-changes", empty, minute, "-f", "opl", "-o", "-")) {
		want = append(want, ids.FindString(line))
	}
	if !slices.Equal(short, want) || len(want) < 100 {
		t.Errorf("%d objects, want %d", len(short), len(want))
	}
}
