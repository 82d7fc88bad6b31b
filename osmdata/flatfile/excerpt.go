package flatfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// tailBytes is how much of a file's end is read at first: nearly always all of its
// directory.
const tailBytes = 1 << 16

// Excerpt makes at path, whole or not at all, what Open opens as a file of size bytes that
// lies elsewhere, with the named sections as they are there. read gives a range of that
// file; no more of it is read than those sections, its head and its end. The others are
// zeros, which TakeSure finds damaged, and take no room where the system keeps files with
// holes. Errors are those of Open, and of read.
func Excerpt(path string, size int64, magic [8]byte, version uint32, read func(at, length int64) ([]byte, error), names ...string) (err error) {
	part, err := os.CreateTemp(filepath.Dir(path), unfinished(path)+"*")
	if err != nil {
		return fmt.Errorf("create %s: %w", path, err)
	}
	defer func() {
		if err = errors.Join(err, part.Close()); err == nil {
			err = os.Rename(part.Name(), path)
		}
		if err != nil {
			err = errors.Join(err, os.Remove(part.Name()))
		}
	}()
	put := func(at, length int64) ([]byte, error) {
		b, err := read(at, length)
		if err == nil && int64(len(b)) != length {
			err = &FormatError{File: path, Offset: at + int64(len(b)), Err: ErrTruncated}
		}
		if err == nil {
			_, err = part.WriteAt(b, at)
		}
		return b, err
	}
	if size < headerLen+trailerLen {
		return &FormatError{File: path, Offset: size, Err: ErrTruncated}
	}
	if err := errors.Join(part.Chmod(fileMode), part.Truncate(size)); err != nil {
		return err
	}
	if _, err := put(0, headerLen); err != nil {
		return err
	}
	from := max(headerLen, size-tailBytes)
	tail, err := put(from, size-from)
	if err != nil {
		return err
	}
	if at := int64(binary.LittleEndian.Uint64(tail[len(tail)-trailerLen:])); at >= headerLen && at < from {
		if _, err := put(at, from-at); err != nil {
			return err
		}
	}
	whole, err := Open(part.Name(), magic, version)
	if err != nil {
		return err
	}
	for _, name := range names {
		if err == nil {
			err = whole.section(name, put)
		}
	}
	return errors.Join(err, whole.Close(), part.Sync())
}

// section has a section of the file brought, and checks it.
func (f *File) section(name string, bring func(at, length int64) ([]byte, error)) error {
	e, ok := f.sections[name]
	if !ok {
		return f.fault(name, 0, ErrMissing)
	}
	if e.length == 0 {
		return nil
	}
	b, err := bring(int64(e.offset), int64(e.length))
	if err != nil {
		return err
	}
	return f.checked(name, b)
}
