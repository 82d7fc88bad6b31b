package api_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestDegreesStayAtTheDoor: handlers speak of no frame's arithmetic; they are given
// places by the forms of api/wire.
func TestDegreesStayAtTheDoor(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	turns := regexp.MustCompile(`\.(Forward|Inverse)\(`)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
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
