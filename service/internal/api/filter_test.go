package api

import (
	"strings"
	"testing"
)

// A filter that cannot be read is told by the characters of all of it, whatever lines it has and however many bytes a letter takes.
func TestFilterIsReadableUpTo(t *testing.T) {
	for filter, want := range map[string]string{
		`name =`:                                     "from character 7 on",
		"name = \"a\"\nAND\nname =":                  "from character 22 on",
		`display_name = "Röhre" AND name =`:          "from character 34 on",
		"display_name = \"Ro\u0308hre\" AND\nname =": "from character 34 on", // kept as one letter
	} {
		_, err := withTimes(nil).filterIn(filter)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", filter, err, want)
		}
	}
}
