package sheet

import (
	"strconv"

	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// Missing is what has no sheet in a volume, and why.
type Missing struct{ Key, Why string }

// Missing lays out what a volume does not have.
func (m Maker) Missing(in setup.Speech, all []Missing, size paper.Size) paper.Document {
	s := &sheet{speech: speech{in}, size: size, engine: m.Engine}
	s.page()
	s.lines(border, s.width(), titleSize, true, s.say("Not in this volume: %s", strconv.Itoa(len(all))))
	s.y += 2
	s.rule(0.6)
	s.y += 2
	for _, one := range all {
		s.room(4 * leading * textSize)
		s.lines(border, s.width(), stepSize, true, one.Key)
		s.lines(border, s.width(), textSize, false, one.Why)
		s.y += 2
	}
	s.footers()
	return paper.Document{Pages: s.pages}
}
