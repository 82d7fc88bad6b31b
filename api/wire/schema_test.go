package wire_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/gpx"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
)

// gpxModel is what each element of GPX 1.1 may hold, in this order
// (topografix.com/GPX/1/1/gpx.xsd: gpxType, metadataType, copyrightType, trkType,
// trksegType, wptType); elements that are told once at most are in gpxOnce.
var gpxModel = map[string][]string{
	"gpx":       {"metadata", "wpt", "rte", "trk", "extensions"},
	"metadata":  {"name", "desc", "author", "copyright", "link", "time", "keywords", "bounds", "extensions"},
	"copyright": {"year", "license"},
	"trk":       {"name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"},
	"trkseg":    {"trkpt", "extensions"},
	"wpt":       {"ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type"},
	"trkpt":     {"ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type"},
}

// gpxOften are the elements that may stand more than once beside each other.
var gpxOften = []string{"wpt", "rte", "trk", "trkseg", "trkpt", "link"}

// gpxAttrs are the attributes that each element must have; it may have no others.
var gpxAttrs = map[string][]string{"gpx": {"version", "creator"}, "copyright": {"author"}, "wpt": {"lat", "lon"}, "trkpt": {"lat", "lon"}}

// keepsSchema goes through a written file element by element.
func keepsSchema(t *testing.T, file []byte) {
	t.Helper()
	type open struct {
		name string
		last int
		seen []string
	}
	var path []open
	dec := xml.NewDecoder(bytes.NewReader(file))
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			name := e.Name.Local
			if e.Name.Space != "http://www.topografix.com/GPX/1/1" {
				t.Errorf("%s is of %q", name, e.Name.Space)
			}
			if len(path) == 0 {
				if name != "gpx" {
					t.Errorf("the root is %s", name)
				}
			} else {
				in := &path[len(path)-1]
				at := slices.Index(gpxModel[in.name], name)
				if at < in.last {
					t.Errorf("%s stands in %s where the schema has none", name, in.name)
				}
				if slices.Contains(in.seen, name) && !slices.Contains(gpxOften, name) {
					t.Errorf("a second %s in one %s", name, in.name)
				}
				in.last, in.seen = max(at, in.last), append(in.seen, name)
			}
			var attrs []string
			for _, a := range e.Attr {
				if a.Name.Local == "xmlns" {
					continue
				}
				attrs = append(attrs, a.Name.Local)
				most := map[string]float64{"lat": 90, "lon": 180}[a.Name.Local] // latitudeType, longitudeType
				if x, err := strconv.ParseFloat(a.Value, 64); most > 0 && (err != nil || math.Abs(x) > most || strings.ContainsAny(a.Value, "eE")) {
					t.Errorf("%s of a %s is %q, no xsd:decimal within %g", a.Name.Local, name, a.Value, most)
				}
				if a.Name.Local == "version" && a.Value != "1.1" {
					t.Errorf("version %q", a.Value)
				}
			}
			if !slices.Equal(attrs, gpxAttrs[name]) {
				t.Errorf("%s has the attributes %v, must have %v", name, attrs, gpxAttrs[name])
			}
			path = append(path, open{name: name})
		case xml.EndElement:
			path = path[:len(path)-1]
		case xml.CharData:
			if len(path) > 0 && path[len(path)-1].name == "time" {
				// xsd:dateTime in UTC, as the schema wants it
				if _, err := time.Parse("2006-01-02T15:04:05Z", string(e)); err != nil {
					t.Errorf("a time is %q", e)
				}
			}
		}
	}
}

