package training

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/drive"
	"wideberth/routing/parking"
)

// Rules of visits by car, from a measured prototype, all of them our assumption: calm
// places, but such at which something happens, first.
const (
	UsualDriveMin  = 20.0 // how far people drive for a visit
	mostDriveMin   = 60.0
	mostCars       = 90    // places for a car that are looked at
	carsApartM     = 500.0 // no two of them nearer to each other, nor to the door
	carReachM      = 500.0 // on foot from the car
	aisleM         = 100.0 // the lanes of the car park may be stood on so near to the car
	besideCarS     = 120.0 // getting ready and getting in
	besideShare    = 0.5   // of the limit, that this may cost
	wishedHazard   = 2e-4  // expected reactions a second beside the car
	leastHazard    = 1e-9  // for the logarithm
	doorRoadM      = 300.0 // from the door to where the car stands
	carRoundingM   = 1.0   // how far a place may lie from one that went out in degrees and came back
	hazardPerSpotS = 120   // work of one place by hour
)

// Car is where the car is left for a visit.
type Car struct {
	Spot   parking.Spot
	DriveS float64   // from the door to the first step, with parking
	rate   []float64 // by time of the wish: expected reactions a second, standing beside it
}

// At is where the walk from the car begins.
func (c *Car) At() plane.Point { return c.Spot.Start.At }

// Departs is when one leaves the house: by car so much earlier than the walk begins.
func (v *Visit) Departs() time.Time {
	switch {
	case v.Meeting != nil:
		return v.Leave.Add(-routing.Seconds(v.Meeting.Setup.DriveS))
	case v.Car == nil:
		return v.Leave
	}
	return v.Leave.Add(-routing.Seconds(v.Car.DriveS))
}

// asideX is what a visit brings off the ways: two minutes beside the car, before and
// after, and the steps over open ground, which leave the way's hazard for that of the
// place.
func (s *scout) asideX(c *Vantage, car *Car, m hours.Moment) float64 {
	rate := func(terms []exposure.Term) (sum float64) {
		for i := range terms {
			sum += terms[i].HazardPerS
		}
		return sum
	}
	x := 0.0
	if car != nil {
		x = besideCarS * rate(s.terms(car.Spot.Start.Edge, m))
	}
	if c.OffM > 0 {
		x += 2 * c.OffM / s.dog.PaceMPS() * (rate(s.terms(c.Edge, m)) + rate(s.termsAt(c, m))) / 2
	}
	return x
}

// cars chooses the places for a car within the drive that are looked at: those where
// the hazard at rest is nearest to what is wished for.
func (t *training) cars() ([]Car, error) {
	all, err := t.drives()
	if err != nil || len(all) == 0 {
		return nil, err
	}
	t.rate(all)
	mean := func(c *Car) (sum float64) {
		for _, r := range c.rate {
			sum += r / float64(len(c.rate))
		}
		return sum
	}
	far := func(c *Car) float64 { return math.Abs(math.Log(max(mean(c), leastHazard) / wishedHazard)) }
	all = slices.DeleteFunc(all, func(c Car) bool { return besideCarS*slices.Min(c.rate) > besideShare*t.w.MaxX })
	slices.SortStableFunc(all, func(a, b Car) int { return cmp.Or(cmp.Compare(far(&a), far(&b)), cmp.Compare(a.DriveS, b.DriveS)) })
	var out []Car
	for _, c := range all {
		if len(out) == mostCars {
			break
		}
		if !slices.ContainsFunc(out, func(o Car) bool { return o.At().DistanceM(c.At()) < carsApartM }) {
			out = append(out, c)
		}
	}
	return out, nil
}

// carAt moves the scout to the place for a car that a visit was planned from.
func (t *training) carAt(at plane.Point) (*Car, error) {
	none := fault.Problems{{Pointer: "/car", Mend: "no car can be left there, or the drive is longer than asked for: give the car of an answer"}}
	cars, err := t.drives()
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(cars, func(c Car) bool { return c.At().DistanceM(at) <= carRoundingM })
	if i < 0 {
		return nil, none
	}
	t.aisleM = aisleM
	return &cars[i], t.setOut(cars[i].At(), carReachM)
}

// drives lists the places for a car that a drive of the wished length leads to.
func (t *training) drives() (out []Car, err error) {
	roads := t.p.Land().Snap.Roads
	kerb, ok := roads.Kerb(t.w.From, doorRoadM)
	mostS := 60*t.w.DriveMin - drive.ParkingS
	if !ok || mostS <= 0 {
		return nil, nil
	}
	trips, err := roads.From(kerb, mostS)
	if err != nil {
		return nil, err
	}
	defer trips.Release()
	for i := range t.w.Spots {
		s := &t.w.Spots[i]
		if d := trips.Seconds(s.Kerb); d <= mostS && s.Start.At.DistanceM(t.w.From) > carsApartM {
			out = append(out, Car{Spot: *s, DriveS: d + drive.ParkingS})
		}
	}
	return out, nil
}

// rate fills in what standing beside each car is like at the times of the wish.
func (t *training) rate(cars []Car) {
	edges := make([]int32, len(cars))
	for i := range cars {
		edges[i] = cars[i].Spot.Start.Edge
	}
	order := slices.Compact(slices.Sorted(slices.Values(edges)))
	if !t.spend(sumSteps * len(order) * len(t.w.Times)) {
		return
	}
	sums := t.p.Land().Snap.Field.Sums(t.standing, order)
	for _, at := range t.w.Times {
		hazard := sums.Hazard(t.p.Land().Clock.At(at), t.fa, nil)
		for i := range cars {
			k, _ := slices.BinarySearch(order, edges[i])
			cars[i].rate = append(cars[i].rate, float64(hazard[k]))
		}
	}
}
