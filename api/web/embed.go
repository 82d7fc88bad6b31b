// Package web carries the page: what Vite built from the sources beside it.
package web

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Files is the built page with index.html at its root. Before the page is built
// it holds no index.html.
func Files() fs.FS {
	sub, err := fs.Sub(dist, "dist")
	if err != nil {
		panic(err) // "dist" is a valid path: it is written above
	}
	return sub
}
