package update_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"wideberth/routing/snapshot"
	"wideberth/routing/update"
)

// A lane is renamed on the map, and the snapshot follows.
func ExampleFile() {
	const extract = `<osm version="0.6" timestamp="2026-11-01T00:00:00Z">
  <node id="1" version="1" lat="47.300" lon="-7.000"/><node id="2" version="1" lat="47.306" lon="-7.000"/>
  <way id="10" version="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/><tag k="name" v="Low Lane"/></way>
</osm>`
	const changes = `<osmChange version="0.6"><modify>
  <way id="10" version="2" timestamp="2026-11-08T00:00:00Z"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/><tag k="name" v="Mill Lane"/></way>
</modify></osmChange>`
	dir, err := os.MkdirTemp("", "update")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	at := func(name string) string { return filepath.Join(dir, name) }
	for name, text := range map[string]string{"village.osm": extract, "week.osc": changes} {
		if err := os.WriteFile(at(name), []byte(text), 0o600); err != nil {
			fmt.Println(err)
			return
		}
	}
	ctx := context.Background()
	made, err := snapshot.Import(ctx, at("village.osm"), snapshot.ImportOptions{})
	if err == nil {
		err = made.WriteFile(at("village.wb"))
	}
	if err != nil {
		fmt.Println(err)
		return
	}
	out, err := update.File(ctx, at("village.wb"), update.Options{Extract: at("village.osm"), Changes: []string{at("week.osc")}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(out.Touched.Changed, out.Snapshot.Graph.Names[1], out.Snapshot.MapTime.Format("2 Jan"))
	// Output: 1 Mill Lane 8 Nov
}
