package sheet

import (
	"regexp"
	"strconv"
	"strings"

	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// Missing is what has no sheet in a volume, and why.
type Missing struct{ Key, Why string }

// Missing lays out what a volume does not have.
func (m Maker) Missing(in setup.Speech, all []Missing, size paper.Size) paper.Document {
	s := &sheet{speech: speech{in}, size: size, engine: m.Engine}
	s.page()
	s.title = s.say("Not in this volume: %s", strconv.Itoa(len(all)))
	s.head = s.running(nil)
	s.lines(border, s.width(), titleSize, true, s.title)
	s.y += 2
	s.rule(0.6)
	s.y += 2
	for _, one := range all {
		s.room(4 * leading * textSize)
		s.lines(border, s.width(), stepSize, true, one.Key)
		s.lines(border, s.width(), textSize, false, plainly(one.Why))
		s.y += 2
	}
	s.heads()
	s.footers()
	return paper.Document{Pages: s.pages}
}

// plainly is a refusal for people at a printer: fields of the API are told by their words, "given.stick_out_mm" as "stick-out". What is in
// quotes is somebody's own and stays.
func plainly(why string) string {
	parts := strings.Split(why, `"`)
	for i := 0; i < len(parts); i += 2 {
		parts[i] = fieldPath.ReplaceAllStringFunc(parts[i], fieldWords)
	}
	return strings.Join(parts, `"`)
}

// fieldPath is what only a field's name looks like: words joined by points or underscores, or with a place in a list.
var fieldPath = regexp.MustCompile(`\b[a-z]+(?:_[a-z]+)*(?:\[\d+\])?(?:\.[a-z]+(?:_[a-z]+)*(?:\[\d+\])?)+|\b[a-z]+(?:(?:_[a-z]+)+(?:\[\d+\])?|\[\d+\])`)

var (
	fieldUnit = regexp.MustCompile(`_(mm|deg|rpm|mps|percent|count)$`)
	listPlace = regexp.MustCompile(`s?\[(\d+)\]$`)
)

// fieldWords are a field's own name in words, behind that of the bevel or point that it is of.
func fieldWords(path string) string {
	names := strings.Split(path, ".")
	var say []string
	for i, name := range names {
		place := listPlace.FindStringSubmatch(name)
		if i < len(names)-1 && place == nil {
			continue // where it is in a request
		}
		if place != nil {
			n, _ := strconv.Atoi(place[1])
			name = listPlace.ReplaceAllString(name, "") + " " + strconv.Itoa(n+1)
		}
		name = strings.ReplaceAll(fieldUnit.ReplaceAllString(name, ""), "_", " ")
		say = append(say, strings.Replace(name, "stick out", "stick-out", 1))
	}
	return strings.Join(say, ", ")
}
