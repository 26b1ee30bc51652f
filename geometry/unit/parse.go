package unit

import (
	"math/big"
	"regexp"
	"strings"
)

// MaxInput is the longest text, in bytes, that is read as a length or an angle.
const MaxInput = 64

// ParseLength reads a length with its unit, such as 58mm, 5.8cm, 1.75 inch,
// 2 9/32in or 2-9/32"; the package comment lists the forms. The error is a
// [*ParseError].
func ParseLength(s string) (Length, error) {
	p := parser{want: lengths, input: s}
	return p.length()
}

func (p *parser) length() (Length, error) {
	n, unit, err := p.quantity()
	if err != nil {
		return 0, err
	}
	if p.rest != "" {
		return 0, p.trailing()
	}
	mm, err := p.float(n.signed(n.value), unit)
	return Length(mm), err
}

// ParseAngle reads an angle with its unit, such as 50°, 50deg, 0.87rad or
// 13°32.6'; the package comment lists the forms. The error is a [*ParseError].
func ParseAngle(s string) (Angle, error) {
	p := parser{want: angles, input: s}
	return p.angle()
}

func (p *parser) angle() (Angle, error) {
	n, unit, err := p.quantity()
	if err != nil {
		return 0, err
	}
	total := n.value
	if unit == degree {
		if total, err = p.minutesAndSeconds(n); err != nil {
			return 0, err
		}
	}
	if p.rest != "" {
		return 0, p.trailing()
	}
	v, err := p.float(n.signed(total), unit)
	if unit == degree {
		return Degrees(v), err
	}
	if !isFinite(Angle(v).Degrees()) {
		return 0, p.notFinite()
	}
	return Angle(v), err
}

// parser is one text being read. It refuses by returning a *ParseError.
type parser struct {
	want    *quantity
	input   string
	text    string // the input in plain characters
	rest    string // the end of text that is not read yet
	probing bool   // whether the input is a hint being tried out
}

// quantity reads what lengths and angles share, a number and its unit, and
// leaves what stands behind them.
func (p *parser) quantity() (number, word, error) {
	if size := len(p.input); size > MaxInput {
		p.input = strings.ToValidUTF8(p.input[:MaxInput], "") + "…"
		return number{}, word{}, p.tooLong(size)
	}
	p.text = plain(p.input)
	p.rest = p.text
	if p.rest == "" {
		return number{}, word{}, p.empty()
	}
	n, err := p.number()
	if err != nil {
		return n, word{}, err
	}
	unit, err := p.unit(n)
	return n, unit, err
}

// number is a number as read: its size exactly, its sign apart (so that -0°30'
// keeps it), and its text for the hints.
type number struct {
	text     string
	value    *big.Rat // not negative
	negative bool
	whole    bool // no decimals, no fraction
}

// signed returns size with n's sign.
func (n number) signed(size *big.Rat) *big.Rat {
	if n.negative {
		return new(big.Rat).Neg(size)
	}
	return size
}

// sign returns the sign to print before n's size.
func (n number) sign() string {
	if n.negative {
		return "-"
	}
	return ""
}

// numberForm matches a fraction, mixed or alone, or else a decimal number. Its
// groups: sign, whole part, numerator, denominator, decimal, exponent digits.
var numberForm = regexp.MustCompile(
	`^([+-]?)(?:(?:(\d+)(?: +|-))?(\d+)/(\d+)|((?:\d+(?:\.\d+)?|\.\d+)(?:e[+-]?(\d+))?))`)

// number reads a number off the front of the rest.
func (p *parser) number() (number, error) {
	m := numberForm.FindStringSubmatch(p.rest)
	if m == nil {
		return number{}, p.noNumber()
	}
	n := number{text: m[0], negative: m[1] == "-", whole: isWhole(m[5])}
	p.rest = strings.TrimLeft(p.rest[len(m[0]):], " ")
	var err error
	if m[5] != "" {
		n.value, err = p.decimal(m[5], m[6])
	} else {
		n.value, err = p.fraction(n, m[2], m[3], m[4])
	}
	return n, err
}

func isWhole(decimal string) bool { return decimal != "" && !strings.ContainsAny(decimal, ".e") }

// decimal returns the value of text. Its exponent is held to three digits so
// that the exact ratio stays small; float64 ends at 1e308.
func (p *parser) decimal(text, exponent string) (*big.Rat, error) {
	if len(exponent) > 3 {
		return nil, p.notFinite()
	}
	v, ok := new(big.Rat).SetString(text)
	if !ok {
		return nil, p.notANumber()
	}
	return v, nil
}

// fraction returns whole + num/den. Improper fractions are refused even alone:
// 13/4 is more likely 1 3/4 with its space lost than 3 1/4.
func (p *parser) fraction(n number, whole, num, den string) (*big.Rat, error) {
	w, a, b := bigInt(whole), bigInt(num), bigInt(den)
	if b.Sign() == 0 {
		return nil, p.zeroDenominator(n)
	}
	v := new(big.Rat).SetFrac(a, b)
	v.Add(v, new(big.Rat).SetInt(w))
	if a.Cmp(b) >= 0 {
		return nil, p.improper(n, v)
	}
	return v, nil
}

// bigInt returns the integer in decimal digits; none are 0.
func bigInt(digits string) *big.Int {
	v, ok := new(big.Int).SetString(digits, 10)
	if !ok {
		return new(big.Int)
	}
	return v
}

// unit reads the unit that belongs to n off the front of the rest.
func (p *parser) unit(n number) (word, error) {
	if p.rest == "" {
		return word{}, p.noUnit(n)
	}
	name := leadingWord(p.rest)
	behind := p.rest[len(name):]
	unit, known := words[name]
	switch {
	case name == "":
		return word{}, p.badNumber()
	case name == minuteMark:
		return word{}, p.loneMinutes(n)
	case !known && behind != "" && isDigit(rune(behind[0])): // 0x10
		return word{}, p.notANumber()
	case !known:
		return word{}, p.unknownUnit(name)
	case unit.of != p.want:
		return word{}, p.wrongUnit(n, name, unit)
	}
	p.rest = strings.TrimLeft(behind, " ")
	return unit, nil
}

// sixtieths matches minutes or seconds of arc: number, its decimals, mark.
var sixtieths = regexp.MustCompile(`^(\d+(\.\d+)?) *(['"])`)

// minutesAndSeconds returns the size of whole degrees with the minutes and then
// seconds that may follow. Only the last of the parts may have decimals.
func (p *parser) minutesAndSeconds(degrees number) (*big.Rat, error) {
	total, whole := degrees.value, degrees.whole
	perDegree := new(big.Rat).SetInt64(1)
	for _, mark := range []string{minuteMark, `"`} {
		m := sixtieths.FindStringSubmatch(p.rest)
		if m == nil {
			return total, nil
		}
		part, ok := new(big.Rat).SetString(m[1])
		if !ok || !whole || m[3] != mark || part.Cmp(sixty) >= 0 {
			return nil, p.badMinutes()
		}
		perDegree.Mul(perDegree, sixty)
		total = new(big.Rat).Add(total, part.Quo(part, perDegree))
		whole = m[2] == ""
		p.rest = strings.TrimLeft(p.rest[len(m[0]):], " ")
	}
	return total, nil
}

var sixty = big.NewRat(60, 1)

// float rounds v units, once, to millimetres, degrees or radians.
func (p *parser) float(v *big.Rat, unit word) (float64, error) {
	f, _ := new(big.Rat).Mul(v, unit.size).Float64()
	if !isFinite(f) {
		return 0, p.notFinite()
	}
	return f, nil
}
