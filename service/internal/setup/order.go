package setup

import (
	"slices"

	"arris.example/geometry/unit"
	"arris.example/service/internal/shop"
)

// Changing is what has to be set anew for the next grind.
type Changing int

// What changes from one grind to the next, the most laborious first.
const (
	ChangeStation Changing = iota + 1
	ChangeWheel
	ChangeHolder
	ChangeLeg
	ChangeStickOut
	ChangeSupport
)

// Queued is a set-up in its turn: which of those asked it is, and what changes from the one before it.
type Queued struct {
	Index    int
	Changing []Changing
}

// Queue puts set-ups into an order in which few settings change from one to the next, the first asked first. Up to [exactly] different
// ones no order has fewer changes; of more it is the best that was found by moving stretches. The same set-ups give the same order.
func Queue(all []Setup) []Queued {
	q := queueOf(all)
	order := q.nearest()
	if len(q.nodes) <= exactly {
		order = q.best()
	} else {
		q.improve(order)
	}
	var out []Queued
	var before *Setup
	for _, node := range order {
		for _, i := range q.nodes[node] {
			next := Queued{Index: i}
			if before != nil {
				next.Changing = changing(last(before), first(&all[i]))
			}
			out, before = append(out, next), &all[i]
		}
	}
	return out
}

// Changes is how much is set anew in the order in which set-ups are given.
func Changes(all []Setup) int {
	n := 0
	for i := 1; i < len(all); i++ {
		n += len(changing(last(&all[i-1]), first(&all[i])))
	}
	return n
}

// standing is what a grinder and a holder are set to.
type standing struct {
	station, wheel, holder, support, position string
	datum                                     shop.Datum
	at, stickOut                              unit.Length
	tilt, leg                                 unit.Angle
}

func first(s *Setup) standing { return standingOf(s, 0) }

func last(s *Setup) standing { return standingOf(s, len(s.Steps)-1) }

func standingOf(s *Setup, i int) standing {
	step, basis := s.Steps[i], s.Basis
	if step.Basis != nil {
		basis = *step.Basis
	}
	st := standing{station: basis.Station, wheel: basis.Wheel, holder: basis.Holder, support: basis.Support, position: step.Position, datum: step.Support.SetBy}
	if l := step.Support.Lengths[st.datum]; l != nil {
		st.at = l.Set
	}
	if step.Support.Tilt != nil {
		st.tilt = step.Support.Tilt.Set
	}
	if step.StickOut != nil {
		st.stickOut = step.StickOut.Set
	}
	if step.Leg != nil {
		st.leg = step.Leg.Set
	}
	return st
}

// changing is what has to be set anew.
func changing(a, b standing) (all []Changing) {
	for _, c := range []struct {
		what Changing
		is   bool
	}{
		{ChangeStation, a.station != b.station},
		{ChangeWheel, a.wheel != b.wheel},
		{ChangeHolder, a.holder != b.holder},
		{ChangeLeg, a.position != b.position || a.leg != b.leg},
		{ChangeStickOut, a.stickOut != b.stickOut},
		{ChangeSupport, a.station != b.station || a.support != b.support || a.datum != b.datum || a.at != b.at || a.tilt != b.tilt},
	} {
		if c.is {
			all = append(all, c.what)
		}
	}
	return all
}

// exactly is up to how many different set-ups the best order is found for sure: 2ⁿn² steps.
const exactly = 12

// queue is set-ups to be put in order. Those that are set alike in one step follow one another whatever the order, so they are one node.
type queue struct {
	nodes [][]int
	cost  [][]int // of going from one node to another
}

func queueOf(all []Setup) *queue {
	q := &queue{}
	alike := map[standing]int{}
	for i := range all {
		at := first(&all[i])
		if node, known := alike[at]; known && len(all[i].Steps) == 1 {
			q.nodes[node] = append(q.nodes[node], i)
			continue
		}
		if len(all[i].Steps) == 1 {
			alike[at] = len(q.nodes)
		}
		q.nodes = append(q.nodes, []int{i})
	}
	q.cost = make([][]int, len(q.nodes))
	for a := range q.nodes {
		q.cost[a] = make([]int, len(q.nodes))
		end := last(&all[q.nodes[a][0]])
		for b := range q.nodes {
			q.cost[a][b] = len(changing(end, first(&all[q.nodes[b][0]])))
		}
	}
	return q
}

// nearest goes from the first node always to the one with the fewest changes.
func (q *queue) nearest() []int {
	if len(q.nodes) == 0 {
		return nil
	}
	order, done := []int{0}, make([]bool, len(q.nodes))
	done[0] = true
	for len(order) < len(q.nodes) {
		at, next := order[len(order)-1], -1
		for b := range q.nodes {
			if !done[b] && (next < 0 || q.cost[at][b] < q.cost[at][next]) {
				next = b
			}
		}
		order, done[next] = append(order, next), true
	}
	return order
}

// best is the order with the fewest changes that begins with the first node, by dynamic programming over sets of nodes (Bellman 1962; Held
// and Karp 1962).
func (q *queue) best() []int {
	n := len(q.nodes)
	if n == 0 {
		return nil
	}
	const never = 1 << 30
	type table [1 << exactly][exactly]int // by the nodes done and the last of them
	least, before := new(table), new(table)
	for set := range 1 << n {
		for i := range n {
			least[set][i] = never
		}
	}
	least[1][0] = 0
	for set := range 1 << n {
		for at := range n {
			if least[set][at] == never {
				continue
			}
			for next := range n {
				with := set | 1<<next
				if with == set {
					continue
				}
				if c := least[set][at] + q.cost[at][next]; c < least[with][next] {
					least[with][next], before[with][next] = c, at
				}
			}
		}
	}
	set, at := 1<<n-1, 0
	for i := range n {
		if least[set][i] < least[set][at] {
			at = i
		}
	}
	order := make([]int, 0, n)
	for set != 0 {
		order = append(order, at)
		set, at = set&^(1<<at), before[set][at]
	}
	slices.Reverse(order)
	return order
}

// improve moves stretches of up to three nodes, as long as that saves changes (Or 1976); each pass is n² and there are few.
func (q *queue) improve(order []int) {
	const passes, longest = 20, 3
	for range passes {
		better := false
		for length := 1; length <= longest; length++ {
			for from := 1; from+length <= len(order); from++ {
				better = q.moveOne(order, from, length) || better
			}
		}
		if !better {
			return
		}
	}
}

// moveOne puts a stretch where it costs least, and tells whether that is elsewhere.
func (q *queue) moveOne(order []int, from, length int) bool {
	end := from + length
	gone := q.between(order, from-1, from) + q.between(order, end-1, end) - q.between(order, from-1, end)
	to, saved := -1, 0
	for i := 1; i <= len(order); i++ { // before the node that is at i now
		if i >= from && i <= end {
			continue
		}
		more := q.between(order, i-1, from) + q.between(order, end-1, i) - q.between(order, i-1, i)
		if gone-more > saved {
			to, saved = i, gone-more
		}
	}
	if to < 0 {
		return false
	}
	stretch := slices.Clone(order[from:end])
	if to > end {
		copy(order[from:], order[end:to])
		copy(order[to-length:], stretch)
	} else {
		copy(order[to+length:end], order[to:from])
		copy(order[to:], stretch)
	}
	return true
}

// between is what going from one place of an order to another costs; beyond the end nothing does.
func (q *queue) between(order []int, a, b int) int {
	if b >= len(order) || a >= len(order) {
		return 0
	}
	return q.cost[order[a]][order[b]]
}
