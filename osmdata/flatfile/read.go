package flatfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"sort"
	"unsafe"
)

// File is a file that was opened. It may be shared between goroutines until Close; the
// slices that it gives out are parts of it and must not be changed.
type File struct {
	name     string
	data     []byte
	mapped   bool
	sections map[string]entry
}

type entry struct {
	offset, length uint64
	sums           []byte // the checksum of each group, four bytes each
}

// Open opens a file of the given kind and version and checks header, directory and
// trailer; sections are read where they are looked at.
func Open(path string, magic [8]byte, version uint32) (*File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, err
	}
	data, mapped, err := contents(f, int(st.Size()))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	out, err := parse(path, data, magic, version)
	if err != nil {
		if mapped {
			err = errors.Join(err, unmap(data))
		}
		return nil, err
	}
	out.mapped = mapped
	return out, nil
}

// Close gives the file's memory back. No slice that was taken from it may be used any
// more, by anybody: they lie in no memory then. A file that is never closed stays open
// as long as the program runs.
func (f *File) Close() error {
	data, mapped := f.data, f.mapped
	f.data, f.mapped, f.sections = nil, false, nil
	if !mapped {
		return nil
	}
	return unmap(data)
}

// Rest lets go of the pages that were looked at so far: they are read again where they
// are looked at again. For a file that was opened and waits to be used.
func (f *File) Rest() {
	if f.mapped {
		rest(f.data)
	}
}

// whole reads a file into memory.
func whole(f *os.File, size int) ([]byte, error) {
	data := aligned(size)
	if n, err := io.ReadFull(f, data); err != nil {
		return nil, fmt.Errorf("after %d bytes: %w", n, err)
	}
	return data, nil
}

// aligned makes a byte slice that begins where any number may.
func aligned(n int) []byte {
	words := make([]uint64, n/8+1)
	return unsafe.Slice((*byte)(unsafe.Pointer(&words[0])), len(words)*8)[:n]
}

func parse(name string, data []byte, magic [8]byte, version uint32) (*File, error) {
	f := &File{name: name, data: data, sections: map[string]entry{}}
	le := binary.LittleEndian
	switch {
	case len(data) < 8 || [8]byte(data[:8]) != magic:
		return nil, f.fault("", 0, ErrNotThis)
	case len(data) < headerLen:
		return nil, f.fault("", int64(len(data)), ErrTruncated)
	case le.Uint32(data[8:]) != version:
		return nil, f.fault("", 8, fmt.Errorf("%w: file has version %d, this program reads %d", ErrVersion, le.Uint32(data[8:]), version))
	case le.Uint32(data[12:]) != 0:
		return nil, f.fault("", 12, ErrDamaged)
	case len(data) < headerLen+trailerLen || [8]byte(data[len(data)-8:]) != magic:
		return nil, f.fault("", int64(len(data)), ErrTruncated)
	}
	end := uint64(len(data) - trailerLen)
	trailer := data[end:]
	at, length := le.Uint64(trailer), uint64(le.Uint32(trailer[8:]))
	if at < headerLen || at > end || length != end-at {
		return nil, f.fault("", int64(end), ErrDamaged)
	}
	if crc32.Checksum(data[at:end], castagnoli) != le.Uint32(trailer[12:]) {
		return nil, f.fault("", int64(at), ErrDamaged)
	}
	return f, f.readDirectory(at, end)
}

func (f *File) readDirectory(at, end uint64) error {
	le := binary.LittleEndian
	for p := at; p < end; {
		dir := f.data[p:end]
		if len(dir) < entryLen || len(dir) < entryLen+int(le.Uint16(dir)) {
			return f.fault("", int64(p), ErrDamaged)
		}
		n := int(le.Uint16(dir))
		name, rest := string(dir[2:2+n]), dir[2+n:]
		e := entry{offset: le.Uint64(rest), length: le.Uint64(rest[8:])}
		_, twice := f.sections[name]
		if e.offset < headerLen || e.offset%align != 0 || e.offset > at || e.length > at-e.offset || twice {
			return f.fault(name, int64(p), ErrDamaged)
		}
		sums := 4 * groups(e.length)
		if rest = rest[16:]; uint64(len(rest)) < sums {
			return f.fault(name, int64(p), ErrDamaged)
		}
		e.sums = rest[:sums:sums]
		f.sections[name] = e
		p += uint64(entryLen+n) + sums
	}
	return nil
}

