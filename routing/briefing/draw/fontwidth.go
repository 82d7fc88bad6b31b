package draw

import "wideberth/routing/briefing"

// Advance widths of the page's font in thousandths of its size, from space to tilde
// and from À to ÿ, regular and bold: measured in a browser from Atkinson
// Hyperlegible Next (SIL Open Font Licence 1.1). They decide where a label
// ends and a line breaks; a fallback font is about as wide.
var (
	asciiWidth = [2][95]uint16{
		{280, 286, 301, 651, 592, 919, 731, 160, 299, 299, 485, 606, 210, 362, 210, 387, 648, 407, 548, 576, 614, 588, 598, 510, 615, 595, 210, 210, 553, 628, 553, 480, 778, 626, 613, 645, 669, 569, 552, 694, 694, 392, 512, 631, 541, 824, 693, 714, 592, 724, 614, 592, 558, 690, 593, 856, 623, 575, 607, 317, 387, 344, 552, 372, 243, 525, 566, 485, 564, 538, 314, 558, 550, 252, 245, 492, 262, 845, 550, 548, 566, 574, 349, 471, 326, 540, 461, 684, 481, 449, 460, 344, 237, 344, 555},
		{313, 303, 390, 765, 610, 969, 725, 210, 335, 335, 485, 595, 271, 373, 272, 440, 659, 440, 579, 600, 624, 608, 626, 537, 624, 571, 272, 272, 569, 612, 569, 547, 781, 678, 643, 658, 689, 597, 566, 718, 701, 425, 561, 664, 552, 858, 717, 747, 629, 757, 650, 610, 607, 686, 644, 886, 685, 650, 618, 340, 440, 344, 582, 400, 288, 552, 596, 510, 596, 563, 365, 593, 571, 300, 259, 555, 318, 882, 571, 576, 596, 599, 376, 508, 376, 567, 530, 740, 540, 521, 506, 381, 254, 381, 537},
	}
	latinWidth = [2][64]uint16{
		{626, 626, 626, 626, 626, 626, 891, 645, 569, 569, 569, 569, 392, 392, 392, 392, 689, 693, 714, 714, 714, 714, 714, 532, 714, 690, 690, 690, 690, 575, 592, 582, 525, 525, 525, 525, 525, 525, 866, 485, 538, 538, 538, 538, 252, 252, 252, 266, 565, 550, 548, 548, 548, 548, 548, 606, 548, 540, 540, 540, 540, 449, 566, 449},
		{678, 678, 678, 678, 678, 678, 966, 658, 597, 597, 597, 597, 425, 425, 425, 425, 709, 717, 747, 747, 747, 747, 747, 536, 747, 686, 686, 686, 686, 650, 629, 621, 552, 552, 552, 552, 552, 552, 878, 510, 563, 563, 563, 563, 300, 300, 300, 314, 588, 571, 576, 576, 576, 576, 576, 595, 576, 567, 567, 567, 567, 521, 596, 521},
	}
)

// Widths of what the tables do not hold, in thousandths: narrow spaces, wide
// scripts and all the rest.
const (
	narrowSpace = 150
	wideRune    = 1000
	otherRune   = 650
)

// textWidth is the width of a text in the units of its size.
func textWidth(s string, size float64, bold bool) float64 {
	k := 0
	if bold {
		k = 1
	}
	sum := 0
	for _, r := range s {
		switch {
		case r >= ' ' && r <= '~':
			sum += int(asciiWidth[k][r-' '])
		case r >= 0xC0 && r <= 0xFF:
			sum += int(latinWidth[k][r-0xC0])
		case r == 0x202F || r == 0x2009:
			sum += narrowSpace
		case r >= 0x2E80:
			sum += wideRune
		default:
			sum += otherRune
		}
	}
	return float64(sum) / 1000 * size
}

// cut shortens a text to a width, with an ellipsis.
func cut(s string, width, size float64, bold bool) string {
	if textWidth(s, size, bold) <= width {
		return s
	}
	r := []rune(s)
	for n := len(r) - 1; n > 0; n-- {
		if t := briefing.Clip(s, n+1); textWidth(t, size, bold) <= width {
			return t
		}
	}
	return "…"
}

// wrap breaks a text at spaces into lines of at most a width, at most so many; what
// is too long is cut.
func wrap(s string, width, size float64, bold bool, most int) []string {
	var lines []string
	line := ""
	flush := func() {
		if line != "" {
			lines = append(lines, cut(line, width, size, bold))
		}
		line = ""
	}
	start := 0
	for i := 0; i <= len(s); i++ {
		if i < len(s) && s[i] != ' ' {
			continue
		}
		word := s[start:i]
		if start = i + 1; word == "" {
			continue
		}
		next := word
		if line != "" {
			next = line + " " + word
		}
		if line != "" && textWidth(next, size, bold) > width {
			flush()
			next = word
		}
		line = next
	}
	flush()
	if len(lines) > most {
		rest := lines[most-1]
		for _, l := range lines[most:] {
			rest += " " + l
		}
		lines = append(lines[:most-1], cut(rest, width, size, bold))
	}
	return lines
}
