// Command paths names the variables of an OpenAPI document's paths after what they stand for, `/v1/shops/{shop}/recipes/{recipe}`, and joins
// the operations of one path. The generator names them after the request's fields, `{name}`, `{recipe.name_1}`, so that one URL has several
// templates, which OpenAPI forbids. Answers that are files get the types of the files in place of the message that carries them. It reads the
// document and writes it, in its order.
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
)

func main() {
	if err := run(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "paths:", err)
		os.Exit(1)
	}
}

func run(in io.Reader, out io.Writer) error {
	text, err := io.ReadAll(in)
	if err != nil {
		return err
	}
	document, err := members(text)
	if err != nil {
		return err
	}
	for i, m := range document {
		if m.key != "paths" {
			continue
		}
		if document[i].value, err = renamed(m.value); err != nil {
			return err
		}
	}
	var indented bytes.Buffer
	if err := json.Indent(&indented, document.json(), "", "  "); err != nil {
		return err
	}
	_, err = fmt.Fprintln(out, indented.String())
	return err
}

// object is a JSON object in its order.
type object []member

type member struct {
	key   string
	value json.RawMessage
}

func members(text []byte) (o object, err error) {
	decoder := json.NewDecoder(bytes.NewReader(text))
	if _, err := decoder.Token(); err != nil {
		return nil, err
	}
	for decoder.More() {
		key, err := decoder.Token()
		if err != nil {
			return nil, err
		}
		var value json.RawMessage
		if err := decoder.Decode(&value); err != nil {
			return nil, err
		}
		o = append(o, member{fmt.Sprint(key), value})
	}
	return o, nil
}

func (o object) json() []byte {
	parts := make([]string, len(o))
	for i, m := range o {
		key, _ := json.Marshal(m.key) // text always marshals
		parts[i] = string(key) + ":" + string(m.value)
	}
	return []byte("{" + strings.Join(parts, ",") + "}")
}

// renamed are the paths with better variables, those that are then the same joined.
func renamed(text []byte) (json.RawMessage, error) {
	paths, err := members(text)
	if err != nil {
		return nil, err
	}
	var joined object
	at := map[string]int{}
	for _, p := range paths {
		path, names := better(p.key)
		operations, err := members([]byte(inParameters(filed(string(p.value)), names)))
		if err != nil {
			return nil, err
		}
		first, known := at[path]
		if !known {
			at[path] = len(joined)
			joined = append(joined, member{path, operations.json()})
			continue
		}
		before, err := members(joined[first].value)
		if err != nil {
			return nil, err
		}
		joined[first].value = append(before, operations...).json()
	}
	return joined.json(), nil
}

// carried is an answer that is a file, as the generator tells it.
var carried = regexp.MustCompile(`\{\s*"application/json":\s*\{\s*"schema":\s*\{\s*"\$ref":\s*"#/components/schemas/google\.api\.HttpBody"\s*\}\s*\}\s*\}`)

// filed tells such answers as what they are.
func filed(operations string) string {
	const binary = `{"schema":{"type":"string","format":"binary"}}`
	return carried.ReplaceAllString(operations, `{"application/pdf":`+binary+`,"image/svg+xml":`+binary+`,"image/vnd.dxf":`+binary+`}`)
}

var variable = regexp.MustCompile(`([a-z]+)s/\{([^}]*)\}`)

// better is a path whose variables are called as one of the collection before them, and how they were called.
func better(path string) (string, map[string]string) {
	names := map[string]string{}
	return variable.ReplaceAllStringFunc(path, func(part string) string {
		found := variable.FindStringSubmatch(part)
		names[found[2]] = found[1]
		return found[1] + "s/{" + found[1] + "}"
	}), names
}

var parameterName = regexp.MustCompile(`("name":\s*")([^"]*)(",\s*"in":\s*"path")`)

// inParameters renames the path's parameters in its operations.
func inParameters(operations string, names map[string]string) string {
	return parameterName.ReplaceAllStringFunc(operations, func(part string) string {
		found := parameterName.FindStringSubmatch(part)
		return found[1] + names[found[2]] + found[3]
	})
}
