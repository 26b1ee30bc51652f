package sheet

import (
	"arris.example/geometry/unit"
	"arris.example/service/internal/setup"
	"arris.example/service/internal/words"
)

// speech is how paper speaks: in which language, and of lengths in which unit. Whatever is put on paper is said by it.
type speech struct {
	words.Language
	unit setup.LengthUnit
}

// speechOf is a question's. A language that is not spoken has been refused by whoever solved it.
func speechOf(q setup.Question) speech {
	in, _ := words.In(q.Language)
	return speech{in, q.Unit}
}

func (in speech) say(t words.Text, args ...string) string { return in.Say(t, args...) }

func (in speech) length(l unit.Length, places int) string {
	return setup.SayLength(in.Language, l, in.unit, places)
}
