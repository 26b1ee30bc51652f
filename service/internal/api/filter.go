package api

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"go.einride.tech/aip/filtering"
	"go.einride.tech/aip/ordering"
	"golang.org/x/text/unicode/norm"
	expr "google.golang.org/genproto/googleapis/api/expr/v1alpha1"
	"google.golang.org/protobuf/reflect/protoreflect"

	"arris.example/service/internal/fault"
	"arris.example/service/internal/store"
)

// columns are what a kind's lists may be filtered and ordered by, by field name.
type columns map[string]column

// column is a field that is compared: text, a time, or a value of a list.
type column struct {
	store.Column
	values map[string]string // of a list: the schema's names and what is stored
}

// listed is a column of a list's values, stored by their numbers, or by the words given for some.
func listed(c store.Column, enum protoreflect.EnumDescriptor, words map[protoreflect.EnumNumber]string) column {
	values := map[string]string{}
	for i := range enum.Values().Len() {
		v := enum.Values().Get(i)
		values[string(v.Name())] = strconv.Itoa(int(v.Number()))
		if word, ok := words[v.Number()]; ok {
			values[string(v.Name())] = word
		}
	}
	return column{c, values}
}

// withTimes are columns that every kind has, and some of its own.
func withTimes(own columns) columns {
	all := columns{
		"name": {Column: store.ByName}, "display_name": {Column: store.ByDisplay},
		"create_time": {Column: store.ByCreated}, "update_time": {Column: store.ByUpdated},
		"external_id": {Column: store.ByExternalID},
	}
	maps.Copy(all, own)
	return all
}

// ops are the subset of AIP-160 that lists take.
var ops = map[string]string{"=": "=", "!=": "!=", "<": "<", "<=": "<=", ">": ">", ">=": ">=", "AND": "and", "OR": "or", "NOT": "not", "-": "not"}

// filterIn reads a filter.
func (c columns) filterIn(text string) (store.Filter, error) {
	if strings.TrimSpace(text) == "" {
		return store.Filter{}, nil
	}
	text = norm.NFC.String(text) // as texts are kept
	var parser filtering.Parser
	parser.Init(text)
	parsed, err := parser.Parse()
	if err != nil {
		characters := utf8.RuneCountInString(text[:readable(err)])
		return store.Filter{}, noFilter("cannot be read from character %d on; compare fields and join with AND, OR and NOT, such as display_name = \"clamp\"", characters+1)
	}
	return c.filterOf(parsed.GetExpr())
}

// readable is how many bytes of a filter were read. The parser's own words are a drawing over many lines.
func readable(err error) (bytes int32) {
	for ; err != nil; err = errors.Unwrap(err) {
		if at, ok := err.(interface{ Position() filtering.Position }); ok {
			bytes = max(bytes, at.Position().Offset)
		}
	}
	return bytes
}

func noFilter(format string, args ...any) error {
	return fault.Field("filter", fault.BadForm, format, args...)
}

// filterOf is a parsed filter as the store takes it.
func (c columns) filterOf(e *expr.Expr) (store.Filter, error) {
	call := e.GetCallExpr()
	op, ok := ops[call.GetFunction()]
	switch {
	case call == nil:
		return store.Filter{}, noFilter("has %q where a comparison is wanted, such as display_name = \"clamp\"; words to look for go into search", wordOf(e))
	case !ok:
		return store.Filter{}, noFilter("uses %q; comparisons are =, !=, <, <=, > and >=, joined by AND, OR and NOT", call.GetFunction())
	case op == "and" || op == "or" || op == "not":
		return c.joined(op, call.GetArgs())
	}
	return c.comparison(op, call.GetArgs())
}

func (c columns) joined(op string, args []*expr.Expr) (store.Filter, error) {
	f := store.Filter{Op: op}
	for _, arg := range args {
		of, err := c.filterOf(arg)
		if err != nil {
			return f, err
		}
		f.Of = append(f.Of, of)
	}
	return f, nil
}

func (c columns) comparison(op string, args []*expr.Expr) (store.Filter, error) {
	if len(args) != 2 {
		return store.Filter{}, noFilter("has a comparison of %d things; compare a field with a value", len(args))
	}
	field := wordOf(args[0])
	col, ok := c[field]
	if !ok {
		return store.Filter{}, noFilter("asks for %q; these fields can be compared: %s", field, c.names())
	}
	value, err := col.value(field, wordOf(args[1]))
	if err != nil {
		return store.Filter{}, err
	}
	if (col.values != nil || col.Column == store.ByExternalID) && op != "=" && op != "!=" {
		return store.Filter{}, noFilter("asks whether %s is %s a value; it is compared by = and != alone", field, op)
	}
	return store.Filter{Op: op, Column: col.Column, Value: value}, nil
}

func (c columns) names() string { return strings.Join(slices.Sorted(maps.Keys(c)), ", ") }

// value is a filter's value as the column has it.
func (c column) value(field, text string) (any, error) {
	switch {
	case c.values != nil:
		stored, ok := c.values[text]
		if !ok {
			return nil, noFilter("compares %s with %q; its values are %s", field, text, strings.Join(slices.Sorted(maps.Keys(c.values)), ", "))
		}
		return stored, nil
	case c.IsTime():
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return nil, noFilter("compares %s with %q; write a time such as \"2027-03-01T08:00:00Z\"", field, text)
		}
		return t, nil
	case c.Column == store.ByExternalID && !strings.Contains(text, ":"):
		return nil, noFilter("compares %s with %q; write the system and what it says, such as \"inventory:T-0042\"", field, text)
	}
	return text, nil
}

// wordOf is a name, dotted or not, or a literal.
func wordOf(e *expr.Expr) string {
	switch {
	case e.GetIdentExpr() != nil:
		return e.GetIdentExpr().GetName()
	case e.GetSelectExpr() != nil:
		return wordOf(e.GetSelectExpr().GetOperand()) + "." + e.GetSelectExpr().GetField()
	case e.GetConstExpr() != nil:
		return constant(e.GetConstExpr())
	case e.GetCallExpr() != nil && len(e.GetCallExpr().GetArgs()) == 1: // a time in its function
		return wordOf(e.GetCallExpr().GetArgs()[0])
	}
	return ""
}

func constant(c *expr.Constant) string {
	switch v := c.GetConstantKind().(type) {
	case *expr.Constant_StringValue:
		return v.StringValue
	case *expr.Constant_Int64Value:
		return strconv.FormatInt(v.Int64Value, 10)
	case *expr.Constant_DoubleValue:
		return strconv.FormatFloat(v.DoubleValue, 'g', -1, 64)
	case *expr.Constant_BoolValue:
		return strconv.FormatBool(v.BoolValue)
	}
	return fmt.Sprint(c)
}

// orderIn reads an order.
func (c columns) orderIn(text string) (by store.Column, down bool, err error) {
	var order ordering.OrderBy
	if err := order.UnmarshalString(text); err != nil || len(order.Fields) > 1 {
		return "", false, fault.Field("order_by", fault.BadForm, "is %q; write one field, and desc for downwards, such as \"update_time desc\"", text)
	}
	if len(order.Fields) == 0 {
		return "", false, nil
	}
	col, ok := c[order.Fields[0].Path]
	if !ok || col.Column == store.ByExternalID {
		ordered := maps.Clone(c)
		delete(ordered, "external_id")
		return "", false, fault.Field("order_by", fault.UnknownField, "names %q; lists are ordered by %s", order.Fields[0].Path, ordered.names())
	}
	return col.Column, order.Fields[0].Desc, nil
}
