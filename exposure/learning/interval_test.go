package learning

// Holds tells whether x lies within, ends included.
func (i Interval) Holds(x float64) bool { return i.Low <= x && x <= i.High }
