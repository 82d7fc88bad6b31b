package main

import (
	"math"
	"sort"
)

// face is a piece of ground between lines. Side i runs from ring[i] to
// ring[i+1] and is of kind sides[i].
type face struct {
	ring  []pt
	sides []kind
	use   use
	name  string
}

// crossing is a place where a line meets a side of a face: t counts segments
// of the line, side and u give the place on the ring.
type crossing struct {
	t    float64
	side int
	u    float64
	p    pt
}

func (f *face) crossings(l []pt) []crossing {
	var out []crossing
	for i := 1; i < len(l); i++ {
		for j := range f.ring {
			p, t, u, ok := meet(l[i-1], l[i], f.ring[j], f.ring[(j+1)%len(f.ring)])
			if ok {
				out = append(out, crossing{float64(i-1) + t, j, u, p})
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].t < out[j].t })
	return out
}

// path is the piece of l from a to b, both ends included.
func path(l []pt, a, b crossing) []pt {
	out := []pt{a.p}
	for i, p := range l {
		if t := float64(i); t > a.t && t < b.t && p.dist(a.p) > 1 && p.dist(b.p) > 1 {
			out = append(out, p)
		}
	}
	return append(out, b.p)
}

// walk lists the ring's points and sides from place a forward to place b.
func (f *face) walk(a, b crossing) (pts []pt, sides []kind) {
	pts, sides = []pt{a.p}, []kind{f.sides[a.side]}
	n := len(f.ring)
	steps := (b.side - a.side + n) % n
	if steps == 0 && b.u < a.u {
		steps = n
	}
	for k := 1; k <= steps; k++ {
		i := (a.side + k) % n
		pts, sides = append(pts, f.ring[i]), append(sides, f.sides[i])
	}
	return pts, sides
}

// divide cuts the face along way, which starts at a and ends at b.
func (f *face) divide(way []pt, a, b crossing, k kind) (*face, *face) {
	half := func(way []pt, a, b crossing) *face {
		pts, sides := f.walk(b, a)
		g := &face{use: f.use, name: f.name}
		for _, p := range way[:len(way)-1] {
			g.push(p, k)
		}
		for i, p := range pts {
			g.push(p, sides[i])
		}
		g.close()
		return g
	}
	return half(way, a, b), half(reversed(way), b, a)
}

// push adds a ring point; a point on the last one only changes the side's kind.
func (f *face) push(p pt, k kind) {
	if n := len(f.ring); n > 0 && f.ring[n-1].dist(p) < 0.01 {
		f.sides[n-1] = k
		return
	}
	f.ring, f.sides = append(f.ring, p), append(f.sides, k)
}

func (f *face) close() {
	n := len(f.ring)
	if n > 1 && f.ring[0].dist(f.ring[n-1]) < 0.01 {
		f.ring, f.sides = f.ring[:n-1], f.sides[:n-1]
	}
}

// cutFaces lets a line part every face that it runs through from side to side.
func (t *town) cutFaces(l []pt, k kind) {
	long := append([]pt{l[0].add(l[0].sub(l[1]).unit().times(3))}, l...)
	n := len(l)
	long = append(long, l[n-1].add(l[n-1].sub(l[n-2]).unit().times(3)))
	for again := true; again; {
		again = false
		for i, f := range t.faces {
			if g, h := f.cut(long, k); g != nil {
				t.faces[i] = g
				t.faces = append(t.faces, h)
				again = true
				break
			}
		}
	}
}

func (f *face) cut(l []pt, k kind) (*face, *face) {
	c := f.crossings(l)
	for i := 1; i < len(c); i++ {
		way := path(l, c[i-1], c[i])
		length := lengthOf(way)
		if length < 20 {
			continue
		}
		mid, _ := at(way, length/2)
		if !inside(f.ring, mid) || f.distTo(mid) < 0.5 {
			continue
		}
		g, h := f.divide(way, c[i-1], c[i], k)
		if math.Min(math.Abs(areaOf(g.ring)), math.Abs(areaOf(h.ring))) > 50 {
			return g, h
		}
	}
	return nil, nil
}

func (f *face) distTo(p pt) float64 {
	_, d := project(append(append([]pt(nil), f.ring...), f.ring[0]), p)
	return d
}

func (t *town) faceAt(p pt) *face {
	for _, f := range t.faces {
		if inside(f.ring, p) {
			return f
		}
	}
	return nil
}

// quarter is how one part of town is parted into blocks.
type quarter struct {
	maxLongM, maxShortM float64
	street              kind
}

var quarters = map[use]quarter{
	terraces: {230, 84, residential},
	centre:   {150, 95, living},
	semis:    {240, 104, residential},
	detached: {270, 165, residential},
	flats:    {260, 170, residential},
	industry: {340, 210, worksRoad},
	fields:   {430, 330, hedge},
}

// subdivide parts a face by streets until its blocks have the quarter's size.
func (t *town) subdivide(f *face) {
	m := t.landmarkIn(f)
	if m != nil && math.Abs(areaOf(f.ring)) < m.maxAreaM2 {
		f.use, f.name = m.use, m.name
		t.blocks = append(t.blocks, f)
		return
	}
	f.use = t.useAt(centroid(f.ring))
	q, ok := quarters[f.use]
	b := boxOf(f.ring)
	switch {
	case !ok || math.Abs(areaOf(f.ring)) < 3500:
	case b.long > q.maxLongM*t.between(0.85, 1.2):
		if t.part(f, b, b.along.left(), q) {
			return
		}
	case b.short > q.maxShortM*t.between(0.92, 1.12):
		if t.part(f, b, b.along, q) {
			return
		}
	}
	if m != nil {
		f.use, f.name = m.use, m.name
	}
	t.blocks = append(t.blocks, f)
}

