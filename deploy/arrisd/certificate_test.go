package main

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"io"
	"io/fs"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	"arris.example/client/arris"
	"arris.example/deploy/outside"
)

// initialised is a folder as `arris tls init` makes it for hosts.
func initialised(t *testing.T, hosts ...string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "tls")
	commanded(t, append([]string{"tls", "init", dir, "--host"}, strings.Split(strings.Join(hosts, " --host "), " ")...)...)
	return dir
}

// commanded runs the command line, and gives what it prints.
func commanded(t *testing.T, args ...string) string {
	t.Helper()
	code, out, errs := arrisRun(args...)
	if code != 0 {
		t.Fatalf("arris %s: exit code %d, %s", args, code, errs)
	}
	return out
}

// arrisRun runs the command line, which has no service of its own here.
func arrisRun(args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	nobody := func(arris.Place) (grpc.ClientConnInterface, func() error, error) {
		return nil, nil, errors.New("no service")
	}
	code = arris.Run(context.Background(), args, nobody, arris.Streams{In: strings.NewReader(""), Out: &o, Err: &e})
	return code, o.String(), e.String()
}

func tlsFlags(dir string) []string {
	return []string{"--tls-cert=" + filepath.Join(dir, "server.crt"), "--tls-key=" + filepath.Join(dir, "server.key")}
}

// trusting trusts the authority of a folder and nobody else.
func trusting(t *testing.T, dir string) *tls.Config {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "authority.crt"))
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(text)
	return &tls.Config{RootCAs: roots}
}

func httpsClient(config *tls.Config) *http.Client {
	return &http.Client{Transport: &http.Transport{TLSClientConfig: config, DisableKeepAlives: true, ForceAttemptHTTP2: true}}
}

// reaches tells what keeps a client from a server.
func reaches(config *tls.Config, base string) error {
	resp, err := httpsClient(config).Get(base + "/healthz")
	if err == nil {
		err = resp.Body.Close()
	}
	return err
}

// From `arris tls init` to an answer: REST and gRPC are encrypted by TLS 1.2 or later, REST by HTTP/2, the command line trusts by --tls-ca,
// and what the demonstration prints works as it is printed.
func TestEncryptedServer(t *testing.T) {
	dir := initialised(t, "shop.local")
	out, log, _ := started(t, append(tlsFlags(dir), "--demo")...)
	out.await(t, "Ctrl-C")
	text := out.String()
	client := httpsClient(trusting(t, dir))

	page := found(t, text, `kiosk +(https://\S+/kiosk/)`)[0]
	base := strings.TrimSuffix(page, "/kiosk/")
	for path, want := range map[string]string{
		"/kiosk/config.json": `"secure":true`, "/readyz": "ready", "/healthz": "alive", "/metrics": "arris_tls_certificate_expiry_timestamp_seconds",
	} {
		resp, err := client.Get(base + path)
		if err != nil {
			t.Fatal(err)
		}
		if code, body := readAll(t, resp); code != http.StatusOK || !strings.Contains(body, want) || resp.Proto != "HTTP/2.0" || resp.TLS.Version < tls.VersionTLS12 {
			t.Errorf("%s: %d by %s: %s", path, code, resp.Proto, body)
		}
	}
	curl := found(t, text, `curl -s --cacert (\S+) (https://\S+) -H 'Content-Type: (\S+)' -d '([^']+)'`)
	if curl[0] != filepath.Join(dir, "authority.crt") {
		t.Errorf("curl is to trust %s", curl[0])
	}
	resp, err := client.Post(curl[1], curl[2], strings.NewReader(curl[3]))
	if err != nil {
		t.Fatal(err)
	}
	if code, body := readAll(t, resp); code != http.StatusOK || !strings.Contains(body, `"setMm":108.5`) {
		t.Errorf("curl line: %d %s", code, body)
	}

	at := found(t, text, `gRPC +(\S+)`)[0]
	answer := commanded(t, "solve", "bowl-50", "--station", "north", "-o", "csv", "--server", at, "--tls-ca", curl[0])
	if !strings.Contains(answer, "108.5") {
		t.Errorf("the command line is answered %s", answer)
	}
	stranger := filepath.Join(initialised(t, "shop.local"), "authority.crt")
	for says, flags := range map[string][]string{
		"if the server encrypts, say whom to trust by --tls-ca": nil, "; say whom to trust by --tls-ca": {"--tls-ca", stranger},
	} {
		args := append([]string{"solve", "bowl-50", "--station", "north", "--server", at}, flags...)
		if code, _, errs := arrisRun(args...); code != arris.ExitAway || !strings.Contains(errs, says) {
			t.Errorf("%s: exit code %d, %s", flags, code, errs)
		}
	}
	for name, c := range map[string]struct {
		how  credentials.TransportCredentials
		want bool
	}{
		"trusting":     {credentials.NewTLS(trusting(t, dir)), true},
		"others":       {credentials.NewTLS(trusting(t, initialised(t, "shop.local"))), false},
		"not at all":   {insecure.NewCredentials(), false},
		"of TLS 1.1":   {credentials.NewTLS(&tls.Config{RootCAs: trusting(t, dir).RootCAs, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}), false},
		"another name": {credentials.NewTLS(&tls.Config{RootCAs: trusting(t, dir).RootCAs, ServerName: "other.local"}), false},
	} {
		if err := health(t, at, c.how); (err == nil) != c.want {
			t.Errorf("gRPC, %s: %v", name, err)
		}
	}
	if reaches(&tls.Config{RootCAs: trusting(t, dir).RootCAs, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}, base) == nil {
		t.Error("TLS 1.1 is spoken")
	}
	if code, body := get(t, strings.Replace(base, "https://", "http://", 1)); code != http.StatusBadRequest || !strings.Contains(body, "HTTPS") {
		t.Errorf("without encryption: %d %s", code, body)
	}
	for _, want := range []string{"msg=TLS", "shop.local", "until="} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("no %s in the log:\n%s", want, log)
		}
	}
}

