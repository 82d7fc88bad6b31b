package sound_test

import (
	"fmt"

	"wideberth/exposure/sound"
)

// Twice as far from a point is 6 dB less (ISO 9613-2); what stands between takes
// its own share off.
func ExampleSource_LevelAt() {
	saw := sound.Source{LevelDB: 84, RefM: 15, FreqHz: 500}
	fmt.Printf("%.0f dB(A) at 30 m in the open\n", saw.LevelAt(30, sound.InTheOpen))
	fmt.Printf("%.0f dB(A) behind a building\n", saw.LevelAt(30, sound.BuildingInBetween))
	// Output:
	// 78 dB(A) at 30 m in the open
	// 63 dB(A) behind a building
}
