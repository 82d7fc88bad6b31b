package osmdata_test

import (
	"context"
	"os"
	"testing"

	"github.com/paulmach/osm/osmpbf"

	"wideberth/osmdata"
)

// BenchmarkBareScan decodes every object of the extract with one decoder and looks
// at none: the measure for BenchmarkRead.
func BenchmarkBareScan(b *testing.B) {
	path := realExtract(b, "delaware-latest.osm.pbf")
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		s := osmpbf.New(context.Background(), f, 1)
		for s.Scan() {
			_ = s.Object()
		}
		if err := s.Err(); err != nil {
			b.Fatal(err)
		}
		s.Close()
		f.Close()
	}
}

// BenchmarkRead reads the extract whole.
func BenchmarkRead(b *testing.B) {
	path := realExtract(b, "delaware-latest.osm.pbf")
	for b.Loop() {
		if _, err := (osmdata.Options{Rules: playRules}).ReadFile(context.Background(), path); err != nil {
			b.Fatal(err)
		}
	}
}

// playRules are rules of the kinds that callers have: a value, any value, a further
// tag.
var playRules = []osmdata.Rule{
	{Key: "sport", Values: []string{"skateboard"}, As: "skates"},
	{Key: "leisure", Values: []string{"park", "playground", "dog_park"}, As: "play"},
	{Key: "amenity", Values: []string{"school", "kindergarten"}, As: "school"},
	{Key: "leisure", Values: []string{"pitch"}, Also: []osmdata.Match{{Key: "lit"}}, As: "lit pitch"},
	{Key: "shop", As: "shop"},
}
