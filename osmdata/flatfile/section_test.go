package flatfile_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/flatfile"
)

var magic = [8]byte{'T', 'E', 'S', 'T', 'F', 'I', 'L', 'E'}

const version = 3

type pair struct{ X, Y float64 }

// sample writes a file with sections of several kinds and gives its bytes.
func sample(t testing.TB) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sample")
	w, err := flatfile.Create(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	flatfile.Put(w, "bytes", []byte("odd"))
	flatfile.Put(w, "points", []pair{{1, 2}, {3, -4.5}})
	flatfile.Put(w, "arcs", []int32{1, -2, 3})
	flatfile.Put(w, "none", []float32{})
	flatfile.Put(w, "bins", [][2]uint8{{1, 2}, {3, 4}, {5, 6}})
	flatfile.PutStrings(w, "names", []string{"", "Quarry Lane", "Straße"})
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestRoundTrip(t *testing.T) {
	path := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(path, sample(t), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	check(t, f, "bytes", []byte("odd"))
	check(t, f, "points", []pair{{1, 2}, {3, -4.5}})
	check(t, f, "arcs", []int32{1, -2, 3})
	check(t, f, "none", []float32(nil))
	check(t, f, "bins", [][2]uint8{{1, 2}, {3, 4}, {5, 6}})
	names, err := flatfile.TakeStrings(f, "names")
	if err != nil || !slices.Equal(names, []string{"", "Quarry Lane", "Straße"}) {
		t.Errorf("names %q, %v", names, err)
	}
	if bad := f.Verify(); bad != nil {
		t.Errorf("a sound file is called damaged: %v", bad)
	}
	if got := f.LengthBytes("points"); got != 32 {
		t.Errorf("points take %d bytes", got)
	}
}

func check[T any](t *testing.T, f *flatfile.File, name string, want []T) {
	t.Helper()
	got, err := flatfile.Take[T](f, name)
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%s: %v (%v), want %v", name, got, err, want)
	}
}

// The layout is fixed: another program must be able to read it by the description.
func TestLayout(t *testing.T) {
	b := sample(t)
	if !bytes.HasPrefix(b, []byte("TESTFILE\x03\x00\x00\x00\x00\x00\x00\x00odd\x00\x00\x00\x00\x00")) {
		t.Errorf("begins with %q", b[:24])
	}
	if !bytes.Equal(b[24:32], binary.LittleEndian.AppendUint64(nil, 0x3FF0000000000000)) {
		t.Errorf("the number 1 is written as % x", b[24:32])
	}
	if !bytes.HasSuffix(b, magic[:]) {
		t.Errorf("ends with %q", b[len(b)-8:])
	}
}

// Whatever byte is changed or missing, it is noticed and put down to the right
// reason.
func TestDamage(t *testing.T) {
	whole := sample(t)
	open := func(b []byte) error {
		f, err := flatfile.Decode(b, magic, version)
		if err == nil {
			err = errors.Join(f.Verify()...)
		}
		return err
	}
	for n := range whole {
		want := flatfile.ErrTruncated
		if n < 8 {
			want = flatfile.ErrNotThis
		}
		if err := open(whole[:n]); !errors.Is(err, want) {
			t.Errorf("cut to %d of %d bytes: %v, want %v", n, len(whole), err, want)
		}
	}
	unnoticed := 0
	for i := range whole {
		b := slices.Clone(whole)
		b[i] ^= 0x20
		err := open(b)
		var f *flatfile.FormatError
		if err == nil {
			unnoticed++
			if whole[i] != 0 {
				t.Errorf("byte %d changed unnoticed", i)
			}
		} else if !errors.As(err, &f) || f.Offset < 0 || f.Offset > int64(len(whole)) {
			t.Errorf("byte %d changed: %v", i, err)
		}
	}
	// The sections before "points", "none", "names#ends" and "names#text" do not
	// end at a multiple of eight.
	if padding := 5 + 4 + 2 + 4; unnoticed != padding {
		t.Errorf("%d bytes may change unnoticed, %d are padding", unnoticed, padding)
	}
}

func TestErrors(t *testing.T) {
	whole := sample(t)
	with := func(at int, v byte) []byte { b := slices.Clone(whole); b[at] = v; return b }
	for _, c := range []struct {
		name    string
		data    []byte
		want    error
		section string
		offset  int64
	}{
		{"nothing", nil, flatfile.ErrNotThis, "", 0},
		{"another kind of file", append([]byte("PK\x03\x04"), whole...), flatfile.ErrNotThis, "", 0},
		{"another version", with(8, 9), flatfile.ErrVersion, "", 8},
		{"a changed point", with(30, 9), flatfile.ErrDamaged, "points", 24},
		{"a changed directory offset", with(len(whole)-24, 9), flatfile.ErrDamaged, "", int64(len(whole) - 24)},
	} {
		f, err := flatfile.Decode(c.data, magic, version)
		if err == nil {
			_, err = flatfile.TakeSure[pair](f, "points")
		}
		var fe *flatfile.FormatError
		if !errors.Is(err, c.want) || !errors.As(err, &fe) || fe.Section != c.section || fe.Offset != c.offset {
			t.Errorf("%s: %v, want %v in section %q at %d", c.name, err, c.want, c.section, c.offset)
		}
	}
	f, err := flatfile.Decode(whole, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := flatfile.Take[int32](f, "weights"); !errors.Is(err, flatfile.ErrMissing) {
		t.Errorf("missing section: %v", err)
	}
	if _, err := flatfile.Take[int32](f, "bytes"); !errors.Is(err, flatfile.ErrDamaged) {
		t.Errorf("three bytes taken as numbers of four: %v", err)
	}
	if _, err := flatfile.Open(filepath.Join(t.TempDir(), "none"), magic, version); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}

// TestGroupsOfChecksums: of a section of many groups the damaged one is found, and only by
// who reads it: the rest is as it was written.
func TestGroupsOfChecksums(t *testing.T) {
	path := filepath.Join(t.TempDir(), "file")
	w, err := flatfile.Create(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	numbers := make([]uint32, 50_000) // 200,000 bytes, four groups
	for i := range numbers {
		numbers[i] = uint32(i * i)
	}
	flatfile.Put(w, "few", []uint16{7})
	flatfile.Put(w, "many", numbers)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const group = 1 << 16
	b[24+2*group+5] ^= 1
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	check(t, f, "few", []uint16{7})
	if _, err := flatfile.TakeSure[uint16](f, "few"); err != nil {
		t.Errorf("the section beside it: %v", err)
	}
	got, err := flatfile.Take[uint32](f, "many")
	if err != nil || len(got) != len(numbers) || !slices.Equal(got[:group/2], numbers[:group/2]) || !slices.Equal(got[3*group/4:], numbers[3*group/4:]) {
		t.Errorf("unchecked: %d numbers, %v", len(got), err)
	}
	var fe *flatfile.FormatError
	if _, err := flatfile.TakeSure[uint32](f, "many"); !errors.As(err, &fe) || !errors.Is(err, flatfile.ErrDamaged) || fe.Offset != 24+2*group {
		t.Errorf("checked: %v, want damage in the group from byte %d", err, 24+2*group)
	}
	if damage := f.Verify(); len(damage) != 1 {
		t.Errorf("verified: %v", damage)
	}
	f.Rest() // what is looked at again is there again
	if got[group/2-1] != numbers[group/2-1] {
		t.Error("after a rest other numbers are there")
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Errorf("closed twice: %v", err)
	}
	if _, err := flatfile.Take[uint32](f, "many"); !errors.Is(err, flatfile.ErrMissing) {
		t.Errorf("of a closed file: %v", err)
	}
}

// TestOpenWhileReplaced: who has a file open reads it on, whatever takes its name.
func TestOpenWhileReplaced(t *testing.T) {
	path := filepath.Join(t.TempDir(), "file")
	put := func(n int64) {
		w, err := flatfile.Create(path, magic, version)
		if err != nil {
			t.Fatal(err)
		}
		flatfile.Put(w, "n", slices.Repeat([]int64{n}, 5000))
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	}
	put(3)
	f, err := flatfile.Open(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	put(4)
	check(t, f, "n", slices.Repeat([]int64{3}, 5000))
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if f, err = flatfile.Open(path, magic, version); err != nil {
		t.Fatal(err)
	}
	check(t, f, "n", slices.Repeat([]int64{4}, 5000))
}

// Texts are given one by one or all together, and taken again as they were put.
func TestTexts(t *testing.T) {
	path := filepath.Join(t.TempDir(), "file")
	w, err := flatfile.Create(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"", "Quarry Lane", "Straße", ""}
	flatfile.PutTexts(w, "names", flatfile.TextsOf(want))
	flatfile.PutStrings(w, "again", want)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"names", "again"} {
		texts, err := flatfile.TakeTexts(f, name)
		if err != nil || texts.Len() != len(want) || !slices.Equal(texts.All(), want) {
			t.Fatalf("%s: %q, %v", name, texts.All(), err)
		}
		for i, x := range want {
			if texts.At(i) != x {
				t.Errorf("text %d of %s is %q, want %q", i, name, texts.At(i), x)
			}
		}
	}
	if _, err := flatfile.TakeTexts(f, "none"); !errors.Is(err, flatfile.ErrMissing) {
		t.Errorf("no such list: %v", err)
	}
	if none := (flatfile.Texts{}); none.Len() != 0 || len(none.All()) != 0 {
		t.Error("the empty list has texts")
	}
}

// Until Close has succeeded the old file stays, and nothing else lies about.
func TestReplacing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "file")
	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	w, err := flatfile.Create(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	flatfile.Put(w, "a", []uint16{1})
	if b, _ := os.ReadFile(path); string(b) != "old" {
		t.Errorf("the old file is gone before the new one is whole: %q", b)
	}
	if err := w.Abort(); err != nil {
		t.Fatal(err)
	}
	w, err = flatfile.Create(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if f, err := flatfile.Open(path, magic, version); err != nil || len(f.Names()) != 0 {
		t.Errorf("an empty file: %v", err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v %v", left, err)
	}
	if _, err := flatfile.Create(filepath.Join(dir, "no", "such", "folder"), magic, version); err == nil {
		t.Error("a file was created in a folder that is not there")
	}
	w, err = flatfile.Create(filepath.Join(dir, "gone"), magic, version)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "gone"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err == nil {
		t.Error("a folder was replaced by a file")
	}
	if left, _ = os.ReadDir(dir); len(left) != 2 {
		t.Errorf("left behind after an error: %v", left)
	}
}

func TestWrongTypesPanic(t *testing.T) {
	w, err := flatfile.Create(filepath.Join(t.TempDir(), "f"), magic, version)
	if err != nil {
		t.Fatal(err)
	}
	flatfile.Put(w, "a", []int8{1})
	for name, put := range map[string]func(){
		"strings":  func() { flatfile.Put(w, "b", []string{"x"}) },
		"pointers": func() { flatfile.Put(w, "c", []*int32{}) },
		"with gaps": func() {
			flatfile.Put(w, "d", []struct {
				A uint8
				B uint32
			}{})
		},
		"machine size": func() { flatfile.Put(w, "e", []int{}) },
		"same name":    func() { flatfile.Put(w, "a", []int8{1}) },
		"truth values": func() { flatfile.Put(w, "g", []bool{true}) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			put()
		}()
	}
	if err := w.Abort(); err != nil {
		t.Fatal(err)
	}
}

func TestRoundTripProperty(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		numbers := rapid.SliceOf(rapid.Int64()).Draw(t, "numbers")
		small := rapid.SliceOf(rapid.Byte()).Draw(t, "small")
		words := rapid.SliceOf(rapid.String()).Draw(t, "words")
		w, err := flatfile.Create(filepath.Join(dir, "f"), magic, version)
		if err != nil {
			t.Fatal(err)
		}
		flatfile.Put(w, "small", small)
		flatfile.PutStrings(w, "words", words)
		flatfile.Put(w, "numbers", numbers)
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		f, err := flatfile.Open(filepath.Join(dir, "f"), magic, version)
		if err != nil {
			t.Fatal(err)
		}
		n, err1 := flatfile.Take[int64](f, "numbers")
		s, err2 := flatfile.Take[byte](f, "small")
		x, err3 := flatfile.TakeStrings(f, "words")
		if err := errors.Join(err1, err2, err3); err != nil || !slices.Equal(n, numbers) || !slices.Equal(s, small) || !slices.Equal(x, words) {
			t.Fatalf("%v %v %q (%v)", n, s, x, err)
		}
	})
}

// Any bytes may be offered: no panic, and nothing is given out of them that is
// longer than they are.
func FuzzDecode(f *testing.F) {
	whole := sample(f)
	f.Add(whole)
	f.Add(whole[:40])
	f.Add([]byte{})
	f.Add(append(slices.Clone(whole[:16]), whole[len(whole)-24:]...))
	f.Fuzz(func(t *testing.T, b []byte) {
		for _, data := range [][]byte{b, append(make([]byte, 1, len(b)+1), b...)[1:]} { // once misaligned
			file, err := flatfile.Decode(data, magic, version)
			if err != nil {
				var fe *flatfile.FormatError
				if !errors.As(err, &fe) {
					t.Fatalf("untyped error %v", err)
				}
				return
			}
			for _, name := range file.Names() {
				if p, err := flatfile.Take[pair](file, name); err == nil && 16*len(p) > len(b) {
					t.Fatalf("%d points out of %d bytes", len(p), len(b))
				}
				if n, err := flatfile.Take[uint16](file, name); err == nil && 2*len(n) > len(b) {
					t.Fatalf("%d numbers out of %d bytes", len(n), len(b))
				}
			}
			if s, err := flatfile.TakeStrings(file, "names"); err == nil && 4*len(s) > len(b) {
				t.Fatalf("%d strings out of %d bytes", len(s), len(b))
			}
		}
	})
}

// The same for a directory whose checksum is right.
func FuzzDirectory(f *testing.F) {
	whole := sample(f)
	le := binary.LittleEndian
	f.Add(whole[le.Uint64(whole[len(whole)-24:]) : len(whole)-24])
	f.Fuzz(func(t *testing.T, dir []byte) {
		b := append(slices.Clone(whole[:64]), dir...)
		b = le.AppendUint64(b, 64)
		b = le.AppendUint32(b, uint32(len(dir)))
		b = le.AppendUint32(b, crc32.Checksum(dir, crc32.MakeTable(crc32.Castagnoli)))
		file, err := flatfile.Decode(append(b, magic[:]...), magic, version)
		if err != nil {
			return
		}
		sum := int64(0)
		for _, name := range file.Names() {
			sum = max(sum, file.LengthBytes(name))
			_, _ = flatfile.Take[uint8](file, name)
		}
		if sum > 64 {
			t.Fatalf("a section of %d bytes in a file with 64", sum)
		}
	})
}

func BenchmarkOpenAndTake(b *testing.B) {
	path := filepath.Join(b.TempDir(), "f")
	w, err := flatfile.Create(path, magic, version)
	if err != nil {
		b.Fatal(err)
	}
	flatfile.Put(w, "numbers", make([]float64, 8<<20))
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(64 << 20)
	for b.Loop() {
		f, err := flatfile.Open(path, magic, version)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := flatfile.Take[float64](f, "numbers"); err != nil {
			b.Fatal(err)
		}
	}
}
