package gateway

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"regexp"
	"strconv"
	"strings"
	"time"

	"google.golang.org/grpc/codes"

	arrisv1 "arris.example/proto/arris/v1"
)

const (
	kioskPath       = "/kiosk/"
	kioskConfigPath = kioskPath + "config.json"
	kioskIndex      = "index.html"
	kioskUnbuilt    = "placeholder.html"
)

// Kiosk is the touch page and what it is told.
type Kiosk struct {
	// Files are the page's: index.html and what it asks for, each with its .br and .gz beside it where the build made them. Until
	// there is an index.html, placeholder.html is shown in its place. They are read once. nil: there is no kiosk.
	Files fs.FS
	// EngineVersion is the engine's of the service behind the gateway.
	EngineVersion string
	// PublicURL is where others reach this server; empty: nobody said.
	PublicURL string
}

// kioskHeaders let the page use what this server serves and nothing else, written into the page or not. Pictures and films may also be
// the page's own, as the camera's are. What reads codes in them where a browser cannot is WebAssembly: 'wasm-unsafe-eval' lets the page's own
// scripts compile such a program, which they can fetch from here alone; scripts made of text stay forbidden ('unsafe-eval' would allow them).
var kioskHeaders = http.Header{
	"Content-Security-Policy": {"default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; connect-src 'self'; font-src 'self'; " +
		"img-src 'self' data: blob:; media-src 'self' blob:; manifest-src 'self'; worker-src 'self'; " +
		"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"},
	"Permissions-Policy": {"camera=(self), geolocation=(), microphone=()"},
	"Referrer-Policy":    {"no-referrer"},
}

// kinds are the content types by a file's ending. The machine's own table would differ from one to the next.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".mjs": "text/javascript; charset=utf-8",
	".css": "text/css; charset=utf-8", ".json": "application/json", ".map": "application/json", ".webmanifest": "application/manifest+json",
	".wasm": "application/wasm", ".svg": "image/svg+xml", ".png": "image/png", ".jpg": "image/jpeg", ".webp": "image/webp",
	".ico": "image/x-icon", ".woff2": "font/woff2", ".glb": "model/gltf-binary", ".txt": "text/plain; charset=utf-8",
}

// hashed is a name that the bundler gave by content (eight letters of base 32), so that it never means anything else.
var hashed = regexp.MustCompile(`[-.][A-Z2-7]{8}\.[a-z0-9.]+$`)

// codings are how files are compressed when the page is built, the smallest first.
var codings = []struct{ name, ending string }{{"br", ".br"}, {"gzip", ".gz"}}

// asset is a file of the page, as it is and as the build compressed it.
type asset struct {
	kind, cache string
	plain       content
	packed      []content
}

// content is a file's bytes in a coding; the plain one has no name.
type content struct {
	coding, tag string
	bytes       []byte
}

// readAssets reads all regular files; links are not followed. A compressed one belongs to the plain one beside it.
func readAssets(files fs.FS) (map[string]asset, error) {
	texts := map[string][]byte{}
	if files != nil {
		err := fs.WalkDir(files, ".", func(name string, entry fs.DirEntry, err error) error {
			if err != nil || !entry.Type().IsRegular() {
				return err
			}
			texts[name], err = fs.ReadFile(files, name)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	assets := map[string]asset{}
	for name := range texts {
		assets[name] = newAsset(name, texts)
	}
	for name := range texts {
		for _, c := range codings {
			delete(assets, name+c.ending)
		}
	}
	return assets, nil
}

func newAsset(name string, texts map[string][]byte) asset {
	a := asset{
		kind:  cmp.Or(kinds[path.Ext(name)], "application/octet-stream"),
		cache: "no-cache", // may be kept, must be asked about
		plain: newContent("", texts[name]),
	}
	if hashed.MatchString(name) {
		a.cache = "public, max-age=31536000, immutable"
	}
	for _, c := range codings {
		if small, ok := texts[name+c.ending]; ok {
			a.packed = append(a.packed, newContent(c.name, small))
		}
	}
	return a
}

func newContent(coding string, text []byte) content {
	const enough = 16 // bytes of the digest
	sum := sha256.Sum256(text)
	return content{coding: coding, tag: fmt.Sprintf(`"%x"`, sum[:enough]), bytes: text}
}

// kioskPage serves the page's files from a table, so that no path, however it is written, leads out of it.
func (g *gateway) kioskPage(assets map[string]asset) http.Handler {
	unbuilt, isUnbuilt := assets[kioskUnbuilt]
	delete(assets, kioskUnbuilt) // nobody is to ask for it by name
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		maps.Copy(w.Header(), kioskHeaders)
		// Files have plain names: what would have to be decoded first names none of them.
		name := cmp.Or(strings.TrimPrefix(r.URL.EscapedPath(), kioskPath), kioskIndex)
		found, ok := assets[name]
		switch {
		case ok:
			found.serve(w, r)
		case isUnbuilt && name == kioskIndex:
			w.Header().Set("Content-Type", unbuilt.kind)
			w.WriteHeader(http.StatusServiceUnavailable)
			_, _ = w.Write(unbuilt.plain.bytes)
		default:
			g.refuse(w, r, refusal{
				code: codes.NotFound, reason: arrisv1.Reason_REASON_NO_SUCH_METHOD,
				message: fmt.Sprintf("the kiosk has no %q; its page is %s", shortened(r.URL.Path), kioskPath),
			})
		}
	})
}

func (a *asset) serve(w http.ResponseWriter, r *http.Request) {
	header, fit := w.Header(), a.fitting(r.Header)
	header.Set("Content-Type", a.kind)
	header.Set("Cache-Control", a.cache)
	header.Set("ETag", fit.tag)
	if len(a.packed) > 0 {
		header.Set("Vary", "Accept-Encoding")
	}
	if fit.coding != "" {
		header.Set("Content-Encoding", fit.coding)
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(fit.bytes))
}

// fitting is the smallest that the caller takes. A part of a file is always one of the plain file.
func (a *asset) fitting(asked http.Header) content {
	takes := strings.Join(asked.Values("Accept-Encoding"), ",")
	for _, c := range a.packed {
		if asked.Get("Range") == "" && accepted(takes, c.coding) {
			return c
		}
	}
	return a.plain
}

// accepted tells whether an Accept-Encoding names a coding and gives it a weight above 0 (RFC 9110, 12.5.3).
func accepted(takes, coding string) bool {
	for one := range strings.SplitSeq(strings.ToLower(takes), ",") {
		name, weight, _ := strings.Cut(one, ";")
		if strings.TrimSpace(name) != coding {
			continue
		}
		q, weighted := strings.CutPrefix(strings.TrimSpace(weight), "q=")
		share, err := strconv.ParseFloat(q, 64)
		return !weighted || err == nil && share > 0
	}
	return false
}

// kioskConfig tells the page what it cannot know by itself.
func kioskConfig(k Kiosk) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		text, err := json.Marshal(struct {
			EngineVersion string `json:"engineVersion"`
			PublicURL     string `json:"publicUrl"` // empty: nobody said
			Secure        bool   `json:"secure"`    // whether this server encrypts; one in front of it may, which the page sees for itself
		}{k.EngineVersion, k.PublicURL, r.TLS != nil})
		if err != nil { // not reached: plain texts
			panic(err)
		}
		fixed("application/json", text).ServeHTTP(w, r)
	})
}
