package main

import (
	"encoding/json"
	"reflect"
	"testing"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// TestWishHasOneSetOfDefaults: what is left out on the command line is what is left
// out over HTTP, for each shape.
func TestWishHasOneSetOfDefaults(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		flags planCommand
		sent  string
	}{
		{planCommand{}, `{}`},
		{planCommand{Shape: "loop"}, `{"shape":"loop"}`},
		{planCommand{Shape: "there_and_back"}, `{"shape":"there_and_back"}`},
		{planCommand{To: "47.2069,-6.9952"}, `{"to":{"lat":47.2069,"lon":-6.9952}}`},
		{planCommand{Shape: "longest_calm", MaxX: 1}, `{"shape":"longest_calm","max_expected_reactions":1}`},
	} {
		c.flags.From = "47.2022085,-7.0018089"
		ours, wrong := c.flags.body(p)
		if len(wrong) > 0 {
			t.Fatal(wrong)
		}
		if wrong := c.flags.more(p, &ours); len(wrong) > 0 {
			t.Fatal(wrong)
		}
		theirs := wire.WishBody{From: wire.LatLon{Lat: testdata.DoorLat, Lon: testdata.DoorLon}}
		if err := json.Unmarshal([]byte(c.sent), &theirs); err != nil {
			t.Fatal(err)
		}
		if a, b := ours.Wish(p.Frame()), theirs.Wish(p.Frame()); !reflect.DeepEqual(a, b) {
			t.Errorf("%s: the command line asks %+v, HTTP %+v", c.sent, a, b)
		} else if c.sent == `{}` && (a.Minutes != 30 || a.Shape != routing.Calmest) {
			t.Errorf("nothing said: %+v", a)
		}
		file, err := readDog("")
		if err != nil {
			t.Fatal(err)
		}
		sent, err := dogfile.File{}.DogOrTypical()
		if err != nil || !reflect.DeepEqual(file, sent) {
			t.Errorf("no dog: the command line takes %+v, HTTP %+v, %v", file, sent, err)
		}
	}
}
