package unit

// ParseError says why a text is not a length or an angle, and what would be.
type ParseError struct {
	Quantity string // what was wanted: "length" or "angle"
	Input    string // the text as given, shortened if it is too long
	Reason   Reason
	Hint     string // what is wrong and what would work, such as "1.75 has no unit: write 1.75mm or 1.75in"
}

// Error returns one line: the quantity wanted and the hint.
func (e *ParseError) Error() string { return "not a readable " + e.Quantity + ": " + e.Hint }

// Reason classifies a [ParseError].
type Reason int

// Reasons for refusing a text.
const (
	Empty         Reason = iota + 1 // nothing but spaces
	TooLong                         // more than MaxInput bytes
	NotANumber                      // does not begin with a plain decimal number or fraction
	NotFinite                       // NaN, infinite, or beyond float64
	DecimalComma                    // a comma in the number
	BadFraction                     // zero below the line, improper, or two numbers that make no fraction
	NoUnit                          // a number alone
	UnknownUnit                     // a unit that is not read
	AmbiguousUnit                   // a lone ', feet or minutes of arc
	WrongUnit                       // an angle where a length is wanted, or the reverse
	BadMinutes                      // minutes or seconds of 60 or more, or decimals before the last part
	Trailing                        // something after a complete quantity
)

var reasonNames = [...]string{
	Empty:         "empty",
	TooLong:       "too long",
	NotANumber:    "not a number",
	NotFinite:     "not finite",
	DecimalComma:  "decimal comma",
	BadFraction:   "bad fraction",
	NoUnit:        "no unit",
	UnknownUnit:   "unknown unit",
	AmbiguousUnit: "ambiguous unit",
	WrongUnit:     "wrong unit",
	BadMinutes:    "bad minutes",
	Trailing:      "trailing text",
}

// String returns the reason in words.
func (r Reason) String() string {
	if r < Empty || int(r) >= len(reasonNames) {
		return "unknown reason"
	}
	return reasonNames[r]
}
