package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/blocktest"
	"wideberth/routing/training"
)

func drawnVisit(t testing.TB, s *Scene, v *training.Visit, o MapOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.VisitMap(&b, v, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// needPaths are the lines drawn in blue, in pixels: what the dog needs.
func needPaths(text string) (out [][]float64) {
	blue := tokenTable[need].colour[Light]
	number := regexp.MustCompile(`-?[0-9.]+`)
	for _, m := range regexp.MustCompile(`<path d="([^"]+)"[^>]*stroke="`+blue+`"[^>]*>`).FindAllStringSubmatch(text, -1) {
		var l []float64
		for _, n := range number.FindAllString(m[1], -1) {
			f, _ := strconv.ParseFloat(n, 64)
			l = append(l, f)
		}
		out = append(out, l)
	}
	return out
}

// TestVisitAtTrueScale: round a point that is watched, the outlines are circles of
// the dog's two distances, and the line of sight is as long as the visit's distance,
// all by one scale, whatever the picture's size.
func TestVisitAtTrueScale(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	rapid.Check(t, func(r *rapid.T) {
		v := blocktest.Visit(s.Walk)
		v.Watched.Source = -1
		v.Watched.WorkingM = rapid.Float64Range(12, 60).Draw(r, "working")
		v.DistM = v.Watched.WorkingM * rapid.Float64Range(1, 2).Draw(r, "multiple")
		v.Sees = v.At.Add(plane.Point{Y: v.DistM})
		o := MapOptions{WidthPX: rapid.Float64Range(300, 900).Draw(r, "width"), HeightPX: rapid.Float64Range(300, 700).Draw(r, "height"), Theme: Light}
		text := drawnVisit(t, s, v, o)
		var radii []float64
		for _, l := range needPaths(text) {
			if len(l) < 40 { // a scale bar, not an outline
				continue
			}
			low, high := math.Inf(1), math.Inf(-1)
			for i := 0; i+1 < len(l); i += 2 {
				low, high = min(low, l[i]), max(high, l[i])
			}
			radii = append(radii, (high-low)/2)
		}
		if len(radii) != 2 {
			r.Fatalf("%d outlines, want the room needed and what is too near", len(radii))
		}
		ratio := s.Band.Room.Need.ReactionM / s.Band.Room.Need.WorkingM
		if !near(radii[1]/radii[0], ratio, 0.03) {
			r.Errorf("outlines of %.1f and %.1f px: one is %.3f of the other, want %.3f", radii[0], radii[1], radii[1]/radii[0], ratio)
		}
		pxPerM := radii[0] / v.Watched.WorkingM
		if bar := needBarPX(text); !near(bar, pxPerM*s.needM(), 1.5) {
			r.Errorf("the bar of the room needed is %.1f px, want %.1f", bar, pxPerM*s.needM())
		}
	})
}

// needBarPX is the length of the blue scale bar.
func needBarPX(text string) float64 {
	for _, l := range needPaths(text) {
		if len(l) >= 40 {
			continue
		}
		low, high := math.Inf(1), math.Inf(-1)
		for i := 0; i+1 < len(l); i += 2 {
			low, high = min(low, l[i]), max(high, l[i])
		}
		if high-low > 5 {
			return high - low
		}
	}
	return 0
}

// TestVisitHoldsMarkup: what is watched and the ways out may be named anything.
func TestVisitHoldsMarkup(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	v := blocktest.Visit(s.Walk)
	v.Watched.Name = `<script>alert("x")</script> & 'ש'`
	text := drawnVisit(t, s, v, MapOptions{WidthPX: 390, HeightPX: 392, Theme: Dark})
	dec := xml.NewDecoder(strings.NewReader(text))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "script" {
			t.Error("a name became an element")
		}
	}
	for _, want := range []string{"stand here", "Lime Lane", s.Words.Own(50), s.Words.Own(38), s.Words.Own(15)} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not written", want)
		}
	}
}
