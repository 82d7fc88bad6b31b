package survey

import (
	"context"
	"os"
	"testing"
	"syscall"
	"fmt"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
)

func cpu() float64 {
	var u syscall.Rusage
	syscall.Getrusage(0, &u)
	return float64(u.Utime.Sec+u.Stime.Sec) + 1e-6*float64(u.Utime.Usec+u.Stime.Usec)
}

func TestZZFrames(t *testing.T) {
	name := os.Getenv("MAP")
	x, err := osmdata.Options{Rules: exposure.Rules()}.ReadFile(context.Background(), name)
	if err != nil {
		t.Fatal(err)
	}
	whole := Gather([]*Share{ShareOf(x, "US", nil)})
	type made struct {
		x *osmdata.Extract
		g *network.Graph
		f *exposure.Field
	}
	var all []made
	for _, dx := range []float64{0, -.7, .4} {
		c0 := cpu()
		y := x
		if dx != 0 {
			y = sketch.Part(x, sketch.Degrees{x.West + min(0, dx)-1, x.South - 1, x.East + max(0, dx)+1, x.North + 1})
			// flags
			for i := range y.Streets {
				y.Streets[i].Flags = x.Streets[i].Flags
			}
		}
		g, _, err := network.Build(y.Streets, y.Barred, network.Options{Frame: y.Frame})
		if err != nil {
			t.Fatal(err)
		}
		f, err := Survey(context.Background(), y, g, Options{Workers: 1, Country: "US", Whole: whole})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%d edges %.1f s CPU", g.EdgeCount(), cpu()-c0)
		all = append(all, made{y, g, f})
	}
	for k := 1; k < len(all); k++ {
		a, b := all[0], all[k]
		s := compared(a.g, b.g, a.f, b.f, plane.NewEarth(b.x.Frame), sketch.Degrees{-180, -90, 180, 90})
		t.Log(s.String())
	}
	if os.Getenv("DETAIL") == "" {
		return
	}
	a, b := all[0], all[1]
	names := edgeNames(a.g)
	kinds := map[string]int{}
	n := 0
	for name, e := range edgeNames(b.g) {
		f, ok := names[name]
		if !ok {
			continue
		}
		var s seam
		s.add(a.f, b.f, f, e, 1)
		if os.Getenv("DETAIL") == "room" && s.room > 0 && n < 40 {
			n++
			fmt.Println("room", name, a.g.LengthM[f], a.f.Left[f], b.f.Left[e], a.f.Right[f], b.f.Right[e])
		}
		if os.Getenv("DETAIL") == "sight" && s.sight > 0 && n < 40 {
			n++
			fmt.Println("sight", name, a.g.LengthM[f], a.f.SightFwdM[f], b.f.SightFwdM[e], a.f.SightBackM[f], b.f.SightBackM[e])
		}
		if os.Getenv("DETAIL") == "near" && s.near > 0 && n < 40 {
			n++
			for k := range a.f.Near {
				for _, w := range []float64{15, 40, 80} {
					u, v := reacted(&a.f.Near[k][f], w), reacted(&b.f.Near[k][e], w)
					if u-v > max(u, v)*.12+leastRatePerS || v-u > max(u, v)*.12+leastRatePerS {
						fmt.Println("near", name, a.g.LengthM[f], exposure.Pattern(k), w, u, v, a.f.OwnPerDay[k][f], b.f.OwnPerDay[k][e])
					}
				}
			}
		}
		for k, c := range s.flows {
			if c > 0 {
				fmt.Println("flow", name, a.g.LengthM[f], exposure.Pattern(k), a.f.OwnPerDay[k][f], b.f.OwnPerDay[k][e], a.g.Class[f], isPavement(a.g, f))
			}
		}
		if s.roadside > 0 && n < 30 {
			n++
			fmt.Println("road", name, a.g.LengthM[f], a.f.Roadside.Of(f), b.f.Roadside.Of(e), a.f.Roadside.WideOf(f), b.f.Roadside.WideOf(e))
		}
		if s.room > 0 {
			fmt.Println("room", name, a.g.LengthM[f], a.f.Left[f], b.f.Left[e], a.f.Right[f], b.f.Right[e])
		}
		if s.touches > 0 {
			fmt.Println("touch", name, a.f.Touches[a.f.TouchAt[f]:a.f.TouchAt[f+1]],b.f.Touches[b.f.TouchAt[e]:b.f.TouchAt[e+1]])
			ts := map[int32][2]int{}
			for _, x := range a.f.Touches[a.f.TouchAt[f]:a.f.TouchAt[f+1]] {
				c := ts[x.Source]
				c[0]++
				ts[x.Source] = c
			}
			for _, x := range b.f.Touches[b.f.TouchAt[e]:b.f.TouchAt[e+1]] {
				c := ts[x.Source]
				c[1]++
				ts[x.Source] = c
			}
			for i, c := range ts {
				if c[0] != c[1] {
					kinds[fmt.Sprint(a.f.Sources[i].As, " ", min(c[0],1), min(c[1],1))]++
				}
			}
		}
	}
	t.Log(kinds)
}

