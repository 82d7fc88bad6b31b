package homes

import (
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// About reports whether two numbers agree within a relative tolerance.
func TestDwellings(t *testing.T) {
	for _, c := range []struct {
		use           string
		side, levels  float64
		houses, flats float64
	}{
		{"house", 10, 0, 1, 0},
		{"detached", 30, 3, 1, 0},
		{"terrace", 30, 2, 15, 0},
		{"terrace", 5, 2, 1, 0},
		{"apartments", 20, 0, 0, 400 * 3 * .75 / 85},
		{"apartments", 20, 6, 0, 400 * 6 * .75 / 85},
		{"yes", 6, 0, 0, 0},
		{"yes", 12, 0, 1, 0},
		{"yes", 20, 0, 0, 400 * 2 * .5 * .75 / 85},
		{"garage", 6, 0, 0, 0},
		{"warehouse", 60, 0, 0, 0},
	} {
		h, f := dwellings(&osmdata.Building{Use: c.use, Levels: float32(c.levels), Area: sketch.Footprint(0, 0, c.side)})
		if !about(h, c.houses, 1e-9) || !about(f, c.flats, 1e-9) {
			t.Errorf("%s of %g m, %g levels: %g houses, %g flats, want %g and %g", c.use, c.side, c.levels, h, f, c.houses, c.flats)
		}
	}
}

// Homes come from buildings where they are mapped and from the streets where they
// are not, tile by tile of one and the same extract.
func TestHomesByTile(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 250, 500, 250))     // mapped
	k.Street(osmdata.Residential, sketch.Line(1000, 250, 1500, 250)) // not mapped
	k.Street(osmdata.Tertiary, sketch.Line(2000, 250, 2500, 250))
	k.Street(osmdata.Footway, sketch.Line(3000, 250, 3500, 250))
	for i := range 20 {
		k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: "house", Area: sketch.Footprint(float64(20*i+10), 260, 10)})
	}
	k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: "house", Area: sketch.Footprint(1200, 260, 10)}) // one alone
	h := Find(&k.X, 2, nil)
	sum := map[int32]float64{}
	for _, hm := range h.list {
		sum[hm.street] += hm.houses + hm.flats
	}
	for street, want := range map[int32]float64{0: 20, 1: 25, 2: 5, 3: 0} {
		if !about(sum[street], want, 1e-9) {
			t.Errorf("street %d has %g homes, want %g", street, sum[street], want)
		}
	}
	if !h.byBuilding[plane.Square{}] || h.byBuilding[plane.Square{Col: 2}] {
		t.Error("the wrong tiles count as mapped")
	}
}

// A house between a street and its pavement belongs to the street.
func TestHomesSnapToStreetsNotPavements(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 400, 0))
	k.Street(osmdata.Footway, sketch.Line(0, 8, 400, 8)).Flags |= osmdata.FlagPavement
	for i := range 20 {
		k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: "house", Area: sketch.Footprint(float64(20*i), 10, 8)})
	}
	k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: "house", Area: sketch.Footprint(200, 300, 8)}) // too far
	h := Find(&k.X, 2, nil)
	if len(h.list) != 20 || h.Lost != 1 {
		t.Fatalf("%d homes, %g lost", len(h.list), h.Lost)
	}
	for _, hm := range h.list {
		if hm.street != 0 {
			t.Errorf("home at %v on street %d", hm.at, hm.street)
		}
	}
}

// Homes are settled without loss, by nearness to the two ends of their edge, on
// their own street whichever way it is drawn.
func TestSettle(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 100, 0))
	k.Street(osmdata.Residential, sketch.Line(200, 0, 100, 0)) // drawn the other way, one chain with the first
	k.Street(osmdata.Residential, sketch.Line(200, 0, 200, 300))
	k.Street(osmdata.Residential, sketch.Line(200, 0, 400, 0))
	g := k.Net(t)
	h := &Homes{list: []home{
		{street: 0, alongM: 50, houses: 4},                                 // a quarter of the 200 m chain from (0,0)
		{street: 1, alongM: 0, flats: 2},                                   // at (200,0)
		{street: 2, alongM: 150, houses: 2},                                // in the middle
		{street: 7, alongM: 0, at: plane.Point{X: 390, Y: 5}, houses: 1},   // its street is not in the network
		{street: 7, alongM: 0, at: plane.Point{X: 390, Y: 900}, houses: 8}, // nor anything near
	}}
	k.X.Streets = append(k.X.Streets, make([]osmdata.Street, 4)...)
	k.X.Streets[7].ID = 99
	c := h.Settle(&k.X, g)
	at := map[plane.Point]float64{}
	for v, p := range g.Vertex {
		at[p] = c.Total(int32(v))
	}
	for p, want := range map[plane.Point]float64{{}: 3, {X: 200}: 1 + 2 + 1 + .05, {X: 200, Y: 300}: 1, {X: 400}: .95} {
		if !about(at[p], want, 1e-6) {
			t.Errorf("at %v %g dwellings, want %g", p, at[p], want)
		}
	}
	if c.Lost != 8 {
		t.Errorf("lost %g, want 8", c.Lost)
	}
}

// TestHomesApart: who asks apart is told the same.
func TestHomesApart(t *testing.T) {
	k := sketch.Suburb(6, 3)
	h := Find(&k.X, 2.4, nil)
	own := h.Apart()
	for i := range k.X.Streets {
		at := k.X.Streets[i].Line[0]
		if a, b := h.DwellingsPerKM2(at), own.DwellingsPerKM2(at); a != b || h.Tile(at) != own.Tile(at) {
			t.Errorf("at %v %g dwellings a km2, apart %g", at, a, b)
		}
	}
	if own.Earth == h.Earth {
		t.Error("both ask one earth")
	}
}
