package gateway_test

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"io"
	"maps"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"arris.example/client/kiosk"
	"arris.example/gateway"
	"arris.example/service"
)

// built is a page as the bundler leaves it.
func built(t testing.TB) fstest.MapFS {
	script := strings.Repeat("/* a page */ ", 40)
	files := fstest.MapFS{}
	for name, text := range map[string]string{
		"index.html": "<!DOCTYPE html><title>kiosk</title>", "sw.js": "self", "manifest.webmanifest": "{}", "icon-192.png": "\x89PNG",
		"placeholder.html":       "not built",
		"assets/app-7QK2ZB4M.js": script, "assets/app-7QK2ZB4M.js.br": "br of script", "assets/app-7QK2ZB4M.js.gz": gzipped(t, script),
		"assets/app-7QK2ZB4M.js.map": "{}", "assets/app-AAAABBBB.css": "body{}", "assets/app-AAAABBBB.css.gz": gzipped(t, "body{}"),
		"assets/read-ABCD2345.wasm": "\x00asm", "assets/plain.css": "p{}", "assets/odd.xyz": "?", "assets/alone.gz": "no plain file beside it",
	} {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return files
}

func gzipped(t testing.TB, text string) string {
	t.Helper()
	var packed bytes.Buffer
	w := gzip.NewWriter(&packed)
	_, err := io.WriteString(w, text)
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return packed.String()
}

func withKiosk(t testing.TB, k gateway.Kiosk) http.Handler {
	_, handler := behind(t, service.Config{}, gateway.Options{Kiosk: k})
	return handler
}

func TestKioskFilesHaveTheirTypesAndMayBeKept(t *testing.T) {
	files := built(t)
	handler := withKiosk(t, gateway.Kiosk{Files: files})
	const asked, forEver = "no-cache", "public, max-age=31536000, immutable"
	for path, want := range map[string]struct{ file, kind, cache string }{
		"":                           {"index.html", "text/html; charset=utf-8", asked},
		"index.html":                 {"index.html", "text/html; charset=utf-8", asked},
		"sw.js":                      {"sw.js", "text/javascript; charset=utf-8", asked},
		"manifest.webmanifest":       {"manifest.webmanifest", "application/manifest+json", asked},
		"icon-192.png":               {"icon-192.png", "image/png", asked},
		"assets/app-7QK2ZB4M.js":     {"assets/app-7QK2ZB4M.js", "text/javascript; charset=utf-8", forEver},
		"assets/app-7QK2ZB4M.js.map": {"assets/app-7QK2ZB4M.js.map", "application/json", forEver},
		"assets/app-AAAABBBB.css":    {"assets/app-AAAABBBB.css", "text/css; charset=utf-8", forEver},
		"assets/read-ABCD2345.wasm":  {"assets/read-ABCD2345.wasm", "application/wasm", forEver},
		"assets/plain.css":           {"assets/plain.css", "text/css; charset=utf-8", asked},
		"assets/odd.xyz":             {"assets/odd.xyz", "application/octet-stream", asked},
		"assets/alone.gz":            {"assets/alone.gz", "application/octet-stream", asked},
	} {
		w := send(handler, http.MethodGet, "/kiosk/"+path, "")
		if w.Code != http.StatusOK || w.Body.String() != string(files[want.file].Data) {
			t.Errorf("%s: %d %q", path, w.Code, w.Body)
		}
		if got := w.Header(); got.Get("Content-Type") != want.kind || got.Get("Cache-Control") != want.cache || got.Get("Etag") == "" {
			t.Errorf("%s: %v", path, got)
		}
		head := send(handler, http.MethodHead, "/kiosk/"+path, "")
		if head.Code != http.StatusOK || head.Body.Len() > 0 || head.Header().Get("Etag") != w.Header().Get("Etag") {
			t.Errorf("HEAD %s: %d %v", path, head.Code, head.Header())
		}
	}
	if w := send(handler, http.MethodGet, "/kiosk", ""); w.Code != http.StatusMovedPermanently || w.Header().Get("Location") != "/kiosk/" {
		t.Errorf("/kiosk: %d %v", w.Code, w.Header())
	}
	for _, method := range []string{http.MethodPost, http.MethodPut, http.MethodDelete, http.MethodOptions, "BREW"} {
		for _, path := range []string{"/kiosk/", "/kiosk/sw.js", "/kiosk/nowhere", "/kiosk/config.json"} {
			w := send(handler, method, path, "")
			wantRefusal(t, w, http.StatusMethodNotAllowed, "NO_SUCH_METHOD")
			if allow := w.Header().Get("Allow"); allow != "GET, HEAD" {
				t.Errorf("%s %s: Allow %q", method, path, allow)
			}
		}
	}
}

// What the page may do, in every answer below /kiosk/: nothing that is written into a page, nothing of another host.
func TestKioskIsHeldToItsPolicy(t *testing.T) {
	handler := withKiosk(t, gateway.Kiosk{Files: built(t)})
	for _, path := range []string{"/kiosk/", "/kiosk/sw.js", "/kiosk/assets/app-7QK2ZB4M.js", "/kiosk/nowhere"} {
		got := send(handler, http.MethodGet, path, "").Header()
		policy := strings.Split(got.Get("Content-Security-Policy"), "; ")
		for _, want := range []string{
			"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'", "style-src 'self'", "connect-src 'self'", "img-src 'self' data: blob:", "media-src 'self' blob:",
			"manifest-src 'self'", "worker-src 'self'", "base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'",
		} {
			if !slices.Contains(policy, want) {
				t.Errorf("%s: no %q in %q", path, want, policy)
			}
		}
		text := strings.Replace(got.Get("Content-Security-Policy"), " 'wasm-unsafe-eval'", "", 1) // programs of this server's, no scripts made of text
		if strings.Contains(text, "unsafe") || strings.Contains(text, "*") || strings.Contains(text, "http") {
			t.Errorf("%s: %q lets too much through", path, text)
		}
		for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer"} {
			if got.Get(name) != want {
				t.Errorf("%s: %s %q", path, name, got.Get(name))
			}
		}
		if !strings.Contains(got.Get("Permissions-Policy"), "camera=(self)") {
			t.Errorf("%s: Permissions-Policy %q", path, got.Get("Permissions-Policy"))
		}
	}
}

