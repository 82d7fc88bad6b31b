package osmdata_test

import (
	"bytes"
	"errors"
	"strconv"
	"strings"
	"testing"

	"wideberth/osmdata"
)

func itoa(i int) string     { return strconv.Itoa(i) }
func ftoa(x float64) string { return strconv.FormatFloat(x, 'f', 3, 64) }

// blockStarts are the offsets at which the blocks of a world's PBF begin.
func blockStarts(data []byte) map[int]bool {
	starts := map[int]bool{}
	for i := 0; ; {
		j := bytes.Index(data[i:], []byte("OSM"))
		if j < 0 {
			return starts
		}
		starts[i+j-6] = true // size field, tag and length of the kind
		i += j + 3
	}
}

// A PBF cut anywhere gives an error that names the place. Cut exactly between two
// blocks the file is sound as such: then relations, ways or all are missing.
func TestCutPBF(t *testing.T) {
	data := parseWorld(t, village).pbf()
	starts := blockStarts(data)
	if len(starts) != 4 {
		t.Fatalf("blocks at %v", starts)
	}
	for n := range data {
		_, err := osmdata.Options{}.Read(t.Context(), bytes.NewReader(data[:n]))
		var bad *osmdata.FormatError
		switch {
		case starts[n] && n > 0:
			if err != nil && !errors.Is(err, osmdata.ErrNothingToWalk) {
				t.Fatalf("cut between blocks at %d: %v", n, err)
			}
		case !errors.As(err, &bad):
			t.Fatalf("cut at %d of %d: %v", n, len(data), err)
		case !errors.Is(err, osmdata.ErrTruncated) && !errors.Is(err, osmdata.ErrNotOSM):
			t.Fatalf("cut at %d: another reason: %v", n, err)
		case bad.Offset != 0 && !starts[int(bad.Offset)] || bad.Offset > int64(n):
			t.Fatalf("cut at %d: offset %d begins no block (%v)", n, bad.Offset, starts)
		}
	}
}

// A flipped byte anywhere is an error or does no harm; mostly the checksum of the
// packed data finds it.
func TestFlippedBytes(t *testing.T) {
	data := parseWorld(t, village).pbf()
	for n := range data {
		for _, flip := range []byte{0x01, 0x80, 0xff} {
			bent := bytes.Clone(data)
			bent[n] ^= flip
			if x, err := (osmdata.Options{Rules: playRules}).Read(t.Context(), bytes.NewReader(bent)); err == nil {
				checkSound(t, x)
			}
		}
	}
}

func TestBadPBF(t *testing.T) {
	w := parseWorld(t, village)
	whole := w.pbf()
	headerEnd := 0
	for n := range blockStarts(whole) {
		if n > 0 && (headerEnd == 0 || n < headerEnd) {
			headerEnd = n
		}
	}
	header := whole[:headerEnd]
	with := func(block []byte) []byte { return append(bytes.Clone(header), block...) }
	group := func(g []byte) []byte { return with(blob("OSMData", zlibBlob(primitiveBlock(&stringTable{}, g)))) }
	one := []byte{2}
	tests := []struct {
		name, want string
		data       []byte
	}{
		{"two headers", "out of place", append(bytes.Clone(header), header...)},
		{"unknown block", "unknown kind", with(blob("OSMMagic", nil))},
		{"plain nodes", "dense nodes", group(message(nil, 1, varint(nil, 1, 2)))},
		{"not a message", "not in the PBF format", with(blob("OSMData", zlibBlob([]byte{0x0f, 0xff, 0xff})))},
		{"another packing", "rewrite the file with zlib", with(blob("OSMData", message(varint(nil, 2, 5), 7, []byte("hello"))))},
		{"a lie about the size", "the file is damaged", with(blob("OSMData", message(varint(nil, 2, 5), 3, []byte("hello"))))},
		{"huge", "the file is damaged", with(blob("OSMData", message(varint(nil, 2, 1<<31-1), 3, []byte("hello"))))},
		{"negative", "the file is damaged", with(blob("OSMData", message(varint(nil, 2, ^uint64(0)), 3, []byte("hello"))))},
		{"a way with strings that are not there", "string", group(message(nil, 3, message(message(varint(nil, 1, 1), 2, []byte{9}), 3, []byte{9})))},
		{"a way with more keys than values", "keys", group(message(nil, 3, message(message(varint(nil, 1, 1), 2, []byte{0, 0}), 3, []byte{0})))},
		{"a relation with strings that are not there", "string", group(message(nil, 4, message(message(message(varint(nil, 1, 1), 8, []byte{9}), 9, one), 10, []byte{1})))},
		{"a relation with more roles than kinds", "members", group(message(nil, 4, message(message(message(varint(nil, 1, 1), 8, []byte{0, 0}), 9, []byte{2, 2}), 10, []byte{1})))},
		{"nodes with strings that are not there", "string", group(message(nil, 2, message(message(message(message(nil, 1, one), 8, one), 9, one), 10, []byte{9, 9, 0})))},
		{"nodes with users that are not there", "string", group(message(nil, 2, message(message(message(message(nil, 1, one), 5, message(nil, 5, []byte{18})), 8, one), 9, one)))},
		{"a way with a user that is not there", "string", group(message(nil, 3, message(varint(nil, 1, 1), 4, varint(nil, 5, 99))))},
		{"a way with more places than nodes", "places", group(message(nil, 3, message(message(varint(nil, 1, 1), 8, one), 9, []byte{2, 2})))},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := osmdata.Options{}.Read(t.Context(), bytes.NewReader(tt.data))
			var bad *osmdata.FormatError
			if !errors.As(err, &bad) || bad.Offset != int64(headerEnd) || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("error %v, want one with %q at %d", err, tt.want, headerEnd)
			}
		})
	}
}

// FuzzPBF feeds the content of a block past the checksum.
func FuzzPBF(f *testing.F) {
	w := parseWorld(f, village)
	var st stringTable
	nodes := primitiveBlock(&st, message(nil, 2, w.dense(&st)))
	f.Add(nodes)
	st = stringTable{}
	var group []byte
	for i := range w.ways {
		group = message(group, 3, w.ways[i].encode(&st))
	}
	f.Add(primitiveBlock(&st, group))
	st, group = stringTable{}, nil
	for i := range w.relations {
		group = message(group, 4, w.relations[i].encode(&st))
	}
	f.Add(primitiveBlock(&st, group))
	whole := w.pbf()
	f.Fuzz(func(t *testing.T, content []byte) {
		data := append(bytes.Clone(whole), blob("OSMData", zlibBlob(content))...)
		if x, err := (osmdata.Options{Rules: playRules}).Read(t.Context(), bytes.NewReader(data)); err == nil {
			checkSound(t, x)
		}
	})
}
