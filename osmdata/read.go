package osmdata

import (
	"bufio"
	"bytes"
	"compress/bzip2"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
)

// ErrNothingToWalk says that an extract was read well and has no way in it that a
// person with a dog may walk.
var ErrNothingToWalk = errors.New("the extract has no way that a person with a dog may walk")

// ErrTooLong says that the streets of an extract are longer together than what can be
// worked on at once.
var ErrTooLong = errors.New("too many streets for one map")

// mostStreetsKM is the most that the streets of one extract can measure together: our
// assumption. A state of the size of Delaware has some 30,000 km with all paths and
// drives; an import takes 20 to 45 kB a km (measured), so this is 20 GB of memory.
const mostStreetsKM = 500_000

// Reasons that a FormatError wraps, for errors.Is.
var (
	ErrNotOSM    = errors.New("not an OpenStreetMap extract: want .osm.pbf, or .osm plain, gzipped or bzip2-ed")
	ErrTruncated = errors.New("the file ends too early: fetch it again")
)

// FormatError says that a file is damaged or of another kind, and where.
type FormatError struct {
	File   string // name as given, "" if the source has none
	Offset int64  // bytes from the start of the file; for compressed XML where reading had got to
	Err    error  // the reason
}

// Error names file, offset and reason on one line.
func (e *FormatError) Error() string {
	file := e.File
	if file == "" {
		file = "extract"
	}
	return fmt.Sprintf("%s: at byte %d: %v", file, e.Offset, e.Err)
}

// Unwrap gives the reason.
func (e *FormatError) Unwrap() error { return e.Err }

// Progress tells how far a reading is. Done over Total is the share of the whole.
type Progress struct {
	Stage       string // what is being done, in words
	Done, Total int64  // bytes handled over all passes; Total never changes
}

// Options say how to read an extract.
type Options struct {
	Rules    []Rule         // which features to pick; the first that matches decides
	Country  string         // ISO 3166-1 code for the foot access defaults, "" for the general table
	Progress func(Progress) // called by one goroutine at a time, may be nil
}

// ReadFile opens and reads the extract at path. See Options.Read.
func (o Options) ReadFile(ctx context.Context, path string) (*Extract, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return o.Read(ctx, f)
}

// Read reads an OpenStreetMap extract: PBF, or XML plain, gzipped or bzip2-ed,
// told apart by content. Equal bytes, rules and country give equal extracts.
//
// Odd data is counted in Extract.Report and never an error. A file that is damaged
// or of another kind is a *FormatError; one without a way to walk is
// ErrNothingToWalk; one with more than half a million km of streets ErrTooLong; a cancelled context is its own error. Memory is about 16 bytes
// for each node that is used (each node there is, for XML), 8 for each reference to
// one, and the result.
func (o Options) Read(ctx context.Context, r io.ReadSeeker) (*Extract, error) {
	tr, err := newTracker(r, o.Progress)
	if err != nil {
		return nil, err
	}
	h := newHarvest(o.Rules)
	if err = collect(ctx, r, tr, h); err != nil {
		return nil, err
	}
	tr.stage("reading the streets")
	x, err := interpret(ctx, h, footTable(o.Country))
	if err != nil {
		return nil, err
	}
	tr.finish()
	return x, nil
}

// collect finds out what kind of file r is and brings in its harvest.
func collect(ctx context.Context, r io.ReadSeeker, tr *tracker, h *harvest) error {
	head, err := beginning(r, tr)
	if err != nil {
		return err
	}
	if looksPBF(head) {
		return collectPBF(ctx, r, tr, h)
	}
	tr.passes = 1
	tr.stage("reading the map")
	plain, err := unpacked(r, head, tr)
	if err != nil {
		return err
	}
	return collectXML(ctx, plain, tr, h)
}

// unpacked reads XML that is plain, gzipped or bzip2-ed, told by how it begins.
func unpacked(r io.Reader, head []byte, tr *tracker) (io.Reader, error) {
	src := bufio.NewReaderSize(&countingReader{r: r, tr: tr}, 1<<16)
	switch {
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}):
		z, err := gzip.NewReader(src)
		if err != nil {
			return nil, tr.broken(tr.done, reason(err))
		}
		return z, nil
	case bytes.HasPrefix(head, []byte("BZh")):
		return bzip2.NewReader(src), nil
	}
	return src, nil
}

// beginning gives the first bytes of a file and goes back before them.
func beginning(r io.ReadSeeker, tr *tracker) ([]byte, error) {
	head := make([]byte, 512)
	n, err := io.ReadFull(r, head)
	switch {
	case errors.Is(err, io.EOF):
		return nil, tr.broken(0, fmt.Errorf("%w (the file is empty)", ErrNotOSM))
	case err != nil && !errors.Is(err, io.ErrUnexpectedEOF):
		return nil, tr.broken(int64(n), err)
	}
	if _, err = r.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("go back to the start of the extract: %w", err)
	}
	return head[:n], nil
}

// reason gives truncation its own name, whoever found it.
func reason(err error) error {
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		return ErrTruncated
	}
	return err
}

// tracker knows the file's name and size and reports progress about every percent.
type tracker struct {
	file   string
	size   int64
	passes int64 // how often the whole size is gone through, interpretation not counted
	name   string
	before int64 // bytes of finished passes
	done   int64 // bytes of this pass
	shown  int64
	report func(Progress)
}

// newTracker makes the tracker of a file and goes to its start.
func newTracker(r io.ReadSeeker, report func(Progress)) (*tracker, error) {
	size, err := r.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, fmt.Errorf("find the size of the extract: %w", err)
	}
	if _, err = r.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("go to the start of the extract: %w", err)
	}
	tr := &tracker{size: size, report: report}
	if f, ok := r.(interface{ Name() string }); ok {
		tr.file = f.Name()
	}
	return tr, nil
}

// interpretShare is the part of a reading that comes after the last byte, in passes
// (measured: about a third of one).
const interpretShare = 3

func (t *tracker) broken(offset int64, err error) error {
	return &FormatError{File: t.file, Offset: offset, Err: err}
}

func (t *tracker) total() int64 { return max(1, t.size*t.passes+t.size/interpretShare) }

// stage begins another part of the work.
func (t *tracker) stage(name string) {
	t.before, t.done, t.name = t.before+t.done, 0, name
	t.show()
}

func (t *tracker) advance(n int64) {
	t.done += n
	if t.before+t.done-t.shown >= t.total()/100 {
		t.show()
	}
}

func (t *tracker) finish() {
	t.before, t.done = t.total(), 0
	t.show()
}

func (t *tracker) show() {
	t.shown = t.before + t.done
	if t.report != nil {
		t.report(Progress{Stage: t.name, Done: min(t.shown, t.total()), Total: t.total()})
	}
}

// countingReader tells the tracker what was read.
type countingReader struct {
	r  io.Reader
	tr *tracker
}

func (c *countingReader) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.tr.advance(int64(n))
	return n, err
}
