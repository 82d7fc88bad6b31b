package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// layers is the architecture, from the ground up: a package may import only
// packages of a lower layer, and from outside only what its row allows beside the
// standard library. Folders follow the same line: osmdata, exposure, routing, api,
// cmd, each below the next.
var layers = map[string]struct {
	layer   int
	outside []string
}{
	"wideberth/testdata":          {-1, []string{"github.com/ringsaturn/tzf"}},
	"wideberth/osmdata/fault":     {-1, nil},
	"wideberth/osmdata/parallel":  {-1, nil},
	"wideberth/osmdata/plane":     {-1, []string{"github.com/paulmach/orb"}},
	"wideberth/osmdata/flatfile":  {-1, nil},
	"wideberth/osmdata/elevation": {-1, nil},
	"wideberth/osmdata/tagvalue":  {-1, nil},
	"wideberth/osmdata":           {0, []string{"github.com/paulmach/", "google.golang.org/protobuf"}},
	"wideberth/osmdata/change":    {1, []string{"github.com/paulmach/"}},
	"wideberth/osmdata/cut":       {1, []string{"github.com/paulmach/", "google.golang.org/protobuf"}},

	"wideberth/exposure/hours":    {2, []string{"github.com/ringsaturn/tzf", "google.golang.org/protobuf"}},
	"wideberth/exposure/sound":    {2, nil},
	"wideberth/exposure/strain":   {3, nil},
	"wideberth/exposure":          {4, []string{"gonum.org/v1/gonum"}},
	"wideberth/exposure/learning": {5, []string{"gonum.org/v1/gonum"}},

	"wideberth/routing/search":           {6, nil},
	"wideberth/routing/contents":         {6, nil},
	"wideberth/routing/depot":            {7, []string{"gocloud.dev", "golang.org/x/sync"}},
	"wideberth/routing/search/loop":      {8, nil},
	"wideberth/routing/network":          {7, nil},
	"wideberth/routing/drive":            {8, nil},
	"wideberth/routing/gazetteer":        {8, []string{"github.com/blevesearch/vellum", "golang.org/x/text"}},
	"wideberth/routing/outing/replay":    {6, nil},
	"wideberth/routing/outing/week":      {15, nil},
	"wideberth/routing/survey/sketch":    {8, nil},
	"wideberth/routing/survey/beside":    {8, nil},
	"wideberth/routing/survey/homes":     {8, nil},
	"wideberth/routing/survey/trips":     {8, nil},
	"wideberth/routing/survey":           {9, nil},
	"wideberth/routing/track":            {8, nil},
	"wideberth/routing/yard":             {8, nil},
	"wideberth/routing/counts":           {10, []string{"gonum.org/v1/gonum"}},
	"wideberth/routing/survey/twin":      {10, nil},
	"wideberth/routing/snapshot":         {10, nil},
	"wideberth/routing/snapshot/maptest": {11, nil},
	"wideberth/routing/update":           {12, []string{"github.com/paulmach/osm"}},
	"wideberth/routing/tiling":           {11, nil},
	"wideberth/routing/parking":          {11, nil},
	"wideberth/routing/reach":            {11, nil},
	"wideberth/routing/escape":           {12, nil},
	"wideberth/routing":                  {13, []string{"github.com/dominikbraun/graph"}},
	"wideberth/routing/plantest":         {14, nil},
	"wideberth/routing/errand":           {14, nil},
	"wideberth/routing/atlas":            {14, nil},
	"wideberth/routing/training/setup":   {14, nil},
	"wideberth/routing/training":         {15, []string{"github.com/dominikbraun/graph"}},
	"wideberth/routing/outing":           {14, []string{"github.com/dominikbraun/graph"}},

	"wideberth/routing/briefing/message":   {6, []string{"golang.org/x/text"}},
	"wideberth/routing/briefing/blocktest": {16, nil},
	"wideberth/routing/briefing":           {16, nil},
	"wideberth/routing/briefing/draw":      {17, nil},

	"wideberth/api/web":          {18, nil},
	"wideberth/api/gate":         {18, nil},
	"wideberth/api/serve":        {18, nil},
	"wideberth/api/origin":       {18, []string{"github.com/labstack/"}},
	"wideberth/api/wire/tile":    {18, []string{"github.com/paulmach/orb"}},
	"wideberth/api/wire/dogfile": {18, nil},
	"wideberth/api/wire/kept":    {19, nil},
	"wideberth/api/wire/gpx":     {20, nil},

	"wideberth/api/store":          {20, nil},
	"wideberth/api/store/database": {19, []string{"modernc.org/sqlite", "github.com/jackc/pgx/v5"}},
	"wideberth/api/store/pgtest":   {18, []string{"github.com/jackc/pgx/v5"}},

	"wideberth/api/work": {21, []string{"github.com/jackc/pgx/v5", "github.com/riverqueue/river"}},

	"wideberth/api/knowledge":   {21, nil},
	"wideberth/api/metrics":     {21, []string{"github.com/prometheus/client_golang"}},
	"wideberth/api/wire":        {21, []string{"github.com/paulmach/orb", "golang.org/x/text"}},
	"wideberth/api/wire/roster": {22, nil},
	"wideberth/api/body":        {21, []string{"github.com/danielgtaylor/huma/v2"}},
	"wideberth/api/page":        {21, []string{"github.com/labstack/"}},
	"wideberth/api/examples":    {22, []string{"github.com/danielgtaylor/huma/v2"}},
	"wideberth/api/problem":     {22, []string{"github.com/danielgtaylor/huma/v2"}},
	"wideberth/api/memory":      {23, []string{"github.com/danielgtaylor/huma/v2"}},
	"wideberth/api":             {24, []string{"github.com/labstack/", "github.com/danielgtaylor/huma/v2", "go.opentelemetry.io/otel"}},

	"wideberth/cmd/wideberth":          {25, []string{"github.com/alecthomas/kong", "go.opentelemetry.io/otel"}},
	"wideberth/testdata/town/generate": {26, []string{"github.com/paulmach/osm"}},
}

