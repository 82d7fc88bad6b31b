package learning

import "time"

// Over is a moment at which a dog went over threshold.
type Over struct {
	At   time.Time
	Harm bool // it snapped or bit
}

// Respite is what a bad day asks of the one after it, and of what is left of it: a day of
// rest, or far steps only.
type Respite struct {
	Day   time.Time // midnight of the day that it holds on
	Rest  bool      // else far steps only
	Times int       // over threshold on that day until now, and on the day before
	Harm  bool      // it snapped or bit then
}

// Rules of respites. That stress adds up and takes a day and more to go, so that a dog that
// went over is given rest, is common practice; that once or twice asks for distance and
// more for a day without, and where far begins, is our assumption.
const (
	restFromTimes = 3
	FarFrom       = 1.5 // multiples of the working distance
)

// RespiteAt is what moments over threshold ask of a dog at a time: those of its day until
// then and of the day before, by the calendar where it is. False for nothing.
func RespiteAt(overs []Over, at time.Time) (r Respite, ok bool) {
	y, m, d := at.Date()
	r.Day = time.Date(y, m, d, 0, 0, 0, 0, at.Location())
	since := time.Date(y, m, d-1, 0, 0, 0, 0, at.Location())
	for _, o := range overs {
		if !o.At.Before(since) && o.At.Before(at) {
			r.Times++
			r.Harm = r.Harm || o.Harm
		}
	}
	r.Rest = r.Harm || r.Times >= restFromTimes
	return r, r.Times > 0
}
