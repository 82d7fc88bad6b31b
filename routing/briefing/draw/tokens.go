package draw

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
	k1 // calm for here
	k2
	k3
	k4 // hardest here
	k1Edge
	kEdge // of k2 and k3
	k4Edge
	k3text   // numbers on k1 to k3; those on k4 are mapSheet
	mapSheet // under the line of a walk: light in both themes
	mapInk   // the line itself: dark in both
	walkEdge
	street // not compared
	streetEdge
	tokenCount
)

// tokenTable holds the names as in style sheets and the colours by theme. Ink and
// paper, one sepia ramp for trouble, one blue for the room a dog needs: sepia and blue
// stay apart for every kind of colour vision, which the tests compute again.
var tokenTable = [tokenCount]struct {
	name   string
	colour [themeCount]string
}{
	page:       {"page", [...]string{"#F1EEE6", "#0F1317", "#FFFFFF"}},
	sheet:      {"sheet", [...]string{"#FFFFFF", "#1A2027", "#FFFFFF"}},
	ground:     {"ground", [...]string{"#E9E4D8", "#161B21", "#FFFFFF"}},
	block:      {"block", [...]string{"#D3CCBE", "#262D36", "#DDDDDD"}},
	blockEdge:  {"blockEdge", [...]string{"#948C7E", "#4D5763", "#777777"}},
	green:      {"green", [...]string{"#D5DECB", "#1C2A22", "#F1F1F1"}},
	water:      {"water", [...]string{"#C4D2DB", "#1B2F40", "#E4E4E4"}},
	waterLine:  {"waterLine", [...]string{"#5A6E7C", "#7C97AB", "#666666"}},
	ink:        {"ink", [...]string{"#14191F", "#F4F1EA", "#000000"}},
	ink2:       {"ink2", [...]string{"#454C55", "#BFC3C8", "#333333"}},
	rule:       {"rule", [...]string{"#7A7F86", "#7F8894", "#767676"}},
	need:       {"need", [...]string{"#1B4FA0", "#8FBBFF", "#123E86"}},
	needWash:   {"needWash", [...]string{"#E3EBF8", "#1B2B45", "#FFFFFF"}},
	warnWash:   {"warnWash", [...]string{"#F6E7CD", "#33270F", "#FFFFFF"}},
	k1:         {"k1", [...]string{"#FFFFFF", "#F7F3EA", "#FFFFFF"}},
	k2:         {"k2", [...]string{"#EBCF95", "#C9AC74", "#DDDDDD"}},
	k3:         {"k3", [...]string{"#AA7636", "#A6763A", "#8C8C8C"}},
	k4:         {"k4", [...]string{"#4A2A10", "#23160B", "#1A1A1A"}},
	k1Edge:     {"k1Edge", [...]string{"#14191F", "#0B0E11", "#000000"}},
	kEdge:      {"kEdge", [...]string{"#8A7F6C", "#0B0E11", "#555555"}},
	k4Edge:     {"k4Edge", [...]string{"#4A2A10", "#86693F", "#000000"}},
	k3text:     {"k3text", [...]string{"#14191F", "#0B0E11", "#000000"}},
	mapSheet:   {"mapSheet", [...]string{"#FFFFFF", "#F7F3EA", "#FFFFFF"}},
	mapInk:     {"mapInk", [...]string{"#14191F", "#14191F", "#000000"}},
	walkEdge:   {"walkEdge", [...]string{"#14191F", "#F7F3EA", "#000000"}},
	street:     {"street", [...]string{"#F5F1E9", "#232A33", "#F4F4F4"}},
	streetEdge: {"streetEdge", [...]string{"#C2BAAB", "#3A434E", "#AAAAAA"}},
}

// Tones and edges of the four steps of ground, calmest first. White is calm in daylight,
// in the dark and on paper; lightness and width change together.
var (
	tones     = [4]token{k1, k2, k3, k4}
	toneEdges = [4]token{k1Edge, kEdge, kEdge, k4Edge}
)

func (t Theme) colour(k token) string { return tokenTable[k].colour[t] }
