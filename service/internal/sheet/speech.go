package sheet

import (
	"arris.example/service/internal/setup"
	"arris.example/service/internal/words"
)

// speech is how paper speaks. Whatever is put on paper is said by it.
type speech struct{ setup.Speech }

// speechOf is a question's. A language that is not spoken has been refused by whoever solved it.
func speechOf(q setup.Question) speech {
	in, _ := setup.SpeechIn(q.Language, q.Unit)
	return speech{in}
}

func (in speech) say(t words.Text, args ...string) string { return in.Say(t, args...) }
