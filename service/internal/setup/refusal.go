package setup

import (
	"fmt"
	"slices"
	"strings"

	"arris.example/geometry/unit"
	"arris.example/service/internal/fault"
	"arris.example/service/internal/shop"
)

// The reasons of this rule.
const (
	BevelsNotFalling   fault.Reason = "BEVELS_NOT_FALLING"
	BevelsCross        fault.Reason = "BEVELS_CROSS"
	LandTooLong        fault.Reason = "LAND_TOO_LONG"
	HeelTooRound       fault.Reason = "HEEL_TOO_ROUND"
	NothingFree        fault.Reason = "NOTHING_FREE"
	CannotReach        fault.Reason = "TOOL_CANNOT_REACH_WHEEL"
	BeyondTravel       fault.Reason = "SUPPORT_BEYOND_TRAVEL"
	TooKeen            fault.Reason = "EDGE_TOO_KEEN"
	TooBlunt           fault.Reason = "EDGE_TOO_BLUNT"
	WheelTooSmall      fault.Reason = "WHEEL_TOO_SMALL"
	Overspeed          fault.Reason = "OVERSPEED"
	IllConditioned     fault.Reason = "ILL_CONDITIONED"
	SupportInWheel     fault.Reason = "SUPPORT_IN_WHEEL"
	HolderStrikesWheel fault.Reason = "HOLDER_STRIKES_WHEEL"
	ContactBehindGuard fault.Reason = "CONTACT_BEHIND_GUARD"
	StickOutTooLong    fault.Reason = "STICK_OUT_TOO_LONG"
	LegOutOfRange      fault.Reason = "LEG_OUT_OF_RANGE"
	BevelNeverEnds     fault.Reason = "BEVEL_NEVER_ENDS"
	RigDoesNotFit      fault.Reason = "RIG_DOES_NOT_FIT"
	NothingWorks       fault.Reason = "NOTHING_WORKS"
	NotForSteel        fault.Reason = "WHEEL_NOT_FOR_STEEL"
	NoReliefClears     fault.Reason = "NO_RELIEF_CLEARS"
	FacetsNotSettable  fault.Reason = "FACETS_NOT_SETTABLE"
	NoSuchBevel        fault.Reason = "NO_SUCH_BEVEL"
	MarkOutsideBevel   fault.Reason = "MARK_OUTSIDE_BEVEL"
	TrialsContradict   fault.Reason = "TRIALS_CONTRADICT"
	NothingToChange    fault.Reason = "NOTHING_TO_CHANGE"
	TooCostly          fault.Reason = "TOO_COSTLY"
	EdgeOffFlute       fault.Reason = "EDGE_OFF_FLUTE"
	PointsUnsorted     fault.Reason = "EDGE_POINTS_UNSORTED"
	PointsCross        fault.Reason = "EDGE_POINTS_CROSS"
	WingBeyondFlute    fault.Reason = "WING_BEYOND_FLUTE"
	FluteDeeper        fault.Reason = "FLUTE_DEEPER_THAN_BAR"
	FluteContradicts   fault.Reason = "FLUTE_MEASUREMENTS_CONTRADICT"
	WingOutOfReach     fault.Reason = "WING_OUT_OF_REACH"
	EdgeUndercut       fault.Reason = "EDGE_UNDERCUT"
	NotSwung           fault.Reason = "NOT_SWUNG"
	NoBody             fault.Reason = "NO_BODY"
)

// Refusal is the numbers behind a no: which quantity, its value and limits, and what would work.
type Refusal struct {
	Field string
	Unit  string
	Value shop.Maybe[float64]
	Least shop.Maybe[float64]
	Most  shop.Maybe[float64]
	Ways  []Way
}

// Way is something that would work: settings in place of the given ones, or a bevel in place of the first.
type Way struct {
	Settings shop.Settings
	Bevel    shop.Maybe[shop.Bevel]
	Edge     shop.Maybe[shop.EdgeShape]
	Text     string
}

// refuse makes the fault of a refusal about a field. Numbers are set by the chained methods below.
func refuse(reason fault.Reason, field, format string, args ...any) *no {
	return &no{
		Fault:   fault.Fault{Kind: fault.Impossible, Reason: reason, Message: fmt.Sprintf(format, args...)},
		Refusal: Refusal{Field: field},
	}
}

// no is a refusal in the making. Evaluating thousands of candidates makes thousands of them, so it stays small.
type no struct {
	fault.Fault
	Refusal
}

// contradicts makes it a fault of the request instead of the world.
func (n *no) contradicts() *no {
	n.Kind = fault.BadRequest
	return n
}

func (n *no) length(value unit.Length) *no {
	n.Unit, n.Value = "mm", shop.Some(float64(value))
	return n
}

func (n *no) angle(value unit.Angle) *no {
	n.Unit, n.Value = "deg", shop.Some(value.Degrees())
	return n
}

func (n *no) least(limit float64) *no {
	n.Least = shop.Some(limit)
	return n
}

func (n *no) most(limit float64) *no {
	n.Most = shop.Some(limit)
	return n
}

// in puts the question's own word for its settings, "given" or "now", into the paths of a refusal.
func (n *no) in(word string) *no {
	if n == nil {
		return nil
	}
	say := func(text string) string {
		if rest, ok := strings.CutPrefix(text, "settings"); ok {
			return word + rest
		}
		return text
	}
	n.Field, n.Message = say(n.Field), say(n.Message)
	for i := range n.Violations {
		n.Violations[i].Field = say(n.Violations[i].Field)
	}
	return n
}

// err is the finished fault, nil for no refusal.
func (n *no) err() error {
	if n == nil {
		return nil
	}
	f := n.Fault
	detail := n.Refusal
	f.Detail = &detail
	return &f
}

// under puts a question's own path in the place of another's, in the fields and words of a fault.
func under(err error, other, own string) error {
	f, ok := fault.As(err)
	if !ok {
		return err
	}
	say := func(text string) string {
		if rest, cut := strings.CutPrefix(text, other); cut {
			return own + rest
		}
		return text
	}
	said := *f
	said.Message, said.Violations = say(f.Message), slices.Clone(f.Violations)
	for i := range said.Violations {
		said.Violations[i].Field = say(said.Violations[i].Field)
	}
	if detail, ok := f.Detail.(*Refusal); ok {
		moved := *detail
		moved.Field = say(moved.Field)
		said.Detail = &moved
	}
	return &said
}