// TestGPXKeepsTheSchema: every file is of the elements, the order, the number and the
// attributes that the schema of GPX 1.1 has, also of a plan without walks.
func TestGPXKeepsTheSchema(t *testing.T) {
	var file bytes.Buffer
	eachPlan(t, func(t *testing.T, _ *routing.Plan, out *wire.Plan) {
		file.Reset()
		if err := out.GPX(&file); err != nil {
			t.Fatal(err)
		}
		keepsSchema(t, file.Bytes())
		if n := bytes.Count(file.Bytes(), []byte("<trk>")); n != len(out.Walks) {
			t.Errorf("%d tracks of %d walks", n, len(out.Walks))
		}
	})
	file.Reset()
	small := wire.Plan{Depart: "2026-11-25T07:10:00-05:00", Walks: []wire.Walk{{Legs: []wire.Leg{{Geometry: wire.LineString{Coordinates: []wire.Position{{0.000001, -0.000002}, {1e-6, 0}}}}}}}}
	if err := small.GPX(&file); err != nil {
		t.Fatal(err)
	}
	if points, err := gpx.Read(bytes.NewReader(file.Bytes())); err != nil || len(points) != 2 || points[0].Lon != 1e-6 || points[0].Lat != -2e-6 {
		t.Errorf("beside the null meridian: %v, %v", points, err)
	}
	file.Reset()
	if err := (&wire.Plan{Depart: "2026-11-25T07:10:00-05:00"}).GPX(&file); err != nil {
		t.Fatal(err)
	}
	keepsSchema(t, file.Bytes())
}

// keepsRFC7946 goes through a GeoJSON text by the sections of RFC 7946.
func keepsRFC7946(t *testing.T, text []byte) {
	t.Helper()
	var top map[string]any
	if err := json.Unmarshal(text, &top); err != nil {
		t.Fatal(err)
	}
	features, ok := top["features"].([]any)
	if top["type"] != "FeatureCollection" || !ok { // section 3.3
		t.Fatalf("a %v with features %T", top["type"], top["features"])
	}
	for _, name := range []string{"coordinates", "geometries", "geometry", "properties", "crs"} { // sections 7.1 and 4
		if _, there := top[name]; there {
			t.Errorf("a collection has a member %q", name)
		}
	}
	box := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	position := func(v any) [2]float64 { // section 3.1.1: two numbers, longitude first
		list, ok := v.([]any)
		if !ok || len(list) != 2 {
			t.Fatalf("a position is %v", v)
		}
		lon, ok1 := list[0].(float64)
		lat, ok2 := list[1].(float64)
		if !ok1 || !ok2 || math.Abs(lon) > 180 || math.Abs(lat) > 90 {
			t.Fatalf("a position is %v", v)
		}
		box = [4]float64{min(box[0], lon), min(box[1], lat), max(box[2], lon), max(box[3], lat)}
		return [2]float64{lon, lat}
	}
	for i, v := range features {
		ft, ok := v.(map[string]any)
		g, ok2 := ft["geometry"].(map[string]any)
		_, ok3 := ft["properties"].(map[string]any)
		if !ok || !ok2 || !ok3 || ft["type"] != "Feature" || ft["coordinates"] != nil || ft["features"] != nil || g["geometry"] != nil || g["properties"] != nil { // sections 3.2 and 7.1
			t.Fatalf("feature %d is %v", i, v)
		}
		switch g["type"] {
		case "Point":
			position(g["coordinates"])
		case "LineString": // section 3.1.4: two or more positions
			line, ok := g["coordinates"].([]any)
			if !ok || len(line) < 2 {
				t.Errorf("feature %d is a line of %v", i, g["coordinates"])
			}
			for _, at := range line {
				position(at)
			}
		default:
			t.Errorf("feature %d is a %v", i, g["type"])
		}
	}
	if b, ok := top["bbox"].([]any); ok { // section 5: west, south, east, north of all there is
		for k := range box {
			if len(b) != 4 || b[k] != box[k] {
				t.Fatalf("the box is %v, of all positions %v", b, box)
			}
		}
	}
}

// TestGeoJSONKeepsRFC7946: plans, and the ways about a door.
func TestGeoJSONKeepsRFC7946(t *testing.T) {
	eachPlan(t, func(t *testing.T, _ *routing.Plan, out *wire.Plan) {
		var file bytes.Buffer
		if err := out.GeoJSON(&file); err != nil {
			t.Fatal(err)
		}
		keepsRFC7946(t, file.Bytes())
		if !bytes.Contains(file.Bytes(), []byte(`"bbox":[`)) {
			t.Error("no box")
		}
	})
	p, _ := planned(t)
	dog := maptest.Kessa()
	text, err := json.Marshal(wire.NewRankedStreets(p.Ranked(maptest.Door(p.Frame()), &dog, maptest.Morning, nil), p.Frame()))
	if err != nil {
		t.Fatal(err)
	}
	keepsRFC7946(t, text)
}
