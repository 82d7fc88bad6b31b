package replay

import (
	"math"

	"wideberth/osmdata/plane"
)

// Frame is where the dogs are at one whole minute of an outing.
type Frame struct {
	Minute int
	Dogs   []Standing // that are out, in the order of the walks
}

// Standing is where one dog is.
type Standing struct {
	Dog   string
	NeedM float64 // how far it wants other dogs to be
	At    plane.Point
}

// Frames is the outing as it is printed, minute by minute: everybody leaves on
// time, walks at the usual pace and waits at holds. From the first minute at which
// a dog is out to the first after the last is home; broken walks are an error.
func Frames(walks []Walk) ([]Frame, error) {
	if err := checkInput(walks, &Rules{SlowShare: 1, FastShare: 1}, 0); err != nil {
		return nil, err
	}
	first, last := math.MaxInt, math.MinInt
	courses := make([]course, len(walks))
	for i := range walks {
		courses[i] = follow(&walks[i], &conduct{0, []float64{1}})
		first = min(first, int(math.Floor(courses[i].leave/60)))
		last = max(last, int(math.Floor(courses[i].home/60))+1)
	}
	var out []Frame
	for minute := first; minute <= last && len(walks) > 0; minute++ {
		f := Frame{Minute: minute}
		t := 60 * minute
		for i := range courses {
			c := &courses[i]
			if k := t - c.firstS; float64(t) >= c.leave && float64(t) <= c.home && k < len(c.at) {
				f.Dogs = append(f.Dogs, Standing{walks[i].Dog, walks[i].NeedM, c.at[k]})
			}
		}
		out = append(out, f)
	}
	return out, nil
}
