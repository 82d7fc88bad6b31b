package change_test

import (
	"context"
	"fmt"
	"strings"

	"wideberth/osmdata"
	"wideberth/osmdata/change"

	"github.com/paulmach/osm"
)

// A street is bent, and a path is made and deleted again: one place changes.
func ExampleSet_Touched() {
	ctx := context.Background()
	extract, err := osmdata.OpenElements(ctx, strings.NewReader(`<osm version="0.6">
  <node id="1" version="1" lat="50.000" lon="-30.000"/><node id="2" version="1" lat="50.001" lon="-30.000"/>
  <way id="10" version="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/></way>
</osm>`), 1, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	set := change.NewSet(change.UsualMemory, "")
	err = change.Read(ctx, strings.NewReader(`<osmChange version="0.6">
  <create><way id="11" version="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="path"/></way></create>
  <modify><node id="2" version="2" lat="50.002" lon="-30.001"/></modify>
  <delete><way id="11" version="2"/></delete>
</osmChange>`), "today.osc", set.Add)
	if err != nil {
		fmt.Println(err)
		return
	}
	old := change.Of(extract, nil)
	touched, err := set.Touched(ctx, old, osmdata.NewPicker(nil))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(touched.Boxes)
	for o, err := range change.Of(extract, set).Objects(ctx) {
		if n, is := o.(*osm.Node); is && err == nil {
			fmt.Println(n.ID, n.Version, n.Lat, n.Lon)
		}
	}
	// Output:
	// [{-30.001 50 -30 50.002}]
	// 1 1 50 -30
	// 2 2 50.002 -30.001
}
