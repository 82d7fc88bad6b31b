package wire

import (
	"context"

	"golang.org/x/text/language"

	"wideberth/routing/briefing"
)

// readerKey is where the words of who asks stand in a request's context.
type readerKey struct{}

// Reader says how texts are told to who sends an Accept-Language (RFC 9110, 12.5.4):
// in American English and its units where that is the English preferred, else in
// British English and metres. "en" alone says nothing of the United States.
func Reader(accept string) briefing.Words {
	tags, _, err := language.ParseAcceptLanguage(accept)
	if err != nil {
		return briefing.Words{}
	}
	for _, t := range tags { // as preferred
		if base, _ := t.Base(); base.String() != "en" {
			continue
		}
		if region, sure := t.Region(); sure == language.Exact && region.String() == "US" {
			return briefing.Words{Units: briefing.US, TwelveHour: true}
		}
		break
	}
	return briefing.Words{}
}

// WithReader notes how texts of an answer are told.
func WithReader(ctx context.Context, words briefing.Words) context.Context {
	return context.WithValue(ctx, readerKey{}, words)
}

// ReaderOf is how texts of an answer are told; where nobody has noted it, British.
func ReaderOf(ctx context.Context) briefing.Words {
	words, _ := ctx.Value(readerKey{}).(briefing.Words)
	return words
}
