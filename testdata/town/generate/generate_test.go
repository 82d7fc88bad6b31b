package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/testdata"
)

// The committed town is what this program draws. The unpacked bytes are
// compared: how well gzip packs may change from one Go release to the next.
func TestTownIsWhatTheProgramDraws(t *testing.T) {
	z, err := gzip.NewReader(bytes.NewReader(testdata.Town()))
	if err != nil {
		t.Fatal(err)
	}
	want, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	got := build().xml()
	if bytes.Equal(got, want) {
		return
	}
	a, b := bytes.Split(got, []byte("\n")), bytes.Split(want, []byte("\n"))
	for i := range min(len(a), len(b)) {
		if !bytes.Equal(a[i], b[i]) {
			t.Fatalf("line %d: drawn %q, committed %q; run go generate ./testdata", i+1, a[i], b[i])
		}
	}
	t.Fatalf("drawn %d lines, committed %d; run go generate ./testdata", len(a), len(b))
}

func TestDrawingTwiceIsTheSame(t *testing.T) {
	if a, b := build().xml(), build().xml(); !bytes.Equal(a, b) {
		t.Error("two drawings differ: something hangs on the order of a map")
	}
}

// Parting a face keeps its area: the halves add up to the whole.
func TestDivideKeepsArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(40, 400).Draw(t, "w")
		h := rapid.Float64Range(40, 400).Draw(t, "h")
		u := rapid.Float64Range(0.1, 0.9).Draw(t, "u")
		v := rapid.Float64Range(0.1, 0.9).Draw(t, "v")
		f := &face{ring: []pt{{0, 0}, {w, 0}, {w, h}, {0, h}}, sides: []kind{primary, residential, rail, river}}
		a := crossing{side: 0, u: u, p: pt{u * w, 0}}
		b := crossing{side: 2, u: 1 - v, p: pt{v * w, h}}
		g, k := f.divide([]pt{a.p, b.p}, a, b, alley)
		if sum := areaOf(g.ring) + areaOf(k.ring); math.Abs(sum-w*h) > 1e-6*w*h {
			t.Fatalf("halves have %.6f m², the whole %.6f", sum, w*h)
		}
		for _, half := range []*face{g, k} {
			n := 0
			for _, s := range half.sides {
				if s == alley {
					n++
				}
			}
			if n != 1 || len(half.ring) != len(half.sides) {
				t.Fatalf("half has %d sides of the new kind and %d sides for %d points", n, len(half.sides), len(half.ring))
			}
		}
	})
}

func TestGeometry(t *testing.T) {
	square := []pt{{0, 0}, {10, 0}, {10, 10}, {0, 10}}
	line := []pt{{0, 0}, {10, 0}, {10, 10}}
	cases := []struct {
		name      string
		got, want float64
	}{
		{"area runs left about", areaOf(square), 100},
		{"area runs right about", areaOf(reversed(square)), -100},
		{"length", lengthOf(line), 20},
		{"piece", lengthOf(between(line, 4, 17)), 13},
		{"inset", areaOf(inset(square, 2)), 36},
		{"centre", centroid(square).dist(pt{5, 5}), 0},
		{"rings apart", ringsApart(square, []pt{{13, 0}, {20, 0}, {20, 9}}), 3},
		{"one ring in another", ringsApart(square, []pt{{4, 4}, {5, 4}, {5, 5}}), 0},
		{"segments apart", segmentsApart(pt{0, 0}, pt{10, 0}, pt{12, 0}, pt{12, 5}), 2},
		{"moved line keeps its distance in a bend", offset(line, 2)[1].dist(pt{8, 2}), 0},
		{"long side of the box", boxOf([]pt{{0, 0}, {30, 0}, {30, 8}, {0, 8}}).long, 30},
	}
	for _, c := range cases {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
}

func TestJoinGivesCrossingLinesOnePoint(t *testing.T) {
	tn := newTown()
	a := tn.add(residential, []pt{{-50, 0}, {50, 0}}, nil)
	b := tn.add(residential, []pt{{0, -50}, {0, 50}}, nil)
	tee := tn.add(residential, []pt{{20, 30}, {20, 0.1}}, nil)
	over := tn.add(footway, []pt{{-20, -50}, {-20, 50}}, nil)
	over.layer = 1
	tn.join(joins)
	if len(a.at) != 4 || len(b.at) != 3 {
		t.Errorf("the street has %d points and the cross street %d, want 4 and 3", len(a.at), len(b.at))
	}
	if a.at[2].key() != tee.at[1].key() {
		t.Errorf("the side street ends at %v, the street's point is %v", tee.at[1], a.at[2])
	}
	if len(over.at) != 2 {
		t.Errorf("a bridge joined what it crosses: %v", over.at)
	}
}
