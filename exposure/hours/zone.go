package hours

import (
	"fmt"
	"math"
	"sync"
	"time"
	_ "time/tzdata" // so that zones load on a machine without a zone database

	"github.com/ringsaturn/tzf"
)

// finder loads the zone borders (a few tens of megabytes, a second or so) when
// the first place is asked for.
var finder = sync.OnceValues(tzf.NewDefaultFinder)

// Zone gives the time zone of a place in degrees. Where the borders know none,
// or name one that the zone database lacks, it is the nautical zone: whole
// hours by longitude. The only errors are a position off the globe and zone
// borders that do not load.
func Zone(lat, lon float64) (*time.Location, error) {
	if !(math.Abs(lat) <= 90 && math.Abs(lon) <= 180) {
		return nil, fmt.Errorf("latitude %g, longitude %g: expected -90 to 90 and -180 to 180 degrees", lat, lon)
	}
	borders, err := finder()
	if err != nil {
		return nil, fmt.Errorf("loading the time zone borders: %w", err)
	}
	if name := borders.GetTimezoneName(lon, lat); name != "" {
		if loc, err := time.LoadLocation(name); err == nil {
			return loc, nil
		}
	}
	return nauticalZone(lon), nil
}

// nauticalZone takes 15 degrees of longitude for each hour, the hour changing
// halfway.
func nauticalZone(lon float64) *time.Location {
	hours := int(math.Round(lon / 15))
	return time.FixedZone(fmt.Sprintf("UTC%+03d", hours), hours*3600)
}
