package exposure

import (
	"math"
	"testing"
)

// A dog that is out for GardenHours of the day at a fence that the edge passes once, at
// 8 m: X of the edge is dogs, times the hour's share of those hours, times P(8 m). What
// stays passes nobody by itself, and its evidence is an assumption.
func TestGardenDogsByHand(t *testing.T) {
	const lengthM, dogs, distM = 120.0, 0.4, 8.0
	f := emptyField(1)
	var b Bins
	b.Add(dogs, At(distM))
	f.Near[GardenDogs][0] = b.Pack(GardenHours * StoredWalkerMPS / lengthM)
	f.OwnPerDay[GardenDogs][0] = 1000
	d, m := onlyDogs(20), at(t, schoolMorning)
	share := tempoAt(m).flow(GardenDogs)
	p := 1 / (1 + math.Pow(distM/10, math.Log(9)/math.Log(2)))
	x := float64(allHazards(f, d, m)[0]) * lengthM / StoredWalkerMPS
	group := kinds[DogBehindFence].Group
	if want := dogs * GardenHours * share * (1 - math.Pow(1-p, group)) / group; math.Abs(x-want) > 0.04*want { // bytes go in steps of 6 %
		t.Errorf("X of the edge %g, by hand %g", x, want)
	}
	terms := f.Explain(0, d, m, nil)
	if len(terms) != 2 || terms[0].Kind != DogBehindFence || terms[0].Evidence != FromAssumption || terms[0].Own || terms[0].Shape != 0.7 {
		t.Errorf("told as %+v", terms)
	}
	if f.PassesGardens(0, 7.9) || !f.PassesGardens(0, 8.2) || f.PassesGardens(0, 0) {
		t.Error("passed at 8 m, yet not between 7.9 and 8.2 m")
	}
	if passesPerS(1, 1.2, 0) != 0 || len(f.Passing([]int32{0}, DogBehindFence, m, nil)) != 1 {
		t.Error("what stays passes somebody")
	}
}
