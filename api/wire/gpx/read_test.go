package gpx_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	"unicode/utf8"

	"wideberth/api/wire/gpx"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// noon is the latest time that a file may hold.
func noon() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) }

// gpx wraps the inside of a track segment; its first line is line 2.
func file(inside string) string {
	return `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="test"><trk><trkseg>` + "\n" + inside + "\n</trkseg></trk></gpx>"
}

const point = `<trkpt lat="47.2" lon="-7"><time>2026-11-25T07:10:00Z</time></trkpt>`

func TestGPXIsReadAsTheSchemaSays(t *testing.T) {
	// By the schema of GPX 1.1 (topografix.com/GPX/1/1/gpx.xsd): wpt and rte are
	// not tracks, ele and extensions may stand in a point, a time without a zone is
	// UTC, and prefixes are free.
	file := `<?xml version="1.0" encoding="UTF-8"?><!-- a comment -->
<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1" xmlns:x="urn:other" version="1.1" creator="test">
<g:wpt lat="1" lon="2"/><g:rte><g:rtept lat="1" lon="2"/></g:rte>
<g:trk><g:trkseg>
<g:trkpt lat="47.2" lon="-7.25"><g:ele>12.5</g:ele><g:time> 2026-11-25T08:10:00+01:00 </g:time><g:extensions><x:time>junk</x:time><x:trkpt lat="x"/></g:extensions></g:trkpt>
<g:trkpt lat="-9e1" lon="180"/></g:trkseg><g:trkseg>
<g:trkpt lon="-180" lat="+.5"><g:time>2026-11-25T07:11:00.250</g:time></g:trkpt></g:trkseg></g:trk></g:gpx>`
	got, err := gpx.Read(strings.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	want := []kept.TrackPoint{{Lat: 47.2, Lon: -7.25, At: time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)},
		{Lat: -90, Lon: 180}, {Lat: 0.5, Lon: -180, At: time.Date(2026, 11, 25, 7, 11, 0, 250e6, time.UTC)}}
	if len(got) != len(want) {
		t.Fatalf("%d points: %v", len(got), got)
	}
	for i := range want {
		if got[i].Lat != want[i].Lat || got[i].Lon != want[i].Lon || !got[i].At.Equal(want[i].At) {
			t.Errorf("point %d: %v, want %v", i, got[i], want[i])
		}
	}
}

// badGPX are files that must be refused, with the line to be named and a word of
// the mend.
var badGPX = []struct{ name, file, line, says string }{
	{"empty", "", "line 1", "empty"},
	{"no xml", "\x00\x01", "line 1", "XML"},
	{"other xml", "<html/>", "line 1", "not GPX 1.1"},
	{"version 1.0", `<gpx xmlns="http://www.topografix.com/GPX/1/0"/>`, "line 1", "not GPX 1.1"},
	{"no points", file(""), "line 3", "no track point"},
	{"only a route", `<gpx xmlns="http://www.topografix.com/GPX/1/1"><rte><rtept lat="1" lon="2"/></rte></gpx>`, "line 1", "not a route"},
	{"cut off", file(point)[:150], "line 2", "not well-formed"},
	{"tags crossed", file("<a><b>\n</a></b>"), "line 3", "not well-formed"},
	{"two roots", file(point) + "\n" + file(point), "line 4", "one gpx element"},
	{"document type", "<!DOCTYPE gpx [<!ENTITY a 'aaaa'>]>\n" + file(point), "line 1", "document type"},
	{"entity", file(point + "\n<trkpt lat=\"1\" lon=\"2\"><time>&a;</time></trkpt>"), "line 3", "not well-formed"},
	{"external entity", "<?xml version=\"1.0\"?>\n<!DOCTYPE gpx SYSTEM \"file:///etc/passwd\">\n" + file(point), "line 2", "document type"},
	{"other encoding", `<?xml version="1.0" encoding="UTF-16"?>` + file(point), "line 1", "UTF-8"},
	{"deep", file(point + "\n" + strings.Repeat("<a>", 30)), "line 3", "nested"},
	{"lat missing", file(point + "\n\n" + `<trkpt lon="2"/>`), "line 4", "one lat"},
	{"lat twice", file(`<trkpt lat="1" lat="2" lon="2"/>`), "line 2", "one lat"},
	{"lat too large", file(point + "\n" + `<trkpt lat="90.001" lon="2"/>`), "line 3", "-90 to 90"},
	{"lon too small", file(`<trkpt lat="1" lon="-180.5"/>`), "line 2", "-180 to 180"},
	{"not a number", file(`<trkpt lat="NaN" lon="2"/>`), "line 2", "-90 to 90"},
	{"endless", file(`<trkpt lat="Inf" lon="2"/>`), "line 2", "-90 to 90"},
	{"hexadecimal", file(`<trkpt lat="0x1p3" lon="2"/>`), "line 2", "-90 to 90"},
	{"words", file(`<trkpt lat="47" lon="west"/>`), "line 2", "lon as degrees"},
	{"long value", file(`<trkpt lat="` + strings.Repeat("9", 5000) + `" lon="1"/>`), "line 2", "-90 to 90"},
	{"time in words", file("<trkpt lat=\"1\" lon=\"2\">\n<time>yesterday</time></trkpt>"), "line 3", "not a time"},
	{"no such day", file(`<trkpt lat="1" lon="2"><time>2026-02-30T07:10:00Z</time></trkpt>`), "line 2", "not a time"},
	{"time empty", file(`<trkpt lat="1" lon="2"><time/></trkpt>`), "line 2", "not a time"},
	{"time long", file(`<trkpt lat="1" lon="2"><time>` + strings.Repeat("1", 100) + `</time></trkpt>`), "line 2", "too long"},
	{"two times", file(`<trkpt lat="1" lon="2"><time>2026-11-25T07:10:00Z</time><time>2026-11-25T07:10:00Z</time></trkpt>`), "line 2", "second time"},
	{"before clocks", file(`<trkpt lat="1" lon="2"><time>1970-01-01T00:00:00Z</time></trkpt>`), "line 2", "before 2000"},
	{"to come", file(`<trkpt lat="1" lon="2"><time>2201-01-01T00:00:00Z</time></trkpt>`), "line 2", "after 2200"},
	{"backwards", file(point + "\n" + strings.Replace(point, "07:10", "07:09", 1)), "line 3", "backwards"},
	{"too many points", file(strings.Repeat("<trkpt lat=\"1\" lon=\"2\"/>\n", kept.MostTrackPoints+1)), fmt.Sprintf("line %d", kept.MostTrackPoints+2), "20000 track points"},
	{"too many tags", file(strings.Repeat("<a/>", 1<<19)), "line 2", "tags"},
}