func TestKioskFilesAreSentAsTheyWereCompressed(t *testing.T) {
	files := built(t)
	handler := withKiosk(t, gateway.Kiosk{Files: files})
	const script = "/kiosk/assets/app-7QK2ZB4M.js"
	tags := map[string]string{}
	for takes, want := range map[string]string{
		"": "", "gzip, deflate, br": "br", "gzip, deflate": "gzip", "GZIP": "gzip", "br;q=0, gzip": "gzip", "br;q=0.0,gzip;q=0": "",
		"gzip;q=0.5, br;q=0.1": "br", "deflate, zstd": "", "brr, xgzip": "", "gzip;q=x": "", "identity": "",
	} {
		w := send(handler, http.MethodGet, script, "", "Accept-Encoding", takes)
		ending := map[string]string{"": "", "br": ".br", "gzip": ".gz"}[want]
		if got := w.Header().Get("Content-Encoding"); w.Code != http.StatusOK || got != want || w.Header().Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: %d, %q, want %q; %v", takes, w.Code, got, want, w.Header())
		}
		if w.Body.String() != string(files["assets/app-7QK2ZB4M.js"+ending].Data) || w.Header().Get("Content-Type") != "text/javascript; charset=utf-8" {
			t.Errorf("%q: %v %q", takes, w.Header(), w.Body)
		}
		tags[want] = w.Header().Get("Etag")
	}
	if len(slices.Compact(slices.Sorted(maps.Values(tags)))) != 3 {
		t.Errorf("codings share their tags: %v", tags)
	}
	if w := send(handler, http.MethodGet, "/kiosk/", "", "Accept-Encoding", "br, gzip"); w.Header().Get("Content-Encoding") != "" || w.Header().Get("Vary") != "" {
		t.Errorf("a file that was not compressed: %v", w.Header())
	}
	for _, own := range []string{script + ".br", script + ".gz"} {
		wantRefusal(t, send(handler, http.MethodGet, own, ""), http.StatusNotFound, "NO_SUCH_METHOD")
	}
}

// A real client over a real connection: what it unpacks is the file.
func TestKioskFilesAreUnpackedByAClient(t *testing.T) {
	files := built(t)
	server := httptest.NewServer(withKiosk(t, gateway.Kiosk{Files: files}))
	defer server.Close()
	resp, err := server.Client().Get(server.URL + "/kiosk/assets/app-7QK2ZB4M.js") // asks for gzip and unpacks it by itself
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil || !resp.Uncompressed || !bytes.Equal(text, files["assets/app-7QK2ZB4M.js"].Data) {
		t.Errorf("%v, unpacked %v: %q", err, resp.Uncompressed, text)
	}
}

