package briefing

import (
	"embed"
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"

	"wideberth/exposure"
	"wideberth/routing/briefing/message"
)

// The catalogue is the one place for English: text/en-GB.json holds every text that
// people read, of the page too, by key; text/en-US.json the words that American
// English has instead and the texts that are another in whole. The page is built
// from the same files. The syntax is that of ICU MessageFormat.
//
//go:embed text/*.json
var textFiles embed.FS

// american is what en-US.json holds.
type american struct {
	Words map[string]string `json:"words"` // whole words and phrases, small
	Texts map[string]string `json:"texts"` // by key
	Names map[string]string `json:"names"` // words of street names and what they are on a map
}

// catalogues holds the messages by language, read when they are first asked for.
var catalogues = [...]func() map[string]*message.Message{
	Metric: sync.OnceValue(func() map[string]*message.Message { return messages("en-GB", britishTexts()) }),
	US:     sync.OnceValue(func() map[string]*message.Message { return messages("en-US", americanTexts()) }),
}

// readText reads a file of texts. The files are part of the program, so one that
// cannot be read is a broken build, which the tests meet first.
func readText(name string, into any) {
	text, err := textFiles.ReadFile("text/" + name + ".json")
	if err == nil {
		err = json.Unmarshal(text, into)
	}
	if err != nil {
		panic(fmt.Sprintf("texts of %s: %v", name, err))
	}
}

func britishTexts() (all map[string]string) {
	readText("en-GB", &all)
	return all
}

// americanTexts are the British texts with American words.
func americanTexts() map[string]string {
	var us american
	readText("en-US", &us)
	all := britishTexts()
	swap := us.swapper()
	for key, text := range all {
		all[key] = swap(text)
	}
	maps.Copy(all, us.Texts)
	return all
}

// swapper puts American words in the place of British ones, with a capital where
// there was one. Phrases go before the words in them.
func (a *american) swapper() func(string) string {
	words := slices.SortedFunc(maps.Keys(a.Words), func(x, y string) int { return len(y) - len(x) })
	find := regexp.MustCompile(`(?i)\b(` + strings.Join(words, "|") + `)\b`)
	return func(text string) string {
		return find.ReplaceAllStringFunc(text, func(word string) string {
			small := strings.ToLower(word)
			if swapped := a.Words[small]; word == small {
				return swapped
			} else {
				return Sentence(swapped)
			}
		})
	}
}

var americanise = sync.OnceValue(func() func(string) string {
	var us american
	readText("en-US", &us)
	return us.swapper()
})

func messages(lang string, texts map[string]string) map[string]*message.Message {
	all := make(map[string]*message.Message, len(texts))
	for key, text := range texts {
		m, err := message.Parse(lang, text)
		if err != nil {
			panic(fmt.Sprintf("text %s of %s: %v", key, lang, err))
		}
		all[key] = m
	}
	return all
}

var shortWords = sync.OnceValue(func() map[string]string {
	var us american
	readText("en-US", &us)
	return us.Names
})

// ShortStreet is the name of an American street as it stands on maps and in tables:
// its first word, where that is a point of the compass, and its last ones shortened.
// "North Market Street" is "N Market St". Lists that are read aloud keep the whole name.
func ShortStreet(name string) string {
	words := strings.Fields(name)
	short := func(i int, compassOnly bool) bool {
		s, ok := shortWords()[words[i]]
		if ok = ok && (len(s) == 1 || !compassOnly); ok {
			words[i] = s
		}
		return ok
	}
	if len(words) < 2 {
		return name
	}
	last := len(words) - 1
	if short(last, false) && len(words[last]) == 1 && last > 1 {
		short(last-1, false)
	}
	if last > 1 {
		short(0, true)
	}
	return strings.Join(words, " ")
}

// Common is a common noun of the tables of kinds and sources, like "dogs on lead on
// other ways", in the reader's English. It is not for names.
func (w Words) Common(noun string) string {
	if w.Units == US {
		return americanise()(noun)
	}
	return noun
}

// Called is what ground is called: its name as it is, or, where it has none, what it
// is: "the pavement" in the reader's English.
func (w Words) Called(name string) string {
	if what, nameless := strings.CutPrefix(name, "the "); nameless {
		return "the " + w.Class(what)
	}
	return name
}

// Met is what moves or stays along a walk, as routing names it for a kind: "dogs on lead
// near the pavement" in the reader's English. The name of a source is left alone.
func (w Words) Met(name string, k exposure.Kind) string {
	for _, where := range []string{" on ", " near "} {
		if place, stream := strings.CutPrefix(name, k.Plural()+where); stream {
			return w.Common(k.Plural()) + where + w.Called(place)
		}
	}
	return name
}

// Class is what a way without a name is, in a word of the reader's English.
func (w Words) Class(sort string) string {
	if key := "class." + sort; w.has(key) {
		return strings.ToLower(w.Say(key))
	}
	return sort
}

// Say gives a text with its named places filled in: pairs of name and value, which
// is a string, an int or a float64. A key that does not exist is given back.
func (w Words) Say(key string, pairs ...any) string {
	m, ok := catalogues[w.Units]()[key]
	if !ok {
		return key
	}
	return m.Text(pairs...)
}

// has says whether a text exists.
func (w Words) has(key string) bool { _, ok := catalogues[w.Units]()[key]; return ok }