// never are arrows that the layers would allow. The store keeps rows: what they teach
// is worked out by learning, of which it knows nothing.
var never = map[string]string{"wideberth/api/store": "wideberth/exposure/learning"}

// folders is the straight line that the top level keeps.
var folders = []string{"osmdata", "exposure", "routing", "api", "cmd"}

// forTests are what tests may import beside the rows above.
var forTests = []string{"github.com/prometheus/client_golang", "pgregory.net/rapid", "gonum.org/v1/gonum", "github.com/rogpeppe/go-internal", "github.com/paulmach/", "github.com/dominikbraun/graph", "google.golang.org/protobuf", "github.com/johannesboyne/gofakes3"}

// helpTests are packages that only tests import; they may stand in the same layer.
var helpTests = []string{"wideberth/routing/plantest", "wideberth/routing/snapshot/maptest", "wideberth/routing/survey/sketch", "wideberth/routing/briefing/blocktest", "wideberth/api/store/pgtest"}

// looksUp are the tests that look at a higher package, each with its reason.
var looksUp = map[string]string{
	"wideberth/routing/search":   "wideberth/routing/network",          // paths and loops are timed on the network of a state
	"wideberth/routing":          "wideberth/routing/plantest",         // planners of its own for the same maps
	"wideberth/routing/snapshot": "wideberth/routing/snapshot/maptest", // its file is walked for the town
	"wideberth/routing/yard":     "wideberth/routing/snapshot/maptest", // the town's yards are held against its map
}

// TestArrows holds the imports of the whole house against the layers, those of
// tests and of the town's generator too.
func TestArrows(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports,TestImports,XTestImports", "wideberth/...", "wideberth/testdata", "wideberth/testdata/town/generate").Output()
	if err != nil {
		t.Fatal(err)
	}
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath                         string
			Imports, TestImports, XTestImports []string
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
		for _, imp := range slices.Concat(p.TestImports, p.XTestImports) {
			if imp == p.ImportPath || imp == looksUp[p.ImportPath] || slices.Contains(helpTests, imp) && row.layer >= layers[imp].layer {
				continue
			}
			checkArrow(t, p.ImportPath+" (its tests)", imp, row.layer, slices.Concat(row.outside, forTests))
		}
	}
}

// TestFolders: the layers of a folder all lie below those of the next.
func TestFolders(t *testing.T) {
	lowest, highest := map[string]int{}, map[string]int{}
	for path, row := range layers {
		folder := strings.Split(path, "/")[1]
		if low, ok := lowest[folder]; !ok || row.layer < low {
			lowest[folder] = row.layer
		}
		highest[folder] = max(highest[folder], row.layer)
	}
	for i := 1; i < len(folders); i++ {
		if below, above := folders[i-1], folders[i]; highest[below] >= lowest[above] {
			t.Errorf("%s reaches up to layer %d, %s down to %d", below, highest[below], above, lowest[above])
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
