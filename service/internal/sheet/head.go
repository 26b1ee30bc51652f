package sheet

import (
	"strconv"
	"strings"

	"arris.example/service/internal/paper"
)

// head is what every further page has above all else, in lines: pages are taken apart, and each must say what it sets.
type head struct{ title, facts []string }

// running is the head of a sheet's further pages: its title and all that it rests on.
func (s *sheet) running(facts []fact) head {
	var all []string
	for _, f := range facts {
		all = append(all, f.what+" "+f.is)
	}
	const most = "888"
	beside := paper.Width(s.say("page %s of %s", most, most), textSize, false)
	return head{paper.Wrap(s.title, s.width()-beside, textSize, true), paper.Wrap(strings.Join(all, " · "), s.width(), textSize, false)}
}

// high is what the head takes of a page, with its rule and some air.
func (h head) high() float64 {
	lines := len(h.title) + len(h.facts)
	if lines == 0 {
		return 0
	}
	return float64(lines)*leading*textSize + 5
}

// heads put the running head on all pages but the first, once it is known how many there are.
func (s *sheet) heads() {
	if s.head.high() == 0 {
		return
	}
	for i := 1; i < len(s.pages); i++ {
		p, y := &s.pages[i], border
		write := func(lines []string, bold bool) {
			for _, line := range lines {
				y += leading * textSize
				p.Write(border, y, textSize, bold, line)
			}
		}
		number := s.pageNumber(i)
		p.Write(s.right()-paper.Width(number, textSize, false), border+leading*textSize, textSize, false, number)
		write(s.head.title, true)
		write(s.head.facts, false)
		p.Draw(0.6, paper.Point{X: border, Y: y + 2}, paper.Point{X: s.right(), Y: y + 2})
	}
}

// pageNumber is a page's place among all.
func (s *sheet) pageNumber(i int) string {
	return s.say("page %s of %s", strconv.Itoa(i+1), strconv.Itoa(len(s.pages)))
}
