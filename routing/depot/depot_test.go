package depot_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/contents"
	"wideberth/routing/depot"
)

// storage is a server that speaks S3's protocol (gofakes3), with a hook before each
// answer and a count of the objects read.
type storage struct {
	url   string
	reads atomic.Int64
	hook  atomic.Pointer[func(http.ResponseWriter, *http.Request) bool] // true: it has answered
}

func newStorage(t *testing.T) *storage {
	t.Helper()
	backend := s3mem.New()
	if err := backend.CreateBucket("maps"); err != nil {
		t.Fatal(err)
	}
	s, h := &storage{}, gofakes3.New(backend).Server()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodGet {
			s.reads.Add(1)
		}
		if f := s.hook.Load(); f != nil && (*f)(w, r) {
			return
		}
		h.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	t.Setenv("AWS_ACCESS_KEY_ID", "walker")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "of no use")
	s.url = "s3://maps?region=eu-west-1&use_path_style=true&endpoint=" + server.URL
	return s
}

func (s *storage) do(f func(http.ResponseWriter, *http.Request) bool) { s.hook.Store(&f) }

// clock ticks a second each time it is asked, so that no two files are of one moment.
func clock() func() time.Time {
	at, mu := time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC), sync.Mutex{}
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		at = at.Add(time.Second)
		return at
	}
}

