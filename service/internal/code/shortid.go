// Package code is what stands in the codes on labels and sheets, and what a scanned or typed one is of.
package code

import (
	"strings"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/store"
)

// Short ids are printed below a code for those who type: `T.BOWL-GOUGE-12.3` is the tool bowl-gouge-12. The id is the record's own, so that
// nothing has to be kept for it, and no record's id looks like one, for it has no full stops.

// collections are what has short ids, with the letters that these begin with.
var collections = []struct{ name, letter string }{{"tools", "T"}, {"stations", "S"}, {"wheels", "W"}, {"holders", "H"}, {"recipes", "R"}}

// symbols are the characters of ISO/IEC 7064, MOD 37-2, by their values. An id's hyphen counts as the last one.
const symbols = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"

// ShortID is the short id of a record of a kind that has one; others have none.
func ShortID(name string) string {
	for _, c := range collections {
		if c.name == store.KindOf(name) {
			id := strings.ToUpper(name[strings.LastIndex(name, "/")+1:])
			return c.letter + "." + id + "." + string(checkOf(c.letter+id))
		}
	}
	return ""
}

// checkOf is the check character of a text by ISO/IEC 7064, MOD 37-2: with it behind, the characters' values times the powers of two, 1 for the
// last, add up to 1 modulo 37. Since 37 is a prime, no other character at one place, and no two that changed places, give the same.
func checkOf(text string) byte {
	sum := 0
	for _, r := range strings.ReplaceAll(text, "-", "*") {
		sum = (sum + strings.IndexRune(symbols, r)) * 2 % len(symbols)
	}
	return symbols[(len(symbols)+1-sum)%len(symbols)]
}

// readShortID gives the collection and the id of a short id as it was typed. Is tells whether it looks like one at all.
func readShortID(typed string) (collection, id string, is bool, err error) {
	parts := strings.FieldsFunc(strings.ToUpper(typed), func(r rune) bool { return r == '.' || r == ' ' })
	if len(parts) != 3 || strings.Trim(parts[1], symbols+"-") != "" || strings.Contains(parts[1], "*") {
		return "", "", false, nil
	}
	for _, c := range collections {
		if c.letter == parts[0] {
			collection = c.name
		}
	}
	if collection == "" {
		return "", "", false, nil
	}
	if want := string(checkOf(parts[0] + parts[1])); parts[2] != want {
		return "", "", true, fault.Field("code", fault.BadForm, "ends in %.10q where %s.%.63s ends in %s: a character is wrong, or two changed places; read it again",
			parts[2], parts[0], parts[1], want)
	}
	return collection, strings.ToLower(parts[1]), true, nil
}
