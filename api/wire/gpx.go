package wire

import (
	"encoding/xml"
	"fmt"
	"io"
	"time"

	"github.com/paulmach/orb/geo"
)

// The parts of GPX 1.1 (topografix.com/GPX/1/1) that a walk needs, in the order
// that its schema asks for.
type gpxFile struct {
	XMLName  xml.Name    `xml:"http://www.topografix.com/GPX/1/1 gpx"`
	Version  string      `xml:"version,attr"`
	Creator  string      `xml:"creator,attr"`
	Metadata gpxMetadata `xml:"metadata"`
	Points   []gpxPoint  `xml:"wpt"`
	Tracks   []gpxTrack  `xml:"trk"`
}

type gpxMetadata struct {
	Name      string       `xml:"name"`
	Desc      string       `xml:"desc"`
	Copyright gpxCopyright `xml:"copyright"`
	Time      string       `xml:"time"`
}

type gpxCopyright struct {
	Author  string `xml:"author,attr"`
	License string `xml:"license"`
}

type gpxTrack struct {
	Name    string     `xml:"name"`
	Desc    string     `xml:"desc"`
	Segment gpxSegment `xml:"trkseg"`
}

type gpxSegment struct {
	Points []gpxPoint `xml:"trkpt"`
}

type gpxPoint struct {
	Lat  float64 `xml:"lat,attr"`
	Lon  float64 `xml:"lon,attr"`
	Time string  `xml:"time,omitempty"`
	Name string  `xml:"name,omitempty"`
	Desc string  `xml:"desc,omitempty"`
}

// GPX writes the walks of a plan as GPX 1.1: a track a walk with the time at
// each point, and way points where the legs of the best walk begin and at its
// watch points.
func (p *Plan) GPX(w io.Writer) error {
	depart, err := time.Parse(time.RFC3339, p.Depart)
	if err != nil {
		return fmt.Errorf("departure of the plan: %w", err)
	}
	out := gpxFile{Version: "1.1", Creator: "Wideberth"}
	out.Metadata = gpxMetadata{
		Name: "Low-trigger walk", Desc: p.Caution,
		Copyright: gpxCopyright{"OpenStreetMap contributors", LicenceURL},
		Time:      depart.UTC().Format(time.RFC3339),
	}
	for i := range p.Walks {
		out.Tracks = append(out.Tracks, trackOf(&p.Walks[i], depart, i))
	}
	if len(p.Walks) > 0 {
		out.Points = wayPoints(&p.Walks[0])
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", " ")
	if err := enc.Encode(out); err != nil {
		return err
	}
	return enc.Close()
}

func trackOf(walk *Walk, depart time.Time, i int) gpxTrack {
	t := gpxTrack{
		Name: fmt.Sprintf("Walk %c", 'A'+i),
		Desc: fmt.Sprintf("%.0f min, %.1f km · %s. %s", walk.DurationS/60, walk.LengthM/1000, walk.ground, Attribution),
	}
	for _, leg := range walk.Legs {
		line := lineString(leg.Geometry.Coordinates)
		total, gone := max(geo.Length(line), 1e-9), 0.0
		for j, at := range line {
			if j > 0 {
				gone += geo.Distance(line[j-1], at)
			} else if len(t.Segment.Points) > 0 {
				continue
			}
			s := leg.StartS + leg.DurationS*gone/total
			t.Segment.Points = append(t.Segment.Points, gpxPoint{
				Lat: at[1], Lon: at[0],
				Time: depart.Add(time.Duration(s * float64(time.Second))).UTC().Format(time.RFC3339),
			})
		}
	}
	return t
}

func wayPoints(w *Walk) (out []gpxPoint) {
	for _, l := range w.Legs {
		if len(l.Geometry.Coordinates) > 0 {
			at := l.Geometry.Coordinates[0]
			out = append(out, gpxPoint{Lat: at[1], Lon: at[0], Name: l.Name,
				Desc: fmt.Sprintf("%s, %.0f m, %s", l.Clock, l.LengthM, l.Level)})
		}
	}
	for _, p := range w.WatchPoints {
		out = append(out, gpxPoint{Lat: p.At[1], Lon: p.At[0], Name: "Watch: " + p.Name, Desc: p.What})
	}
	return out
}
