// Package gpx reads tracks that devices record, from anybody: bounds are held while a file
// is read, and what is wrong is told with its line.
package gpx

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/track"
)

// MostBytes is the size of the largest GPX file that is taken: 20,000 points of
// 400 bytes.
const MostBytes = 8 << 20

// Bounds of a GPX file. Whoever sends one may be a stranger, so each is checked
// while reading, not after.
const (
	mostDepth  = 24      // the schema needs 5; the rest is for extensions
	mostTokens = 1 << 20 // some 50 a point, extensions included
	mostText   = 64      // bytes of a time, blanks included
)

// space is the namespace of GPX 1.1 (topografix.com/GPX/1/1/gpx.xsd).
const space = "http://www.topografix.com/GPX/1/1"

// earliest and latest are the first and last time a track can have: outside them
// a clock stands wrong.
var (
	earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	latest   = time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)
)

// Read reads the track points of a GPX 1.1 file in their order, of all its
// tracks and segments; routes, waypoints, heights and extensions are passed over.
// The first fault ends it: an fault.Problems that names the line, and no
// points. Times before 2000 or after 2200 are faults, and so are times that run
// backwards, document types and entities of the file's own.
func Read(r io.Reader) ([]kept.TrackPoint, error) {
	g := reader{in: xml.NewDecoder(r)}
	for {
		g.line, _ = g.in.InputPos()
		token, err := g.in.Token()
		if errors.Is(err, io.EOF) {
			return g.end()
		}
		if err != nil {
			return nil, g.syntax(err)
		}
		if g.tokens++; g.tokens > mostTokens {
			return nil, g.fault("", fmt.Sprintf("more than %d tags and texts: send one walk's track only", mostTokens))
		}
		if err := g.take(token); err != nil {
			return nil, err
		}
	}
}

// reader is the state of Read.
type reader struct {
	in     *xml.Decoder
	path   []string // names of the open elements
	points []kept.TrackPoint
	rooted bool   // the gpx element has begun
	text   []byte // of the open time element
	timed  bool   // the open point has its time
	last   time.Time
	line   int // where the token began
	tokens int
}

func (g *reader) fault(value, mend string) error {
	return fault.Problems{{Pointer: fmt.Sprintf("/line %d", g.line), Value: clipped(value), Mend: mend}}
}

// clipped keeps what is told back short.
func clipped(value string) string {
	const most = 40
	if len(value) > most {
		value = strings.ToValidUTF8(value[:most], "") + "..."
	}
	return value
}

func (g *reader) syntax(err error) error {
	var s *xml.SyntaxError
	if errors.As(err, &s) {
		g.line = s.Line
		return g.fault("", clipped(s.Msg)+": not well-formed XML; send the file as the device wrote it")
	}
	return g.fault("", "cannot be read: send GPX 1.1 in UTF-8")
}

func (g *reader) end() ([]kept.TrackPoint, error) {
	if g.tokens == 0 {
		return nil, g.fault("", "the file is empty: send GPX 1.1")
	}
	if len(g.points) == 0 {
		return nil, g.fault("", "no track point (trkpt) in the file: send a recorded track, not a route or places")
	}
	return g.points, nil
}

func (g *reader) take(token xml.Token) error {
	switch t := token.(type) {
	case xml.Directive:
		return g.fault("", "a document type is not taken: leave <!DOCTYPE> out")
	case xml.StartElement:
		return g.open(t)
	case xml.EndElement:
		return g.close()
	case xml.CharData:
		if g.inTime() {
			if g.text = append(g.text, t...); len(g.text) > mostText {
				return g.fault(string(g.text), "too long for a time")
			}
		}
	}
	return nil
}

// inPoint and inTime say whether the innermost open element is a track point, or
// its time.
func (g *reader) inPoint() bool { return strings.Join(g.path, "/") == "gpx/trk/trkseg/trkpt" }
func (g *reader) inTime() bool  { return strings.Join(g.path, "/") == "gpx/trk/trkseg/trkpt/time" }

func (g *reader) open(t xml.StartElement) error {
	name := t.Name.Local
	if len(g.path) == 0 {
		if g.rooted || name != "gpx" || t.Name.Space != space {
			return g.fault(t.Name.Space+" "+name, "not GPX 1.1: the file must be one gpx element of "+space)
		}
		g.rooted = true
	} else if t.Name.Space != space {
		name = "?" + name // of an extension: never taken for a name of GPX
	}
	if len(g.path) == mostDepth {
		return g.fault(name, fmt.Sprintf("elements are nested more than %d deep", mostDepth))
	}
	g.path = append(g.path, name)
	switch {
	case g.inTime():
		if g.timed {
			return g.fault("", "a second time in one point")
		}
		g.text = g.text[:0]
	case g.inPoint():
		return g.point(t.Attr)
	}
	return nil
}

func (g *reader) close() (err error) {
	if g.inTime() {
		err = g.clock(strings.TrimSpace(string(g.text)))
	}
	g.path = g.path[:len(g.path)-1]
	return err
}

func (g *reader) point(attrs []xml.Attr) error {
	if len(g.points) == kept.MostTrackPoints {
		return g.fault("", fmt.Sprintf("more than %d track points: thin the track out, or send one walk's only", kept.MostTrackPoints))
	}
	lat, err := g.degrees(attrs, "lat", 90)
	if err != nil {
		return err
	}
	lon, err := g.degrees(attrs, "lon", 180)
	if err != nil {
		return err
	}
	g.points, g.timed = append(g.points, kept.TrackPoint{Lat: lat, Lon: lon}), false
	return nil
}

// degrees is a coordinate: xsd:decimal, and for devices that write it so, with an
// exponent.
func (g *reader) degrees(attrs []xml.Attr, name string, most float64) (float64, error) {
	mend := fmt.Sprintf("give %s as degrees, -%g to %g", name, most, most)
	text, found := "", 0
	for _, a := range attrs {
		if a.Name.Space == "" && a.Name.Local == name {
			text, found = a.Value, found+1
		}
	}
	if found != 1 {
		return 0, g.fault("", fmt.Sprintf("a track point needs one %s, this has %d: %s", name, found, mend))
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || strings.Trim(text, "+-.0123456789eE") != "" || !(x >= -most && x <= most) {
		return 0, g.fault(text, mend)
	}
	return x, nil
}

// clock gives the open point its time: xsd:dateTime, in UTC if it names no zone.
func (g *reader) clock(text string) error {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t, err = time.Parse("2006-01-02T15:04:05", text)
	}
	switch {
	case err != nil:
		return g.fault(text, "not a time: give one like 2026-11-25T07:10:00Z")
	case t.Before(earliest) || t.After(latest):
		return g.fault(text, "lies before 2000 or after 2200: put the device's clock right")
	case t.Before(g.last):
		return g.fault(text, "runs backwards: track points must be in the order of their times")
	}
	g.last, g.timed = t, true
	g.points[len(g.points)-1].At = t.UTC()
	return nil
}

// Walked are the points of a track on a map's plane.
func Walked(points []kept.TrackPoint, f plane.Frame) []track.Point {
	out := make([]track.Point, len(points))
	for i, p := range points {
		out[i] = track.Point{At: f.Forward(p.Lon, p.Lat), When: p.At}
	}
	return out
}
