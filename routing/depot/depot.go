// Package depot keeps the files of a map in tiles where several machines reach them: in
// a bucket, as objects that never change. A folder on this machine holds what was needed
// of them lately. It hides which kind of bucket it is, downloads that break off, bytes
// that changed on the way, and what makes room for what.
package depot

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"gocloud.dev/blob"
	_ "gocloud.dev/blob/fileblob" // file:// a folder that machines share
	_ "gocloud.dev/blob/memblob"  // mem:// for tests
	_ "gocloud.dev/blob/s3blob"   // s3:// and what speaks its protocol
	"gocloud.dev/gcerrors"
	"golang.org/x/sync/singleflight"

	"wideberth/osmdata/fault"
	"wideberth/routing/contents"
)

// Depot is a bucket with the folder that it fills. Safe for concurrent use, also by
// several processes on one folder.
type Depot struct {
	bucket   *blob.Bucket
	where    string // the bucket, without what is secret
	dir      string
	maxBytes int64
	now      func() time.Time

	fetches singleflight.Group
	life    context.Context
	end     context.CancelFunc

	mu sync.Mutex // guards the choice of what is thrown away
}

// Options of a depot.
type Options struct {
	Dir      string           // folder on this machine; is made if it is not there
	MaxBytes int64            // of tiles kept in it, 0 for no bound; one tile always has room
	Now      func() time.Time // the clock, by which files are old or new
}

// Is tells whether a path names a bucket and not a place on this machine.
func Is(path string) bool {
	scheme, _, ok := strings.Cut(path, "://")
	return ok && blob.DefaultURLMux().ValidBucketScheme(scheme)
}

// Open opens the bucket at a URL, as gocloud.dev/blob has them. It need not be in reach
// yet. Faults of the URL are fault.Problems.
func Open(ctx context.Context, bucket string, o Options) (*Depot, error) {
	where := Redacted(bucket)
	b, err := blob.OpenBucket(ctx, unchecked(bucket))
	if err != nil {
		return nil, fault.Problems{{Pointer: "bucket", Value: where, Mend: err.Error() + ": give one like s3://name?region=eu-west-1 or file:///srv/maps"}}
	}
	if err := os.MkdirAll(o.Dir, 0o755); err != nil {
		return nil, fmt.Errorf("make the folder for what %s holds: %w", where, errors.Join(err, b.Close()))
	}
	d := &Depot{bucket: b, where: where, dir: o.Dir, maxBytes: o.MaxBytes, now: o.Now}
	d.life, d.end = context.WithCancel(context.WithoutCancel(ctx))
	return d, nil
}

// unchecked is a bucket's URL that asks for no checksums of what S3 sends: what comes is
// held against the hash in its name or the checksums inside, and some servers send those of
// the whole object with a range of it.
func unchecked(bucket string) string {
	const key = "response_checksum_validation"
	u, err := url.Parse(bucket)
	if err != nil || u.Scheme != "s3" || u.Query().Has(key) {
		return bucket
	}
	q := u.Query()
	q.Set(key, "when_required")
	u.RawQuery = q.Encode()
	return u.String()
}

// Redacted is a bucket's URL without what may be secret in it.
func Redacted(bucket string) string {
	u, err := url.Parse(bucket)
	if err != nil {
		return "a bucket"
	}
	return (&url.URL{Scheme: u.Scheme, Host: u.Host, Path: u.Path}).String()
}

// Close ends downloads under way and lets the bucket go. The folder stays.
func (d *Depot) Close() error {
	d.end()
	return d.bucket.Close()
}

// Dir is the folder on this machine: a folder with a map in tiles of which not every
// tile need be there.
func (d *Depot) Dir() string { return d.dir }

