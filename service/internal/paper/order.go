package paper

import (
	"slices"
	"strings"
	"unicode"

	"github.com/go-text/typesetting/bidi"
	classes "golang.org/x/text/unicode/bidi"
)

// Where letters of one direction stand among those of the other: the Unicode bidirectional algorithm (UAX 9).

// Marks of an isolate: what stands between begin and end has an order of its own, and does not change that of what stands around it.
const (
	rightwardsIsolate = '\u2066'
	leftwardsIsolate  = '\u2067'
	endOfIsolate      = '\u2069'
	isolate           = '\ufffc' // stands for one in the order of a line
)

// Isolate is a name as it can stand in any line: numbers beside it stay where they are though it be written from right to left, and marks of
// direction in it change nothing.
func Isolate(name string) string {
	name = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Bidi_Control, r) {
			return -1
		}
		return r
	}, name)
	begin := rune(0)
	for _, r := range name {
		switch class(r) {
		case classes.R, classes.AL:
			if begin == 0 {
				begin = leftwardsIsolate
			}
			return string(begin) + name + string(endOfIsolate)
		case classes.L:
			begin = rightwardsIsolate
		}
	}
	return name
}

// isolatesWhole ends isolates where their line ends, and begins them again on the next one.
func isolatesWhole(lines []string) []string {
	var open []rune
	for i, line := range lines {
		whole := string(open) + line
		for _, r := range line {
			switch {
			case r == leftwardsIsolate || r == rightwardsIsolate:
				open = append(open, r)
			case r == endOfIsolate && len(open) > 0:
				open = open[:len(open)-1]
			}
		}
		lines[i] = whole + strings.Repeat(string(endOfIsolate), len(open))
	}
	return lines
}

func class(r rune) classes.Class {
	p, _ := classes.LookupRune(r)
	return p.Class()
}

// isolated is an isolate's text.
type isolated struct {
	text      []rune
	leftwards bool
}

// lift takes the isolates out of a text, by where they stand in what is left. One that does not end goes on to the end.
func lift(text []rune) (rest []rune, isolates map[int]isolated) {
	isolates = map[int]isolated{}
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case leftwardsIsolate, rightwardsIsolate:
			end, open := i+1, 1
			for ; end < len(text); end++ {
				switch text[end] {
				case endOfIsolate:
					open--
				case leftwardsIsolate, rightwardsIsolate:
					open++
				}
				if open == 0 {
					break
				}
			}
			isolates[len(rest)] = isolated{text[i+1 : end], text[i] == leftwardsIsolate}
			rest, i = append(rest, isolate), end
		case endOfIsolate:
		default:
			rest = append(rest, text[i])
		}
	}
	return rest, isolates
}

// run is a stretch of letters on one level: even ones run from left to right, odd ones from right to left.
type run struct{ start, end, level int }

// runs are a text's, as they stand from left to right (rule L2). Each isolate is one of its own.
func runs(order *bidi.Paragraph, text []rune, leftwards bool) []run {
	var all []run
	for i, level := range levels(order, text, leftwards) {
		if last := len(all) - 1; i > 0 && level == all[last].level && text[i] != isolate && text[i-1] != isolate {
			all[last].end++
		} else {
			all = append(all, run{i, i + 1, level})
		}
	}
	for level := 2; level > 0; level-- {
		for from := 0; from < len(all); from++ {
			to := from
			for to < len(all) && all[to].level >= level {
				to++
			}
			slices.Reverse(all[from:to])
			from = max(from, to-1)
		}
	}
	return all
}

// levels of a line's letters without embeddings: 1 is from right to left; in it, numbers and words from left to right are 2.
func levels(order *bidi.Paragraph, text []rune, leftwards bool) []int {
	along, base := bidi.LeftToRight, 0
	if leftwards {
		along, base = bidi.RightToLeft, 2
	}
	all := slices.Repeat([]int{base}, len(text))
	found := order.Segment(text, along)
	for i := range found.NumRuns() { // which are by directions: 0 and 2 are not told apart
		if r := found.Run(i); !r.IsLeftToRight() {
			for at := r.Start; at < r.End; at++ {
				all[at] = 1
			}
		}
	}
	if !leftwards {
		raiseNumbers(text, all)
	}
	return all
}

// raiseNumbers puts numbers that are not part of a text from left to right on level 2 (rules W1 to W7, I1), with signs between and beside them.
func raiseNumbers(text []rune, levels []int) {
	kinds := make([]classes.Class, len(text))
	strong := classes.L
	for i, r := range text {
		kind := class(r)
		switch {
		case kind == classes.NSM && i > 0:
			kind = kinds[i-1]
		case kind == classes.EN && strong == classes.AL:
			kind = classes.AN
		case kind == classes.EN && strong == classes.L:
			kind = classes.L
		case kind == classes.L || kind == classes.R || kind == classes.AL:
			strong = kind
		}
		kinds[i] = kind
		if levels[i] == 0 && (kind == classes.EN || kind == classes.AN) {
			levels[i] = 2
		}
	}
	for i := range text { // signs before and behind
		if kinds[i] != classes.ET || levels[i] != 0 {
			continue
		}
		end := i
		for end < len(text) && kinds[end] == classes.ET {
			end++
		}
		if i > 0 && kinds[i-1] == classes.EN || end < len(text) && kinds[end] == classes.EN {
			for ; i < end; i++ {
				levels[i], kinds[i] = 2, classes.EN
			}
		}
	}
	for i := 1; i+1 < len(text); i++ { // and between
		if separates := kinds[i] == classes.CS || kinds[i] == classes.ES; separates && levels[i] == 0 && levels[i-1] == 2 && levels[i+1] == 2 {
			levels[i] = 2
		}
	}
}
