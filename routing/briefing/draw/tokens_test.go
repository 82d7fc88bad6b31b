package draw

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

type rgb [3]float64 // 0 to 1, as in sRGB

func parseColour(t *testing.T, s string) rgb {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(s, "#"), 16, 32)
	if err != nil || len(s) != 7 {
		t.Fatalf("colour %q is not #RRGGBB", s)
	}
	return rgb{float64(n>>16) / 255, float64(n>>8&255) / 255, float64(n&255) / 255}
}

// linear undoes the sRGB transfer curve (IEC 61966-2-1).
func (c rgb) linear() rgb {
	for i, v := range c {
		if v <= 0.04045 {
			c[i] = v / 12.92
		} else {
			c[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return c
}

func (c rgb) luminance() float64 {
	l := c.linear()
	return 0.2126*l[0] + 0.7152*l[1] + 0.0722*l[2]
}

// contrast is the ratio of WCAG 2.2, "contrast ratio".
func contrast(a, b rgb) float64 {
	x, y := a.luminance(), b.luminance()
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// TestContrastOfKnownColours checks the ratio itself: 21 for black on white by
// definition, and two greys that the WCAG working group's techniques quote as the
// last to pass 4.5 and 3 on white (#767676 4.54, #949494 3.03).
func TestContrastOfKnownColours(t *testing.T) {
	white := rgb{1, 1, 1}
	for colour, want := range map[string]float64{"#000000": 21, "#767676": 4.54, "#949494": 3.03, "#FFFFFF": 1} {
		if got := contrast(parseColour(t, colour), white); math.Abs(got-want) > 0.006 {
			t.Errorf("%s on white: %.3f, want %.2f", colour, got, want)
		}
	}
}

// TestContrast computes every pair that is drawn, in every theme: text at least
// 4.5, what is not text at least 3 (WCAG 2.2, 1.4.3 and 1.4.11).
func TestContrast(t *testing.T) {
	text := map[token][]token{
		ink:      {page, sheet, ground, green, street, water, block, needWash, warnWash},
		ink2:     {page, sheet, ground, needWash, warnWash},
		need:     {page, sheet, ground, needWash},
		sheet:    {ink, need},
		k3text:   {k1, k2, k3}, // numbers in the cells of a week
		mapSheet: {k4},
	}
	marks := map[token][]token{
		rule:      {page, sheet, ground},
		need:      {ground, green, water, block, sheet},
		waterLine: {water, ground},
		ink:       {ground},
		mapInk:    {k1, k2, k3, mapSheet}, // the line of a walk
		walkEdge:  {ground, green},
	}
	check := func(what string, least float64, pairs map[token][]token) {
		for th := range themeCount {
			for over, unders := range pairs {
				for _, under := range unders {
					a, b := parseColour(t, th.colour(over)), parseColour(t, th.colour(under))
					if got := contrast(a, b); got < least {
						t.Errorf("%s, %s: %s on %s has %.2f, want at least %g", th, what, tokenTable[over].name, tokenTable[under].name, got, least)
					}
				}
			}
		}
	}
	check("text", 4.5, text)
	check("mark", 3, marks)
	// A street stands out from the ground by its tone or by its edge.
	for th := range themeCount {
		for i := range tones {
			under := parseColour(t, th.colour(ground))
			if got := max(contrast(parseColour(t, th.colour(tones[i])), under), contrast(parseColour(t, th.colour(toneEdges[i])), under)); got < 3 {
				t.Errorf("%s: a street of step %d has %.2f against the ground", th, i+1, got)
			}
		}
	}
}

// machado are the matrices for full severity, in linear sRGB: Machado, Oliveira
// and Fernandes 2009, IEEE Trans. Visualization and Computer Graphics 15(6), table
// 1 of their supplement (from memory; each row adds up to 1, so that white stays).
var machado = map[string][3]rgb{
	"protan": {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deutan": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritan": {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// seen is a linear colour as a kind of vision has it, clipped to what a screen shows.
func seen(c rgb, vision string) rgb {
	l := c.linear()
	if vision == "grey" {
		y := c.luminance()
		return rgb{y, y, y}
	}
	m, ok := machado[vision]
	if !ok {
		return l
	}
	var out rgb
	for i, row := range m {
		out[i] = min(1, max(0, row[0]*l[0]+row[1]*l[1]+row[2]*l[2]))
	}
	return out
}

// lab is CIELAB under D65 of a linear sRGB colour (CIE 15; IEC 61966-2-1).
func (c rgb) lab() [3]float64 {
	x := (0.4124564*c[0] + 0.3575761*c[1] + 0.1804375*c[2]) / 0.95047
	y := 0.2126729*c[0] + 0.7151522*c[1] + 0.0721750*c[2]
	z := (0.0193339*c[0] + 0.1191920*c[1] + 0.9503041*c[2]) / 1.08883
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	return [3]float64{116*f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))}
}

// ciede2000 is the colour difference of CIE 142-2001, after Sharma, Wu and Dalal
// 2005, Color Research and Application 30(1):21-30.
func ciede2000(p, q [3]float64) float64 {
	rad := math.Pi / 180
	c1, c2 := math.Hypot(p[1], p[2]), math.Hypot(q[1], q[2])
	c7 := math.Pow((c1+c2)/2, 7)
	g := 0.5 * (1 - math.Sqrt(c7/(c7+math.Pow(25, 7))))
	polar := func(a, b float64) (chroma, hue float64) {
		a *= 1 + g
		chroma = math.Hypot(a, b)
		if chroma == 0 {
			return 0, 0
		}
		hue = math.Atan2(b, a) / rad
		if hue < 0 {
			hue += 360
		}
		return chroma, hue
	}
	k1, a1 := polar(p[1], p[2])
	k2, a2 := polar(q[1], q[2])
	dHue, sum := a2-a1, a1+a2
	mean := sum / 2
	switch {
	case k1*k2 == 0:
		dHue, mean = 0, sum
	case math.Abs(dHue) > 180:
		if dHue > 0 {
			dHue -= 360
		} else {
			dHue += 360
		}
		if sum < 360 {
			mean += 180
		} else {
			mean -= 180
		}
	}
	dH := 2 * math.Sqrt(k1*k2) * math.Sin(dHue/2*rad)
	l, k := (p[0]+q[0])/2, (k1+k2)/2
	turn := 1 - 0.17*math.Cos((mean-30)*rad) + 0.24*math.Cos(2*mean*rad) + 0.32*math.Cos((3*mean+6)*rad) - 0.20*math.Cos((4*mean-63)*rad)
	k7 := math.Pow(k, 7)
	rot := -math.Sin(60*math.Exp(-(mean-275)/25*(mean-275)/25)*rad) * 2 * math.Sqrt(k7/(k7+math.Pow(25, 7)))
	sl := 1 + 0.015*(l-50)*(l-50)/math.Sqrt(20+(l-50)*(l-50))
	x, y, z := (q[0]-p[0])/sl, (k2-k1)/(1+0.045*k), dH/(1+0.015*k*turn)
	return math.Sqrt(x*x + y*y + z*z + rot*y*z)
}

// TestCIEDE2000 checks the formula against pairs of the table in Sharma, Wu and
// Dalal 2005 (from memory), which were chosen to catch wrong implementations.
func TestCIEDE2000(t *testing.T) {
	for _, c := range []struct {
		p, q [3]float64
		want float64
	}{
		{[3]float64{50, 2.6772, -79.7751}, [3]float64{50, 0, -82.7485}, 2.0425},
		{[3]float64{50, 3.1571, -77.2803}, [3]float64{50, 0, -82.7485}, 2.8615},
		{[3]float64{50, 2.8361, -74.0200}, [3]float64{50, 0, -82.7485}, 3.4412},
		{[3]float64{50, -1.3802, -84.2814}, [3]float64{50, 0, -82.7485}, 1.0000},
		{[3]float64{50, 0, 0}, [3]float64{50, -1, 2}, 2.3669},
		{[3]float64{50, -1, 2}, [3]float64{50, 0, 0}, 2.3669},
		{[3]float64{50, 2.49, -0.001}, [3]float64{50, -2.49, 0.0009}, 7.1792},
		{[3]float64{50, 2.49, -0.001}, [3]float64{50, -2.49, 0.0011}, 7.2195},
		{[3]float64{50, -0.001, 2.49}, [3]float64{50, 0.0009, -2.49}, 4.8045},
		{[3]float64{50, -0.001, 2.49}, [3]float64{50, 0.0011, -2.49}, 4.7461},
		{[3]float64{50, 2.5, 0}, [3]float64{50, 0, -2.5}, 4.3065},
		{[3]float64{50, 2.5, 0}, [3]float64{73, 25, -18}, 27.1492},
		{[3]float64{50, 2.5, 0}, [3]float64{61, -5, 29}, 22.8977},
		{[3]float64{50, 2.5, 0}, [3]float64{56, -27, -3}, 31.9030},
		{[3]float64{50, 2.5, 0}, [3]float64{58, 24, 15}, 19.4535},
		{[3]float64{60.2574, -34.0099, 36.2677}, [3]float64{60.4626, -34.1751, 39.4387}, 1.2644},
		{[3]float64{63.0109, -31.0961, -5.8663}, [3]float64{62.8187, -29.7946, -4.0864}, 1.2630},
		{[3]float64{35.0831, -44.1164, 3.7933}, [3]float64{35.0232, -40.0716, 1.5901}, 1.8645},
		{[3]float64{22.7233, 20.0904, -46.6940}, [3]float64{23.0331, 14.9730, -42.5619}, 2.0373},
		{[3]float64{90.9257, -0.5406, -0.9208}, [3]float64{88.6381, -0.8985, -0.7239}, 1.5381},
		{[3]float64{2.0776, 0.0795, -1.1350}, [3]float64{0.9033, -0.0636, -0.5514}, 0.9082},
	} {
		if got := ciede2000(c.p, c.q); math.Abs(got-c.want) > 5e-5 {
			t.Errorf("%v to %v: %.4f, want %.4f", c.p, c.q, got, c.want)
		}
	}
}

// TestMatricesKeepWhite holds each row of the deficiency matrices to the sum 1.
func TestMatricesKeepWhite(t *testing.T) {
	for name, m := range machado {
		for i, row := range m {
			if sum := row[0] + row[1] + row[2]; math.Abs(sum-1) > 2e-6 {
				t.Errorf("%s row %d adds up to %g", name, i, sum)
			}
		}
	}
}

// TestColourVision computes how far apart the tones of the steps and the blue lie for
// every kind of colour vision and in grey. Our bars: neighbours at least 15 in colour and
// 9.5 in grey, the blue against any tone that carries trouble at least 35 in colour; 1 is
// just seen side by side. On paper the first two steps lie 7 apart: width and a black edge
// tell them too.
func TestColourVision(t *testing.T) {
	for th := range themeCount {
		for _, vision := range []string{"normal", "protan", "deutan", "tritan", "grey"} {
			apart := func(a, b token) float64 {
				return ciede2000(seen(parseColour(t, th.colour(a)), vision).lab(), seen(parseColour(t, th.colour(b)), vision).lab())
			}
			for i := range 3 {
				least := 15.0
				if vision == "grey" || th == Print {
					least = 9.5
				}
				if th == Print && i == 0 {
					least = 7
				}
				if d := apart(tones[i], tones[i+1]); d < least {
					t.Errorf("%s, %s: steps %d and %d are %.1f apart, want %g", th, vision, i+1, i+2, d, least)
				}
			}
			for _, f := range []token{k2, k3, k4} {
				if d := apart(need, f); vision != "grey" && th != Print && d < 35 {
					t.Errorf("%s, %s: the blue is %.1f from %s, want 35", th, vision, d, tokenTable[f].name)
				}
			}
		}
	}
}

// TestLightnessFalls: from calm to hard every step is darker than the one before, in
// every theme, and none of them is the colour of a street that was not compared.
func TestLightnessFalls(t *testing.T) {
	for th := range themeCount {
		for i := range 3 {
			a, b := parseColour(t, th.colour(tones[i])).linear().lab()[0], parseColour(t, th.colour(tones[i+1])).linear().lab()[0]
			if a-b < 8 {
				t.Errorf("%s: L* of step %d is %.0f, of step %d %.0f", th, i+1, a, i+2, b)
			}
		}
		for _, k := range tones {
			if th.colour(k) == th.colour(street) {
				t.Errorf("%s: a street that was not compared looks like %s", th, tokenTable[k].name)
			}
		}
	}
}

// TestPageColours holds the page's style sheet to the one table of colours: each theme
// has all of them, and each is a colour.
func TestPageColours(t *testing.T) {
	css, err := os.ReadFile("../../../api/web/src/tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(strings.Join(strings.Fields(string(css)), " "), ":root")
	for th, mark := range map[Theme]string{Light: `[data-theme="light"] {`, Dark: `[data-theme="dark"] {`, Print: `[data-theme] {`} {
		found := false
		for _, b := range blocks {
			if !strings.HasPrefix(b, mark) {
				continue
			}
			found = true
			for k := range tokenCount {
				parseColour(t, th.colour(k))
				if want := fmt.Sprintf(" --%s: %s;", tokenTable[k].name, th.colour(k)); strings.Count(b, want) != 1 {
					t.Errorf("%s: the page lacks %q", th, want)
				}
			}
		}
		if !found {
			t.Errorf("the page has no colours for %s", th)
		}
	}
}
