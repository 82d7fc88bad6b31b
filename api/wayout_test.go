package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/wire"
	"wideberth/testdata"
)

// TestWaysOutAlong: four sides every 40 m, and words about a body that is no walk.
func TestWaysOutAlong(t *testing.T) {
	h := server(t, api.Options{}).Handler()
	body := fmt.Sprintf(`{"line":[[%[2]g,%[1]g],[%[2]g,%[3]g]]%[4]s}`, testdata.DoorLat, testdata.DoorLon, testdata.DoorLat+0.001, kessa)
	res, got := do(t, h, "POST", "/v1/ways-out/along", "", body)
	var out struct{ Stretches []wire.StretchOut }
	if err := json.Unmarshal(got, &out); err != nil || res.StatusCode != http.StatusOK || len(out.Stretches) != 3 { // 111 m
		t.Fatalf("%v, status %d: %s", err, res.StatusCode, clip(got))
	}
	for i, s := range out.Stretches {
		if s.AtM != float64(40*i) {
			t.Errorf("stretch %d begins at %g m", i, s.AtM)
		}
		for side, o := range map[string]wire.SideInfo{"ahead": s.Ahead, "left": s.Left, "right": s.Right, "behind": s.Behind} {
			if o.First == "" || o.Seconds < 0 || o.LengthM < 0 {
				t.Errorf("stretch %d, it %s: %+v", i, side, o)
			}
		}
	}
	for name, body := range map[string]string{
		"unknown kind":  strings.Replace(body, `"line"`, `"kind":"cat","line"`, 1),
		"one place":     `{"line":[[-7,47.2]]}`,
		"round the sea": `{"line":[[-7,47.2],[3,47.2]]}`,
		"off the map":   `{"line":[[3,47.2],[3,47.2001]]}`,
	} {
		if res, got := do(t, h, "POST", "/v1/ways-out/along", "", body); res.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s gives %d: %s", name, res.StatusCode, clip(got))
		}
	}
}
