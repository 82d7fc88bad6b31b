// Command generate draws the invented town and writes it as gzipped OSM XML.
// The same program always draws the same town: it knows no clock, and its dice
// start from one seed.
//
//	go run ./testdata/town/generate -out testdata/town/town.osm.gz
package main

import (
	"bytes"
	"compress/gzip"
	"flag"
	"fmt"
	"os"
)

func main() {
	out := flag.String("out", "town.osm.gz", "file to write")
	flag.Parse()
	if err := run(*out); err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
}

func run(out string) error {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return err
	}
	if _, err := z.Write(build().xml()); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	return os.WriteFile(out, b.Bytes(), 0o644)
}