func TestKioskFilesAreAskedAboutAndTakenInParts(t *testing.T) {
	handler := withKiosk(t, gateway.Kiosk{Files: built(t)})
	const script = "/kiosk/assets/app-7QK2ZB4M.js"
	get := func(headers ...string) *httptest.ResponseRecorder {
		return send(handler, http.MethodGet, script, "", headers...)
	}
	tag := get("Accept-Encoding", "br").Header().Get("Etag")
	if w := get("Accept-Encoding", "br", "If-None-Match", tag); w.Code != http.StatusNotModified || w.Body.Len() > 0 {
		t.Errorf("the same again: %d", w.Code)
	}
	if w := get("If-None-Match", tag); w.Code != http.StatusOK || w.Header().Get("Content-Encoding") != "" {
		t.Errorf("the tag of another coding: %d %v", w.Code, w.Header())
	}
	whole := get()
	if w := get("Accept-Encoding", "br, gzip", "Range", "bytes=3-6"); w.Code != http.StatusPartialContent || w.Body.String() != whole.Body.String()[3:7] ||
		w.Header().Get("Content-Encoding") != "" || w.Header().Get("Content-Range") != "bytes 3-6/520" {
		t.Errorf("a part: %d %v %q", w.Code, w.Header(), w.Body)
	}
	if w := get("Range", "bytes=9999-"); w.Code != http.StatusRequestedRangeNotSatisfiable {
		t.Errorf("a part beyond the end: %d", w.Code)
	}
	if w := get("Range", "bytes=3-6", "If-Range", `"another"`); w.Code != http.StatusOK || w.Body.String() != whole.Body.String() {
		t.Errorf("a part of what it no longer is: %d", w.Code)
	}
}

