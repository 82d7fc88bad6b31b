package osmdata

import "testing"

// Who may drive where, by tags. Source: the OpenStreetMap wiki, Key:access (the most
// special tag decides, private and the like need leave) and Key:barrier.
func TestWhereCarsMayGo(t *testing.T) {
	for tags, want := range map[string]bool{
		"highway=residential":                                  false,
		"highway=residential access=private":                   true,
		"highway=service access=customers":                     true,
		"highway=service access=permit":                        true,
		"highway=service motor_vehicle=private":                true,
		"highway=residential access=private motor_vehicle=yes": false,
		"highway=residential vehicle=destination":              false,
		"highway=residential foot=private":                     false,
		"highway=residential motorcar=no motor_vehicle=yes":    true,
	} {
		s, _, _ := readStreet("", tags)
		if got := s.Flags&FlagByLeave != 0; got != want || !s.Motor {
			t.Errorf("%s: by leave %v, motor %v; want by leave %v", tags, got, s.Motor, want)
		}
	}
	for tags, want := range map[string]bool{
		"highway=crossing":                   false,
		"barrier=bollard":                    true,
		"barrier=bollard motor_vehicle=yes":  false,
		"barrier=gate":                       false,
		"barrier=gate access=private":        true,
		"barrier=gate locked=yes":            true,
		"barrier=lift_gate":                  false,
		"barrier=block":                      true,
		"barrier=cattle_grid":                false,
		"barrier=kerb":                       false,
		"barrier=no":                         false,
		"barrier=gate motor_vehicle=private": true,
	} {
		if got := stopsCars(tagsOf(tags)); got != want {
			t.Errorf("%s: stops cars %v, want %v", tags, got, want)
		}
	}
}
