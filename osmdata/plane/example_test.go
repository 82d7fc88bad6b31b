package plane_test

import (
	"fmt"

	"wideberth/osmdata/plane"
)

func ExampleFrame() {
	f := plane.NewFrame(7.5, 47.2)
	door := f.Forward(7.51, 47.2)
	fmt.Printf("%.0f m east\n", door.X)
	lon, lat := f.Inverse(door)
	fmt.Printf("%.4f, %.4f\n", lon, lat)
	// Output:
	// 758 m east
	// 7.5100, 47.2000
}
