package store

import (
	"maps"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// longestSearch is how many folded letters of a text are searched.
const longestSearch = 300

// Fold is a text as search sees it: no accents, no case, single spaces.
func Fold(text string) string {
	bare, _, err := transform.String(transform.Chain(norm.NFKD, runes.Remove(runes.In(unicode.Mn))), text)
	if err != nil {
		bare = text
	}
	words := strings.FieldsFunc(strings.ToLower(bare), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) })
	letters := []rune(strings.Join(words, " "))
	return string(letters[:min(len(letters), longestSearch)])
}

// Trigrams are a folded text's groups of three letters, sorted, each once; every word counts with two spaces before and one behind, so that its
// beginning weighs most.
func Trigrams(folded string) []string {
	found := map[string]bool{}
	for _, word := range strings.Fields(folded) {
		letters := []rune("  " + word + " ")
		for i := range len(letters) - 2 {
			found[string(letters[i:i+3])] = true
		}
	}
	return slices.Sorted(maps.Keys(found))
}

// SearchText is what search looks at in a draft: its id and display name, and what other systems call it.
func (d Draft) SearchText() string {
	parts := []string{d.Name[strings.LastIndex(d.Name, "/")+1:], d.DisplayName}
	for _, id := range d.ExternalIDs {
		parts = append(parts, id.Value)
	}
	return Fold(strings.Join(parts, " "))
}
