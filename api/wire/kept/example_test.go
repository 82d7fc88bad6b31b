package kept_test

import (
	"fmt"
	"time"

	"wideberth/api/wire/kept"
)

func ExampleEncounterInput_Check() {
	noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	far := 60.0
	met := kept.EncounterInput{Kind: "dog_on_lead", At: noon, DistanceM: &far}
	fmt.Println(met.Check(noon))
	met.Nearest = "about"
	fmt.Println(met.Check(noon))
	// Output:
	// /nearest: missing: say how distance_m is meant, like exact or about
	// <nil>
}