// Pull brings the table of contents that the bucket has now into the folder. Where that
// cannot be had, the one in the folder stays. A bucket without a table is
// fs.ErrNotExist.
func (d *Depot) Pull(ctx context.Context) (contents.Table, error) {
	if err := d.download(ctx, contents.Name, func(part string) error {
		b, err := os.ReadFile(part)
		if err != nil {
			return err
		}
		_, err = contents.Decode(b, d.where)
		return err
	}); err != nil {
		return contents.Table{}, fmt.Errorf("read %s of %s: %w", contents.Name, d.where, err)
	}
	table, err := contents.Read(d.dir)
	if err == nil {
		d.dropExcerpts(&table)
	}
	return table, err
}

// Fetch gives the path of a tile's file on this machine, which is downloaded if it is
// not there. Whoever asks for one at the same time shares the download. Bytes that are
// not those of its name are flatfile.ErrDamaged; a file that the bucket does not have is
// fs.ErrNotExist.
func (d *Depot) Fetch(ctx context.Context, t contents.Tile) (string, error) {
	path := filepath.Join(d.dir, t.File)
	if now := d.now(); os.Chtimes(path, now, now) == nil { // so that it counts as needed now
		return path, nil
	}
	done := d.fetches.DoChan(t.File, func() (any, error) {
		if err := d.makeRoom(t.Bytes); err != nil {
			return nil, err
		}
		return nil, d.download(d.life, t.File, func(part string) error { return t.VerifyFile(part) })
	})
	select {
	case <-ctx.Done():
		return "", ctx.Err()
	case r := <-done:
		if r.Err != nil {
			return "", fmt.Errorf("fetch %s from %s: %w", t.File, d.where, r.Err)
		}
		return path, nil
	}
}

// excerptEnding is what the name of an excerpt has after that of its tile's file.
const excerptEnding = ".excerpt"

// Excerpt gives the path of a file on this machine that cut has made of ranges of a
// tile's file in the bucket, for who needs little of it: once, whoever asks, and kept
// until the table no longer names the tile. cut makes it at the path, whole or not at
// all.
func (d *Depot) Excerpt(ctx context.Context, t contents.Tile, cut func(path string, read func(at, length int64) ([]byte, error)) error) (string, error) {
	path := filepath.Join(d.dir, t.File+excerptEnding)
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	done := d.fetches.DoChan(t.File+excerptEnding, func() (any, error) {
		return nil, cut(path, func(at, length int64) ([]byte, error) {
			r, err := d.bucket.NewRangeReader(d.life, t.File, at, length, nil)
			if err != nil {
				return nil, told(err)
			}
			b, err := io.ReadAll(r)
			return b, told(errors.Join(err, r.Close()))
		})
	})
	select {
	case <-ctx.Done():
		return "", ctx.Err()
	case r := <-done:
		if r.Err != nil {
			return "", fmt.Errorf("read of %s from %s: %w", t.File, d.where, r.Err)
		}
		return path, nil
	}
}

// dropExcerpts removes those of tiles that a table does not name. What cannot be removed
// is tried again with the next table.
func (d *Depot) dropExcerpts(table *contents.Table) {
	entries, err := os.ReadDir(d.dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		file, excerpt := strings.CutSuffix(e.Name(), excerptEnding)
		if excerpt && contents.Ours(file) && !slices.ContainsFunc(table.Tiles, func(t contents.Tile) bool { return t.File == file }) {
			_ = os.Remove(filepath.Join(d.dir, e.Name()))
		}
	}
}