func health(t *testing.T, at string, how credentials.TransportCredentials) error {
	t.Helper()
	conn, err := grpc.NewClient(at, grpc.WithTransportCredentials(how))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	_, err = healthv1.NewHealthClient(conn).Check(t.Context(), &healthv1.HealthCheckRequest{})
	return err
}

func TestWithoutCertificateNothingIsEncrypted(t *testing.T) {
	out, _, _ := started(t, "--demo")
	out.await(t, "Ctrl-C")
	base := strings.TrimSuffix(found(t, out.String(), `kiosk +(http://\S+/kiosk/)`)[0], "/kiosk/")
	if code, body := get(t, base+"/kiosk/config.json"); code != http.StatusOK || !strings.Contains(body, `"secure":false`) || !strings.Contains(body, `"engineVersion":"1.`) {
		t.Errorf("%d %s", code, body)
	}
	if _, numbers := get(t, base+"/metrics"); strings.Contains(numbers, "arris_tls") {
		t.Error("there is a certificate's metric without one")
	}
}

// A running server takes up a renewed certificate, and keeps the one before while the new one cannot be used.
func TestCertificateIsReadAgain(t *testing.T) {
	dir := initialised(t, "shop.local")
	_, log, _ := started(t, append(tlsFlags(dir), "--store=none")...)
	config := trusting(t, dir)
	config.ServerName = "bench.local" // which the first certificate is not for
	base := "https://" + found(t, log.String(), `http=(\S+)`)[0]
	rpc := found(t, log.String(), `grpc=(\S+)`)[0]
	if reaches(config, base) == nil {
		t.Fatal("the first certificate is for bench.local")
	}
	shown := func() error {
		return errors.Join(reaches(config, base), health(t, rpc, credentials.NewTLS(config.Clone())))
	}
	await := func(what string, done func() bool) {
		t.Helper()
		for deadline := time.Now().Add(20 * time.Second); !done(); time.Sleep(50 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("%s: not within 20 s; log:\n%s", what, log)
			}
		}
	}
	commanded(t, "tls", "renew", dir, "--host", "bench.local")
	await("a renewed certificate", func() bool { return shown() == nil })

	key := filepath.Join(dir, "server.key")
	if err := os.Remove(key); err != nil {
		t.Fatal(err)
	}
	await("a key that went", func() bool { return shown() == nil && strings.Contains(log.String(), "the one before stays") })
	commanded(t, "tls", "renew", dir, "--host", "bench.local") // with another key
	lines := strings.Count(log.String(), "msg=TLS")
	await("another key", func() bool { return shown() == nil && strings.Count(log.String(), "msg=TLS") > lines })
	if n := strings.Count(log.String(), "the one before stays"); n > 3 {
		t.Errorf("it says %d times that the new one cannot be used", n)
	}
}

