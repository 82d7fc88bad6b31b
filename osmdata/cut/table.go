package cut

import (
	"bufio"
	"cmp"
	"container/heap"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"slices"
	"sort"
)

// record is what a table keeps under an id: the place of a node, or where something
// stands in a file.
type record struct {
	id    int64
	value uint64
}

// A table is a file of records sorted by id, in pages of one size, so that one read
// finds any of them: of a page with up to pageRecords, the first id whole, then 4 bytes
// for each id, told from the first, and 8 for each value. After the pages come the first
// id of each, and an end that says how much there is.
const (
	pageRecords = 1024
	pageHead    = 8 + 4 + 4 // first id, how many, checksum of all else
	pageSize    = pageHead + 12*pageRecords
	tableEnd    = 8 + 8 + 8 + 4 // pages, records, mark, checksum of the first ids
)

var tableMark = [8]byte{'w', 'b', 't', 'a', 'b', 'l', 'e', 2}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// errTable says that a table is not what was written.
var errTable = errors.New("a table of the import is damaged: remove the folder \"unfinished\" and import again")

// tableWriter makes a table of records that come in any order, of which the later of one
// id counts. Records that come sorted go to the disk once; others in sorted runs, which
// are merged at the end. Memory is 16 bytes for each of most records, and a page for
// each run.
type tableWriter struct {
	path    string
	most    int
	twice   func(id int64) // called for each id given again
	out     *pageWriter
	waiting []record
	runs    []int64 // first page of each run
	last    int64   // id written last to the run
}

const unsorted = ".runs"

// newTableWriter begins the table that will stand at path once it is closed.
func newTableWriter(path string, most int, twice func(int64)) (*tableWriter, error) {
	out, err := newPageWriter(path + unsorted)
	if err != nil {
		return nil, err
	}
	return &tableWriter{path: path, most: most, twice: twice, out: out, waiting: make([]record, 0, min(most, 1<<16))}, nil
}

func (t *tableWriter) add(id int64, value uint64) error {
	t.waiting = append(t.waiting, record{id, value})
	if len(t.waiting) < t.most {
		return nil
	}
	return t.drain()
}

// drain writes what waits, behind the run under way where it goes on.
func (t *tableWriter) drain() error {
	if len(t.waiting) == 0 {
		return nil
	}
	byID := func(a, b record) int { return cmp.Compare(a.id, b.id) }
	if !slices.IsSortedFunc(t.waiting, byID) {
		slices.SortStableFunc(t.waiting, byID)
	}
	if len(t.runs) == 0 || t.waiting[0].id <= t.last {
		if err := t.out.endPage(); err != nil {
			return err
		}
		t.runs = append(t.runs, int64(len(t.out.firsts)))
	}
	for i, r := range t.waiting {
		if i+1 < len(t.waiting) && t.waiting[i+1].id == r.id {
			t.twice(r.id)
			continue
		}
		if err := t.out.put(r); err != nil {
			return err
		}
	}
	t.last = t.waiting[len(t.waiting)-1].id
	t.waiting = t.waiting[:0]
	return nil
}

// close ends the table, has it on the disk and gives it its name.
func (t *tableWriter) close() error {
	err := t.drain()
	if err == nil && len(t.runs) > 1 {
		err = t.merge()
	}
	if err == nil {
		err = t.out.close(t.path)
	}
	return err
}

// abandon closes the file of a table that will not be.
func (t *tableWriter) abandon() { _ = t.out.f.Close() }

// merge makes one run of several.
func (t *tableWriter) merge() error {
	if err := t.out.endPage(); err != nil {
		return err
	}
	if err := t.out.w.Flush(); err != nil {
		return err
	}
	from := t.out
	defer func() {
		_ = from.f.Close() // only read from here on
		_ = os.Remove(from.f.Name())
	}()
	out, err := newPageWriter(t.path + ".merged")
	if err != nil {
		return err
	}
	t.out = out
	var h runHeap
	for i, first := range t.runs {
		end := int64(len(from.firsts))
		if i+1 < len(t.runs) {
			end = t.runs[i+1]
		}
		r := &run{f: from.f, page: first, end: end, order: i}
		if ok, err := r.next(); err != nil {
			return err
		} else if ok {
			h = append(h, r)
		}
	}
	heap.Init(&h)
	for len(h) > 0 {
		r := h[0]
		now := r.now
		if ok, err := r.next(); err != nil {
			return err
		} else if ok {
			heap.Fix(&h, 0)
		} else {
			heap.Pop(&h)
		}
		if len(h) > 0 && h[0].now.id == now.id { // of equal ids the latest run comes last
			t.twice(now.id)
			continue
		}
		if err := out.put(now); err != nil {
			return err
		}
	}
	return nil
}

