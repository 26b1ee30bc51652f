package sheet

import (
	"context"

	"arris.example/service/internal/paper"
	"arris.example/service/internal/setup"
)

// stickOutCards set stick-outs.
func (m Maker) stickOutCards(ctx context.Context, q setup.Question) (cardSet, setup.Setup, error) {
	blocks, found, err := m.Solver.StickOuts(ctx, q)
	set := cardSet{title: "Stick-out block: %s"}
	for _, b := range blocks {
		set.cards = append(set.cards, speechOf(q).stickOutCard(b, found))
	}
	return set, found, err
}

// A stick-out block's parts.
const (
	blockDeep = 24.0 // of the body that the tool lies along
	stopWide  = 14.0
	lessStop  = 12.0 // how high the stop is at least
	overNose  = 5.0  // how much higher than the nose
	relief    = 2.0  // in the corner before the stop, where dust gathers
)

// stickOutCard lies along x from the holder's face, at 0, to the stop; the tool lies on y = 0.
func (in speech) stickOutCard(b setup.StickOutBlock, found setup.Setup) card {
	long, nose := float64(b.StickOut), float64(b.Above)
	high := max(lessStop, nose+overNose)
	if nose == 0 {
		nose = lessStop - overNose
	}
	from, to := in.lengths(b.From, b.To)
	c := card{
		cut: outlined(paper.Point{}, paper.Point{X: long - relief}, paper.Point{X: long - relief, Y: relief}, paper.Point{X: long, Y: relief},
			paper.Point{X: long, Y: -high}, paper.Point{X: long + stopWide, Y: -high}, paper.Point{X: long + stopWide, Y: blockDeep}, paper.Point{Y: blockDeep}),
		beside: append(in.besideStickOut(long, nose), dimensioned(paper.Point{Y: blockDeep}, paper.Point{X: long, Y: blockDeep}, blockDeep+6, in.setLength(b.StickOut))...),
		which:  in.whichSteps(found, b.Steps...),
		says: in.say("Stick-out %s, from the holder's front face to the nose.", in.setLength(b.StickOut)) + " " +
			in.goodBetween(from, to, found, b.Steps, b.Tolerance, b.Diameter),
		use:   in.say("Lay the block along the tool, its end against the holder's front face. Push the tool forward until the nose touches the stop, then tighten the holder."),
		cutIt: in.say("Cut it from something stiff, along the middle of the line: the end at the holder and the face of the stop measure, and both must be true."),
	}
	lines := in.rangeLines(in.say("stick-out %s", in.setLength(b.StickOut)), from, to, b.Tolerance, b.Diameter)
	c.write(append(lines, in.revisionWords(found.Basis)...), paper.Point{X: inset, Y: inset}, paper.Point{X: long + stopWide - inset, Y: blockDeep - inset})
	return c
}

// besideStickOut is the holder, and the tool that it grips.
func (in speech) besideStickOut(long, nose float64) []paper.Mark {
	const holder, deep, bevel = 20.0, 9.0, 0.8
	return []paper.Mark{
		dashed(paper.Point{X: -holder, Y: -nose - deep}, paper.Point{Y: -nose - deep}, paper.Point{Y: deep}, paper.Point{X: -holder, Y: deep}),
		dashed(paper.Point{Y: -nose}, paper.Point{X: long, Y: -nose}, paper.Point{X: max(0, long-bevel*nose)}),
		paper.Words{At: paper.Point{X: -holder, Y: -nose - deep - 2}, Size: textSize, Text: in.say("holder")},
		paper.Words{At: paper.Point{X: 2, Y: -nose - 2}, Size: textSize, Text: in.say("tool")},
	}
}
