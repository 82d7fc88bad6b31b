package tagvalue

import (
	"math"
	"testing"
)

// Speeds: units and words after the community's documentation of Key:maxspeed
// ("50", "50 mph", "10 knots", "none", "walk", "GB:nsl_single"); a mile is
// 1609.344 m, a nautical mile 1852 m. Britain's national limits 60 and 70 mph: the
// Highway Code, rule 124 (from memory).
func TestSpeed(t *testing.T) {
	tests := []struct {
		in  string
		kmh float64
		ok  bool
	}{
		{"50", 50, true},
		{" 50 ", 50, true},
		{"50 km/h", 50, true},
		{"50kmh", 50, true},
		{"30 mph", 48.28032, true},
		{"30mph", 48.28032, true},
		{"5 knots", 9.26, true},
		{"walk", 7, true},
		{"none", 130, true},
		{"", 0, true},
		{"signals", 0, true},
		{"GB:nsl_single", 96.56064, true},
		{"GB:nsl_dual", 112.65408, true},
		{"DE:urban", 50, true},
		{"DE:rural", 100, true},
		{"DE:zone:30", 30, true},
		{"FR:rural", 80, true},
		{"XX:urban", 50, true},
		{"XX:moon", 0, false},
		{"30;50", 50, true},
		{"30;fast", 30, true},
		{"2,5", 2.5, true},
		{"fast", 0, false},
		{"-30", 0, false},
		{"0", 0, false},
		{"3000", 0, false},
		{"1e2", 0, false},
		{"NaN", 0, false},
		{"Inf", 0, false},
		{"50 furlongs", 0, false},
		{"1.2.3", 0, false},
	}
	for _, tt := range tests {
		mps, ok := Speed(tt.in)
		if ok != tt.ok || math.Abs(mps*3.6-tt.kmh) > 1e-9 {
			t.Errorf("Speed(%q) = %v km/h, %v, want %v, %v", tt.in, mps*3.6, ok, tt.kmh, tt.ok)
		}
	}
}

// Widths: metres unless a unit is given, feet and inches as 12'6" (the community's
// documentation of Key:width); a foot is 0.3048 m and has 12 inches.
func TestWidth(t *testing.T) {
	tests := []struct {
		in string
		m  float64
		ok bool
	}{
		{"3", 3, true},
		{"3.5 m", 3.5, true},
		{"3.5m", 3.5, true},
		{"3,5", 3.5, true},
		{"250 cm", 2.5, true},
		{"10 ft", 3.048, true},
		{"10ft", 3.048, true},
		{"10'", 3.048, true},
		{"12'6\"", 3.81, true},
		{"12' 6\"", 3.81, true},
		{"30\"", 0.762, true},
		{"12'13\"", 0, false},
		{"'6\"", 0, false},
		{"narrow", 0, false},
		{"", 0, false},
		{"-2", 0, false},
		{"0", 0, false},
		{"5000", 0, false},
		{"3;4", 0, false},
		{"3 - 4", 0, false},
	}
	for _, tt := range tests {
		m, ok := Width(tt.in)
		if ok != tt.ok || math.Abs(m-tt.m) > 1e-9 {
			t.Errorf("Width(%q) = %v, %v, want %v, %v", tt.in, m, ok, tt.m, tt.ok)
		}
	}
}

func TestLanes(t *testing.T) {
	tests := []struct {
		in    string
		lanes float64
		ok    bool
	}{
		{"2", 2, true}, {"1.5", 1.5, true}, {"2;3", 3, true}, {" 4", 4, true},
		{"", 0, false}, {"0", 0, false}, {"-1", 0, false}, {"two", 0, false}, {"200", 0, false},
	}
	for _, tt := range tests {
		if lanes, ok := Lanes(tt.in); lanes != tt.lanes || ok != tt.ok {
			t.Errorf("Lanes(%q) = %v, %v, want %v, %v", tt.in, lanes, ok, tt.lanes, tt.ok)
		}
	}
}