func TestBadGPXIsRefusedByLine(t *testing.T) {
	for _, c := range badGPX {
		t.Run(c.name, func(t *testing.T) {
			points, err := gpx.Read(strings.NewReader(c.file))
			var wrong fault.Problems
			if !errors.As(err, &wrong) || points != nil {
				t.Fatalf("%d points, error %v", len(points), err)
			}
			if wrong[0].Pointer != "/"+c.line || !strings.Contains(wrong[0].Mend, c.says) {
				t.Errorf("%q: want %s and %q", err, c.line, c.says)
			}
			if len(err.Error()) > 300 {
				t.Errorf("the error has %d characters", len(err.Error()))
			}
		})
	}
}

// FuzzGPX: whatever comes is either points that can be kept or a fault that names
// its line.
func FuzzGPX(f *testing.F) {
	f.Add(file(point))
	for _, c := range badGPX {
		if len(c.file) < 1000 {
			f.Add(c.file)
		}
	}
	f.Fuzz(func(t *testing.T, file string) {
		points, err := gpx.Read(strings.NewReader(file))
		if err != nil {
			var wrong fault.Problems
			if !errors.As(err, &wrong) || !strings.HasPrefix(wrong[0].Pointer, "/line ") || points != nil {
				t.Fatalf("%d points, error %v", len(points), err)
			}
			return
		}
		if len(points) == 0 || len(points) > kept.MostTrackPoints {
			t.Fatalf("%d points", len(points))
		}
		for i, p := range points {
			if !(math.Abs(p.Lat) <= 90 && math.Abs(p.Lon) <= 180) || p.At.After(noon()) {
				t.Fatalf("point %d: %v", i, p)
			}
		}
	})
}

// TestGPXBoundsAreTaken: the last file that each bound lets in, beside the first that it
// keeps out.
func TestGPXBoundsAreTaken(t *testing.T) {
	at := func(lat, lon, time string) string {
		return file(`<trkpt lat="` + lat + `" lon="` + lon + `"><time>` + time + `</time></trkpt>`)
	}
	const noon = "2026-11-25T12:00:00Z"
	nested := func(depth int) string { // gpx, trk and trkseg are three
		return file(strings.Repeat("<a>", depth-3) + strings.Repeat("</a>", depth-3) + point)
	}
	for _, c := range []struct{ what, ok, bad string }{
		{"north", at("90", "0", noon), at("90.0000001", "0", noon)},
		{"south", at("-90.0", "0", noon), at("-90.0000001", "0", noon)},
		{"east", at("0", "180", noon), at("0", "180.0000001", noon)},
		{"west", at("0", "-180", noon), at("0", "-180.0000001", noon)},
		{"first time", at("0", "0", "2000-01-01T00:00:00Z"), at("0", "0", "1999-12-31T23:59:59Z")},
		{"first time elsewhere", at("0", "0", "1999-12-31T23:00:00-01:00"), at("0", "0", "2000-01-01T00:59:59+01:00")},
		{"last time", at("0", "0", "2200-01-01T00:00:00Z"), at("0", "0", "2200-01-01T00:00:00.001Z")},
		{"a leap day", at("0", "0", "2024-02-29T12:00:00Z"), at("0", "0", "2023-02-29T12:00:00Z")},
		{"blanks", at("0", "0", noon+strings.Repeat(" ", 64-len(noon))), at("0", "0", noon+strings.Repeat(" ", 65-len(noon)))},
		{"depth", nested(24), nested(25)},
		{"points", file(strings.Repeat(`<trkpt lat="1" lon="2"/>`, kept.MostTrackPoints)), file(strings.Repeat(`<trkpt lat="1" lon="2"/>`, kept.MostTrackPoints+1))},
		{"order", file(point + point), file(point + strings.Replace(point, "07:10:00Z", "07:09:59.999Z", 1))},
		{"order over an untimed point", file(point + `<trkpt lat="1" lon="2"/>` + point), file(point + `<trkpt lat="1" lon="2"/>` + strings.Replace(point, "07:10", "07:09", 1))},
		{"one root", "<!-- a -->" + file(point) + "<!-- b -->", file(point) + "<gpx/>"},
	} {
		if points, err := gpx.Read(strings.NewReader(c.ok)); err != nil || len(points) == 0 {
			t.Errorf("%s: %d points, %v", c.what, len(points), err)
		}
		if points, err := gpx.Read(strings.NewReader(c.bad)); points != nil || len(faults(t, err)) != 1 {
			t.Errorf("%s: one step more gives %d points, %v", c.what, len(points), err)
		}
	}
}

