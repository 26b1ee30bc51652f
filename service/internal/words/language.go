package words

import (
	"embed"
	"encoding/json"
	"strings"
	"sync"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"
)

// Language is one that texts can be said in. The zero value is English, as are its texts, so it needs no catalogue and costs nothing.
type Language struct{ own *speech }

// speech is a language's texts, and how numbers are written where it is spoken.
type speech struct {
	code  string
	mark  string // between whole and decimals
	texts map[string]string
}

// of is a text in this language. The test of this package sees to it that none is missing.
func (s *speech) of(text string) string {
	if own, ok := s.texts[text]; ok {
		return own
	}
	return text
}

// languages are those spoken, the first being English.
var languages = []language.Tag{language.English, language.German, language.Spanish}

// Codes are the codes of the languages spoken.
func Codes() []string {
	codes := make([]string, len(languages))
	for i, tag := range languages {
		codes[i] = tag.String()
	}
	return codes
}

// Code is a language's.
func (l Language) Code() string {
	if l.own == nil {
		return "en"
	}
	return l.own.code
}

var matcher = language.NewMatcher(languages)

// In finds the language of a tag (BCP 47); none is English. A region, as in de-AT, only says how numbers are written. Tags of languages
// that are not spoken here are not found, but for those whose speakers read one that is, as CLDR has it: gsw is de.
func In(tag string) (Language, bool) {
	if tag == "" || tag == "en" {
		return Language{}, true
	}
	if s := speeches()[tag]; s != nil {
		return Language{s}, true
	}
	asked, err := language.Parse(tag)
	if err != nil {
		return Language{}, false
	}
	_, which, sure := matcher.Match(asked)
	if sure < language.High {
		return Language{}, false
	}
	s := speeches()[languages[which].String()]
	if s == nil {
		return Language{}, true
	}
	return Language{&speech{code: s.code, mark: markOf(asked), texts: s.texts}}, true
}

// markOf is what stands between whole and decimals where a language is spoken: a point in Mexico, a comma in Spain.
func markOf(tag language.Tag) string {
	return strings.Trim(message.NewPrinter(tag).Sprint(number.Decimal(1.5)), "15")
}

//go:embed de.json es.json
var files embed.FS

// speeches are all languages but English, by their codes; read when somebody first asks for one.
var speeches = sync.OnceValue(func() map[string]*speech {
	all := map[string]*speech{}
	for _, tag := range languages[1:] {
		s := &speech{code: tag.String(), mark: markOf(tag)}
		text, err := files.ReadFile(s.code + ".json")
		if err == nil {
			err = json.Unmarshal(text, &s.texts)
		}
		if err != nil {
			panic(err) // it is built in, and tested
		}
		all[s.code] = s
	}
	return all
})
