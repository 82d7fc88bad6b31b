package sound_test

import (
	"fmt"

	"wideberth/exposure/sound"
)

// Twice as far from a road is 3 dB less, but for what the air takes; a solid screen takes
// its own share off.
func ExampleTraffic_LAeq() {
	road := sound.Traffic{LightPerHour: 600, HeavyPerHour: 30, SpeedMPS: 13.9}
	near := road.LAeq(10, sound.InTheOpen)
	fmt.Printf("%.0f dB less at 20 m\n", near-road.LAeq(20, sound.InTheOpen))
	fmt.Printf("%.0f dB less behind a wall\n", near-road.LAeq(10, sound.SolidScreen))
	// Output:
	// 3 dB less at 20 m
	// 8 dB less behind a wall
}
