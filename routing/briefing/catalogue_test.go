package briefing

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/routing/briefing/message"
)

// filled gives each text with every named place filled by something likely.
func filled(m *message.Message) string {
	likely := map[string]any{"n": 7, "distance": "38 m", "length": "390 m", "minutes": "13 min", "seconds": "20 seconds", "clock": "07:10",
		"low": 5, "high": 8, "dog": "Kessa", "name": "Race Walk", "x": "0.36", "from": "3", "to": "7", "map": "Map of 20 November 2026."}
	var pairs []any
	for _, place := range m.Places() {
		if v, ok := likely[place]; ok {
			pairs = append(pairs, place, v)
		} else {
			pairs = append(pairs, place, "…")
		}
	}
	return m.Text(pairs...)
}

// TestForbiddenWords holds the texts to the rules: no certainty, no per cent for
// chances, no pronoun for the dog, side words never after a number, no blame and no
// force.
func TestForbiddenWords(t *testing.T) {
	rules := map[string]*regexp.Regexp{
		"certainty":             regexp.MustCompile(`(?i)\b(10|0) of 10\b|\b(safe|safely|safety|risk|risks|risky|danger\w*|guarantee\w*)\b`),
		"a pronoun for the dog": regexp.MustCompile(`(?i)\b(he|she|him|her|his|hers)\b`),
		"a side after a number": regexp.MustCompile(`(?i)\d\s*(m|km|ft|mi|min|minutes?|seconds?)?\s+(left|right)\b`),
		"left for remaining":    regexp.MustCompile(`(?i)\b(min|minutes|metres|time)\s+left\b`),
		"shouting":              regexp.MustCompile(`!`),
		"an aversive tool":      regexp.MustCompile(`(?i)\b(prong|choke|shock|spray|e-collar|correct\w*|punish\w*|scold)\b`),
		"chance without count":  regexp.MustCompile(`(?i)\b(likely|unlikely|rarely|probably)\b`),
		"a tag":                 regexp.MustCompile(`[<>]`), // the page's reader would take it for markup
		"per cent":              regexp.MustCompile(`%`),
	}
	of := map[string]string{} // shares of a walk or of evidence: no chances
	for _, key := range []string{"sure.mixed", "sure.room", "note.repeated", "assumed.room", "assumed.room.short", "assumed.pavements"} {
		of[key] = "per cent"
	}
	for units, all := range catalogues {
		for key, m := range all() {
			for what, rule := range rules {
				if hit := rule.FindString(filled(m)); hit != "" && of[key] != what {
					t.Errorf("units %d, %s: %s: %q", units, key, what, hit)
				}
			}
		}
	}
}

// TestAmericanWords: with feet and miles come leash, sidewalk, stroller and curb;
// every word of the list is in some text, and a swap changes no place.
func TestAmericanWords(t *testing.T) {
	british := regexp.MustCompile(`(?i)\b(leads?|pavement|prams?|kerb|lorry|lorries|turn round|behaviour|metres|colours?|centre|learnt|cycle path)\b`)
	gb, us := britishTexts(), americanTexts()
	for key, text := range us {
		if hit := british.FindString(text); hit != "" {
			t.Errorf("%s: %q", key, hit)
		}
		a, b := catalogues[Metric]()[key].Places(), catalogues[US]()[key].Places()
		if !slices.Equal(a, b) {
			t.Errorf("%s: places %v in one language, %v in the other", key, a, b)
		}
	}
	var list american
	readText("en-US", &list)
	var whole strings.Builder
	for _, text := range gb {
		whole.WriteString(text + "\n")
	}
	for word := range list.Words {
		if !regexp.MustCompile(`(?i)\b` + word + `\b`).MatchString(whole.String()) {
			t.Errorf("no text says %q", word)
		}
	}
	for key, text := range list.Texts {
		if old, ok := gb[key]; !ok || old == text {
			t.Errorf("%s: %q against %q", key, text, old)
		}
	}
	swap := list.swapper()
	if got := swap("Turn round. Lorry, dog on lead; leaded, misleads, LEAD: leads"); got != "Turn around. Truck, dog on leash; leaded, misleads, Leash: leashes" {
		t.Error(got)
	}
}

// said is where a text is asked for in a source file.
type said struct {
	file   string
	line   int
	key    string
	places []string
	known  bool // the places stand there by name
}

// saidInGo finds what Go sources say by a key that stands there whole.
func saidInGo(t *testing.T, dirs ...string) (out []said) {
	t.Helper()
	for _, dir := range dirs {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %v, %v", dir, files, err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, name, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(f, func(n ast.Node) bool {
				call, ok := n.(*ast.CallExpr)
				if !ok || len(call.Args) == 0 {
					return true
				}
				if fun, ok := call.Fun.(*ast.SelectorExpr); !ok || fun.Sel.Name != "Say" {
					return true
				}
				s := said{file: name, line: set.Position(call.Pos()).Line, known: !call.Ellipsis.IsValid()}
				if key, ok := text(call.Args[0]); ok {
					s.key = key
				} else {
					return true
				}
				for i := 1; i < len(call.Args); i += 2 {
					place, ok := text(call.Args[i])
					s.known = s.known && ok
					s.places = append(s.places, place)
				}
				out = append(out, s)
				return true
			})
		}
	}
	return out
}

