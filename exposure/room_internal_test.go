package exposure

import "testing"

// On a street with two sides the other party keeps to one and the handler takes the
// other; on a path, and on a pavement of a road that is not crossed, only the better
// side counts.
func TestRoomCountsBothSidesWhereOneMayCross(t *testing.T) {
	f := &Field{Left: []Side{{LowM: 3}, {LowM: 3}}, Right: []Side{{LowM: 8}, {LowM: 8}}, Marks: []Mark{MayCross | FewPlaces, FewPlaces}}
	for e, want := range []float64{11, 8} {
		if got := f.RoomM(int32(e)); got != want {
			t.Errorf("edge %d: room %v m, want %v", e, got, want)
		}
	}
}
