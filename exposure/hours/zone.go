package hours

import (
	"fmt"
	"math"
	"sync"
	"time"
	_ "time/tzdata" // so that zones load on a machine without a zone database

	"github.com/ringsaturn/tzf"
	tzfborders "github.com/ringsaturn/tzf-rel-lite"
	tzfpb "github.com/ringsaturn/tzf/gen/go/tzf/v1"
	"google.golang.org/protobuf/proto"
)

// tiles knows the zone of each map tile that lies in one zone whole, which is
// most of the world; borders knows the rest. Each loads when first asked:
// measured, tiles take 0.05 s and 28 MB, borders 0.6 s and 156 MB.
var (
	tiles   = sync.OnceValues(loadTiles)
	borders = sync.OnceValues(tzf.NewDefaultFinder)
)

func loadTiles() (tzf.F, error) {
	var index tzfpb.PreindexTimezones
	if err := proto.Unmarshal(tzfborders.PreindexData, &index); err != nil {
		return nil, err
	}
	return tzf.NewFuzzyFinderFromPB(&index)
}

// Zone gives the time zone of a place in degrees. Where the borders know none,
// or name one that the zone database lacks, it is the nautical zone: whole
// hours by longitude. The only errors are a position off the globe and zone
// borders that do not load.
func Zone(lat, lon float64) (*time.Location, error) {
	if !(math.Abs(lat) <= 90 && math.Abs(lon) <= 180) {
		return nil, fmt.Errorf("latitude %g, longitude %g: expected -90 to 90 and -180 to 180 degrees", lat, lon)
	}
	for _, load := range []func() (tzf.F, error){tiles, borders} {
		finder, err := load()
		if err != nil {
			return nil, fmt.Errorf("loading the time zone borders: %w", err)
		}
		if loc, err := time.LoadLocation(finder.GetTimezoneName(lon, lat)); err == nil && loc != time.UTC {
			return loc, nil
		}
	}
	return nauticalZone(lon), nil
}

// nauticalZone takes 15 degrees of longitude for each hour, the hour changing
// halfway.
func nauticalZone(lon float64) *time.Location {
	const degreesPerHour, secondsPerHour = 15, 3600
	hours := int(math.Round(lon / degreesPerHour))
	return time.FixedZone(fmt.Sprintf("UTC%+03d", hours), hours*secondsPerHour)
}
