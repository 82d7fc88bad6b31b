package exposure

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Constants of the encounter model.
const (
	// DeadTimeS is tau, the seconds in which encounters merge and after which a
	// standing trigger gives a fresh chance. Our assumption.
	DeadTimeS = 20.0
	// SideSpeedMPS is how fast a handler gets off the line of the other party.
	// Our assumption, a little under a usual pace.
	SideSpeedMPS = 1.0
	// StoredWalkerMPS is the walker's speed at which streams on other ways are
	// stored. Walking at 1.0 or 1.4 m/s instead changes hazards by 2 to 12 %.
	StoredWalkerMPS = 1.2
	// leastAcross bounds |t.w| from below, as a share of |w|, where the relative
	// velocity is nearly across the stream; its size changes X by 0.1 %.
	leastAcross = 0.1
)

// Met is the expected number of movers that a walker meets head-on along
// lengthM metres at speed v, of a one-way stream of flow q (1/s) and speed u:
//
//	N = q L (1/v + 1/u)
//
// Speeds in m/s, above 0 (a walker that stands has no length to walk; see
// passesPerS). Wardrop and Charlesworth 1954, Proc. Inst. Civil Engineers 3(1):158-171.
func Met(q, lengthM, v, u float64) float64 { return q * lengthM * (1/v + 1/u) }

// overtaken is the expected number of movers of a one-way stream going the
// walker's way that pass the walker or are passed, N = q L |1/v - 1/u|, in the
// units of Met and from the same source.
func overtaken(q, lengthM, v, u float64) float64 { return q * lengthM * math.Abs(1/v-1/u) }

// passesPerS is the rate (1/s) at which a walker of speed v passes movers of a
// stream on the walker's own way, with flow q (1/s) of both directions together
// and speed u in m/s. Half of the stream each way gives, by Met and Overtaken,
//
//	v ((q/2)(1/v + 1/u) + (q/2)|1/v - 1/u|)
//
// which is q for the slower and q v/u for the faster walker. Standing still
// (v = 0) gives q. What does not move (u = 0) is no stream and passes nobody.
func passesPerS(q, v, u float64) float64 {
	switch {
	case u == 0:
		return 0
	case v == 0:
		return q
	}
	return Met(q/2, v, v, u) + overtaken(q/2, v, v, u)
}

// Approaches is the rate (1/s) of closest approaches between a walker of speed v and
// one direction of a straight stream with flow q (1/s) of that direction and speed u, c
// being the cosine between the two ways, all in m and s:
//
//	rate = q/u |w|^2 / |t.w|,   w = u t - v
//
// with the unit vector t along the stream and the velocities' difference w. The
// approach happens where the walker-to-mover vector is square to w. |t.w| is held
// above a tenth of |w|. A parallel way gives the own-way rate, a standing walker q.
// From the geometry of uniform motion; our derivation.
func Approaches(q, u, v, c float64) float64 {
	const together = 1e-12 // rounding of c, where they move along together
	ww := (u-v)*(u-v) + 2*u*v*(1-c)
	if !(ww > together*u*v) {
		return 0
	}
	across := math.Abs(u - v*c)
	if across*across < leastAcross*leastAcross*ww {
		across = leastAcross * math.Sqrt(ww)
	}
	return q * ww / (u * across)
}

// meanRelativeSpeed is the mean speed in m/s between two movers of speeds u and
// v whose directions are independent and uniform:
//
//	E|w| = 2 (u + v) / pi E(k),   k^2 = 4 u v / (u + v)^2
//
// E is the complete elliptic integral of the second kind. 4/pi v for equal
// speeds. Hutchinson and Waser 2007, Biological Reviews 82:335-359.
func meanRelativeSpeed(u, v float64) float64 {
	if u+v == 0 {
		return 0
	}
	return 2 * (u + v) / math.Pi * mathext.CompleteE(min(1, 4*u*v/((u+v)*(u+v))))
}

// openPerS is the rate (1/s) at which movers that roam an open area with density
// rho (1/m^2) come within r metres at the mean relative speed w (m/s):
// 2 r rho w, the ideal-gas rate. Hutchinson and Waser 2007.
func openPerS(rho, rM, w float64) float64 { return 2 * rM * rho * w }

// openReachM is the distance r in metres for which openPerS gives the rate of
// reactions of a dog with the need n to movers at least nearM away: the integral
// of P(d) from nearM to BinMaxM. From 0 and without bound it would be
// R pi/b / sin(pi/b) for b > 1. By Simpson's rule.
func openReachM(n Need, nearM float64) float64 {
	if n.WorkingM == 0 || nearM >= BinMaxM {
		return 0
	}
	const steps = 64
	h := (BinMaxM - nearM) / steps
	sum := n.P(nearM) + n.P(BinMaxM)
	for i := 1; i < steps; i++ {
		sum += float64(2+2*(i&1)) * n.P(nearM+float64(i)*h)
	}
	return sum * h / 3
}

// ChordM is the length in metres of a straight line that lies within dM of a
// point which it passes at offset bM: 2 sqrt(d^2 - b^2), 0 where b >= d.
func ChordM(dM, bM float64) float64 {
	if bM >= dM {
		return 0
	}
	return 2 * math.Sqrt(dM*dM-bM*bM)
}

// insideS is the mean number of seconds that a passing mover stays within dM of
// the walker if it comes as near as bM at the relative speed w in m/s.
func insideS(dM, bM, w float64) float64 {
	if w <= 0 {
		return 0
	}
	return ChordM(dM, bM) / w
}

// Grouped turns a rate of single movers and their P into those of groups of mean
// size g >= 1 that count once: rate/g and 1 - (1-P)^g.
func Grouped(rate, p, g float64) (groupRate, groupP float64) {
	if g <= 1 {
		return rate, p
	}
	return rate / g, 1 - math.Pow(1-p, g)
}

// closestM is how near in metres an encounter on the walker's own way comes:
//
//	d = min(room, v_side t),   t = sight / (u + v)
//
// room is how far the handler can get off the line, sight how far ahead the way
// is seen, u and v the speeds of the other and of the walker in m/s.
func closestM(roomM, sightM, u, v float64) float64 {
	return min(roomM, SideSpeedMPS*sightM/(u+v))
}
