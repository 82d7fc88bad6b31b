package draw

import "strings"

// Theme is the set of colours that a drawing is made in.
type Theme uint8

// The themes.
const (
	Light Theme = iota
	Dark
	Print
	themeCount
)

// String names the theme.
func (t Theme) String() string { return [...]string{"light", "dark", "print"}[min(t, Print)] }

// ParseTheme finds a theme by its name; Light and false for any other.
func ParseTheme(name string) (Theme, bool) {
	for t := range themeCount {
		if t.String() == name {
			return t, true
		}
	}
	return Light, false
}

// token is a colour by what it is for.
type token uint8

// The tokens. No other colour is drawn anywhere.
const (
	page token = iota
	sheet
	ground
	block
	blockEdge
	green
	water
	waterLine
	ink
	ink2
	rule
	need
	needWash
	warnWash
	h1
	h2
	h3
	h4
	h4text
	tokenCount
)

// tokenTable holds the names as in style sheets and the colours by theme. Ink and
// paper, one sepia wash for trouble, one blue for the room a dog needs: sepia and
// blue stay apart for every kind of colour vision and in grey, which the tests
// compute again.
var tokenTable = [tokenCount]struct {
	name   string
	colour [themeCount]string
}{
	page:      {"page", [...]string{"#F1EEE6", "#0F1317", "#FFFFFF"}},
	sheet:     {"sheet", [...]string{"#FFFFFF", "#1A2027", "#FFFFFF"}},
	ground:    {"ground", [...]string{"#E9E4D8", "#161B21", "#FFFFFF"}},
	block:     {"block", [...]string{"#B9B2A4", "#39424D", "#C4C4C4"}},
	blockEdge: {"blockEdge", [...]string{"#635D52", "#8A95A2", "#555555"}},
	green:     {"green", [...]string{"#DCE1D2", "#1D2722", "#F1F1F1"}},
	water:     {"water", [...]string{"#C9D3DA", "#1B2A36", "#E4E4E4"}},
	waterLine: {"waterLine", [...]string{"#5A6E7C", "#7C97AB", "#666666"}},
	ink:       {"ink", [...]string{"#14191F", "#F4F1EA", "#000000"}},
	ink2:      {"ink2", [...]string{"#454C55", "#BFC3C8", "#333333"}},
	rule:      {"rule", [...]string{"#7A7F86", "#7F8894", "#767676"}},
	need:      {"need", [...]string{"#1B4FA0", "#8FBBFF", "#123E86"}},
	needWash:  {"needWash", [...]string{"#E3EBF8", "#1B2B45", "#FFFFFF"}},
	warnWash:  {"warnWash", [...]string{"#F6E7CD", "#33270F", "#FFFFFF"}},
	h1:        {"h1", [...]string{"#FFFFFF", "#0B0E11", "#FFFFFF"}},
	h2:        {"h2", [...]string{"#E6CFA9", "#4A371B", "#DDDDDD"}},
	h3:        {"h3", [...]string{"#AC7432", "#A8742F", "#8C8C8C"}},
	h4:        {"h4", [...]string{"#532A08", "#FFDFA6", "#222222"}},
	h4text:    {"h4text", [...]string{"#FFFFFF", "#2A1602", "#FFFFFF"}},
}

// fills are the washes of the four levels, calmest first.
var fills = [4]token{h1, h2, h3, h4}

func (t Theme) colour(k token) string { return tokenTable[k].colour[t] }

// CSSVariables writes the theme's colours as custom properties, one a line:
// "--ink: #14191F;". The page's style sheet and every drawing share this table.
func CSSVariables(t Theme) string {
	var b strings.Builder
	for k := range tokenCount {
		b.WriteString("--" + tokenTable[k].name + ": " + t.colour(k) + ";\n")
	}
	return b.String()
}
