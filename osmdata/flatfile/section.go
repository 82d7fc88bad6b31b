// Package flatfile is a file of named sections, each a flat array. What is written is
// either whole or not there. What is read lies in memory as it lies in the file: where
// the system can, it is the file, of which only what is looked at is ever read.
//
// Checksums stand by groups of 64 KiB of each section. Opening a file checks its head
// and its directory; TakeSure checks a section, Verify all of them. A section that was
// taken unchecked may hold any numbers: whoever uses it bounds them, so that damage makes
// a wrong number and never an index out of range.
//
// A file that is open must not be changed in place or cut: on a mapped file that ends the
// program, or the work of a goroutine that asked for a panic (debug.SetPanicOnFault).
// Create never does so, it renames a new file over the old one, which goes on
// underneath those who have it open.
//
// The file, all numbers little-endian:
//
//	magic      8 bytes, says what kind of file it is
//	version    uint32, of the contents
//	0          uint32
//	sections   each begins at a multiple of 8; zero bytes between
//	directory  per section: uint16 length of name, name, uint64 offset,
//	           uint64 length in bytes, uint32 CRC-32C of each 65,536 bytes of the
//	           section, of which the last may be fewer
//	trailer    uint64 offset of the directory, uint32 its length,
//	           uint32 its CRC-32C, magic again
//
// A file that was cut anywhere lacks its trailer.
package flatfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"reflect"
	"unsafe"
)

const (
	headerLen  = 16
	trailerLen = 24
	entryLen   = 2 + 8 + 8 // of a directory entry, without the name and the checksums
	align      = 8
	groupLen   = 1 << 16 // bytes under one checksum
)

// What can be wrong with a file. A *FormatError wraps one of them.
var (
	ErrNotThis   = errors.New("not a file of this kind")
	ErrVersion   = errors.New("written by another version")
	ErrTruncated = errors.New("cut short")
	ErrDamaged   = errors.New("damaged")
	ErrMissing   = errors.New("section is not there")
	ErrInUse     = errors.New("in use by another process")
)

// FormatError says what is wrong with a file and where.
type FormatError struct {
	File    string // its name, "" if it was read from memory
	Section string // "" for header, directory and trailer
	Offset  int64  // in bytes from the beginning of the file
	Err     error  // one of this package's errors, perhaps with detail
}

func (e *FormatError) Error() string {
	where := "at byte"
	if e.Section != "" {
		where = fmt.Sprintf("section %q at byte", e.Section)
	}
	if e.File != "" {
		where = e.File + ": " + where
	}
	return fmt.Sprintf("%s %d: %v", where, e.Offset, e.Err)
}

func (e *FormatError) Unwrap() error { return e.Err }

// groups is how many checksums a section of a length in bytes has.
func groups(length uint64) uint64 { return (length + groupLen - 1) / groupLen }

// castagnoli is the polynomial of CRC-32C, which processors compute in hardware.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// hostLittle tells whether numbers lie in memory as they lie in the file.
var hostLittle = binary.NativeEndian.Uint16([]byte{1, 0}) == 1

// flatSize is the size in bytes of an element that is nothing but numbers, without
// gaps; other types are a mistake of the program.
func flatSize[T any]() int {
	t := reflect.TypeFor[T]()
	if n := flat(t); n > 0 && n == int(t.Size()) {
		return n
	}
	panic(fmt.Sprintf("section: %v is not a gapless array of numbers", t))
}

// flat adds up the numbers in a type; -1 if there is anything else in it.
func flat(t reflect.Type) int {
	switch k := t.Kind(); {
	case k >= reflect.Int8 && k <= reflect.Int64, k >= reflect.Uint8 && k <= reflect.Uint64,
		k == reflect.Float32, k == reflect.Float64:
		return int(t.Size())
	case k == reflect.Array:
		if n := flat(t.Elem()); n > 0 {
			return n * t.Len()
		}
	case k == reflect.Struct:
		sum := 0
		for i := range t.NumField() {
			n := flat(t.Field(i).Type)
			if n < 0 {
				return -1
			}
			sum += n
		}
		return sum
	}
	return -1
}

// toBytes is the array as it lies in the file; where the machine allows, without
// copying.
func toBytes[T any](s []T) []byte {
	if len(s) == 0 {
		return nil
	}
	if hostLittle {
		return unsafe.Slice((*byte)(unsafe.Pointer(&s[0])), len(s)*int(unsafe.Sizeof(s[0])))
	}
	return swapped(s)
}

// swapped is toBytes for any machine.
func swapped[T any](s []T) []byte {
	b, err := binary.Append(nil, binary.LittleEndian, s)
	if err != nil {
		panic("section: " + err.Error()) // flatSize has let through what this refuses
	}
	return b
}

// fromBytes is the array that lies in b, whose length is a multiple of the size of
// an element; where the machine and the place allow, without copying.
func fromBytes[T any](b []byte) []T {
	size := int(unsafe.Sizeof(*new(T)))
	n := len(b) / size
	if n == 0 {
		return nil
	}
	if hostLittle && uintptr(unsafe.Pointer(&b[0]))%unsafe.Alignof(*new(T)) == 0 {
		return unsafe.Slice((*T)(unsafe.Pointer(&b[0])), n)
	}
	return unswapped[T](b, n)
}

// unswapped is fromBytes for any machine and place.
func unswapped[T any](b []byte, n int) []T {
	s := make([]T, n)
	if _, err := binary.Decode(b, binary.LittleEndian, s); err != nil {
		panic("section: " + err.Error()) // the length was checked
	}
	return s
}