func TestLayer(t *testing.T) {
	tests := []struct {
		in    string
		layer int8
		ok    bool
	}{
		{"", 0, true}, {"1", 1, true}, {"-1", -1, true}, {"+2", 2, true}, {"0.5", 0, true}, {"-0.5", 0, true},
		{"99", 5, true}, {"-99", -5, true}, {"NaN", 0, false}, {"up", 0, false}, {"0;1", 0, false},
	}
	for _, tt := range tests {
		if layer, ok := Layer(tt.in); layer != tt.layer || ok != tt.ok {
			t.Errorf("Layer(%q) = %v, %v, want %v, %v", tt.in, layer, ok, tt.layer, tt.ok)
		}
	}
}

// FuzzValues holds the parsers of tag values to their ranges.
func FuzzValues(f *testing.F) {
	for _, s := range []string{"50", "30 mph", "GB:nsl_dual", "12'6\"", "3,5 m", "2;3", "-1", "NaN", "1e309", "١٢", "'", "\"", ";;", ":", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		check := func(name string, x float64, ok bool, top float64) {
			if math.IsNaN(x) || x < 0 || x > top || !ok && x != 0 {
				t.Errorf("%s(%q) = %v, %v", name, s, x, ok)
			}
		}
		speed, ok := Speed(s)
		check("Speed", speed, ok, maxSpeedKMH*mpsPerKMH)
		width, ok := Width(s)
		check("Width", width, ok, maxWidthM)
		lanes, ok := Lanes(s)
		check("Lanes", lanes, ok, maxLanes)
		levels, ok := Levels(s)
		check("Levels", levels, ok, 200)
		if layer, _ := Layer(s); layer < -5 || layer > 5 {
			t.Errorf("Layer(%q) = %v", s, layer)
		}
	})
}

// The units behind the parsers, against their definitions: the international yard
// and pound agreement of 1959 (foot 0.3048 m, mile 5,280 feet), the knot of 1,852 m an
// hour.
func TestUnits(t *testing.T) {
	for name, diff := range map[string]float64{
		"mile": kmhPerMPH - 5280*metresPerFoot/1000, "inch": metresPerInch - metresPerFoot/12, "knot": kmhPerKnot - 1.852,
		"km/h": mpsPerKMH*3600 - 1000,
	} {
		if math.Abs(diff) > 1e-9 {
			t.Errorf("%s is off by %v", name, diff)
		}
	}
}

// TestNationalLimits: limits behind codes against those of the countries' traffic rules (from
// memory, as the table is): out of towns 100 km/h in Germany and Austria, 80 in France,
// Switzerland and the Netherlands; in towns 50; motorways 130 in Austria, France, the
// Netherlands and Italy; no code is beyond what is believed.
func TestNationalLimits(t *testing.T) {
	for code, want := range map[string]float64{"DE:rural": 100, "AT:rural": 100, "FR:rural": 80, "CH:rural": 80, "NL:rural": 80, "IT:rural": 90, "DE:urban": 50, "FR:urban": 50, "AT:motorway": 130, "FR:motorway": 130, "NL:motorway": 130, "IT:motorway": 130, "ES:motorway": 120, "DE:walk": 7, "AT:zone30": 30, "GB:zone20": 20 * 1.609344} {
		if mps, ok := Speed(code); !ok || math.Abs(mps*3.6-want) > 1e-9 {
			t.Errorf("%s is %g km/h, want %g", code, mps*3.6, want)
		}
	}
	for code := range nationalException {
		if mps, ok := Speed(code); !ok || mps <= 0 || mps*3.6 > maxSpeedKMH {
			t.Errorf("%s is %g km/h", code, mps*3.6)
		}
	}
	for _, code := range []string{"DEU:rural", "D:rural", ":rural", "DE:", "DE:RURAL"} {
		if mps, ok := Speed(code); ok || mps != 0 {
			t.Errorf("%q is %g km/h", code, mps*3.6)
		}
	}
}
