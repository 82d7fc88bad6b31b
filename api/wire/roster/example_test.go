package roster_test

import (
	"fmt"
	"time"

	"wideberth/api/wire/roster"
)

// A table as it is pasted; the word over the last column is known to nobody.
func ExampleDogs() {
	h := roster.Hours{Start: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC), Minutes: 120}
	dogs, passedOver, err := roster.Dogs("name,room,who,finish by,colour\nOro,60 m,exp,10:30,black", h)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range dogs {
		fmt.Println(d.Name, *d.Dog.Needs["dogs"].WorkingM, d.Minutes, d.Experience, d.FinishBy, passedOver)
	}
	_, _, err = roster.Dogs("Bram,far\nTilly,20 m,soon", h)
	fmt.Println(err)
	// Output:
	// Oro 60 30 experienced 2026-11-25T10:30:00Z [colour]
	// /row 1/room = far: give a distance, like 40 m; /row 2/minutes = soon: give minutes, like 30
}
