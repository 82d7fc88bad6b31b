package plane

import "math"

// Frame turns degrees into metres: a transverse Mercator projection of the
// WGS84 ellipsoid on its own central meridian, scale 1 there, origin at
// (Lon0, Lat0). Within 100 km of the meridian distances are true to 0.013 %.
// The series is Krüger's to order n^4 (Karney 2011, J. Geodesy 85:475-485).
// The zero value is not usable; make one with NewFrame.
type Frame struct {
	Lon0, Lat0 float64 // degrees
	north0     float64 // northing of the origin
}

const (
	wgs84A = 6378137.0
	wgs84F = 1 / 298.257223563
	krN    = wgs84F / (2 - wgs84F) // third flattening
)

var (
	krA     = wgs84A / (1 + krN) * (1 + krN*krN/4 + krN*krN*krN*krN/64)
	krAlpha = [4]float64{
		krN/2 - 2*krN*krN/3 + 5*krN*krN*krN/16 + 41*krN*krN*krN*krN/180,
		13*krN*krN/48 - 3*krN*krN*krN/5 + 557*krN*krN*krN*krN/1440,
		61*krN*krN*krN/240 - 103*krN*krN*krN*krN/140,
		49561 * krN * krN * krN * krN / 161280,
	}
	krBeta = [4]float64{
		krN/2 - 2*krN*krN/3 + 37*krN*krN*krN/96 - krN*krN*krN*krN/360,
		krN*krN/48 + krN*krN*krN/15 - 437*krN*krN*krN*krN/1440,
		17*krN*krN*krN/480 - 37*krN*krN*krN*krN/840,
		4397 * krN * krN * krN * krN / 161280,
	}
	krE = math.Sqrt(wgs84F * (2 - wgs84F)) // first eccentricity
)

// NewFrame makes a frame with its origin at the given degrees.
func NewFrame(lon0Deg, lat0Deg float64) Frame {
	f := Frame{Lon0: lon0Deg, Lat0: lat0Deg}
	_, f.north0 = gauss(0, lat0Deg*math.Pi/180)
	return f
}

// Forward gives the place in metres of a point in degrees.
func (f Frame) Forward(lonDeg, latDeg float64) Point {
	x, y := gauss((lonDeg-f.Lon0)*math.Pi/180, latDeg*math.Pi/180)
	return Point{x, y - f.north0}
}

// Scale is how much longer than on the ground lengths about a place are drawn: the
// transverse Mercator's k = 1 + x^2/(2 R^2) at x metres from its meridian (Snyder 1987,
// USGS Professional Paper 1395, equation 8-11 on the sphere to its second order).
func (f Frame) Scale(p Point) float64 { return 1 + p.X*p.X/(2*meanRadiusM*meanRadiusM) }

// gauss is the forward projection of longitude from the meridian and latitude,
// both in radians, to metres from meridian and equator.
func gauss(lam, phi float64) (x, y float64) {
	s := math.Sin(phi)
	t := math.Sinh(math.Atanh(s) - krE*math.Atanh(krE*s))
	xi := math.Atan2(t, math.Cos(lam))
	eta := math.Asinh(math.Sin(lam) / math.Hypot(t, math.Cos(lam)))
	// Sines and cosines of 2 j times the angle come from those of twice the angle by
	// addition, because this runs once for every node of a map.
	s2, c2 := math.Sincos(2 * xi)
	e2 := math.Exp(2 * eta)
	sh2, ch2 := (e2-1/e2)/2, (e2+1/e2)/2
	xi1, eta1 := xi, eta
	sj, cj, shj, chj := s2, c2, sh2, ch2
	for _, a := range krAlpha {
		xi1 += a * sj * chj
		eta1 += a * cj * shj
		sj, cj = sj*c2+cj*s2, cj*c2-sj*s2
		shj, chj = shj*ch2+chj*sh2, chj*ch2+shj*sh2
	}
	return krA * eta1, krA * xi1
}

// Inverse gives longitude and latitude in degrees of a place in metres.
func (f Frame) Inverse(p Point) (lonDeg, latDeg float64) {
	xi1, eta1 := (p.Y+f.north0)/krA, p.X/krA
	xi, eta := xi1, eta1
	for j, b := range krBeta {
		k := 2 * float64(j+1)
		xi -= b * math.Sin(k*xi1) * math.Cosh(k*eta1)
		eta -= b * math.Cos(k*xi1) * math.Sinh(k*eta1)
	}
	lam := math.Atan2(math.Sinh(eta), math.Cos(xi))
	tau := math.Sin(xi) / math.Hypot(math.Sinh(eta), math.Cos(xi))
	return f.Lon0 + lam*180/math.Pi, latitude(tau) * 180 / math.Pi
}

// latitude solves the conformal latitude's tangent for the geographic latitude
// in radians by Newton's method (Karney 2011, equations 19 to 21).
func latitude(taup float64) float64 {
	tau := taup
	for range 5 {
		r := math.Hypot(1, tau)
		sig := math.Sinh(krE * math.Atanh(krE*tau/r))
		t := tau*math.Hypot(1, sig) - sig*r
		d := (taup - t) / math.Hypot(1, t) * (1 + (1-krE*krE)*tau*tau) / ((1 - krE*krE) * r)
		tau += d
		if math.Abs(d) < 1e-13*(1+math.Abs(tau)) {
			break
		}
	}
	return math.Atan(tau)
}