// run is a sorted part of a file of pages that is being read.
type run struct {
	f         *os.File
	page, end int64 // still to read
	order     int
	buf       page
	at        int
	now       record
}

// next goes on by a record; false at the end.
func (r *run) next() (bool, error) {
	for r.at >= r.buf.count() {
		if r.page >= r.end {
			return false, nil
		}
		if err := r.buf.read(r.f, r.page); err != nil {
			return false, err
		}
		r.page, r.at = r.page+1, 0
	}
	r.now = record{r.buf.id(r.at), r.buf.value(r.at)}
	r.at++
	return true, nil
}

type runHeap []*run

func (h runHeap) Len() int { return len(h) }
func (h runHeap) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(h[i].now.id, h[j].now.id), cmp.Compare(h[i].order, h[j].order)) < 0
}
func (h runHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *runHeap) Push(r any)   { *h = append(*h, r.(*run)) }
func (h *runHeap) Pop() any {
	last := (*h)[len(*h)-1]
	*h = (*h)[:len(*h)-1]
	return last
}

// pageWriter writes sorted records as pages.
type pageWriter struct {
	f      *os.File
	w      *bufio.Writer
	firsts []int64 // of the pages written, and of the one under way
	count  int64
	open   []record
	buf    []byte
}

func newPageWriter(path string) (*pageWriter, error) {
	f, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	return &pageWriter{f: f, w: bufio.NewWriterSize(f, 1<<20), buf: make([]byte, pageSize)}, nil
}

func (p *pageWriter) put(r record) error {
	if n := len(p.open); n == pageRecords || n > 0 && uint64(r.id-p.open[0].id) > 1<<32-1 {
		if err := p.endPage(); err != nil {
			return err
		}
	}
	p.open = append(p.open, r)
	p.count++
	return nil
}

// endPage writes the page under way, if there is one.
func (p *pageWriter) endPage() error {
	if len(p.open) == 0 {
		return nil
	}
	le := binary.LittleEndian
	clear(p.buf)
	le.PutUint64(p.buf, uint64(p.open[0].id))
	le.PutUint32(p.buf[8:], uint32(len(p.open)))
	for i, r := range p.open {
		le.PutUint32(p.buf[pageHead+4*i:], uint32(r.id-p.open[0].id))
		le.PutUint64(p.buf[pageHead+4*pageRecords+8*i:], r.value)
	}
	le.PutUint32(p.buf[12:], pageSum(p.buf))
	p.firsts = append(p.firsts, p.open[0].id)
	p.open = p.open[:0]
	_, err := p.w.Write(p.buf)
	return err
}

// pageSum is the checksum of a page but for itself.
func pageSum(page []byte) uint32 {
	return crc32.Update(crc32.Checksum(page[:12], castagnoli), castagnoli, page[pageHead:])
}

// close writes what follows the pages, has all on the disk and gives it its name.
func (p *pageWriter) close(path string) error {
	err := p.endPage()
	le := binary.LittleEndian
	sum := crc32.New(castagnoli)
	var b [8]byte
	for _, first := range p.firsts {
		le.PutUint64(b[:], uint64(first))
		_, _ = sum.Write(b[:])
		if _, e := p.w.Write(b[:]); err == nil {
			err = e
		}
	}
	end := le.AppendUint64(nil, uint64(len(p.firsts)))
	end = le.AppendUint64(end, uint64(p.count))
	end = append(end, tableMark[:]...)
	end = le.AppendUint32(end, sum.Sum32())
	if _, e := p.w.Write(end); err == nil {
		err = e
	}
	if err == nil {
		err = p.w.Flush()
	}
	if err == nil {
		err = p.f.Sync()
	}
	if e := p.f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(p.f.Name(), path)
}