// part lays one street across f in direction dir, near its middle, and
// subdivides both halves. It reports whether a good place was found.
func (t *town) part(f *face, b box, dir pt, q quarter) bool {
	for try := range 24 {
		loose := float64(try) / 24
		angle := t.between(-0.09, 0.09) * (1 + loose)
		sin, cos := math.Sincos(angle)
		d := pt{dir.x*cos - dir.y*sin, dir.x*sin + dir.y*cos}
		across := b.long
		if dir == b.along {
			across = b.short
		}
		mid := b.mid.add(dir.left().times(across * t.between(-0.11, 0.11) * (1 + loose)))
		l := bowed(mid, d, b.long+b.short, t.between(-0.05, 0.05))
		way, x, y, ok := t.place(f, l, mid, 34-26*loose)
		if !ok {
			continue
		}
		g, h := f.divide(way, x, y, q.street)
		if least(g) < 14 || least(h) < 14 {
			continue
		}
		t.addStreet(way, f, x, y, q.street)
		t.subdivide(g)
		t.subdivide(h)
		return true
	}
	return false
}

func least(f *face) float64 { return boxOf(f.ring).short }

// bowed is a long line through mid in direction d that bends by bend of its length.
func bowed(mid, d pt, length, bend float64) []pt {
	var out []pt
	const n = 24
	for i := 0; i <= n; i++ {
		x := float64(i)/n*2 - 1
		out = append(out, mid.add(d.times(x*length/2)).add(d.left().times(bend*length/2*(x*x))))
	}
	return out
}

// place finds the piece of l inside f nearest to mid, with its ends drawn to
// junctions that are close and away from junctions that are nearly close.
func (t *town) place(f *face, l []pt, mid pt, clearM float64) (way []pt, a, b crossing, ok bool) {
	c := f.crossings(l)
	best := math.Inf(1)
	for i := 1; i < len(c); i++ {
		w := path(l, c[i-1], c[i])
		m, _ := at(w, lengthOf(w)/2)
		if d := m.dist(mid); d < best && inside(f.ring, m) {
			best, a, b = d, c[i-1], c[i]
		}
	}
	if math.IsInf(best, 1) {
		return nil, a, b, false
	}
	from, to := a.t, b.t
	a, okA := t.settle(f, a, clearM)
	b, okB := t.settle(f, b, clearM)
	a.t, b.t = from, to
	if !okA || !okB || a.p.dist(b.p) < 35 {
		return nil, a, b, false
	}
	way = []pt{a.p}
	for _, p := range path(l, a, b) {
		if p.dist(a.p) > 22 && p.dist(b.p) > 22 {
			way = append(way, p)
		}
	}
	way = append(way, b.p)
	return way, a, b, t.clean(f, way)
}

// settle moves the end of a new street onto a junction within 20 m, be it on
// this side of the street or across it. It refuses an end that would make a
// stagger of less than clearM, or meet at a corner.
func (t *town) settle(f *face, c crossing, clearM float64) (crossing, bool) {
	near, best := crossing{}, math.Inf(1)
	for _, j := range t.meetings {
		d := j.dist(c.p)
		if d >= best || d > 40 {
			continue
		}
		if on, ok := f.onRing(j); ok {
			near, best = on, d
		}
	}
	switch {
	case best < 20 && (near.u > 0 || f.straightAt(near.side)):
		return near, true
	case best < clearM:
		return c, false
	}
	return c, true
}

// onRing finds a point on the face's ring.
func (f *face) onRing(p pt) (crossing, bool) {
	for i, a := range f.ring {
		if a.dist(p) < touchM {
			return crossing{side: i, p: p}, true
		}
		q, u := nearestOn(p, a, f.ring[(i+1)%len(f.ring)])
		if q.dist(p) < touchM && u > 0 && u < 1 && f.ring[(i+1)%len(f.ring)].dist(p) >= touchM {
			return crossing{side: i, u: u, p: p}, true
		}
	}
	return crossing{}, false
}

// straightAt tells whether the ring runs on within 40 degrees at point i.
func (f *face) straightAt(i int) bool {
	n := len(f.ring)
	a, b, c := f.ring[(i+n-1)%n], f.ring[i], f.ring[(i+1)%n]
	return b.sub(a).unit().dot(c.sub(b).unit()) > 0.77
}

// clean tells whether a new street keeps inside f, leaves no sharp corner and
// spares the landmarks.
func (t *town) clean(f *face, way []pt) bool {
	n := lengthOf(way)
	for s := 12.0; s < n-12; s += 8 {
		p, _ := at(way, s)
		if !inside(f.ring, p) || f.distTo(p) < 7 {
			return false
		}
		for _, m := range t.landmarks {
			if inside(f.ring, m.at) && p.dist(m.at) < math.Sqrt(m.maxAreaM2)*0.36 {
				return false
			}
		}
	}
	return true
}

func (t *town) landmarkIn(f *face) *landmark {
	for i := range t.landmarks {
		if inside(f.ring, t.landmarks[i].at) {
			return &t.landmarks[i]
		}
	}
	return nil
}

// useAt is the use of the nearest quarter seed.
func (t *town) useAt(p pt) use {
	best, u := math.Inf(1), fields
	for _, s := range quarterSeeds {
		if d := s.at.dist(p); d < best {
			best, u = d, s.use
		}
	}
	return u
}
