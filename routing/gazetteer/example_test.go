package gazetteer_test

import (
	"fmt"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/gazetteer"
	"wideberth/routing/network"
)

// A street of two towns is two places; the number is found where it is, before or after
// the name, and an abbreviation stands for the word.
func ExampleGazetteer_Find() {
	street := func(id int64, name string, x float64) osmdata.Street {
		return osmdata.Street{ID: id, Name: name, Nodes: []int64{2 * id, 2*id + 1}, Line: plane.Polyline{{X: x}, {X: x + 300}}, Class: osmdata.Residential, Foot: true}
	}
	g, _, err := network.Build([]osmdata.Street{street(1, "Kiln Street", 0), street(2, "Kiln Street", 9000)}, nil, network.Options{MinIslandM: -1})
	if err != nil {
		fmt.Println(err)
		return
	}
	names, err := gazetteer.New(gazetteer.Sources{
		Streets: g,
		Towns:   []gazetteer.Town{{Name: "Ostby", Reach: 1}, {Name: "Vellen", At: plane.Point{X: 9000}, Reach: 1}},
		Doors:   []osmdata.Address{{Street: "Kiln Street", Number: "12", At: plane.Point{X: 9100, Y: 10}}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, text := range []string{"kiln st", "12 Kiln St Vellen", "kilm street 14, ostby"} {
		for _, p := range names.Find(text, &plane.Point{}, 3) {
			fmt.Printf("%s: %s, %s, %.1f km, missing %q\n", text, p.Name, p.Town, p.AwayM/1000, p.Missing)
		}
	}
	// Output:
	// kiln st: Kiln Street, Ostby, 0.1 km, missing ""
	// kiln st: Kiln Street, Vellen, 9.2 km, missing ""
	// 12 Kiln St Vellen: Kiln Street 12, Vellen, 9.1 km, missing ""
	// kilm street 14, ostby: Kiln Street, Ostby, 0.1 km, missing "14"
}
