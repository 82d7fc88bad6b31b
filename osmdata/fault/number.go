package fault

import "strconv"

// Number writes a number for a message: with the digits that were given, up to nine, so
// that what lies just past a bound does not read like the bound, and without powers of ten.
func Number(f float64) string {
	nine, _ := strconv.ParseFloat(strconv.FormatFloat(f, 'g', 9, 64), 64) // what FormatFloat writes can be read
	return Clip(strconv.FormatFloat(nine, 'f', -1, 64))
}