// issued writes a certificate that signs itself, with its key, and returns both files.
func issued(t *testing.T, from, until time.Time, names ...string) (cert, key string) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.CreateCertificate(rand.Reader, &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: from, NotAfter: until, DNSNames: names},
		&x509.Certificate{SerialNumber: big.NewInt(1)}, private.Public(), private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	return file(t, "CERTIFICATE", der), file(t, "PRIVATE KEY", secret)
}

func file(t *testing.T, kind string, content []byte) string {
	t.Helper()
	return plainFile(t, string(pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: content})))
}

func plainFile(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "file.pem")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestCertificatesThatCannotBeUsedAreToldApart(t *testing.T) {
	now, hour := time.Now(), time.Hour
	cert, key := issued(t, now.Add(-hour), now.Add(1000*hour), "shop.local")
	old, oldKey := issued(t, now.Add(-2*hour), now.Add(-hour), "shop.local")
	early, earlyKey := issued(t, now.Add(hour), now.Add(2*hour), "shop.local")
	nameless, namelessKey := issued(t, now.Add(-hour), now.Add(hour))
	_, otherKey := issued(t, now.Add(-hour), now.Add(hour), "shop.local")
	for name, c := range map[string]struct {
		cert, key string
		says      []string
	}{
		"no certificate":   {"nowhere.crt", key, []string{"--tls-cert", "no file nowhere.crt", "arris tls init"}},
		"no key":           {cert, "nowhere.key", []string{"--tls-key", "no file nowhere.key"}},
		"a folder":         {t.TempDir(), key, []string{"--tls-cert", "is a directory"}},
		"another's key":    {cert, otherKey, []string{cert, otherKey, "private key does not match public key"}},
		"the wrong way":    {key, cert, []string{key, "switched"}},
		"expired":          {old, oldKey, []string{"--tls-cert", old, "expired on", "arris tls renew"}},
		"not yet":          {early, earlyKey, []string{early, "is not valid before", "clock"}},
		"no names":         {nameless, namelessKey, []string{nameless, "names no host"}},
		"rubbish":          {plainFile(t, "rubbish"), key, []string{"--tls-cert", "PEM"}},
		"broken":           {file(t, "CERTIFICATE", []byte("rubbish")), key, []string{"cannot be used"}},
		"a locked key":     {cert, file(t, "ENCRYPTED PRIVATE KEY", []byte("rubbish")), []string{"--tls-key", "passphrase", "openssl pkey"}},
		"key not said":     {cert, "", []string{"--tls-cert", "--tls-key"}},
		"certificate also": {"", key, []string{"--tls-key", "--tls-cert"}},
	} {
		var errs bytes.Buffer
		args := []string{"--http=127.0.0.1:0", "--grpc=127.0.0.1:0", "--store=none"}
		for flag, value := range map[string]string{"--tls-cert=": c.cert, "--tls-key=": c.key} {
			if value != "" {
				args = append(args, flag+value)
			}
		}
		want := exitRuntime
		if c.cert == "" || c.key == "" {
			want = exitUsage
		}
		if code := run(t.Context(), time.Now(), args, io.Discard, &errs); code != want {
			t.Errorf("%s: exit code %d", name, code)
		}
		for _, say := range c.says {
			if !strings.Contains(errs.String(), say) {
				t.Errorf("%s: no %q in %s", name, say, &errs)
			}
		}
	}
}

