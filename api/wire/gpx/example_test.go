package gpx_test

import (
	"fmt"
	"strings"

	"wideberth/api/wire/gpx"
)

// A track of a device: points in order, with times where the device noted them.
func ExampleRead() {
	points, err := gpx.Read(strings.NewReader(`<gpx version="1.1" creator="a device" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="47.2022" lon="-7.0018"><time>2026-11-25T07:10:00Z</time></trkpt>
<trkpt lat="47.2030" lon="-7.0018"/>
</trkseg></trk></gpx>`))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range points {
		fmt.Println(p.Lat, p.Lon, p.At.IsZero())
	}
	// Output:
	// 47.2022 -7.0018 false
	// 47.203 -7.0018 true
}