func open(t *testing.T, bucket string, maxBytes int64) *depot.Depot {
	t.Helper()
	d, err := depot.Open(t.Context(), bucket, depot.Options{Dir: filepath.Join(t.TempDir(), "near"), MaxBytes: maxBytes, Now: clock()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return d
}

// folder makes a folder with three tiles of a thousand bytes each.
func folder(t *testing.T) (string, contents.Table) {
	t.Helper()
	dir := t.TempDir()
	table := contents.Table{Made: time.Date(2026, 11, 30, 19, 0, 0, 0, time.UTC)}
	for i, key := range []string{"1", "2", "3"} {
		path := filepath.Join(dir, "making")
		if err := os.WriteFile(path, bytes.Repeat([]byte(key), 1000), 0o600); err != nil {
			t.Fatal(err)
		}
		name, size, err := contents.FileName(key, path)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(path, filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
		core := contents.Box{float64(i), 0, float64(i + 1), 1}
		table.Tiles = append(table.Tiles, contents.Tile{Key: key, File: name, Bytes: size, Core: core, Served: core, Name: "Tannerswick", Zone: "Etc/UTC"})
	}
	if err := contents.Write(dir, table); err != nil {
		t.Fatal(err)
	}
	return dir, table
}

// fetched fetches a tile and compares it with the one in the folder it came from.
func fetched(t *testing.T, d *depot.Depot, from string, tile contents.Tile) {
	t.Helper()
	path, err := d.Fetch(t.Context(), tile)
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(path)
	want, err2 := os.ReadFile(filepath.Join(from, tile.File))
	if err != nil || err2 != nil || !bytes.Equal(got, want) {
		t.Errorf("%s came back as %d bytes of %d, %v %v", tile.File, len(got), len(want), err, err2)
	}
}

func TestAMapGoesThroughABucket(t *testing.T) {
	for name, bucket := range map[string]string{
		"S3":     newStorage(t).url,
		"folder": "file://" + filepath.ToSlash(t.TempDir()) + "?no_tmp_dir=true",
	} {
		t.Run(name, func(t *testing.T) {
			dir, want := folder(t)
			here, there := open(t, bucket, 0), open(t, bucket, 0)
			if _, err := there.Pull(t.Context()); !errors.Is(err, fs.ErrNotExist) {
				t.Errorf("of an empty bucket: %v", err)
			}
			if n, err := here.Publish(t.Context(), dir); n != 3 || err != nil {
				t.Fatalf("%d files put, %v", n, err)
			}
			if n, err := here.Publish(t.Context(), dir); n != 0 || err != nil {
				t.Errorf("%d files put again, %v", n, err)
			}
			got, err := there.Pull(t.Context())
			if err != nil || len(got.Tiles) != 3 {
				t.Fatalf("%+v, %v", got, err)
			}
			for i, tile := range got.Tiles {
				if tile != want.Tiles[i] {
					t.Errorf("%+v, want %+v", tile, want.Tiles[i])
				}
				fetched(t, there, dir, tile)
			}
		})
	}
}

// Many who ask for a tile at once share one download; who comes later needs none.
func TestOneDownloadForAll(t *testing.T) {
	s := newStorage(t)
	dir, table := folder(t)
	d := open(t, s.url, 0)
	if _, err := d.Publish(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	before, waiting := s.reads.Load(), make(chan struct{})
	s.do(func(http.ResponseWriter, *http.Request) bool { <-waiting; return false })
	impatient, leave := context.WithCancel(t.Context())
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			ctx := t.Context()
			if i == 0 {
				ctx = impatient
			}
			if _, err := d.Fetch(ctx, table.Tiles[0]); (i == 0) != errors.Is(err, context.Canceled) || i > 0 && err != nil {
				t.Errorf("asker %d: %v", i, err)
			}
		})
	}
	leave() // one who goes takes nothing from the others
	close(waiting)
	all.Wait()
	fetched(t, d, dir, table.Tiles[0])
	if n := s.reads.Load() - before; n < 1 || n > 2 { // two if one asked when all others had gone
		t.Errorf("%d downloads for nine", n)
	}
}

// A download that breaks off or brings other bytes leaves nothing, and the next succeeds.
func TestABucketThatFailsInTheMiddle(t *testing.T) {
	for _, c := range []struct {
		name   string
		answer func(w http.ResponseWriter)
		want   error
	}{
		{"breaks off", func(w http.ResponseWriter) {
			w.Header().Set("Content-Length", "1000")
			_, _ = w.Write(bytes.Repeat([]byte("1"), 300))
			panic(http.ErrAbortHandler)
		}, nil},
		{"other bytes", func(w http.ResponseWriter) { _, _ = w.Write(bytes.Repeat([]byte("7"), 1000)) }, flatfile.ErrDamaged},
		{"fewer bytes", func(w http.ResponseWriter) { _, _ = w.Write(bytes.Repeat([]byte("1"), 999)) }, flatfile.ErrDamaged},
		{"not there", func(w http.ResponseWriter) {
			w.WriteHeader(http.StatusNotFound)
			fmt.Fprint(w, `<?xml version="1.0"?><Error><Code>NoSuchKey</Code></Error>`)
		}, fs.ErrNotExist},
		{"refused", func(w http.ResponseWriter) { w.WriteHeader(http.StatusForbidden) }, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newStorage(t)
			dir, table := folder(t)
			d := open(t, s.url, 0)
			if _, err := d.Publish(t.Context(), dir); err != nil {
				t.Fatal(err)
			}
			s.do(func(w http.ResponseWriter, _ *http.Request) bool { c.answer(w); return true })
			_, err := d.Fetch(t.Context(), table.Tiles[0])
			if err == nil || c.want != nil && !errors.Is(err, c.want) || !strings.Contains(err.Error(), table.Tiles[0].File) || strings.Contains(err.Error(), "of no use") {
				t.Errorf("%v, want %v with the file's name", err, c.want)
			}
			if left, err := os.ReadDir(d.Dir()); err != nil || len(left) != 0 {
				t.Errorf("left behind: %v, %v", left, err)
			}
			s.do(func(http.ResponseWriter, *http.Request) bool { return false })
			fetched(t, d, dir, table.Tiles[0])
		})
	}
}

