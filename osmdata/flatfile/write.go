package flatfile

import (
	"bufio"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"math"
	"os"
	"path/filepath"
	"slices"
)

// Writer writes a file section by section. It remembers the first error and does
// nothing more; Close returns it. Not for concurrent use.
type Writer struct {
	path  string
	magic [8]byte
	file  *os.File // under a temporary name
	buf   *bufio.Writer
	at    uint64
	dir   []byte
	names map[string]bool
	err   error
}

// fileMode lets everybody read what is written: it is a map, not a secret, and
// who serves it is often another user than who made it.
const fileMode = 0o644

// Create begins a file that will have the given path once Close has succeeded;
// until then it has a temporary name in the same folder. What killed writers of the
// same path left there is removed.
func Create(path string, magic [8]byte, version uint32) (*Writer, error) {
	sweep(path)
	f, err := os.CreateTemp(filepath.Dir(path), unfinished(path)+"*")
	if err != nil {
		return nil, fmt.Errorf("create %s: %w", path, err)
	}
	_ = hold(f) // where that cannot be, nothing is swept either
	if err := f.Chmod(fileMode); err != nil {
		return nil, errors.Join(fmt.Errorf("create %s: %w", path, err), f.Close(), os.Remove(f.Name()))
	}
	w := &Writer{path: path, magic: magic, file: f, buf: bufio.NewWriterSize(f, 1<<20), names: map[string]bool{}}
	header := binary.LittleEndian.AppendUint32(magic[:], version)
	w.write(append(header, 0, 0, 0, 0))
	return w, nil
}

// unfinished is what the temporary names of a path begin with.
func unfinished(path string) string { return "." + filepath.Base(path) + "." }

// write puts bytes into the file.
func (w *Writer) write(b []byte) {
	if w.err != nil {
		return
	}
	n, err := w.buf.Write(b)
	w.at += uint64(n)
	w.err = err
}

// Put writes a section. Elements are numbers of fixed size, or arrays and structs
// of such without gaps; any other type, a name used twice, and a name longer than
// 64 KiB are mistakes of the program and panic.
func Put[T any](w *Writer, name string, s []T) {
	flatSize[T]()
	if w.names[name] || len(name) > math.MaxUint16 {
		panic(fmt.Sprintf("section: name %.80q is used twice or too long", name))
	}
	w.names[name] = true
	w.write(make([]byte, (align-w.at%align)%align))
	b := toBytes(s)
	le := binary.LittleEndian
	w.dir = le.AppendUint16(w.dir, uint16(len(name)))
	w.dir = append(w.dir, name...)
	w.dir = le.AppendUint64(w.dir, w.at)
	w.dir = le.AppendUint64(w.dir, uint64(len(b)))
	for group := range slices.Chunk(b, groupLen) {
		w.dir = le.AppendUint32(w.dir, crc32.Checksum(group, castagnoli))
	}
	w.write(b)
}

// The two sections that hold a list of strings.
const (
	endsSuffix = "#ends"
	textSuffix = "#text"
)

// PutStrings writes a list of strings as two sections: where each ends, and the
// text of all. The text may be up to 4 GiB long.
func PutStrings(w *Writer, name string, s []string) {
	ends, text := make([]uint32, len(s)), []byte(nil)
	for i, x := range s {
		text = append(text, x...)
		if len(text) > math.MaxUint32 && w.err == nil {
			w.err = fmt.Errorf("section %q: more than 4 GiB of text", name)
			return
		}
		ends[i] = uint32(len(text))
	}
	Put(w, name+endsSuffix, ends)
	Put(w, name+textSuffix, text)
}

// PutTexts is PutStrings for a list that lies as it is written.
func PutTexts(w *Writer, name string, t Texts) {
	Put(w, name+endsSuffix, t.ends)
	Put(w, name+textSuffix, t.text)
}

// Close ends the file, has it on the disk, and gives it its name. After an error,
// here or before, nothing is left behind and a file that had the name stays.
func (w *Writer) Close() error {
	le := binary.LittleEndian
	dirAt := w.at
	w.write(w.dir)
	end := le.AppendUint64(nil, dirAt)
	end = le.AppendUint32(end, uint32(len(w.dir)))
	end = le.AppendUint32(end, crc32.Checksum(w.dir, castagnoli))
	w.write(append(end, w.magic[:]...))
	if w.err == nil {
		w.err = w.buf.Flush()
	}
	if w.err == nil {
		w.err = w.file.Sync()
	}
	if err := w.file.Close(); w.err == nil {
		w.err = err
	}
	if w.err == nil {
		w.err = os.Rename(w.file.Name(), w.path)
	}
	if w.err != nil {
		return fmt.Errorf("write %s: %w", w.path, errors.Join(w.err, w.discard()))
	}
	return syncFolder(filepath.Dir(w.path))
}

// discard removes the unfinished file.
func (w *Writer) discard() error {
	if err := os.Remove(w.file.Name()); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// Abort gives the file up and leaves nothing behind.
func (w *Writer) Abort() error { return errors.Join(w.file.Close(), w.discard()) }

// syncFolder has the new name on the disk. Systems that cannot sync a folder say so
// when it is opened or synced; there the rename is as safe as they make it.
func syncFolder(path string) error {
	if d, err := os.Open(path); err == nil {
		_ = d.Sync()
		return d.Close()
	}
	return nil
}

// Replace gives a file these bytes at once: who reads it sees the old or the new, also
// after a power cut. After an error nothing is left behind and the old stays.
func Replace(path string, b []byte) error {
	sweep(path)
	f, err := os.CreateTemp(filepath.Dir(path), unfinished(path)+"*")
	if err != nil {
		return err
	}
	_ = hold(f) // as in Create
	_, err = f.Write(b)
	err = cmp.Or(err, f.Chmod(fileMode))
	err = cmp.Or(err, f.Sync())
	if err = cmp.Or(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return syncFolder(filepath.Dir(path))
}
