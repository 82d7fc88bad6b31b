package cut_test

import (
	"context"
	"fmt"
	"os"
	"strings"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"
)

func Example() {
	// Two hamlets, each with a street, some hundred kilometres apart.
	const extract = `<osm>
<node id="1" lon="-7.00" lat="47.20"/><node id="2" lon="-7.01" lat="47.20"/>
<node id="3" lon="-9.00" lat="47.20"/><node id="4" lon="-9.01" lat="47.20"/>
<way id="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/></way>
<way id="2"><nd ref="3"/><nd ref="4"/><tag k="highway" v="path"/></way>
</osm>`
	dir, err := os.MkdirTemp("", "cut")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	o := cut.Options{Picker: osmdata.NewPicker(nil), MarginM: 3000}
	blocks, err := o.Cut(context.Background(), strings.NewReader(extract), dir)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range blocks.Blocks {
		x, err := osmdata.Options{}.ReadFile(context.Background(), b.Path(dir))
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(b.Key, b.Ways, x.Streets[0].ID)
	}
	// Output:
	// 0313300 1 2
	// 0313301 1 1
}
