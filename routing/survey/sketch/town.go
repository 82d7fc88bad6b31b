package sketch

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/network"
	"wideberth/testdata"
)

// Slow says that tests which take long were asked for.
func Slow() bool { return os.Getenv("WIDEBERTH_SLOW") != "" }

// State reads an extract that the OSM reading module carries as its test data
// (© OpenStreetMap contributors) with the features that the model asks for.
func State(t testing.TB, name string) (*osmdata.Extract, *network.Graph) {
	if !Slow() {
		t.Skip("SKIPPED: a whole state takes a minute and half a gigabyte; set WIDEBERTH_SLOW=1")
	}
	dir, err := exec.CommandContext(t.Context(), "go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Fatal(err)
	}
	x, err := osmdata.Options{Rules: exposure.Rules()}.ReadFile(context.Background(), filepath.Join(strings.TrimSpace(string(dir)), "testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{Frame: x.Frame})
	if err != nil {
		t.Fatal(err)
	}
	return x, g
}

// Town is the town that the program carries, read as any extract.
func Town(t testing.TB) (*osmdata.Extract, *network.Graph) {
	t.Helper()
	x, err := osmdata.Options{Rules: exposure.Rules()}.Read(context.Background(), bytes.NewReader(testdata.Town()))
	if err != nil {
		t.Fatal(err)
	}
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{Frame: x.Frame})
	if err != nil {
		t.Fatal(err)
	}
	return x, g
}