// download brings an object into the folder under its name, whole or not at all.
func (d *Depot) download(ctx context.Context, name string, check func(part string) error) (err error) {
	r, err := d.bucket.NewReader(ctx, name, nil)
	if err != nil {
		return told(err)
	}
	defer r.Close()
	f, err := os.CreateTemp(d.dir, ".part-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = io.Copy(f, r)
	if err = errors.Join(told(err), f.Sync(), f.Close()); err != nil {
		return err
	}
	if err = check(f.Name()); err != nil {
		return err
	}
	if err = os.Chmod(f.Name(), 0o644); err != nil {
		return err
	}
	return os.Rename(f.Name(), filepath.Join(d.dir, filepath.FromSlash(name)))
}

// told turns the bucket's word for what is not there into the one of files.
func told(err error) error {
	if err != nil && gcerrors.Code(err) == gcerrors.NotFound {
		return fmt.Errorf("%w: %w", fs.ErrNotExist, err)
	}
	return err
}

// makeRoom throws away the tiles that were not needed for longest, until there is room
// for so many bytes more. One that is open stays readable for whoever has it open.
func (d *Depot) makeRoom(bytes int64) error {
	if d.maxBytes == 0 {
		return nil
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	entries, err := os.ReadDir(d.dir)
	if err != nil {
		return err
	}
	var files []fs.FileInfo
	for _, e := range entries {
		if info, err := e.Info(); err == nil && contents.Ours(e.Name()) {
			files, bytes = append(files, info), bytes+info.Size()
		}
	}
	slices.SortFunc(files, func(a, b fs.FileInfo) int { return a.ModTime().Compare(b.ModTime()) })
	for _, f := range files {
		if bytes <= d.maxBytes {
			return nil
		}
		if err := os.Remove(filepath.Join(d.dir, f.Name())); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		bytes -= f.Size()
	}
	return nil
}

// Has tells whether the bucket has an object of a name.
func (d *Depot) Has(ctx context.Context, name string) (bool, error) {
	has, err := d.bucket.Exists(ctx, name)
	if err != nil {
		return false, fmt.Errorf("look for %s in %s: %w", name, d.where, err)
	}
	return has, nil
}

// Bring has an object of any name below the folder, in folders of its own where its name
// has slashes. Whether its bytes are what they should be is for whoever reads them.
func (d *Depot) Bring(ctx context.Context, name string) error {
	path := filepath.Join(d.dir, filepath.FromSlash(name))
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return fault.Problems{{Pointer: "name", Value: name, Mend: "it leads out of the folder"}}
	}
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	if err := d.download(ctx, name, func(string) error { return nil }); err != nil {
		return fmt.Errorf("fetch %s from %s: %w", name, d.where, err)
	}
	return nil
}

// Push puts a file under a name into the bucket, if nothing is there under that name:
// names tell what is in them, so that it would be the same. It tells whether it was put
// there now.
func (d *Depot) Push(ctx context.Context, name, path string) (put bool, err error) {
	if has, err := d.Has(ctx, name); err != nil || has {
		return false, err
	}
	return true, d.upload(ctx, name, path)
}

func (d *Depot) upload(ctx context.Context, name, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	// A writer that is closed after its context has ended puts nothing there.
	ctx, giveUp := context.WithCancel(ctx)
	defer giveUp()
	w, err := d.bucket.NewWriter(ctx, name, &blob.WriterOptions{ContentType: "application/octet-stream"})
	if err != nil {
		return fmt.Errorf("write %s to %s: %w", name, d.where, err)
	}
	if _, err = io.Copy(w, f); err != nil {
		giveUp()
		return fmt.Errorf("write %s to %s: %w", name, d.where, errors.Join(err, w.Close()))
	}
	if err := w.Close(); err != nil {
		return fmt.Errorf("write %s to %s: %w", name, d.where, err)
	}
	return nil
}

// Publish puts all tiles of a folder and then its table of contents into the bucket: who
// reads the table finds every file that it names.
func (d *Depot) Publish(ctx context.Context, dir string) (put int, err error) {
	table, err := contents.Read(dir)
	if err != nil {
		return 0, err
	}
	for _, t := range table.Tiles {
		if err := t.Verify(dir); err != nil {
			return put, err
		}
		now, err := d.Push(ctx, t.File, filepath.Join(dir, t.File))
		if err != nil {
			return put, err
		}
		if now {
			put++
		}
	}
	return put, d.upload(ctx, contents.Name, contents.Path(dir))
}