// TestGPXComesInPieces: however the bytes come, the points are the same, and the line of a
// fault too; a file that breaks off on the way is no track.
func TestGPXComesInPieces(t *testing.T) {
	file := file(point + "\n" + strings.Replace(point, "07:10", "07:12", 1))
	for name, piece := range map[string]func(io.Reader) io.Reader{"bytes": iotest.OneByteReader, "halves": iotest.HalfReader, "the end with the data": iotest.DataErrReader} {
		points, err := gpx.Read(piece(strings.NewReader(file)))
		if err != nil || len(points) != 2 || points[1].At.Minute() != 12 {
			t.Errorf("%s: %v, %v", name, points, err)
		}
		_, err = gpx.Read(piece(strings.NewReader(strings.Replace(file, "07:12", "07:02", 1))))
		toldAt(t, err, [2]string{"/line 3", "2026-11-25T07:02:00Z"})
	}
	broken := io.MultiReader(strings.NewReader(file[:len(file)-40]), iotest.ErrReader(errors.New("the line is gone")))
	if points, err := gpx.Read(broken); points != nil || !strings.Contains(faults(t, err)[0].Mend, "cannot be read") || strings.Contains(err.Error(), "the line is gone") {
		t.Errorf("%d points, %v", len(points), err)
	}
}

// TestGPXTellsBackLittle: what is told back of a wrong value is its beginning, whole
// letters only, whatever their length.
func TestGPXTellsBackLittle(t *testing.T) {
	for n := range 8 {
		value := strings.Repeat("x", n) + strings.Repeat("é🐕", 30)
		_, err := gpx.Read(strings.NewReader(file(`<trkpt lat="` + value + `" lon="1"/>`)))
		p := faults(t, err)[0]
		head, cut := strings.CutSuffix(p.Value, "...")
		if !cut || !strings.HasPrefix(value, head) || len(head) < 36 || len(head) > 40 || !utf8.ValidString(p.Value) {
			t.Errorf("told back %q", p.Value)
		}
	}
	exact := strings.Repeat("y", 40)
	_, err := gpx.Read(strings.NewReader(file(`<trkpt lat="1" lon="` + exact + `"/>`)))
	toldAt(t, err, [2]string{"/line 2", exact})
	for name, most := range map[string]int{"lat": 90, "lon": 180} {
		other := map[string]string{"lat": "lon", "lon": "lat"}[name]
		_, err := gpx.Read(strings.NewReader(file(fmt.Sprintf(`<trkpt %s="1" %s="181"/>`, other, name))))
		if p := faults(t, err)[0]; p.Value != "181" || p.Mend != fmt.Sprintf("give %s as degrees, -%d to %d", name, most, most) {
			t.Errorf("%s: %+v", name, p)
		}
		var wrong fault.Problems
		if _, err := gpx.Read(strings.NewReader(file(fmt.Sprintf(`<trkpt %s="1"/>`, other)))); !errors.As(err, &wrong) || !strings.Contains(wrong[0].Mend, "one "+name+", this has 0") {
			t.Errorf("%s is missing: %v", name, err)
		}
	}
}

// faults are what an error says is wrong.
func faults(t *testing.T, err error) fault.Problems {
	t.Helper()
	var wrong fault.Problems
	if !errors.As(err, &wrong) || len(wrong) == 0 {
		t.Fatalf("no list of faults: %v", err)
	}
	return wrong
}

// toldAt wants each fault by pointer and value, in order, with a mend that says something.
func toldAt(t *testing.T, err error, want ...[2]string) {
	t.Helper()
	var got [][2]string
	for _, p := range faults(t, err) {
		got = append(got, [2]string{p.Pointer, p.Value})
		if len(p.Mend) < 10 {
			t.Errorf("%s: the mend is %q", p.Pointer, p.Mend)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("faults at %q, want %q", got, want)
	}
}