func text(e ast.Expr) (string, bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(lit.Value)
	return s, err == nil
}

// goRooms are the folders whose sources say texts.
var goRooms = []string{".", "draw", "../../api", "../../api/problem", "../../api/wire", "../../api/wire/roster", "../../cmd/wideberth"}

// TestSaidExists: every key that Go says exists and gets the places that it names,
// no more and no fewer.
func TestSaidExists(t *testing.T) {
	all := saidInGo(t, goRooms...)
	if len(all) < 100 {
		t.Fatalf("only %d texts are said", len(all))
	}
	for _, s := range all {
		m, ok := catalogues[Metric]()[s.key]
		if !ok {
			t.Errorf("%s:%d: no text for %q", s.file, s.line, s.key)
			continue
		}
		slices.Sort(s.places)
		if s.known && !slices.Equal(s.places, m.Places()) {
			t.Errorf("%s:%d: %s is given %v, its text names %v", s.file, s.line, s.key, s.places, m.Places())
		}
	}
}

// sources is the text of all that may say something: Go, and the page.
func sources(t *testing.T) string {
	t.Helper()
	var all strings.Builder
	read := func(name string) { all.WriteString(readFile(t, name)) }
	for _, dir := range goRooms {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			if !strings.HasSuffix(name, "_test.go") {
				read(name)
			}
		}
	}
	pages := 0
	err := filepath.WalkDir("../../api/web/src", func(path string, d fs.DirEntry, err error) error {
		if err == nil && (strings.HasSuffix(path, ".ts") || strings.HasSuffix(path, ".tsx")) {
			read(path)
			pages++
		}
		return err
	})
	if err != nil || pages < 10 {
		t.Fatal(pages, err)
	}
	return all.String()
}

// TestTextsAreSaid: every text is said by Go or by the page, whole or as one of a
// family whose beginning is made into a key.
func TestTextsAreSaid(t *testing.T) {
	code := sources(t)
	made := map[string]bool{}
	for _, m := range regexp.MustCompile("[\"`]([a-zA-Z_.]+\\.)(?:\" *\\+|\\$\\{)").FindAllStringSubmatch(code, -1) {
		made[m[1]] = true
	}
	for key := range catalogues[Metric]() {
		if strings.Contains(code, `"`+key+`"`) || strings.Contains(code, "`"+key+"`") {
			continue
		}
		family := false
		for i := range key {
			last := !strings.Contains(key[i+1:], ".") || strings.HasPrefix(key, "kind.") || strings.HasPrefix(key, "category.") || strings.HasPrefix(key, "assumed.")
			family = family || key[i] == '.' && made[key[:i+1]] && last
		}
		if !family {
			t.Errorf("nobody says %q", key)
		}
	}
}

// TestSorted: keys stand one a line, in order, each once, so that two who add texts
// meet only where they add the same.
func TestSorted(t *testing.T) {
	line := regexp.MustCompile(`(?m)^( +)"([^"]+)": `)
	for _, name := range []string{"en-GB", "en-US"} {
		b, err := textFiles.ReadFile("text/" + name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		deep, last := "", ""
		for _, m := range line.FindAllStringSubmatch(string(b), -1) {
			if m[1] == deep && m[2] <= last {
				t.Errorf("%s: %q stands after %q", name, m[2], last)
			}
			deep, last = m[1], m[2]
		}
	}
	if n := len(line.FindAllString(readFile(t, "text/en-GB.json"), -1)); n != len(britishTexts()) {
		t.Errorf("%d lines with a key, %d keys", n, len(britishTexts()))
	}
}

func readFile(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestEveryKindHasWords: all kinds and categories in every form.
func TestEveryKindHasWords(t *testing.T) {
	for _, units := range []Units{Metric, US} {
		w := Words{Units: units}
		for _, form := range []string{"one", "count", "many", "row"} {
			for k := range exposure.KindCount {
				if !w.has("kind." + k.String() + "." + form) {
					t.Errorf("kind %s has no %s", k, form)
				}
			}
			for c := range exposure.CategoryCount {
				if !w.has("category." + c.String() + "." + form) {
					t.Errorf("category %s has no %s", c, form)
				}
			}
		}
		for k := range exposure.KindCount {
			if one := w.Say("kind."+k.String()+".count", "n", 1); !strings.HasPrefix(one, "1 ") {
				t.Errorf("one of %s is %q", k, one)
			}
		}
	}
}

// TestShortStreet shortens as street signs in the United States do: the abbreviations
// are those of USPS Publication 28, appendix C1 and its list of directionals.
func TestShortStreet(t *testing.T) {
	for name, want := range map[string]string{
		"North Market Street": "N Market St", "West 9th Street": "W 9th St", "Weldin Circle": "Weldin Cir", "Main Street South": "Main St S",
		"North Street": "North St", "Street Road": "Street Rd", "Broadway": "Broadway", "Drive": "Drive", "Kiln Park": "Kiln Park", "Place Road East": "Place Rd E",
		"Avenue of the States": "Avenue of the States", "": "",
	} {
		if got := ShortStreet(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}
