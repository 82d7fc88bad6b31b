package beside

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// How much of what one can walk into hides what lies behind it, in metres of the line of
// sight: wood in leaf, wood without leaves, and cars parked in rows, which hide dogs and
// children. All are our assumption; a wood of a map has undergrowth at its edge.
const (
	leafM   = 20.0
	bareM   = 60.0
	parkedM = 15.0
)

// veils are woods and parked rows.
type veils struct {
	woods, parked *raster
	any           bool
}

func newVeils(x *osmdata.Extract, e *plane.Earth) veils {
	v := veils{woods: newRasterOn(e), parked: newRasterOn(e)}
	for i := range x.Grounds {
		if x.Grounds[i].Kind == osmdata.Wood {
			v.woods.fill(x.Grounds[i].Area)
			v.any = true
		}
	}
	for i := range x.Features {
		if x.Features[i].As != "parking" {
			continue
		}
		for _, a := range x.Features[i].Areas {
			v.parked.fill(a)
			v.any = true
		}
	}
	return v
}

// veilEye looks at veils: one for each worker.
type veilEye struct {
	woods, parked *eye
	any           bool
}

func (v *veils) eye() veilEye { return veilEye{v.woods.eye(), v.parked.eye(), v.any} }

// glimpse is how much is seen through.
type glimpse uint8

const (
	walled    glimpse = iota // never, and sounds are held back too
	hidden                   // never
	whileBare                // only while trees are bare
	seen                     // always
)

// through says how one place is seen from another by what lies between, that is not a
// wall: looks every half cell of the raster.
func (v *veilEye) through(a, b plane.Point) glimpse {
	d := b.Sub(a)
	long := d.NormM()
	if !v.any || long < parkedM {
		return seen
	}
	const step = rasterM / 2
	wood, cars := 0.0, 0.0
	for at := step / 2; at < long; at += step {
		switch p := a.Add(d.Mul(at / long)); {
		case v.woods.contains(p):
			wood += step
		case v.parked.contains(p):
			cars += step
		}
	}
	switch {
	case wood >= bareM || cars >= parkedM:
		return hidden
	case wood >= leafM:
		return whileBare
	}
	return seen
}
