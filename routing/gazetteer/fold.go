package gazetteer

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// whole are letters that no decomposition makes of a plain one and a mark.
var whole = map[rune]string{'ß': "ss", 'ẞ': "ss", 'ł': "l", 'ø': "o", 'đ': "d", 'ð': "d", 'þ': "th", 'æ': "ae", 'œ': "oe", 'ı': "i", 'ħ': "h", 'ŧ': "t"}

// fold writes a text in small letters without marks (Unicode case folding and NFKD), so
// that "Öhrfeldstraße" and "OHRFELDSTRASSE" are one. An apostrophe joins, all else that
// is neither letter nor digit parts.
func fold(text string) string {
	if plain, ok := foldPlain(text); ok {
		return plain
	}
	return foldAny(text)
}

// foldAny is fold for any text.
func foldAny(text string) string {
	text = norm.NFKD.String(cases.Fold().String(norm.NFKD.String(text))) // before too, as ™ and the like come apart into capitals
	var out strings.Builder
	out.Grow(len(text))
	for _, r := range text {
		switch plain, ok := whole[r]; {
		case ok:
			out.WriteString(plain)
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’' || r == 'ʼ':
		case unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mc, r):
			out.WriteRune(r)
		default:
			out.WriteByte(' ')
		}
	}
	return out.String()
}

// foldPlain is fold for a text of ASCII alone, which most are; false for any other.
func foldPlain(text string) (string, bool) {
	out := make([]byte, 0, len(text))
	for i := range len(text) {
		switch c := text[i]; {
		case c >= utf8.RuneSelf:
			return "", false
		case c >= 'A' && c <= 'Z':
			out = append(out, c+'a'-'A')
		case c >= 'a' && c <= 'z' || c >= '0' && c <= '9':
			out = append(out, c)
		case c != '\'':
			out = append(out, ' ')
		}
	}
	return string(out), true
}

// split gives the words of a text, folded.
func split(text string) []string { return strings.Fields(fold(text)) }

// joined is a text folded with each abbreviation in its first long form, so that "N
// Union St" of a door and "North Union Street" of a street are one.
func joined(text string) string {
	words := split(text)
	for i, w := range words {
		if long := long[w]; len(long) > 0 {
			words[i] = long[0]
		}
	}
	return strings.Join(words, " ")
}

// The abbreviations of words in street names, with what each may stand for; the first is
// the commonest, and no abbreviation itself. English: suffixes and directions of USPS Publication 28, appendix C1 and
// B; German, French, Spanish, Catalan, Italian, Dutch and Portuguese as in common use,
// from memory. One table for all countries: a word that no name of the map holds finds
// nothing.
var long = abbreviations(`
aly alley; anx annex; ave avenue av avinguda avenida; av avenue avinguda avenida; bch beach; bg burg; blf bluff; blvd boulevard bd; bd boulevard;
bnd bend; br branch bridge; brg bridge; brk brook; bvd boulevard; byp bypass; cir circle; ct court; cts courts; ctr center centre; cv cove;
cres crescent; crk creek; crse course; xing crossing; dl dale; dr drive doctor; drs drives; est estate; ests estates; expy expressway; ext extension;
fld field; flds fields; frst forest; frk fork; ft fort; fwy freeway; gdn garden; gdns gardens; gln glen; grn green; grv grove; hbr harbor; hl hill;
hls hills; hts heights; hwy highway; holw hollow; is island; jct junction; knl knoll; knls knolls; lk lake; lks lakes; ln lane; lndg landing;
mdw meadow; mdws meadows; ml mill; mls mills; mnr manor; mt mount; mtn mountain; nck neck; orch orchard; ovlk overlook; pk park; pkwy parkway;
pl place plaza placa platz piazza plein; plz plaza; pln plain; pt point; pte puente porte; rdg ridge; rd road; rds roads; rte route; rt route; riv river;
run run; shr shore; sho shore; spg spring; spgs springs; sq square squares; sta station; st street saint sankt; sts streets; ste sainte suite;
ter terrace; terr terrace; tpke turnpike; trl trail; trce trace; vlg village; vly valley; vw view; wlk walk; wds woods;
n north nord norte; s south sud sur sul; e east est este; w west; ne northeast; nw northwest; se southeast; sw southwest; no north; so south;
str strasse straat strada; g gasse; pl place plaza placa platz piazza plein; bhf bahnhof; hbf hauptbahnhof; gr grosse grote;
all allee; ch chemin; che chemin; imp impasse; rte route; fg faubourg; qu quai; cal calle; c calle carrer; cr carrer; avda avenida avinguda;
avd avenida avinguda; ctra carretera; cmno camino; cno camino; pza plaza; pca placa; pg passeig passatge; pso paseo; ps passeig; ptge passatge;
trav travesia travessera; v via; vle viale; cso corso; pza piazza plaza; lgo largo; ln lane laan; wg weg; dk dijk; pln plein; r rua rue; tv travessa;
jr junior; dr drive doctor; gen general; col colonel; pres president; univ university; elem elementary; hosp hospital; cem cemetery;
1st first; 2nd second; 3rd third; 4th fourth; 5th fifth; 6th sixth; 7th seventh; 8th eighth; 9th ninth; 10th tenth; 11th eleventh; 12th twelfth`)

// short is long the other way round: what each word may be shortened to.
var short = func() map[string][]string {
	out := map[string][]string{}
	for w, longs := range long {
		for _, l := range longs {
			out[l] = append(out[l], w)
		}
	}
	for _, s := range out {
		slices.Sort(s)
	}
	return out
}()

func abbreviations(table string) map[string][]string {
	out := map[string][]string{}
	for _, row := range strings.Split(table, ";") {
		words := strings.Fields(row)
		for _, w := range words[1:] {
			if w != words[0] && !slices.Contains(out[words[0]], w) {
				out[words[0]] = append(out[words[0]], w)
			}
		}
	}
	return out
}

// endings are abbreviations at the end of a compound, as German and Dutch make them.
var endings = map[string][]string{"str": {"strasse", "straat"}, "pl": {"platz", "plein"}, "g": {"gasse"}, "wg": {"weg"}, "ln": {"laan"}}

// leastStem is the length from which a word can be a compound.
const leastStem = 3

// meant is all that a folded word may stand for, itself first.
func meant(word string) []string {
	out := append([]string{word}, long[word]...)
	out = append(out, short[word]...)
	for _, w := range long[word] {
		out = append(out, short[w]...)
	}
	for end, fulls := range endings {
		if stem, ok := strings.CutSuffix(word, end); ok && utf8.RuneCountInString(stem) >= leastStem {
			for _, full := range fulls {
				out = append(out, stem+full)
			}
		}
	}
	for _, w := range slices.Clone(out) {
		out = append(out, undigraph.Replace(w))
	}
	slices.Sort(out[1:])
	return slices.Compact(out)
}

// undigraph takes back what is written for a letter with two dots where a keyboard lacks
// it: names are folded to the letter alone.
var undigraph = strings.NewReplacer("ae", "a", "oe", "o", "ue", "u")

// generic says whether a word is a direction or a sort of street: it does not tell one
// street from another as the others do.
func generic(word string) bool {
	return long[word] != nil || short[word] != nil
}
