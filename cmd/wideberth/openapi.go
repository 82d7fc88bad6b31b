package main

import (
	"fmt"

	"wideberth/api"
)

type openAPICommand struct{}

// Run prints what a server answers at /openapi.json, without needing a map.
func (openAPICommand) Run(w *world) error {
	text, err := api.Description(version)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w.out, "%s\n", text)
	return err
}
