package unit

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"
)

// refuse builds the error: what is wrong, then what would work. Of the
// candidates only those that can be read are offered, so that a hint never leads
// to the next refusal; without any it offers the examples.
func (p *parser) refuse(reason Reason, problem string, candidates ...string) error {
	return &ParseError{
		Quantity: p.want.name,
		Input:    p.input,
		Reason:   reason,
		Hint:     problem + ": write " + p.offer(candidates),
	}
}

func (p *parser) offer(candidates []string) string {
	var readable []string
	for _, c := range candidates {
		if p.reads(c) {
			readable = append(readable, c)
		}
	}
	if len(readable) == 0 {
		return p.want.examples
	}
	return strings.Join(readable, " or ")
}

// reads reports whether s is the quantity wanted. While it tries, no further
// hints are tried.
func (p *parser) reads(s string) bool {
	if p.probing {
		return false
	}
	probe := parser{want: p.want, input: s, probing: true}
	var err error
	if p.want == lengths {
		_, err = probe.length()
	} else {
		_, err = probe.angle()
	}
	return err == nil
}

func (p *parser) tooLong(bytes int) error {
	return p.refuse(TooLong, fmt.Sprintf("a text of %d bytes is longer than %d", bytes, MaxInput))
}

func (p *parser) empty() error {
	return p.refuse(Empty, "the "+p.want.name+" is empty")
}

// noNumber explains a text that does not begin with a number.
func (p *parser) noNumber() error {
	unsigned := strings.TrimLeft(p.rest, "+-")
	for _, name := range []string{"nan", "inf", "∞"} {
		if strings.HasPrefix(unsigned, name) {
			return p.notFinite()
		}
	}
	if strings.HasPrefix(unsigned, ",") {
		return p.decimalComma()
	}
	return p.notANumber()
}

// badNumber explains a number with something behind it that begins no unit.
func (p *parser) badNumber() error {
	switch c := p.rest[0]; {
	case c == ',':
		return p.decimalComma()
	case c == '/' || isDigit(rune(c)):
		return p.refuse(BadFraction, fmt.Sprintf("%q is neither one number nor a fraction like 1 3/4", p.input))
	}
	return p.notANumber()
}

func (p *parser) notANumber() error {
	return p.refuse(NotANumber, fmt.Sprintf("%q does not begin with a plain number", p.input))
}

func (p *parser) notFinite() error {
	return p.refuse(NotFinite, fmt.Sprintf("%q is not a finite number", p.input))
}

// thousands matches commas that may group digits: three behind each.
var thousands = regexp.MustCompile(`^[+-]?\d{1,3}(,\d{3})+([^\d.,]|$)`)

// decimalComma offers the point; where three digits follow the comma it may have
// grouped thousands, and the number without it is offered too.
func (p *parser) decimalComma() error {
	problem := fmt.Sprintf("%q has a comma in its number", p.input)
	candidates := []string{strings.ReplaceAll(p.text, ",", ".")}
	if thousands.MatchString(p.text) {
		candidates = append(candidates, strings.ReplaceAll(p.text, ",", ""))
	}
	return p.refuse(DecimalComma, problem, candidates...)
}

func (p *parser) zeroDenominator(n number) error {
	return p.refuse(BadFraction, n.text+" has nothing but zero under the line")
}

// improper offers v, the value, as a mixed number with the unit that was given.
func (p *parser) improper(n number, v *big.Rat) error {
	whole, left := new(big.Int).QuoRem(v.Num(), v.Denom(), new(big.Int))
	text := whole.String()
	if left.Sign() != 0 {
		text += fmt.Sprintf(" %v/%v", left, v.Denom())
	}
	return p.refuse(BadFraction, n.text+" is not a proper fraction, smaller than one", n.sign()+text+p.rest)
}

func (p *parser) noUnit(n number) error {
	return p.refuse(NoUnit, n.text+" has no unit", n.text+p.want.units[0], n.text+p.want.units[1])
}

// unknownUnit offers only examples: the same number in a known unit would be
// another quantity.
func (p *parser) unknownUnit(name string) error {
	return p.refuse(UnknownUnit, fmt.Sprintf("the unit %q is not known", name))
}

func (p *parser) wrongUnit(n number, name string, unit word) error {
	return p.refuse(WrongUnit, fmt.Sprintf("%s%s is %s", n.text, name, unit.of.phrase))
}

// loneMinutes explains a ' without degrees in front, and offers the inches or
// the degrees that it would be.
func (p *parser) loneMinutes(n number) error {
	size, _ := n.signed(n.value).Float64()
	if p.want == angles {
		minutes := n.sign() + "0°" + strings.TrimLeft(n.text, "+-") + minuteMark
		return p.refuse(AmbiguousUnit, n.text+"' has no degrees in front", minutes, shortest(size/60)+"°")
	}
	return p.refuse(AmbiguousUnit, n.text+"' could be feet or minutes of arc", shortest(size*12)+"in")
}

func (p *parser) badMinutes() error {
	return p.refuse(BadMinutes, fmt.Sprintf("%q is not whole degrees with minutes and seconds below 60", p.input))
}

// trailing offers the text without its end, and for an angle with the mark of
// minutes that may be missing.
func (p *parser) trailing() error {
	read := strings.TrimRight(strings.TrimSuffix(p.text, p.rest), " ")
	return p.refuse(Trailing, fmt.Sprintf("%q goes on behind its unit with %q", p.input, p.rest), p.text+minuteMark, read)
}
