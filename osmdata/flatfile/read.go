package flatfile

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"sort"
	"unsafe"
)

// File is a file that was read. It may be shared between goroutines; the slices
// that it gives out are parts of it and must not be changed.
type File struct {
	name     string
	data     []byte
	sections map[string]entry
}

type entry struct {
	offset, length uint64
	sum            uint32
}

// Open reads a file of the given kind and version and checks header, directory and
// trailer. Sections are checked as they are taken.
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
	data := aligned(int(st.Size()))
	if n, err := io.ReadFull(f, data); err != nil {
		return nil, fmt.Errorf("read %s after %d bytes: %w", path, n, err)
	}
	return parse(path, data, magic, version)
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
		e := entry{le.Uint64(rest), le.Uint64(rest[8:]), le.Uint32(rest[16:])}
		_, twice := f.sections[name]
		if e.offset < headerLen || e.offset%align != 0 || e.offset > at || e.length > at-e.offset || twice {
			return f.fault(name, int64(p), ErrDamaged)
		}
		f.sections[name] = e
		p += uint64(entryLen + n)
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

// bytes gives a section whose checksum is right.
func (f *File) bytes(name string) ([]byte, error) {
	e, ok := f.sections[name]
	if !ok {
		return nil, f.fault(name, 0, ErrMissing)
	}
	b := f.data[e.offset : e.offset+e.length : e.offset+e.length]
	if crc32.Checksum(b, castagnoli) != e.sum {
		return nil, f.fault(name, int64(e.offset), ErrDamaged)
	}
	return b, nil
}

// Take gives a section as an array, after checking it. See Put for the types.
func Take[T any](f *File, name string) ([]T, error) {
	size := flatSize[T]()
	b, err := f.bytes(name)
	if err != nil {
		return nil, err
	}
	if len(b)%size != 0 {
		return nil, f.fault(name, int64(f.sections[name].offset),
			fmt.Errorf("%w: %d bytes do not divide into elements of %d", ErrDamaged, len(b), size))
	}
	return fromBytes[T](b), nil
}

// TakeStrings gives a list of strings written by PutStrings.
func TakeStrings(f *File, name string) ([]string, error) {
	ends, err := Take[uint32](f, name+endsSuffix)
	if err != nil {
		return nil, err
	}
	bytes, err := f.bytes(name + textSuffix)
	if err != nil {
		return nil, err
	}
	text, from := string(bytes), uint32(0)
	out := make([]string, len(ends))
	for i, to := range ends {
		if to < from || int64(to) > int64(len(text)) {
			return nil, f.fault(name+endsSuffix, int64(f.sections[name+endsSuffix].offset)+4*int64(i), ErrDamaged)
		}
		out[i], from = text[from:to], to
	}
	return out, nil
}
