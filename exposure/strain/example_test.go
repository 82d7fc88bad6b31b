package strain_test

import (
	"fmt"

	"wideberth/exposure/strain"
)

func ExampleIntensity() {
	fmt.Println(strain.Intensity(30, 60), strain.Intensity(50, 400))
	fmt.Printf("%.2f a minute on the carriageway\n", strain.Carriageway.PerMin()*strain.Intensity(30, 230))
	// Output:
	// 0 1
	// 0.05 a minute on the carriageway
}