// Paths as somebody writes them who wants more than the page has; sent as they are, past every client that would tidy them up.
func TestNoPathLeadsOutOfTheKiosk(t *testing.T) {
	root := t.TempDir()
	for name, text := range map[string]string{"secret": "secret", "dist/index.html": "the page", "dist/assets/app.js": "script", "other/x": "secret"} {
		name = filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for link, to := range map[string]string{"link": "../secret", "assets/link": "../../secret", "folder": "../other", "index.html.gz": "../secret"} {
		if err := os.Symlink(to, filepath.Join(root, "dist", link)); err != nil {
			t.Fatal(err)
		}
	}
	server := httptest.NewServer(withKiosk(t, gateway.Kiosk{Files: os.DirFS(filepath.Join(root, "dist"))}))
	defer server.Close()
	if status, text := spoken(t, server, "/kiosk/"); status != http.StatusOK || text != "the page" {
		t.Fatalf("the page itself: %d %q", status, text)
	}
	for _, path := range []string{
		"/kiosk/..", "/kiosk/../", "/kiosk/../secret", "/kiosk/assets/../../secret", "/kiosk/./index.html", "/kiosk//index.html", "/kiosk/assets",
		"/kiosk/assets/", "/kiosk/assets/../index.html", "/kiosk/%2e%2e/secret", "/kiosk/%2E%2E%2Fsecret", "/kiosk/..%2fsecret", "/kiosk/..%5csecret",
		"/kiosk/..\\secret", "/kiosk/assets%2fapp.js", "/kiosk%2findex.html", "/kiosk/%69ndex.html", "/kiosk/%252e%252e/secret", "/kiosk/index.html%00",
		"/kiosk/link", "/kiosk/assets/link", "/kiosk/folder", "/kiosk/folder/x", "/kiosk/index.html/", "/kiosk/index.html.gz", "/kiosk/INDEX.HTML",
		"/kiosk/;/index.html", "/kiosk/index.html;x", "/kiosk/\xff\xfe", "/kiosk/%ff", "/kiosk/" + strings.Repeat("a/", 500), "/kiosk/.", "/kiosk/...", "/kiosk/CON",
	} {
		status, text := spoken(t, server, path)
		if status != http.StatusNotFound && status != http.StatusBadRequest || strings.Contains(text, "secret") && !strings.Contains(path, "secret") {
			t.Errorf("%q: %d %q", path, status, text)
		}
	}
	if status, text := spoken(t, server, "/kiosk/assets/app.js?../secret#x"); status != http.StatusOK || text != "script" {
		t.Errorf("a query is no path: %d %q", status, text)
	}
}

// spoken is the answer to a path that is sent as it is.
func spoken(t *testing.T, server *httptest.Server, path string) (status int, text string) {
	t.Helper()
	conn, err := net.Dial("tcp", server.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := io.WriteString(conn, "GET "+path+" HTTP/1.1\r\nHost: kiosk\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n"); err != nil {
		t.Fatal(err)
	}
	resp, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, contentOf(t, resp)
}

func contentOf(t *testing.T, resp *http.Response) string {
	t.Helper()
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Whatever is asked for, the answer is one of the files or a refusal.
func FuzzKioskPath(f *testing.F) {
	for _, seed := range []string{"", "index.html", "../secret", "assets/app-7QK2ZB4M.js", "%2e%2e/", "a%2fb", "\\", "config.json", "assets/app-7QK2ZB4M.js.gz"} {
		f.Add(seed)
	}
	files := built(f)
	handler := withKiosk(f, gateway.Kiosk{Files: files})
	f.Fuzz(func(t *testing.T, path string) {
		target, err := url.Parse("/kiosk/" + path)
		if err != nil {
			return
		}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, &http.Request{Method: http.MethodGet, URL: target, Header: http.Header{}})
		file, known := files[strings.TrimPrefix(target.Path, "/kiosk/")]
		switch {
		case w.Code == http.StatusNotFound:
		case w.Code != http.StatusOK:
			t.Errorf("%q: %d", path, w.Code)
		case strings.HasSuffix(target.Path, "placeholder.html"):
			t.Errorf("%q is answered: %q", path, w.Body)
		case known && w.Body.String() != string(file.Data):
			t.Errorf("%q is answered with another file: %q", path, w.Body)
		case !known && target.Path != "/kiosk/" && target.Path != "/kiosk/config.json" && strings.HasPrefix(target.Path, "/kiosk/"):
			t.Errorf("%q is answered: %q", path, w.Body)
		}
	})
}

// Without a built page the address says how to build it, and is no success to whoever watches it.
func TestKioskThatIsNotBuiltSaysHow(t *testing.T) {
	committed, err := os.ReadFile(filepath.Join("..", "client", "kiosk", "dist", "placeholder.html"))
	if err != nil {
		t.Fatal(err)
	}
	handler := withKiosk(t, gateway.Kiosk{Files: fstest.MapFS{"placeholder.html": {Data: committed}}})
	for _, path := range []string{"/kiosk/", "/kiosk/index.html"} {
		w := send(handler, http.MethodGet, path, "")
		if text := w.Body.String(); w.Code != http.StatusServiceUnavailable || !strings.Contains(text, "make kiosk") || !strings.Contains(text, "Node") {
			t.Errorf("%s: %d %s", path, w.Code, text)
		}
		if got := w.Header(); got.Get("Content-Type") != "text/html; charset=utf-8" || got.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %v", path, got)
		}
	}
	for _, path := range []string{"/kiosk/sw.js", "/kiosk/placeholder.html"} {
		wantRefusal(t, send(handler, http.MethodGet, path, ""), http.StatusNotFound, "NO_SUCH_METHOD")
	}
	wantRefusal(t, send(withKiosk(t, gateway.Kiosk{Files: built(t)}), http.MethodGet, "/kiosk/placeholder.html", ""), http.StatusNotFound, "NO_SUCH_METHOD")
	wantRefusal(t, send(withKiosk(t, gateway.Kiosk{}), http.MethodGet, "/kiosk/", ""), http.StatusNotFound, "NO_SUCH_METHOD")
}

func TestFilesThatCannotBeReadAreTold(t *testing.T) {
	_, err := gateway.New(nil, gateway.Options{Kiosk: gateway.Kiosk{Files: os.DirFS(filepath.Join(t.TempDir(), "nowhere"))}})
	if err == nil || !strings.Contains(err.Error(), "kiosk") {
		t.Error(err)
	}
}

// The program has the page or the word of how to get it, whichever there was when it was built.
func TestProgramHasTheKiosksFiles(t *testing.T) {
	w := send(withKiosk(t, gateway.Kiosk{Files: kiosk.Files()}), http.MethodGet, "/kiosk/", "")
	if want := map[bool]int{true: http.StatusOK, false: http.StatusServiceUnavailable}[kiosk.Built()]; w.Code != want || !strings.Contains(w.Body.String(), "<html") {
		t.Errorf("%d, built %v", w.Code, kiosk.Built())
	}
}

func TestKioskIsToldWhatItCannotKnow(t *testing.T) {
	handler := withKiosk(t, gateway.Kiosk{EngineVersion: "1.2.3", PublicURL: "https://shop.local:8480"})
	plain, secure := httptest.NewServer(handler), httptest.NewTLSServer(handler)
	defer plain.Close()
	defer secure.Close()
	for server, want := range map[*httptest.Server]string{
		plain:  `{"engineVersion":"1.2.3","publicUrl":"https://shop.local:8480","secure":false}`,
		secure: `{"engineVersion":"1.2.3","publicUrl":"https://shop.local:8480","secure":true}`,
	} {
		resp, err := server.Client().Get(server.URL + "/kiosk/config.json")
		if err != nil {
			t.Fatal(err)
		}
		if text := contentOf(t, resp); text != want || resp.Header.Get("Content-Type") != "application/json" || resp.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s %v, want %s", text, resp.Header, want)
		}
	}
}
