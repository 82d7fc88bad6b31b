package wire_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// noon is the latest time that a file may hold.
func noon() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) }

// gpx wraps the inside of a track segment; its first line is line 2.
func gpx(inside string) string {
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
	got, err := wire.ReadGPX(strings.NewReader(file))
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
	{"no points", gpx(""), "line 3", "no track point"},
	{"only a route", `<gpx xmlns="http://www.topografix.com/GPX/1/1"><rte><rtept lat="1" lon="2"/></rte></gpx>`, "line 1", "not a route"},
	{"cut off", gpx(point)[:150], "line 2", "not well-formed"},
	{"tags crossed", gpx("<a><b>\n</a></b>"), "line 3", "not well-formed"},
	{"two roots", gpx(point) + "\n" + gpx(point), "line 4", "one gpx element"},
	{"document type", "<!DOCTYPE gpx [<!ENTITY a 'aaaa'>]>\n" + gpx(point), "line 1", "document type"},
	{"entity", gpx(point + "\n<trkpt lat=\"1\" lon=\"2\"><time>&a;</time></trkpt>"), "line 3", "not well-formed"},
	{"external entity", "<?xml version=\"1.0\"?>\n<!DOCTYPE gpx SYSTEM \"file:///etc/passwd\">\n" + gpx(point), "line 2", "document type"},
	{"other encoding", `<?xml version="1.0" encoding="UTF-16"?>` + gpx(point), "line 1", "UTF-8"},
	{"deep", gpx(point + "\n" + strings.Repeat("<a>", 30)), "line 3", "nested"},
	{"lat missing", gpx(point + "\n\n" + `<trkpt lon="2"/>`), "line 4", "one lat"},
	{"lat twice", gpx(`<trkpt lat="1" lat="2" lon="2"/>`), "line 2", "one lat"},
	{"lat too large", gpx(point + "\n" + `<trkpt lat="90.001" lon="2"/>`), "line 3", "-90 to 90"},
	{"lon too small", gpx(`<trkpt lat="1" lon="-180.5"/>`), "line 2", "-180 to 180"},
	{"not a number", gpx(`<trkpt lat="NaN" lon="2"/>`), "line 2", "-90 to 90"},
	{"endless", gpx(`<trkpt lat="Inf" lon="2"/>`), "line 2", "-90 to 90"},
	{"hexadecimal", gpx(`<trkpt lat="0x1p3" lon="2"/>`), "line 2", "-90 to 90"},
	{"words", gpx(`<trkpt lat="47" lon="west"/>`), "line 2", "lon as degrees"},
	{"long value", gpx(`<trkpt lat="` + strings.Repeat("9", 5000) + `" lon="1"/>`), "line 2", "-90 to 90"},
	{"time in words", gpx("<trkpt lat=\"1\" lon=\"2\">\n<time>yesterday</time></trkpt>"), "line 3", "not a time"},
	{"no such day", gpx(`<trkpt lat="1" lon="2"><time>2026-02-30T07:10:00Z</time></trkpt>`), "line 2", "not a time"},
	{"time empty", gpx(`<trkpt lat="1" lon="2"><time/></trkpt>`), "line 2", "not a time"},
	{"time long", gpx(`<trkpt lat="1" lon="2"><time>` + strings.Repeat("1", 100) + `</time></trkpt>`), "line 2", "too long"},
	{"two times", gpx(`<trkpt lat="1" lon="2"><time>2026-11-25T07:10:00Z</time><time>2026-11-25T07:10:00Z</time></trkpt>`), "line 2", "second time"},
	{"before clocks", gpx(`<trkpt lat="1" lon="2"><time>1970-01-01T00:00:00Z</time></trkpt>`), "line 2", "before 2000"},
	{"to come", gpx(`<trkpt lat="1" lon="2"><time>2201-01-01T00:00:00Z</time></trkpt>`), "line 2", "after 2200"},
	{"backwards", gpx(point + "\n" + strings.Replace(point, "07:10", "07:09", 1)), "line 3", "backwards"},
	{"too many points", gpx(strings.Repeat("<trkpt lat=\"1\" lon=\"2\"/>\n", kept.MostTrackPoints+1)), fmt.Sprintf("line %d", kept.MostTrackPoints+2), "20000 track points"},
	{"too many tags", gpx(strings.Repeat("<a/>", 1<<19)), "line 2", "tags"},
}

func TestBadGPXIsRefusedByLine(t *testing.T) {
	for _, c := range badGPX {
		t.Run(c.name, func(t *testing.T) {
			points, err := wire.ReadGPX(strings.NewReader(c.file))
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
	f.Add(gpx(point))
	for _, c := range badGPX {
		if len(c.file) < 1000 {
			f.Add(c.file)
		}
	}
	f.Fuzz(func(t *testing.T, file string) {
		points, err := wire.ReadGPX(strings.NewReader(file))
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
