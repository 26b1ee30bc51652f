// Package kiosk holds the built touch page, so that a server can serve it out of its own program. `make kiosk` builds it into dist;
// without that a page stands there that says so, and the program builds all the same.
package kiosk

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Files are the page's files: index.html and what it asks for. Until it is built there is placeholder.html alone.
func Files() fs.FS {
	files, err := fs.Sub(dist, "dist")
	if err != nil { // not reached: the name is a good one
		return dist
	}
	return files
}

// Built tells whether the page was built before the program was.
func Built() bool {
	_, err := fs.Stat(Files(), "index.html")
	return err == nil
}
