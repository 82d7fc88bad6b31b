package reach

import (
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
)

// Hours in which cars come and go between parked ones, where nothing else is known
// (our assumption): those of shops.
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

// closeGround forbids ground that no handler takes: somebody's drive, ways through
// buildings, and the aisles of car parks while they are in use. Where the start lies
// on a drive, that drive and what hangs together with it stay open.
func (r *Reach) closeGround(moments []hours.Moment, barred []bool) (closes bool) {
	g, f := r.Land.Snap.Graph, r.Land.Snap.Field
	closed := osmdata.FlagDrive
	if slices.ContainsFunc(moments, busyAisles) {
		closed |= osmdata.FlagAisle
	}
	own := r.ownDrives()
	for slot, e := range r.Edges {
		if own[int32(slot)] || g.Flags[e]&closed == 0 && f.Marks[e]&exposure.Indoors == 0 {
			continue
		}
		barred[slot], closes = true, true
	}
	return closes
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
