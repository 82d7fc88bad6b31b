package hours

// Days between which trees that shed their leaves have them, north of the tropics: bud
// burst of temperate woods comes between the middle of April and the middle of May, the
// fall of leaves ends about the first days of November (phenological gardens of Europe
// and North America, from memory; our rounding). South of the equator half a year on.
const (
	leavesFrom = 3*31 + 20 // in months of 31 days: 20 April
	leavesTo   = 10*31 + 5 // 5 November
)

// InLeaf says whether trees that shed their leaves have them. Where no season is known
// they always do; a clock without a position knows no leaves.
func (m Moment) InLeaf() bool {
	lat, lon := m.clock.position()
	if lat == 0 && lon == 0 {
		return false
	}
	if !HasSeasons(lat) {
		return true
	}
	_, mm, dd := m.Date.civil()
	month := int(mm)
	if lat < 0 {
		month = (month+5)%12 + 1
	}
	day := (month-1)*31 + dd
	return day >= leavesFrom && day < leavesTo
}