// Whoever may not read a key is told so. The superuser may read all, so that to them the system's word for it is given.
func TestKeysThatMayNotBeRead(t *testing.T) {
	key := plainFile(t, "secret")
	if err := os.Chmod(key, 0); err != nil {
		t.Fatal(err)
	}
	_, _, err := readPart("--tls-key", key)
	if os.Getuid() == 0 {
		err = unread("--tls-key", key, &fs.PathError{Op: "open", Path: key, Err: syscall.EACCES})
	}
	if err == nil || !strings.Contains(err.Error(), key+" may not be read by the user that arrisd runs as") {
		t.Error(err)
	}
}

// What is amiss and no reason to stop is said in the log.
func TestWarningsOfACertificate(t *testing.T) {
	now := time.Now()
	cert, key := issued(t, now.Add(-time.Hour), now.Add(20*24*time.Hour), "shop.local")
	if err := os.Chmod(key, 0o644); err != nil {
		t.Fatal(err)
	}
	_, log, _ := started(t, "--tls-cert="+cert, "--tls-key="+key, "--store=none")
	for _, want := range []string{"expires soon", "every user of this machine may read the key"} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("no %q in\n%s", want, log)
		}
	}
}

// A browser that trusts the authority opens the page by the name in the certificate, and without that does not. For a host outside the
// local network it does not trust even what the authority's own key signs.
func TestBrowserTrustsTheAuthorityForItsHostsAlone(t *testing.T) {
	browser, certutil := outside.Program(t, "chromium", "chromium"), outside.Program(t, "libnss3-tools", "certutil")
	dir := initialised(t, "shop.local")
	home := t.TempDir() // the browser finds there whom it trusts
	trust := filepath.Join(home, ".pki", "nssdb")
	if err := os.MkdirAll(trust, 0o700); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"-N", "--empty-password"}, {"-A", "-t", "C,,", "-n", "shop", "-i", filepath.Join(dir, "authority.crt")}} {
		if out, err := exec.Command(certutil, append([]string{"-d", "sql:" + trust}, args...)...).CombinedOutput(); err != nil {
			t.Fatalf("certutil %s: %v\n%s", args, err, out)
		}
	}
	forged, forgedKey := signedFor(t, dir, "shop.example")
	for name, c := range map[string]struct {
		host, home string
		flags      []string
		want       bool
	}{
		"trusting":   {"shop.local", home, tlsFlags(dir), true},
		"by default": {"shop.local", t.TempDir(), tlsFlags(dir), false},
		"elsewhere":  {"shop.example", home, []string{"--tls-cert=" + forged, "--tls-key=" + forgedKey}, false},
	} {
		_, log, end := started(t, append(c.flags, "--store=none")...)
		_, port, err := net.SplitHostPort(found(t, log.String(), `http=(\S+)`)[0])
		if err != nil {
			t.Fatal(err)
		}
		page := browsed(t, browser, c.home, c.host, "https://"+c.host+":"+port+"/kiosk/config.json")
		if strings.Contains(page, `"secure":true`) != c.want || !c.want && !strings.Contains(log.String(), "TLS handshake error") {
			t.Errorf("%s: %.300s\nlog:\n%s", name, page, log)
		}
		end()
	}
}

// browsed is what a browser makes of an address, whose host is this machine.
func browsed(t *testing.T, browser, home, host, address string) string {
	t.Helper()
	show := exec.CommandContext(t.Context(), browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--user-data-dir="+t.TempDir(),
		"--host-resolver-rules=MAP "+host+" 127.0.0.1", "--dump-dom", address)
	show.Env = append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME=", "XDG_DATA_HOME=", "XDG_CACHE_HOME=")
	page, err := show.Output()
	if err != nil {
		t.Fatalf("%s: %v", address, err)
	}
	return string(page)
}

// signedFor is a certificate for a host that the folder's authority is misused for, and its key.
func signedFor(t *testing.T, dir, host string) (cert, key string) {
	t.Helper()
	pair, err := tls.LoadX509KeyPair(filepath.Join(dir, "authority.crt"), filepath.Join(dir, "authority.key"))
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(100 * 24 * time.Hour), DNSNames: []string{host},
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	der, err := x509.CreateCertificate(rand.Reader, template, pair.Leaf, pair.Leaf.PublicKey, pair.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	return file(t, "CERTIFICATE", der), filepath.Join(dir, "authority.key")
}
