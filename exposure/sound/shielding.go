package sound

// Shielding is what stands between traffic and a listener, as a loss in dB.
type Shielding float64

// Losses by rule of thumb (FHWA Roadway Construction Noise Model, User's Guide
// 2006, appendix A). Between them any loss from 0 may be used.
const (
	InTheOpen   Shielding = 0
	SolidScreen Shielding = 8 // a full, solid screen
)

// maxDistanceM bounds all distances: beyond it wind and ground rule.
const maxDistanceM = 20_000.0
