package osmdata_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/osmdata"
)

func TestNothingToWalk(t *testing.T) {
	for name, text := range map[string]string{
		"empty":     "",
		"nodes":     "n 1 0 0",
		"motorway":  "n 1 0 0\nn 2 10 0\nw 1 1,2 highway=motorway",
		"no dogs":   "n 1 0 0\nn 2 10 0\nw 1 1,2 highway=path dog=no",
		"no nodes":  "w 1 1,2 highway=path",
		"all wrong": "n 1 9e9 0\nn 2 9e9 0\nw 1 1,2 highway=path",
	} {
		w := parseWorld(t, text)
		for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
			if _, err := (osmdata.Options{}).Read(t.Context(), bytes.NewReader(data)); !errors.Is(err, osmdata.ErrNothingToWalk) {
				t.Errorf("%s, %s: %v", name, kind, err)
			}
		}
	}
}

func TestNotAnExtract(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write([]byte("some text"))
	z.Close()
	for name, data := range map[string][]byte{
		"empty":        {},
		"one byte":     {'<'},
		"text":         []byte("Dear Sir or Madam, I write to you"),
		"HTML":         []byte("<!DOCTYPE html><html><body>404</body></html>"),
		"changes":      []byte("<osmChange version=\"0.6\"><create><node id=\"1\" lat=\"1\" lon=\"1\"/></create></osmChange>"),
		"zip":          []byte("PK\x03\x04 and so on and so forth"),
		"zeros":        make([]byte, 4096),
		"gzipped text": packed.Bytes(),
		"prologue":     []byte("<?xml version='1.0'?>" + strings.Repeat("<!-- -->", 1<<14)),
	} {
		_, err := osmdata.Options{}.Read(t.Context(), bytes.NewReader(data))
		var bad *osmdata.FormatError
		if !errors.As(err, &bad) || !errors.Is(err, osmdata.ErrNotOSM) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestErrorsNameFileAndPlace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "cut.osm")
	data := parseWorld(t, village).xml()
	if err := os.WriteFile(path, data[:len(data)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := osmdata.Options{}.ReadFile(t.Context(), path)
	var bad *osmdata.FormatError
	if !errors.As(err, &bad) || bad.File != path || bad.Offset == 0 || !errors.Is(err, osmdata.ErrTruncated) {
		t.Errorf("%v", err)
	}
	if strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), path+": at byte ") {
		t.Errorf("message %q", err)
	}
	if _, err = (osmdata.Options{}).ReadFile(t.Context(), path+".gone"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
}

func TestGzipAndItsCuts(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write(parseWorld(t, village).xml())
	z.Close()
	data := packed.Bytes()
	if _, err := (osmdata.Options{}).Read(t.Context(), bytes.NewReader(data)); err != nil {
		t.Fatal(err)
	}
	for n := 0; n < len(data); n += 7 {
		var bad *osmdata.FormatError
		if _, err := (osmdata.Options{}).Read(t.Context(), bytes.NewReader(data[:n])); !errors.As(err, &bad) {
			t.Fatalf("cut at %d of %d: %v", n, len(data), err)
		}
	}
}

func TestProgressOnlyGrowsAndEnds(t *testing.T) {
	w := parseWorld(t, village)
	for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		var seen []osmdata.Progress
		_, err := osmdata.Options{Progress: func(p osmdata.Progress) { seen = append(seen, p) }}.Read(t.Context(), bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		last := seen[len(seen)-1]
		if last.Done != last.Total || last.Stage == "" {
			t.Errorf("%s ends at %+v", kind, last)
		}
		for i := 1; i < len(seen); i++ {
			if seen[i].Done < seen[i-1].Done || seen[i].Total != seen[0].Total {
				t.Errorf("%s: %+v after %+v", kind, seen[i], seen[i-1])
			}
		}
	}
}

func TestCancelledReading(t *testing.T) {
	w := parseWorld(t, village)
	for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if _, err := (osmdata.Options{}).Read(ctx, bytes.NewReader(data)); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", kind, err)
		}
	}
}

// A source that cannot be read to its end is an error that keeps the cause.
func TestBrokenSource(t *testing.T) {
	cause := errors.New("the cable came out")
	w := parseWorld(t, village)
	for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		_, err := osmdata.Options{}.Read(t.Context(), &failing{bytes.NewReader(data), int64(len(data) / 2), cause})
		if !errors.Is(err, cause) {
			t.Errorf("%s: %v", kind, err)
		}
	}
}

type failing struct {
	*bytes.Reader
	at  int64
	err error
}

func (f *failing) Read(p []byte) (int, error) {
	here, _ := f.Reader.Seek(0, io.SeekCurrent)
	if here >= f.at {
		return 0, f.err
	}
	return f.Reader.Read(p[:min(int64(len(p)), f.at-here)])
}

// FuzzXML feeds damaged worlds: an answer or an error, never a panic.
func FuzzXML(f *testing.F) {
	f.Add(parseWorld(f, village).xml())
	f.Add([]byte("<osm><node id='1' lat='NaN' lon='1'/><way id='1'><nd ref='1'/><nd ref='1'/></way></osm>"))
	f.Add([]byte("<osm><bounds/><relation id='1'><member type='way' ref='1' role='outer'/></relation></osm>"))
	f.Fuzz(func(t *testing.T, data []byte) {
		x, err := osmdata.Options{Rules: playRules}.Read(context.Background(), bytes.NewReader(data))
		if err == nil {
			checkSound(t, x)
		}
	})
}
