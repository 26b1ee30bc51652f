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
	const (
		usual       = 27.0 // with what stays white around it
		raised      = 4.0  // into the border above
		captionSize = 2.3
	)
	module := max(leastModule, usual/float64(c.Across()))
	white := paper.QuietZone * module
	dark := module*float64(c.Across()) - 2*white
	left, top := s.right()-dark, border-raised // where its dark modules begin: what stays white may reach into the border
	s.here().Code(c, paper.Point{X: left - white, Y: top - white}, module)
	y := top + dark + white
	for _, line := range []string{s.say("As of %s.", held.AsOf.UTC().Format(time.DateOnly)), s.say("Scan for changes.")} {
		y += leading * captionSize
		s.here().Write(left, y, captionSize, false, line)
	}
	s.code = corner{dark + white + 2, y - border}
	return nil
}
