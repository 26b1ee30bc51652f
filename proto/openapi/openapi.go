// Package openapi holds the description of the REST API, generated from the schema.
package openapi

import _ "embed"

// JSON is the OpenAPI 3.1 document of every service, as JSON.
//
//go:embed openapi.json
var JSON []byte
