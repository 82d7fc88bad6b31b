package change_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/change"

	"github.com/paulmach/osm"
)

const whole = `<?xml version='1.0' encoding='UTF-8'?>
<osmChange version="0.6" generator="test">
  <modify>
    <node id="1234" changeset="42" version="2" lat="12.1234567" lon="-8.7654321">
      <tag k="amenity" v="school"/>
    </node>
    <way id="5" version="3"><nd ref="1234"/><nd ref="8"/></way>
  </modify>
  <delete if-unused="true"><relation id="6" version="2"/></delete>
</osmChange>
`

func read(text string) (objects []osm.Object, err error) {
	err = change.Read(context.Background(), strings.NewReader(text), "a.osc", func(o osm.Object) error {
		objects = append(objects, o)
		return nil
	})
	return objects, err
}

// TestBroken: a file that is cut, damaged or of another kind is refused, with its reason.
func TestBroken(t *testing.T) {
	packed := gzipped(whole)
	flipped := []byte(packed)
	flipped[len(flipped)-6] ^= 1
	in := func(object string) string { return "<osmChange><modify>" + object + "</modify></osmChange>" }
	for name, c := range map[string]struct {
		text, says string
		is         error
	}{
		"empty":            {"", "the file is empty", change.ErrNotChanges},
		"a picture":        {"\x89PNG\r\n", "not a file of changes", change.ErrNotChanges},
		"an extract":       {`<osm version="0.6"><node id="1"/></osm>`, `"osm" stands where osmChange`, change.ErrNotChanges},
		"two documents":    {whole + whole[strings.Index(whole, "<osmC"):], "stands where osmChange is wanted", change.ErrNotChanges},
		"checksum":         {string(flipped), "the file is damaged", nil},
		"gzip cut":         {packed[:len(packed)-9], "ends too early", osmdata.ErrTruncated},
		"gzip head only":   {packed[:5], "ends too early", osmdata.ErrTruncated},
		"cut in an object": {whole[:200], "line 5", osmdata.ErrTruncated},
		"cut between":      {whole[:strings.Index(whole, "  <delete")], "ends too early", osmdata.ErrTruncated},
		"odd block":        {"<osmChange><mend/></osmChange>", `"mend" stands where create`, nil},
		"odd object":       {in(`<street id="4"/>`), `"street" stands where a node`, nil},
		"no id":            {in(`<way version="1"/>`), "a way without id", nil},
		"no place":         {in(`<node id="3" lat="1"/>`), "node 3 has no place", nil},
		"off the earth":    {in(`<node id="3" lat="91" lon="1"/>`), "node 3 has no place", nil},
		"no number":        {in(`<node id="three" lat="1" lon="1"/>`), "invalid syntax", nil},
		"odd member":       {in(`<relation id="3"><member type="area" ref="1" role=""/></relation>`), `member of the kind "area"`, nil},
		"without end":      {"<osmChange><modify><node id='1' lat='1' lon='1' user='" + strings.Repeat("x", 17<<20), "more than 16 MB", nil},
	} {
		_, err := read(c.text)
		var format *osmdata.FormatError
		if !errors.As(err, &format) || format.File != "a.osc" || !strings.Contains(err.Error(), c.says) || c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestEveryCut: wherever a file is cut, packed or not, it is refused and not half taken.
func TestEveryCut(t *testing.T) {
	end := strings.LastIndex(whole, ">") + 1
	for n := range end {
		if _, err := read(whole[:n]); err == nil {
			t.Fatalf("cut after %d bytes it was read", n)
		}
	}
	packed := gzipped(whole)
	for n := range len(packed) {
		if _, err := read(packed[:n]); err == nil {
			t.Fatalf("cut after %d bytes of %d it was read", n, len(packed))
		}
	}
}

// TestEndings: reading stops with the reader, with the context, with who takes.
func TestEndings(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := change.Read(ctx, strings.NewReader(whole), "", nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	full := errors.New("full")
	if err := change.Read(t.Context(), strings.NewReader(whole), "", func(osm.Object) error { return full }); !errors.Is(err, full) {
		t.Errorf("taker: %v", err)
	}
	set := change.NewSet(0, filepath.Join(t.TempDir(), "gone"))
	if _, err := set.AddFile(t.Context(), "gone.osc"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
	path := filepath.Join(t.TempDir(), "a.osc")
	if err := os.WriteFile(path, []byte(whole), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := set.AddFile(t.Context(), path); err == nil || !strings.Contains(err.Error(), "put changes aside") {
		t.Errorf("nowhere to put aside: %v", err)
	}
}

// TestUnsorted: an extract without order is refused.
func TestUnsorted(t *testing.T) {
	f, err := os.CreateTemp(t.TempDir(), "*.osm")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	fmt.Fprint(f, `<osm><node id="2" lat="1" lon="1"/><node id="1" lat="1" lon="1"/></osm>`)
	if _, err := f.Seek(0, 0); err != nil {
		t.Fatal(err)
	}
	src, err := osmdata.OpenElements(t.Context(), f, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, err = range change.NewSet(change.UsualMemory, "").Over(change.Of(src, nil).Objects(t.Context())) {
	}
	if !errors.Is(err, change.ErrUnsorted) || !strings.Contains(err.Error(), "node/1 after node/2") {
		t.Error(err)
	}
}

// FuzzRead: whatever a file holds, reading it ends, and what was taken is an object that
// can be put aside and read again.
func FuzzRead(f *testing.F) {
	f.Add([]byte(whole))
	f.Add([]byte(gzipped(whole)))
	f.Add([]byte("<osmChange><create><relation id='1'><member type='node' ref='3' role='via'/></relation></create></osmChange>"))
	f.Add([]byte("BZh9"))
	f.Fuzz(func(t *testing.T, b []byte) {
		set := change.NewSet(1<<12, t.TempDir())
		defer func() {
			if err := set.Close(); err != nil {
				t.Error(err)
			}
		}()
		taken := 0
		err := change.Read(t.Context(), strings.NewReader(string(b)), "", func(o osm.Object) error {
			taken++
			return set.Add(o)
		})
		n := 0
		for _, bad := range set.All() {
			if bad != nil {
				t.Fatal(bad)
			}
			n++
		}
		if n > taken || n == 0 && taken > 0 {
			t.Errorf("%d of %d objects kept", n, taken)
		}
		var format *osmdata.FormatError
		if err != nil && !errors.As(err, &format) {
			t.Errorf("error of another kind: %v", err)
		}
	})
}