// page is one page as it stands in the file.
type page struct{ b []byte }

// read takes in a page and holds it against its checksum.
func (p *page) read(f io.ReaderAt, number int64) error {
	if p.b == nil {
		p.b = make([]byte, pageSize)
	}
	if _, err := f.ReadAt(p.b, number*pageSize); err != nil {
		return fmt.Errorf("%w: %w", errTable, err)
	}
	le := binary.LittleEndian
	if le.Uint32(p.b[12:]) != pageSum(p.b) || p.count() > pageRecords {
		return errTable
	}
	return nil
}

func (p *page) count() int {
	if p.b == nil {
		return 0
	}
	return int(binary.LittleEndian.Uint32(p.b[8:]))
}

func (p *page) first() int64 { return int64(binary.LittleEndian.Uint64(p.b)) }

func (p *page) id(i int) int64 {
	return p.first() + int64(binary.LittleEndian.Uint32(p.b[pageHead+4*i:]))
}

func (p *page) value(i int) uint64 {
	return binary.LittleEndian.Uint64(p.b[pageHead+4*pageRecords+8*i:])
}

// find gives the value of an id, if the page has it.
func (p *page) find(id int64) (uint64, bool) {
	from := uint64(id - p.first())
	if from > 1<<32-1 {
		return 0, false
	}
	i := sort.Search(p.count(), func(i int) bool {
		return uint64(binary.LittleEndian.Uint32(p.b[pageHead+4*i:])) >= from
	})
	if i == p.count() || p.id(i) != id {
		return 0, false
	}
	return p.value(i), true
}

// table is a table that is looked into. Memory is 8 bytes for each page of the file,
// and the pages that were looked at last. Not for concurrent use.
type table struct {
	f      *os.File
	firsts []int64
	count  int64
	kept   []keptPage // by the page's number, modulo
}

type keptPage struct {
	number int64 // plus one
	page   page
}

// keptPages is how many pages a table keeps in memory: 25 MB.
const keptPages = 2048

func openTable(path string) (*table, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	t := &table{f: f, kept: make([]keptPage, keptPages)}
	if err := t.open(); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return t, nil
}

func (t *table) open() error {
	info, err := t.f.Stat()
	if err != nil {
		return err
	}
	end := make([]byte, tableEnd)
	if info.Size() < tableEnd {
		return errTable
	}
	if _, err := t.f.ReadAt(end, info.Size()-tableEnd); err != nil {
		return err
	}
	le := binary.LittleEndian
	pages := le.Uint64(end)
	if [8]byte(end[16:24]) != tableMark || pages > uint64(info.Size())/pageSize || int64(pages)*(pageSize+8)+tableEnd != info.Size() {
		return errTable
	}
	t.count = int64(le.Uint64(end[8:]))
	firsts := io.NewSectionReader(t.f, int64(pages)*pageSize, int64(pages)*8)
	sum := crc32.New(castagnoli)
	t.firsts = make([]int64, pages)
	if err := binary.Read(io.TeeReader(bufio.NewReaderSize(firsts, 1<<16), sum), le, t.firsts); err != nil {
		return err
	}
	if sum.Sum32() != le.Uint32(end[24:]) {
		return errTable
	}
	return nil
}

// get finds the value of an id.
func (t *table) get(id int64) (value uint64, found bool, err error) {
	number := int64(sort.Search(len(t.firsts), func(i int) bool { return t.firsts[i] > id })) - 1
	if number < 0 {
		return 0, false, nil
	}
	k := &t.kept[number%keptPages]
	if k.number != number+1 {
		k.number = 0
		if err := k.page.read(t.f, number); err != nil {
			return 0, false, err
		}
		k.number = number + 1
	}
	value, found = k.page.find(id)
	return value, found, nil
}

// each hands over all records in order.
func (t *table) each(ctx context.Context, take func(record)) error {
	r := run{f: t.f, end: int64(len(t.firsts))}
	for i := 0; ; i++ {
		if i%(1<<16) == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		ok, err := r.next()
		if err != nil || !ok {
			return err
		}
		take(r.now)
	}
}

func (t *table) close() error { return t.f.Close() }
