package fault

import (
	"math"
	"strconv"
)

// Number writes a number for a message: no more digits than it has.
func Number(f float64) string {
	if math.Abs(f) >= 1e4 { // no powers of ten in a message
		return strconv.FormatFloat(f, 'f', 0, 64)
	}
	return strconv.FormatFloat(f, 'g', 4, 64)
}
