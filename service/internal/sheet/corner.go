package sheet

import (
	"time"

	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// corner is the room that a code takes in the heading's upper right corner.
type corner struct{ width, height float64 }

// sheetCode puts the code that leads to what changed since into the sheet's corner, with a line that says so. Without a public address there is
// none, nor where nothing of a shop is on the sheet.
func (m Maker) sheetCode(s *sheet, q setup.Question, b setup.Basis) error {
	held, worth := m.held(q, b)
	if m.Public == "" || !worth {
		return nil
	}
	c, err := paper.NewCode(held.Address(m.Public))
	if err != nil {
		return err
	}
	const usual, below, captionSize = 30.0, 1.0, 2.6
	module := max(leastModule, usual/float64(c.Across()))
	wide := module * float64(c.Across())
	dark := wide - 2*paper.QuietZone*module
	// What stays white may reach into the border, so that the modules end where the page's lines end.
	at := paper.Point{X: s.right() - dark - paper.QuietZone*module, Y: border - paper.QuietZone*module}
	s.here().Code(c, at, module)
	y := border + dark + paper.QuietZone*module + below
	left := s.right() - dark
	for _, line := range paper.Wrap("As of "+held.AsOf.UTC().Format(time.DateOnly)+". Scan it to see what has changed.", dark, captionSize, false) {
		y += leading * captionSize
		s.here().Write(left, y, captionSize, false, line)
	}
	s.code = corner{dark + paper.QuietZone*module + 2, y - border}
	return nil
}
