package gazetteer

import (
	"fmt"
	"slices"

	"github.com/blevesearch/vellum"

	"wideberth/osmdata/flatfile"
)

// Words is every word of a map's names: it says whether a text can mean a place of that
// map, without the map. Immutable; may be shared.
type Words struct{ known *vellum.FST }

// Words are those of the gazetteer, and hold as long as it does.
func (g *Gazetteer) Words() *Words { return &Words{known: g.words} }

// DecodeWords reads the words of a gazetteer that Encode wrote. They are a copy, which
// outlives the file. Errors wrap those of package flatfile.
func DecodeWords(f *flatfile.File, prefix string) (*Words, error) {
	raw, err := flatfile.TakeSure[byte](f, WordsSection(prefix))
	if err != nil {
		return nil, err
	}
	w, err := &Words{}, errWords
	unlessBroken(func() { w.known, err = vellum.Load(slices.Clone(raw)) })
	if err != nil {
		return nil, &flatfile.FormatError{Section: WordsSection(prefix), Err: fmt.Errorf("%w: %w", flatfile.ErrDamaged, err)}
	}
	return w, nil
}

// Holding is how many words of a text the map may have, as they are written, abbreviated
// or begun; and how many of its numbers are words there, as postcodes are. Letters are not
// forgiven.
func (w *Words) Holding(text string) (words, numbers int) {
	for _, t := range question(text) {
		switch found := len(spellings(w.known, t, false, 1)) > 0; {
		case found && t.number:
			numbers++
		case found:
			words++
		}
	}
	return words, numbers
}