// A table that cannot be had, or is none, leaves the one that was there.
func TestTheOldTableStays(t *testing.T) {
	s := newStorage(t)
	dir, _ := folder(t)
	d := open(t, s.url, 0)
	if _, err := d.Publish(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Pull(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, answer := range []string{"", "{", `{"format":1,"tiles":[]}`} {
		s.do(func(w http.ResponseWriter, _ *http.Request) bool { fmt.Fprint(w, answer); return true })
		if _, err := d.Pull(t.Context()); err == nil {
			t.Errorf("%q is taken for a table", answer)
		}
		if old, err := contents.Read(d.Dir()); err != nil || len(old.Tiles) != 3 {
			t.Errorf("after %q: %v, %v", answer, old, err)
		}
	}
}

// What was not needed for longest makes room; the table, and whatever else is in the
// folder, stays.
func TestRoomIsMade(t *testing.T) {
	s := newStorage(t)
	dir, table := folder(t)
	d := open(t, s.url, 2500)
	if _, err := d.Publish(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Pull(t.Context()); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(d.Dir(), "notes.txt")
	if err := os.WriteFile(other, make([]byte, 5000), 0o600); err != nil {
		t.Fatal(err)
	}
	there := func(i int) bool {
		_, err := os.Stat(filepath.Join(d.Dir(), table.Tiles[i].File))
		return err == nil
	}
	for _, i := range []int{0, 1, 0, 2} { // the third time only touches it
		fetched(t, d, dir, table.Tiles[i])
		now := time.Date(2026, 11, 30, 13, 0, i, 0, time.UTC) // a fresh file has the machine's time
		if i != 0 {
			now = time.Date(2026, 11, 30, 11, 0, i, 0, time.UTC)
		}
		if err := os.Chtimes(filepath.Join(d.Dir(), table.Tiles[i].File), now, now); err != nil {
			t.Fatal(err)
		}
	}
	if !there(0) || there(1) || !there(2) {
		t.Errorf("there: %v %v %v, want the one that was needed again and the last", there(0), there(1), there(2))
	}
	for _, name := range []string{other, contents.Path(d.Dir())} {
		if _, err := os.Stat(name); err != nil {
			t.Error(err)
		}
	}
}

// A table goes up after all of its tiles, and not at all where one is missing or is
// not what it says.
func TestTheTableGoesLast(t *testing.T) {
	s := newStorage(t)
	dir, table := folder(t)
	d := open(t, s.url, 0)
	var order []string
	s.do(func(_ http.ResponseWriter, r *http.Request) bool {
		if r.Method == http.MethodPut {
			order = append(order, r.URL.Path)
		}
		return false
	})
	if err := os.WriteFile(filepath.Join(dir, table.Tiles[1].File), make([]byte, 1000), 0o600); err != nil {
		t.Fatal(err)
	}
	if n, err := d.Publish(t.Context(), dir); n != 1 || !errors.Is(err, flatfile.ErrDamaged) {
		t.Errorf("%d, %v", n, err)
	}
	if err := os.WriteFile(filepath.Join(dir, table.Tiles[1].File), bytes.Repeat([]byte("2"), 1000), 0o600); err != nil {
		t.Fatal(err)
	}
	if n, err := d.Publish(t.Context(), dir); n != 2 || err != nil {
		t.Errorf("%d, %v", n, err)
	}
	if len(order) != 4 || !strings.HasSuffix(order[3], contents.Name) || strings.Contains(strings.Join(order[:3], " "), contents.Name) {
		t.Errorf("put in the order %v", order)
	}
}

func TestBucketsThatAreNone(t *testing.T) {
	for _, c := range []struct{ bucket, mend string }{
		{"s4://maps", "s3://"}, {"maps", "s3://"}, {"s3://maps?colour=red", "colour"}, {"", "s3://"},
	} {
		_, err := depot.Open(t.Context(), c.bucket, depot.Options{Dir: t.TempDir(), Now: clock()})
		var wrong fault.Problems
		if !errors.As(err, &wrong) || wrong[0].Pointer != "bucket" || !strings.Contains(wrong[0].Mend, c.mend) {
			t.Errorf("%q: %v", c.bucket, err)
		}
	}
	for path, want := range map[string]bool{"s3://maps": true, "file:///srv": true, "mem://": true, "/srv/maps": false, "maps.wb": false, `C:\maps`: false, "ftp://x": false} {
		if depot.Is(path) != want {
			t.Errorf("%q is taken for a bucket: %v", path, !want)
		}
	}
	if got := depot.Redacted("s3://walker:hush@maps/eu?secret=hush"); strings.Contains(got, "hush") || !strings.Contains(got, "maps/eu") {
		t.Errorf("told as %q", got)
	}
}

func ExampleDepot() {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "near")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	d, err := depot.Open(ctx, "mem://", depot.Options{Dir: dir, Now: clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer d.Close()
	_, err = d.Pull(ctx)
	fmt.Println("nothing was published:", errors.Is(err, fs.ErrNotExist))
	// Output: nothing was published: true
}

// Files of any name come below the folder, and never beside it.
func TestFilesOfOtherNames(t *testing.T) {
	d := open(t, newStorage(t).url, 0)
	from := filepath.Join(t.TempDir(), "block")
	if err := os.WriteFile(from, []byte("a block"), 0o600); err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		put, err := d.Push(t.Context(), "blocks/03.pbf", from)
		if err != nil || put != (i == 0) {
			t.Errorf("time %d: put %v, %v", i, put, err)
		}
		if err := d.Bring(t.Context(), "blocks/03.pbf"); err != nil {
			t.Fatal(err)
		}
	}
	if b, err := os.ReadFile(filepath.Join(d.Dir(), "blocks", "03.pbf")); err != nil || string(b) != "a block" {
		t.Errorf("%q, %v", b, err)
	}
	if has, err := d.Has(t.Context(), "blocks/04.pbf"); has || err != nil {
		t.Errorf("has what nobody put: %v, %v", has, err)
	}
	if err := d.Bring(t.Context(), "blocks/04.pbf"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("what nobody put comes as %v", err)
	}
	var wrong fault.Problems
	if err := d.Bring(t.Context(), "../03.pbf"); !errors.As(err, &wrong) {
		t.Errorf("out of the folder: %v", err)
	}
}

// Ranges of a tile's file make an excerpt once, however many ask; it stays for as long as
// the table names the tile, and one that could not be made is made by the next who asks.
func TestExcerpts(t *testing.T) {
	s := newStorage(t)
	dir, table := folder(t)
	d := open(t, s.url, 1000) // room for one tile: excerpts take none of it
	if _, err := d.Publish(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	cuts := 0
	few := func(path string, read func(at, length int64) ([]byte, error)) error {
		cuts++
		b, err := read(990, 10)
		if err != nil {
			return err
		}
		return os.WriteFile(path, b, 0o600)
	}
	s.do(func(w http.ResponseWriter, _ *http.Request) bool {
		http.Error(w, "", http.StatusForbidden)
		return true
	})
	if _, err := d.Excerpt(t.Context(), table.Tiles[1], few); err == nil || !strings.Contains(err.Error(), table.Tiles[1].File) {
		t.Errorf("of a bucket that refuses: %v", err)
	}
	s.hook.Store(nil)
	cuts = 0
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			path, err := d.Excerpt(t.Context(), table.Tiles[1], few)
			if err != nil {
				t.Error(err)
			} else if b, err := os.ReadFile(path); err != nil || string(b) != "2222222222" {
				t.Errorf("ten bytes of twos came as %q, %v", b, err)
			}
		})
	}
	all.Wait()
	if cuts != 1 {
		t.Errorf("it was cut %d times", cuts)
	}
	if _, err := d.Fetch(t.Context(), table.Tiles[0]); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Fetch(t.Context(), table.Tiles[2]); err != nil {
		t.Fatal(err)
	}
	excerpts := func() int {
		t.Helper()
		found, err := filepath.Glob(filepath.Join(d.Dir(), "*.excerpt"))
		if err != nil {
			t.Fatal(err)
		}
		return len(found)
	}
	gone := table.Tiles[0]
	gone.File = "1.0123456789ab.wb" // a tile that there is no more
	if _, err := d.Excerpt(t.Context(), gone, func(path string, _ func(at, length int64) ([]byte, error)) error {
		return os.WriteFile(path, nil, 0o600)
	}); err != nil || excerpts() != 2 {
		t.Errorf("%d excerpts, %v", excerpts(), err)
	}
	if _, err := d.Pull(t.Context()); err != nil || excerpts() != 1 {
		t.Errorf("with the table there are %d excerpts, %v", excerpts(), err)
	}
}
