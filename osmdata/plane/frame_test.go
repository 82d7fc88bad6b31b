package plane_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// vincenty is the length in metres of the geodesic between two points on WGS84
// (Vincenty 1975, Survey Review 23:88-93): an independent way to the distances
// that a frame preserves. It fails to converge near antipodes only.
func vincenty(lat1, lon1, lat2, lon2 float64) float64 {
	const a, f = 6378137.0, 1 / 298.257223563
	const b = a * (1 - f)
	rad := math.Pi / 180
	l := (lon2 - lon1) * rad
	u1, u2 := math.Atan((1-f)*math.Tan(lat1*rad)), math.Atan((1-f)*math.Tan(lat2*rad))
	s1, c1 := math.Sincos(u1)
	s2, c2 := math.Sincos(u2)
	lam := l
	var sinS, cosS, sigma, cosSq, cos2m float64
	for range 200 {
		sl, cl := math.Sincos(lam)
		sinS = math.Hypot(c2*sl, c1*s2-s1*c2*cl)
		if sinS == 0 {
			return 0
		}
		cosS = s1*s2 + c1*c2*cl
		sigma = math.Atan2(sinS, cosS)
		sinA := c1 * c2 * sl / sinS
		cosSq = 1 - sinA*sinA
		cos2m = 0
		if cosSq > 0 {
			cos2m = cosS - 2*s1*s2/cosSq
		}
		c := f / 16 * cosSq * (4 + f*(4-3*cosSq))
		next := l + (1-c)*f*sinA*(sigma+c*sinS*(cos2m+c*cosS*(2*cos2m*cos2m-1)))
		if math.Abs(next-lam) < 1e-13 {
			break
		}
		lam = next
	}
	uu := cosSq * (a*a - b*b) / (b * b)
	bigA := 1 + uu/16384*(4096+uu*(-768+uu*(320-175*uu)))
	bigB := uu / 1024 * (256 + uu*(-128+uu*(74-47*uu)))
	ds := bigB * sinS * (cos2m + bigB/4*(cosS*(2*cos2m*cos2m-1)-bigB/6*cos2m*(4*sinS*sinS-3)*(4*cos2m*cos2m-3)))
	return b * bigA * (sigma - ds)
}

// The yardstick itself: geodesic cases of the GeographicLib test set and tutorial
// (Karney; public repository geographiclib-js). Vincenty's series is good to
// about 0.1 mm there.
func TestGeodesicYardstick(t *testing.T) {
	for _, c := range []struct {
		name                   string
		lat1, lon1, lat2, lon2 float64
		wantM, tolM            float64
	}{
		{"New York to Paris airports", 40.6, -73.8, 49.01666667, 2.55, 5853226, 0.5},
		{"library case 1", 35.60777, -139.44815, -11.17491, -69.95921, 8935244.5604818, 0.001},
		{"library case 2", -19.79938, -174.47484, -11.99349, -154.35109, 2319004.8601169, 0.001},
		{"seven centimetres", 36.493349428792, 0, 36.49334942879201, 0.0000008, 0.072, 0.0005},
	} {
		if got := vincenty(c.lat1, c.lon1, c.lat2, c.lon2); math.Abs(got-c.wantM) > c.tolM {
			t.Errorf("%s: %.7f m, want %.7f", c.name, got, c.wantM)
		}
	}
}

// haversine is the distance on a sphere of radius r.
func haversine(r, lat1, lon1, lat2, lon2 float64) float64 {
	rad := math.Pi / 180
	h := func(x float64) float64 { s := math.Sin(x / 2); return s * s }
	return 2 * r * math.Asin(math.Sqrt(h((lat2-lat1)*rad)+math.Cos(lat1*rad)*math.Cos(lat2*rad)*h((lon2-lon1)*rad)))
}

// Airports pair of a public collection of programming tasks (from memory), for
// two radii in use, and one degree at 45 degrees north on the mean sphere.
func TestSphereYardstick(t *testing.T) {
	for _, c := range []struct {
		name                   string
		r                      float64
		lat1, lon1, lat2, lon2 float64
		wantM, tolM            float64
	}{
		{"radius 6371.0 km", 6371000, 36.12, -86.67, 33.94, -118.40, 2886444, 1},
		{"radius 6372.8 km", 6372800, 36.12, -86.67, 33.94, -118.40, 2887260, 1},
		{"a degree of latitude", 6371008.8, 10, 5, 11, 5, 111195.08, 0.01},
		{"a degree of longitude", 6371008.8, 45, 5, 45, 6, 78626.30, 0.01},
	} {
		if got := haversine(c.r, c.lat1, c.lon1, c.lat2, c.lon2); math.Abs(got-c.wantM) > c.tolM {
			t.Errorf("%s: %.3f m, want %.3f", c.name, got, c.wantM)
		}
	}
}

