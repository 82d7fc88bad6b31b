package exposure

// Beside is what an edge offers to somebody who walks it in one direction.
type Beside struct {
	Left, Right Side
	SightM      float64 // how far ahead the way is seen
}

// Sides is what an edge offers beside it, seen by who walks it with or against its
// geometry. The one place where left and right are turned.
func (f *Field) Sides(e int32, against bool) Beside {
	if against {
		return Beside{f.right(e), f.left(e), float64(f.SightBackM[e])}
	}
	return Beside{f.left(e), f.right(e), float64(f.SightFwdM[e])}
}

// RoomM is how far in metres a handler can get from another party at an edge: the
// better side; on a street that may be crossed both sides together, as the other
// keeps to one and the handler takes the other. Hazard and refuge measure by it.
func (f *Field) RoomM(e int32) float64 {
	l, r := f.left(e).LowM, f.right(e).LowM
	if f.Marks[e]&MayCross != 0 {
		return float64(l + r)
	}
	return float64(max(l, r))
}

// sightM is how far ahead the way is seen at an edge, in the worse direction.
func (f *Field) sightM(e int32) float64 { return float64(min(f.SightFwdM[e], f.SightBackM[e])) }

// Usable is how much of some room is of use: as much as one can take in the time
// that a party is seen before it is there, and no more than the dog needs. See
// closestM.
func Usable(roomM, sightM, u, v, needM float64) float64 {
	return min(closestM(roomM, sightM, max(u, 0), max(v, 0.1)), needM)
}
