package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// layers is the architecture: a package may import only packages of a lower
// layer, and from outside only what its row allows beside the standard library.
var layers = map[string]struct {
	layer   int
	outside []string
}{
	"wideberth/osmdata/plane":     {0, []string{"github.com/paulmach/orb"}},
	"wideberth/osmdata/flatfile":  {0, nil},
	"wideberth/routing/replay":    {1, nil},
	"wideberth/osmdata/elevation": {0, nil},
	"wideberth/osmdata":           {1, []string{"github.com/paulmach/", "google.golang.org/protobuf"}},
	"wideberth/routing/search":    {1, nil},
	"wideberth/exposure/hours":    {1, []string{"github.com/ringsaturn/tzf", "google.golang.org/protobuf"}},
	"wideberth/exposure/sound":    {1, nil},
	"wideberth/routing/network":   {2, []string{"github.com/dominikbraun/graph"}},
	"wideberth/exposure":          {3, []string{"gonum.org/v1/gonum"}},
	"wideberth/routing/survey":    {4, nil},
	"wideberth/routing/track":     {4, nil},
	"wideberth/exposure/learning": {4, []string{"gonum.org/v1/gonum"}},
	"wideberth/exposure/twin":     {4, nil},
	"wideberth/routing":           {5, []string{"github.com/dominikbraun/graph"}},
	"wideberth/routing/briefing":  {6, nil},
	"wideberth/api/store":         {6, []string{"modernc.org/sqlite", "github.com/jackc/pgx/v5"}},
	"wideberth/api/web":           {6, nil},
	"wideberth/api/store/pgtest":  {0, []string{"github.com/jackc/pgx/v5"}},
	"wideberth/api/knowledge":     {7, nil},
	"wideberth/api/wire":          {7, []string{"github.com/paulmach/orb"}},
	"wideberth/api":               {8, []string{"github.com/labstack/", "github.com/danielgtaylor/huma/v2"}},
	"wideberth/testdata":          {0, nil},
	"wideberth/cmd/wideberth":     {9, []string{"github.com/alecthomas/kong"}},
}

// never are arrows that the layers would allow. The store keeps rows: what they teach
// is worked out by learning, of which it knows nothing.
var never = map[string]string{"wideberth/api/store": "wideberth/exposure/learning"}

// TestArrows holds the imports of the whole house against the layers.
func TestArrows(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "wideberth/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatal(err)
		}
		row, known := layers[p.ImportPath]
		if !known {
			t.Errorf("%s stands in no layer", p.ImportPath)
			continue
		}
		for _, imp := range p.Imports {
			checkArrow(t, p.ImportPath, imp, row.layer, row.outside)
		}
	}
}

func checkArrow(t *testing.T, from, to string, layer int, outside []string) {
	t.Helper()
	if never[from] == to {
		t.Errorf("%s must not import %s", from, to)
	}
	if below, ours := layers[to]; ours {
		if below.layer >= layer {
			t.Errorf("%s (layer %d) imports %s (layer %d)", from, layer, to, below.layer)
		}
		return
	}
	if !strings.Contains(strings.SplitN(to, "/", 2)[0], ".") {
		return // the standard library
	}
	for _, prefix := range outside {
		if strings.HasPrefix(to, prefix) {
			return
		}
	}
	t.Errorf("%s imports %s, which its row does not allow", from, to)
}