func TestFrameOnItsMeridian(t *testing.T) {
	f := plane.NewFrame(-75.5, 0)
	// The quarter meridian of WGS84 is 10,001,965.729 m (Karney 2011, section 2).
	if p := f.Forward(-75.5, 90); math.Abs(p.Y-10001965.729) > 0.001 || math.Abs(p.X) > 1e-6 {
		t.Errorf("pole at %v", p)
	}
	if p := f.Forward(-75.5, 0); p.NormM() > 1e-9 {
		t.Errorf("origin at %v", p)
	}
	// Along the meridian the frame is the geodesic.
	for lat := -80.0; lat < 80; lat += 7 {
		got := f.Forward(-75.5, lat).DistanceM(f.Forward(-75.5, lat+0.5))
		if want := vincenty(lat, -75.5, lat+0.5, -75.5); math.Abs(got-want) > 0.0005 {
			t.Errorf("half a degree at %v: %.5f m, geodesic %.5f", lat, got, want)
		}
	}
}

// A universal transverse Mercator easting and northing is 500,000 m and 0 m plus
// 0.9996 times our coordinates on the zone's meridian. The places are the worked
// examples of an encyclopedia's article on that system and of a geographic
// library's manual, both from memory; that the code meets them to their last digit
// is the check.
func TestFrameAgainstGridReferences(t *testing.T) {
	for _, c := range []struct {
		name          string
		lat, lon      float64
		meridian      float64
		east, north   float64
		tolM          float64
		southernShift float64
	}{
		{"tower in Toronto, zone 17", 43 + 38/60.0 + 33.24/3600, -(79 + 23/60.0 + 13.7/3600), -81, 630084, 4833438, 1, 0},
		{"Baghdad, zone 38", 33.3, 44.4, 45, 444140.54, 3684706.36, 0.006, 0},
	} {
		f := plane.NewFrame(c.meridian, 0)
		p := f.Forward(c.lon, c.lat).Mul(0.9996)
		if math.Abs(p.X+500000-c.east) > c.tolM || math.Abs(p.Y+c.southernShift-c.north) > c.tolM {
			t.Errorf("%s: %.3f %.3f, want %.3f %.3f", c.name, p.X+500000, p.Y, c.east, c.north)
		}
	}
}

// Distances of a few kilometres inside 100 km of the meridian, against geodesics:
// the scale is 1 + x^2/(2 R^2), at most 1.000123 there. A sphere may be off by 0.56 %.
func TestFrameKeepsDistances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon0, lat0 := rapid.Float64Range(-179, 179).Draw(t, "lon0"), rapid.Float64Range(-70, 70).Draw(t, "lat0")
		f := plane.NewFrame(lon0, lat0)
		at := plane.Point{X: rapid.Float64Range(-1e5, 1e5).Draw(t, "x"), Y: rapid.Float64Range(-1e5, 1e5).Draw(t, "y")}
		step := rapid.Float64Range(0, 2*math.Pi).Draw(t, "heading")
		to := at.Add(plane.Point{X: 3000 * math.Cos(step), Y: 3000 * math.Sin(step)})
		lon1, lat1 := f.Inverse(at)
		lon2, lat2 := f.Inverse(to)
		got := vincenty(lat1, lon1, lat2, lon2)
		x := (at.X + to.X) / 2
		scale := 1 + x*x/(2*6.36e6*6.36e6)
		if rel := 3000/scale/got - 1; math.Abs(rel) > 5e-6 {
			t.Fatalf("3000 m on the plane are %.4f m on the ground at x=%.0f (after scale off by %g)", got, x, rel)
		}
		if rel := haversine(6371008.8, lat1, lon1, lat2, lon2)/3000 - 1; math.Abs(rel) > 0.006 {
			t.Fatalf("a sphere gives %g", rel)
		}
		if back := f.Forward(lon1, lat1); back.DistanceM(at) > 1e-6 {
			t.Fatalf("there and back moves by %g m", back.DistanceM(at))
		}
	})
}
