package flute

import (
	"fmt"
	"math"
)

// Size is a size that can be refused. Its words name it to people.
type Size int

// The sizes.
const (
	FluteRadius Size = iota
	FluteWall
	BarDiameter
	BarWidth
	BarThickness
	SteelUnderFlute
)

func (s Size) String() string {
	return [...]string{
		"the flute's radius at its floor", "the angle of the flute's walls", "the bar's diameter", "the bar's width",
		"the bar's thickness", "the steel under the flute",
	}[s]
}

// The sizes that are taken, mm: from what can still be measured to more than any lathe's tool.
const (
	LeastSize = 0.01
	MostSize  = 10_000
)

// SizeError tells that a size makes no flute or bar. Value, Least and Most are mm, for the walls' angle radians.
type SizeError struct {
	Size        Size
	Value       float64
	Least, Most float64
	Why         string // what the limit comes from; empty where it is the size's own
}

func (e *SizeError) Error() string {
	least, most, value := fmt.Sprintf("%.4g mm", e.Least), fmt.Sprintf("%.4g mm", e.Most), fmt.Sprintf("%.4g mm", e.Value)
	if e.Size == FluteWall {
		least, most, value = degrees(e.Least), degrees(e.Most), degrees(e.Value)
	}
	text := fmt.Sprintf("%v is %s; it must be from %s to %s", e.Size, value, least, most)
	if e.Why != "" {
		text += ": " + e.Why
	}
	return text
}

func degrees(rad float64) string { return fmt.Sprintf("%.4g°", rad*180/math.Pi) }

// LeastWall is the flattest a V's walls may be, 1°.
const LeastWall = math.Pi / 180

// Check refuses sizes that make no flute: a [*SizeError].
func (s Section) Check() error {
	if s.shape == ShapeFlat {
		return nil
	}
	if err := within(FluteRadius, s.radius, LeastSize, MostSize, ""); err != nil {
		return err
	}
	if s.shape == ShapeVee {
		return within(FluteWall, s.wall, LeastWall, math.Pi/2, "the walls rise from the horizontal, and do not lean in")
	}
	return nil
}

// Check refuses sizes that make no bar, and a flute that is none or that the bar does not hold: a [*SizeError]. Under a flute there must
// be steel, and less than all the bar; only a flat face may lie on top of a rectangular one.
func (b Bar) Check(s Section) error {
	if err := s.Check(); err != nil {
		return err
	}
	if err := b.check(); err != nil {
		return err
	}
	if s.shape == ShapeFlat && !b.round {
		return within(SteelUnderFlute, b.under, LeastSize, b.height, "a face lies within the bar's thickness")
	}
	return within(SteelUnderFlute, b.under, LeastSize, b.height-LeastSize,
		"with less the flute is deeper than the bar, with more it lies above the bar and never meets its outside")
}

func (b Bar) check() error {
	if b.round {
		return within(BarDiameter, b.height, 2*LeastSize, MostSize, "")
	}
	if err := within(BarWidth, 2*b.halfWidth, 2*LeastSize, MostSize, ""); err != nil {
		return err
	}
	return within(BarThickness, b.height, 2*LeastSize, MostSize, "")
}

func within(size Size, value, least, most float64, why string) error {
	if value >= least && value <= most {
		return nil
	}
	return &SizeError{Size: size, Value: value, Least: least, Most: most, Why: why}
}