func TestZZState(t *testing.T) {
	x, g := sketch.State(t, "delaware-latest.osm.pbf")
	c0 := cpu()
	f, err := Survey(context.Background(), x, g, Options{Workers: 2, Country: "US"})
	if err != nil {
		t.Fatal(err)
	}
	t.Log("CPU", cpu()-c0)
	whole := Gather([]*Share{ShareOf(x, "US", nil)})
	names := edgeNames(g)
	for _, c := range []struct {
		name     string
		lat, lon float64
	}{
		{"a city", 39.745, -75.555}, {"suburbs at the border", 39.66, -75.72}, {"a town", 39.158, -75.524},
		{"fields", 38.80, -75.50}, {"fields at the border", 38.95, -75.62}, {"the coast", 38.70, -75.13},
	} {
		c0 = cpu()
		core, block := coreAbout(x, c.lon, c.lat, 8000, marginM)
		part, h, p := partSurveyed(t, x, whole, core, block, "US")
		at := plane.NewEarth(part.Frame)
		s := compared(g, h, f, p, at, core)
		t.Logf("%-22s %s CPU %.1f", c.name, s.String(), cpu()-c0)
		for name, e := range edgeNames(h) {
			tail, _ := h.Ends(e)
			if !core.Holds(at.Degrees(h.Vertex[tail])) {
				continue
			}
			k := names[name]
			var s seam
			s.add(f, p, k, e, 1)
			if s.room > 0 { fmt.Println(c.name, "room", name, g.LengthM[k], f.Left[k], p.Left[e], f.Right[k], p.Right[e]) }
			if s.sight > 0 { fmt.Println(c.name, "sight", name, g.LengthM[k], f.SightFwdM[k], p.SightFwdM[e], f.SightBackM[k], p.SightBackM[e]) }
			if s.marks > 0 { fmt.Println(c.name, "marks", name, f.Marks[k], p.Marks[e]) }
			if s.level > 0 { fmt.Println(c.name, "level", name, f.LevelDB[k], p.LevelDB[e]) }
			if s.soft > 0 { fmt.Println(c.name, "soft", name, f.SoftShare[k], p.SoftShare[e]) }
			if s.roadside > 0 { fmt.Println(c.name, "roadside", name, f.Roadside.Of(k), p.Roadside.Of(e),f.Roadside.WideOf(k), p.Roadside.WideOf(e)) }
			for q, n := range s.flows {
				if n > 0 { fmt.Println(c.name, "flow", name, exposure.Pattern(q), f.OwnPerDay[q][k], p.OwnPerDay[q][e], g.Class[k]) }
			}
			if s.near > 0 {
			for q := range f.Near {
				for _, w := range []float64{15, 40, 80} {
					u, v := reacted(&f.Near[q][k], w), reacted(&p.Near[q][e], w)
					if u-v > max(u, v)*.12+leastRatePerS || v-u > max(u, v)*.12+leastRatePerS {
						fmt.Println(c.name, "near", name, g.LengthM[k], exposure.Pattern(q), w, u, v)
					}
				}
			}
			}
			if s.touches > 0 {
				ts := map[string][2]int{}
				for _, y := range f.Touches[f.TouchAt[k]:f.TouchAt[k+1]] {
					key := f.Sources[y.Source].OSM+f.Sources[y.Source].As
					c := ts[key]
					c[0]++
					ts[key] = c
				}
				for _, y := range p.Touches[p.TouchAt[e]:p.TouchAt[e+1]] {
					key := p.Sources[y.Source].OSM+p.Sources[y.Source].As
					c := ts[key]
					c[1]++
					ts[key] = c
				}
				for key, n := range ts {
					if n[0] != n[1] { fmt.Println(c.name, "touch", name, key, n) }
				}
			}
		}
	}
}