func (f *File) fault(section string, offset int64, err error) error {
	return &FormatError{File: f.name, Section: section, Offset: offset, Err: err}
}

// Names lists the sections in the order of the alphabet.
func (f *File) Names() []string {
	names := make([]string, 0, len(f.sections))
	for n := range f.sections {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// bytes gives a section as it is.
func (f *File) bytes(name string) ([]byte, error) {
	e, ok := f.sections[name]
	if !ok {
		return nil, f.fault(name, 0, ErrMissing)
	}
	return f.data[e.offset : e.offset+e.length : e.offset+e.length], nil
}

// sure gives a section whose checksums are right.
func (f *File) sure(name string) ([]byte, error) {
	b, err := f.bytes(name)
	if err != nil {
		return nil, err
	}
	return b, f.checked(name, b)
}

// checked holds the bytes of a section against its checksums.
func (f *File) checked(name string, b []byte) error {
	e := f.sections[name]
	for i := 0; i < len(b); i += groupLen {
		if crc32.Checksum(b[i:min(i+groupLen, len(b))], castagnoli) != binary.LittleEndian.Uint32(e.sums[i/groupLen*4:]) {
			return f.fault(name, int64(e.offset)+int64(i), ErrDamaged)
		}
	}
	return nil
}

// Verify reads all of the file and gives every section that is damaged, with where.
func (f *File) Verify() (damage []error) {
	for _, n := range f.Names() {
		if _, err := f.sure(n); err != nil {
			damage = append(damage, err)
		}
	}
	return damage
}

// Take gives a section as an array, as it lies in the file and unchecked but for its
// length. See Put for the types.
func Take[T any](f *File, name string) ([]T, error) {
	b, err := f.bytes(name)
	return elements[T](f, name, b, err)
}

// TakeSure is Take for a section that is read as a whole: its checksums are right.
func TakeSure[T any](f *File, name string) ([]T, error) {
	b, err := f.sure(name)
	return elements[T](f, name, b, err)
}

func elements[T any](f *File, name string, b []byte, err error) ([]T, error) {
	size := flatSize[T]()
	if err != nil {
		return nil, err
	}
	if len(b)%size != 0 {
		return nil, f.fault(name, int64(f.sections[name].offset),
			fmt.Errorf("%w: %d bytes do not divide into elements of %d", ErrDamaged, len(b), size))
	}
	return fromBytes[T](b), nil
}

// Texts is a list of texts that lies in a file. The zero value is an empty list.
type Texts struct {
	ends []uint32
	text []byte
}

// Len is the number of texts.
func (t *Texts) Len() int { return len(t.ends) }

// At is a text by its number, from 0 to Len less one: a copy, which outlives the file.
func (t *Texts) At(i int) string { return string(t.bytes(i)) }

func (t *Texts) bytes(i int) []byte {
	from := uint32(0)
	if i > 0 {
		from = t.ends[i-1]
	}
	return t.text[from:t.ends[i]]
}

// All is the whole list in memory of its own.
func (t *Texts) All() []string {
	text, out, from := string(t.text), make([]string, len(t.ends)), uint32(0)
	for i, to := range t.ends {
		out[i], from = text[from:to], to
	}
	return out
}

// TextsOf is a list as PutStrings writes it.
func TextsOf(s []string) Texts {
	t := Texts{ends: make([]uint32, len(s))}
	for i, x := range s {
		t.text = append(t.text, x...)
		t.ends[i] = uint32(len(t.text))
	}
	return t
}

// TakeTexts gives a list of texts written by PutStrings or PutTexts. Where they end is
// checked, the text itself is not.
func TakeTexts(f *File, name string) (Texts, error) {
	ends, err := TakeSure[uint32](f, name+endsSuffix)
	if err != nil {
		return Texts{}, err
	}
	text, err := f.bytes(name + textSuffix)
	if err != nil {
		return Texts{}, err
	}
	from := uint32(0)
	for i, to := range ends {
		if to < from || int64(to) > int64(len(text)) {
			return Texts{}, f.fault(name+endsSuffix, int64(f.sections[name+endsSuffix].offset)+4*int64(i), ErrDamaged)
		}
		from = to
	}
	return Texts{ends, text}, nil
}

// TakeStrings gives a list of strings written by PutStrings, in memory of its own.
func TakeStrings(f *File, name string) ([]string, error) {
	t, err := TakeTexts(f, name)
	if err == nil {
		_, err = f.sure(name + textSuffix)
	}
	if err != nil {
		return nil, err
	}
	return t.All(), nil
}
