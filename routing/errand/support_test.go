package errand_test

import (
	"fmt"
)

// osmNode is a node of a sketched map about 47 N 7 W, metres east and north.
func osmNode(id int, x, y float64) string {
	return fmt.Sprintf(`<node id="%d" lat="%.7f" lon="%.7f" version="1"/>`, id, 47+y/111_170, -7+x/75_960)
}

func ref(id int) string { return fmt.Sprintf(`<nd ref="%d"/>`, id) }

// islandOfDrives is a ring of private drives, a kilometre north of the sketch's line.
func islandOfDrives() string {
	out, way := "", ""
	for i, at := range [][2]float64{{400, 1000}, {600, 1000}, {600, 1200}, {400, 1200}} {
		out += osmNode(101+i, at[0], at[1])
		way += ref(101 + i)
	}
	return out + `<way id="2" version="1">` + way + ref(101) + `<tag k="highway" v="service"/><tag k="service" v="driveway"/></way>`
}
