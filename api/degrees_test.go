package api_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// mayTurn are the handlers that still turn a bare pair of numbers into a place; all
// others are given places by api/wire.
var mayTurn = map[string]bool{"memory.go": true, "tracks.go": true, "places.go": true}

// TestDegreesStayAtTheDoor: handlers speak of no frame's arithmetic; forms do.
func TestDegreesStayAtTheDoor(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	turns := regexp.MustCompile(`\.(Forward|Inverse)\(`)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") || mayTurn[name] {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(text), "\n") {
			if turns.MatchString(line) {
				t.Errorf("%s:%d turns degrees itself: let a form of api/wire do it", name, i+1)
			}
		}
	}
}
