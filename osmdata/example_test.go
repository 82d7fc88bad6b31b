package osmdata_test

import (
	"context"
	"fmt"
	"strings"

	"wideberth/osmdata"
)

// A street with a crossing, as OSM XML; the motorway matters as traffic, and nobody
// may walk on it.
func ExampleOptions_Read() {
	const extract = `<osm version="0.6">
  <node id="1" lat="50.000" lon="-30.000"/>
  <node id="2" lat="50.001" lon="-30.000"><tag k="highway" v="crossing"/></node>
  <node id="3" lat="50.002" lon="-30.000"/>
  <way id="10"><nd ref="1"/><nd ref="2"/><nd ref="3"/><tag k="highway" v="residential"/><tag k="name" v="Invented Row"/></way>
  <way id="11"><nd ref="1"/><nd ref="3"/><tag k="highway" v="motorway"/></way>
</osm>`
	x, err := osmdata.Options{}.Read(context.Background(), strings.NewReader(extract))
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range x.Streets {
		s := &x.Streets[i]
		fmt.Printf("way %d %q, %.0f m, on foot %v\n", s.ID, s.Name, s.Line.LengthM(), s.Foot)
	}
	// Output:
	// way 10 "Invented Row", 222 m, on foot true
	// way 11 "", 222 m, on foot false
}
