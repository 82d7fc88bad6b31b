package exposure

// Assumption is something that an answer rests on and that nobody measured: what,
// with its numbers. The words for it are those of routing/briefing.
type Assumption struct {
	What    Assumed
	Of      string    // kind or category of trigger that it is about, where it is about one
	Numbers []float64 // as What says
}

// Assumed is what can be assumed; the packages that assume something add to it.
type Assumed string

// What is assumed about a dog.
const (
	AssumedReaction Assumed = "reaction" // reaction distance Of a kind or category: half of the working distance
	AssumedDog      Assumed = "dog"      // nobody gave distances: working and reaction distance in m of DefaultDog
	AssumedPace     Assumed = "pace"     // walking pace in m/s
)
