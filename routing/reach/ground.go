package reach

import (
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
)

// Hours in which cars come and go between parked ones, and lorries at loading yards,
// where nothing else is known (our assumption): those of shops.
const (
	aislesFrom, aislesTo             = 7, 21
	aislesFromSunday, aislesToSunday = 9, 18
)

// busyAisles says whether car parks are in use at a moment.
func busyAisles(m hours.Moment) bool {
	from, to := aislesFrom, aislesTo
	if m.Date.Weekday() == time.Sunday || m.Day() == hours.PublicHoliday {
		from, to = aislesFromSunday, aislesToSunday
	}
	return m.Hour() >= from && m.Hour() < to
}

// Ground is sorts of ground that a walk keeps off.
type Ground uint8

// The sorts.
const (
	Private   Ground = 1 << iota // somebody's drive, ways through buildings
	Aisles                       // between parked cars and at loading yards while cars and lorries come and go
	FastRoads                    // the carriageway of a fast road in use
	Precincts                    // ways on the ground of works, a campus, a cemetery: for walks away from home
)

// KeptOff is the ground that no search walks on: the rest is a matter of price.
const KeptOff = Private | Aisles

// What makes a carriageway one that nobody should walk along while another walk is
// there (our assumption): the speed, and vehicles in an hour at the time.
const (
	fastKMH     = 70
	fastPerHour = 30
)

// fastRoad says whether an edge is the carriageway of a fast road that is in use at
// some of the moments.
func (land *Land) fastRoad(e int32, moments []hours.Moment) bool {
	for _, s := range land.Snap.Field.Roadside.Of(e) {
		if s.Pavement != strain.Carriageway || s.SpeedKMH < fastKMH {
			continue
		}
		if slices.ContainsFunc(moments, func(m hours.Moment) bool { return s.PerHour(m) >= fastPerHour }) {
			return true
		}
	}
	return false
}

// closeGround forbids sorts of ground and gives those that there are here. Where the
// start lies on a drive, that drive and what hangs together with it stay open.
func (r *Reach) closeGround(sorts Ground, moments []hours.Moment, barred []bool) (there Ground) {
	if sorts == 0 {
		return 0
	}
	own := r.ownDrives()
	busy := slices.ContainsFunc(moments, busyAisles)
	for slot, e := range r.Edges {
		if own[int32(slot)] {
			continue
		}
		if at := r.Land.groundOf(e) & sorts; at&(Private|Precincts) != 0 || at&Aisles != 0 && busy {
			barred[slot] = true
			there |= at
		} else if sorts&FastRoads != 0 && r.Land.fastRoad(e, moments) {
			barred[slot] = true
			there |= FastRoads
		}
	}
	return there
}

// groundOf tells what sort of ground an edge is whatever the hour.
func (land *Land) groundOf(e int32) (g Ground) {
	if land.Snap.Graph.Flags[e]&osmdata.FlagDrive != 0 || land.Snap.Field.Marks[e]&exposure.Indoors != 0 {
		g |= Private
	}
	if land.Snap.Graph.Flags[e]&osmdata.FlagAisle != 0 || land.Snap.Field.Marks[e]&exposure.Loading != 0 {
		g |= Aisles
	}
	if land.Snap.Field.Marks[e]&exposure.Precinct != 0 {
		g |= Precincts
	}
	return g
}

// GroundAt tells what sorts of ground an edge is at a moment.
func (land *Land) GroundAt(e int32, m hours.Moment) Ground {
	g := land.groundOf(e)
	if !busyAisles(m) {
		g &^= Aisles
	}
	if land.fastRoad(e, []hours.Moment{m}) {
		g |= FastRoads
	}
	return g
}

// ownDrives are the drives, by slot, that hang together with a start that lies on
// one.
func (r *Reach) ownDrives() map[int32]bool {
	drive := func(a int32) bool { return r.Land.Snap.Graph.Flags[r.Piece[a].Edge]&osmdata.FlagDrive != 0 }
	if r.Door < 0 {
		return nil
	}
	for a := r.Star.First[r.Door]; a < r.Star.First[r.Door+1]; a++ {
		if !drive(a) {
			return nil
		}
	}
	own, seen := map[int32]bool{}, map[int32]bool{r.Door: true}
	for stack := []int32{r.Door}; len(stack) > 0; {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for a := r.Star.First[v]; a < r.Star.First[v+1]; a++ {
			if !drive(a) {
				continue
			}
			own[r.Piece[a].Slot] = true
			if w := r.Star.Head[a]; !seen[w] {
				seen[w] = true
				stack = append(stack, w)
			}
		}
	}
	return own
}
