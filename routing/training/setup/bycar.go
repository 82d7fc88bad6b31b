package setup

import (
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/drive"
	"wideberth/routing/reach"
)

// roadNearM is how far from a door or a place for a car the road may lie.
const roadNearM = 300.0

// ByCar gives the drives from a door of at most so many minutes, parking among them, as
// Find asks for them; the caller releases them. A map without a road there is an
// *reach.Infeasible.
func ByCar(p *routing.Planner, from plane.Point, minutes float64) (to func(at plane.Point) (seconds float64, ok bool), release func(), err error) {
	roads := p.Snapshot().Roads
	kerb, ok := roads.Kerb(from, roadNearM)
	if !ok {
		return nil, nil, &reach.Infeasible{Reason: reach.NothingInRange, Field: "drive_minutes", Short: 60 * minutes, Unit: "s"}
	}
	mostS := 60*minutes - drive.ParkingS
	trips, err := roads.From(kerb, max(mostS, 0))
	if err != nil {
		return nil, nil, err
	}
	return func(at plane.Point) (float64, bool) {
		k, ok := roads.Kerb(at, roadNearM)
		if !ok {
			return 0, false
		}
		s := trips.Seconds(k)
		return s + drive.ParkingS, s <= mostS
	}, trips.Release, nil
}
