// Package worked holds the worked examples that every layer is held to: the engine, gRPC, REST and the command line read the same
// text, so there is one truth and not five. It is for tests.
package worked

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

//go:embed examples.txt
var text string

// Example is one question with what must come out.
type Example struct {
	Name    string
	Source  string // derivation, or where the value was published
	Engine  []Relation
	Call    string // the method, solveSetup and so on; empty: for the engine alone
	Request string // the API's JSON
	Expect  []Expectation
}

// Relation is a line for the engine alone: a kind of relation and its numbers by name, millimetres and degrees.
type Relation struct {
	Kind    string
	Numbers map[string]float64
}

// Expectation is one place of the answer. A text is expected when Text is not empty; otherwise the number within the tolerance.
type Expectation struct {
	Path      string // `setup.steps[0].support.wheelGap.exactMm`; of a refusal `error.reason`, `error.message` and `error.refusal.…`
	Text      string // `a…b` means that the text holds a and then b
	Value     float64
	Tolerance float64
}

// Examples are all of them, in the order of the text.
func Examples() ([]Example, error) {
	var all []Example
	for number, line := range strings.Split(text, "\n") {
		word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		rest = strings.TrimSpace(rest)
		if word == "" || strings.HasPrefix(word, "#") {
			continue
		}
		if word == "example" {
			all = append(all, Example{Name: rest})
			continue
		}
		if len(all) == 0 {
			return nil, fmt.Errorf("line %d comes before any example", number+1)
		}
		if err := all[len(all)-1].add(word, rest); err != nil {
			return nil, fmt.Errorf("line %d: %w", number+1, err)
		}
	}
	return all, nil
}

func (e *Example) add(word, rest string) error {
	switch word {
	case "source":
		e.Source += rest
	case "engine":
		r, err := relation(rest)
		e.Engine = append(e.Engine, r)
		return err
	case "solveSetup", "predictGrind", "transferSetup", "matchGrind", "planBevels", "checkCurve", "planRegrind", "batchSolveSetups",
		"analyzeEdge", "mapEdge", "findFurthestWing", "fitFlute":
		e.Call, e.Request = word, rest
		if !json.Valid([]byte(rest)) {
			return fmt.Errorf("the request of %s is no JSON", e.Name)
		}
	case "expect":
		x, err := expectation(rest)
		e.Expect = append(e.Expect, x)
		return err
	default:
		return fmt.Errorf("no line starts with %q", word)
	}
	return nil
}

func relation(s string) (Relation, error) {
	fields := strings.Fields(s)
	r := Relation{Kind: fields[0], Numbers: map[string]float64{}}
	for _, f := range fields[1:] {
		name, value, _ := strings.Cut(f, "=")
		v, err := strconv.ParseFloat(value, 64)
		if err != nil {
			return r, err
		}
		r.Numbers[name] = v
	}
	return r, nil
}

// expectation reads `path value ±tolerance` or `path "text"`.
func expectation(s string) (Expectation, error) {
	path, rest, _ := strings.Cut(s, " ")
	rest = strings.TrimSpace(rest)
	if strings.HasPrefix(rest, `"`) {
		text, err := strconv.Unquote(rest)
		return Expectation{Path: path, Text: text}, err
	}
	value, tolerance, ok := strings.Cut(rest, "±")
	if !ok {
		return Expectation{}, fmt.Errorf("%s expects %s without a tolerance", path, rest)
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
	if err != nil {
		return Expectation{}, err
	}
	t, err := strconv.ParseFloat(strings.TrimSpace(tolerance), 64)
	return Expectation{Path: path, Value: v, Tolerance: t}, err
}

// Check holds an answer's JSON against the expectation.
func (x Expectation) Check(answer []byte) error {
	var doc any
	if err := json.Unmarshal(answer, &doc); err != nil {
		return err
	}
	found, err := at(doc, x.Path)
	if err != nil {
		return err
	}
	if x.Text == "" {
		v, ok := found.(float64)
		if !ok || !(math.Abs(v-x.Value) <= x.Tolerance) {
			return fmt.Errorf("%s is %v, want %v ± %v", x.Path, found, x.Value, x.Tolerance)
		}
		return nil
	}
	got, want := fmt.Sprint(found), x.Text
	for part := range strings.SplitSeq(want, "…") {
		i := strings.Index(got, part)
		if i < 0 {
			return fmt.Errorf("%s is %q, want %q", x.Path, found, want)
		}
		got = got[i+len(part):]
	}
	if !strings.Contains(want, "…") && got != "" {
		return fmt.Errorf("%s is %q, want %q", x.Path, found, want)
	}
	return nil
}

// at walks `a.b[0].c`; `a[code=X]` picks the element whose code is X.
func at(doc any, path string) (any, error) {
	for part := range strings.SplitSeq(path, ".") {
		name, index, indexed := strings.Cut(strings.TrimSuffix(part, "]"), "[")
		object, _ := doc.(map[string]any)
		next, ok := object[name]
		if !ok {
			return nil, fmt.Errorf("the answer has no %s (at %q)", path, part)
		}
		doc = next
		if !indexed {
			continue
		}
		list, _ := doc.([]any)
		element, err := pick(list, index)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		doc = element
	}
	return doc, nil
}

func pick(list []any, index string) (any, error) {
	if key, value, ok := strings.Cut(index, "="); ok {
		i := slices.IndexFunc(list, func(e any) bool {
			object, _ := e.(map[string]any)
			return fmt.Sprint(object[key]) == value
		})
		if i < 0 {
			return nil, fmt.Errorf("no element has %s %s", key, value)
		}
		return list[i], nil
	}
	n, err := strconv.Atoi(index)
	if err != nil || n >= len(list) {
		return nil, fmt.Errorf("no element %s of %d", index, len(list))
	}
	return list[n], nil
}
