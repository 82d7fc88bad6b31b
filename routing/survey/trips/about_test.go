package trips

import "math"

func about(got, want, tol float64) bool { return math.Abs(got-want) <= tol*max(1e-9, math.Abs(want)) }
