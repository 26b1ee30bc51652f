package authority

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"arris.example/deploy/outside"
)

// typed are hosts that tablets reach a server by.
var typed = []string{"shop.local", "grinder.example", "192.168.1.20", "203.0.113.7", "fd12::7"}

func parsed(t *testing.T, hosts ...string) Hosts {
	t.Helper()
	h, err := ParseHosts(hosts)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func made(t *testing.T, hosts ...string) Folder {
	t.Helper()
	folder := Folder(filepath.Join(t.TempDir(), "new", "tls"))
	if err := folder.Make(parsed(t, hosts...), time.Now()); err != nil {
		t.Fatal(err)
	}
	return folder
}

func certificate(t *testing.T, f Folder, name string) *x509.Certificate {
	t.Helper()
	c, err := f.Certificate(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// openssl runs the outside reader, and gives what it printed and whether it was content.
func openssl(t *testing.T, args ...string) (string, bool) {
	t.Helper()
	out, err := exec.Command(outside.Program(t, "openssl", "openssl"), args...).CombinedOutput()
	return string(out), err == nil
}

// OpenSSL, by its strict rules, takes the certificate for every host that was said and for no other.
func TestOpenSSLTakesIt(t *testing.T) {
	folder := made(t, typed...)
	verify := func(more ...string) (string, bool) {
		return openssl(t, slices.Concat([]string{"verify", "-x509_strict", "-check_ss_sig", "-purpose", "sslserver", "-CAfile", folder.Path(CertFile)}, more,
			[]string{folder.Path(ServerCertFile)})...)
	}
	for _, host := range slices.Concat(typed, here) {
		flag := "-verify_hostname"
		if net.ParseIP(host) != nil {
			flag = "-verify_ip"
		}
		if out, ok := verify(flag, host); !ok {
			t.Errorf("%s: %s", host, out)
		}
	}
	for _, no := range [][]string{
		{"-verify_hostname", "other.local"}, {"-verify_hostname", "sub.shop.local"}, {"-verify_ip", "192.168.1.21"}, {"-verify_ip", "::2"},
	} {
		if out, ok := verify(no...); ok {
			t.Errorf("%s is taken too: %s", no, out)
		}
	}
	if out, ok := openssl(t, "verify", "-x509_strict", "-purpose", "sslclient", "-CAfile", folder.Path(CertFile), folder.Path(ServerCertFile)); ok {
		t.Errorf("it is taken for a client's: %s", out)
	}
	in397 := time.Now().AddDate(0, 0, serverDays).Add(-2 * time.Hour)
	for day, want := range map[time.Time]bool{in397: true, in397.Add(4 * time.Hour): false, time.Now().Add(-30 * time.Minute): true, time.Now().Add(-2 * time.Hour): false} {
		if out, ok := verify("-attime", strconv.FormatInt(day.Unix(), 10)); ok != want {
			t.Errorf("on %s: %v, want %v: %s", day, ok, want, out)
		}
	}
	text, _ := openssl(t, "x509", "-noout", "-text", "-in", folder.Path(ServerCertFile))
	for _, want := range []string{
		"prime256v1", "ecdsa-with-SHA256", "CA:FALSE", "TLS Web Server Authentication", "DNS:shop.local", "IP Address:192.168.1.20", "Digital Signature",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in %s", want, text)
		}
	}
	for cert, key := range map[string]string{CertFile: KeyFile, ServerCertFile: ServerKeyFile} {
		ofCert, _ := openssl(t, "x509", "-noout", "-pubkey", "-in", folder.Path(cert))
		ofKey, ok := openssl(t, "pkey", "-pubout", "-in", folder.Path(key))
		if !ok || ofCert != ofKey {
			t.Errorf("%s and %s: %s%s", cert, key, ofCert, ofKey)
		}
	}
}

// A stolen key is of no use elsewhere: what it would sign for other hosts is refused, by OpenSSL and by Go.
func TestAuthorityVouchesForNobodyElse(t *testing.T) {
	folder := made(t, typed...)
	own, err := folder.authority()
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(own.Certificate)
	for host, want := range map[string]bool{
		"shop.local": true, "other.local": true, "printer.internal": true, "nas.home.arpa": true, "sub.grinder.example": true, "10.1.2.3": true, "fe80::9": true,
		"example.org": false, "other.example": false, "grinder.example.org": false, "local.example.org": false, "203.0.113.8": false, "8.8.8.8": false, "2001:db8::1": false,
	} {
		forged := forge(t, own, host)
		file := filepath.Join(t.TempDir(), "forged.crt")
		if err := os.WriteFile(file, certText(forged.Raw), 0o600); err != nil {
			t.Fatal(err)
		}
		if out, ok := openssl(t, "verify", "-x509_strict", "-CAfile", folder.Path(CertFile), file); ok != want || !want && !strings.Contains(out, "permitted subtree violation") {
			t.Errorf("%s is %v by openssl: %s", host, ok, out)
		}
		if _, err := forged.Verify(x509.VerifyOptions{Roots: roots, DNSName: host}); (err == nil) != want {
			t.Errorf("%s by Go: %v", host, err)
		}
		if _, err := own.Certify(parsed(t, host), own.key.Public(), time.Now()); (err == nil) != want {
			t.Errorf("%s is certified: %v", host, err)
		}
	}
}

// forge signs for a host without asking whether that may be.
func forge(t *testing.T, own *Authority, host string) *x509.Certificate {
	t.Helper()
	template := &x509.Certificate{NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	hosts := parsed(t, host)
	template.DNSNames = hosts.Names[:len(hosts.Names)-1] // without this machine's own
	template.IPAddresses = hosts.addresses()[:len(hosts.Addresses)-2]
	der, err := x509.CreateCertificate(rand.Reader, template, own.Certificate, own.key.Public(), own.key)
	if err != nil {
		t.Fatal(err)
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return cert
}

// A client that trusts the authority talks to a server that shows the certificate, and to none that shows another's.
func TestClientsTrustTheServer(t *testing.T) {
	folder, other := made(t, typed...), made(t, typed...)
	for _, c := range []struct {
		shows Folder
		want  bool
	}{{folder, true}, {other, false}} {
		pair, err := tls.LoadX509KeyPair(c.shows.Path(ServerCertFile), c.shows.Path(ServerKeyFile))
		if err != nil {
			t.Fatal(err)
		}
		server := httptest.NewUnstartedServer(http.NotFoundHandler())
		server.Config.ErrorLog = log.New(io.Discard, "", 0)
		server.TLS = &tls.Config{Certificates: []tls.Certificate{pair}}
		server.StartTLS()
		roots := x509.NewCertPool()
		roots.AddCert(certificate(t, folder, CertFile))
		client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, DisableKeepAlives: true}}
		resp, err := client.Get(server.URL)
		if (err == nil) != c.want {
			t.Errorf("trusts: %v, want %v", err, c.want)
		}
		if err == nil {
			resp.Body.Close()
		}
		server.Close()
	}
}

func TestFilesAreForTheirReaders(t *testing.T) {
	folder := made(t, typed...)
	for name, want := range map[string]os.FileMode{"": 0o700, KeyFile: 0o600, ServerKeyFile: 0o600, CertFile: 0o644, ServerCertFile: 0o644} {
		info, err := os.Stat(folder.Path(name))
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Mode().Perm(); got != want {
			t.Errorf("%s may be read by %o, want %o", name, got, want)
		}
	}
	wantFiles(t, folder, CertFile, KeyFile, ServerCertFile, ServerKeyFile)
}

func wantFiles(t *testing.T, folder Folder, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(string(folder))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if !slices.Equal(got, want) {
		t.Errorf("there are %v, want %v", got, want)
	}
}

// Each of the four files stops another four from being made, links to nothing as well; and nothing is left of the attempt.
func TestNothingIsReplaced(t *testing.T) {
	for _, name := range []string{CertFile, KeyFile, ServerCertFile, ServerKeyFile} {
		folder := Folder(t.TempDir())
		if err := os.Symlink("nowhere", folder.Path(name)); err != nil {
			t.Fatal(err)
		}
		if err := folder.Make(parsed(t, "shop.local"), time.Now()); err == nil || !strings.Contains(err.Error(), folder.Path(name)) || !strings.Contains(err.Error(), "arris tls renew") {
			t.Errorf("%s: %v", name, err)
		}
		wantFiles(t, folder, name)
		if err := folder.add(file{name, nil, owner}); err == nil || !strings.Contains(err.Error(), "is there already") { // it came meanwhile
			t.Errorf("%s: %v", name, err)
		}
		wantFiles(t, folder, name)
	}
}

func TestRenewedUnderTheSameAuthority(t *testing.T) {
	folder := made(t, typed...)
	own, before := certificate(t, folder, CertFile), certificate(t, folder, ServerCertFile)
	later := time.Now().AddDate(0, 6, 0)
	if err := folder.Renew(nil, later); err != nil {
		t.Fatal(err)
	}
	after := certificate(t, folder, ServerCertFile)
	if !certificate(t, folder, CertFile).Equal(own) || after.Equal(before) || after.SerialNumber.Cmp(before.SerialNumber) == 0 || after.CheckSignatureFrom(own) != nil {
		t.Error("it is not another certificate under the same authority")
	}
	if !slices.Equal(hostsOf(after).all(), hostsOf(before).all()) || !after.PublicKey.(*ecdsa.PublicKey).Equal(before.PublicKey) {
		t.Errorf("hosts or key changed: %v", hostsOf(after).all())
	}
	if got := after.NotAfter.Sub(later); got < 396*24*time.Hour || after.NotAfter.Sub(after.NotBefore) > 398*24*time.Hour {
		t.Errorf("lasts %s", got)
	}
	wantFiles(t, folder, CertFile, KeyFile, ServerCertFile, ServerKeyFile)

	others := parsed(t, "10.0.0.9", "bench.local")
	if err := folder.Renew(&others, later); err != nil {
		t.Fatal(err)
	}
	if got := Elsewhere(certificate(t, folder, ServerCertFile)); !slices.Equal(got, []string{"bench.local", "10.0.0.9"}) {
		t.Errorf("for %v", got)
	}

	if err := os.Remove(folder.Path(ServerKeyFile)); err != nil {
		t.Fatal(err)
	}
	if err := folder.Renew(nil, later); err != nil {
		t.Fatal(err)
	}
	if _, err := tls.LoadX509KeyPair(folder.Path(ServerCertFile), folder.Path(ServerKeyFile)); err != nil || after.PublicKey.(*ecdsa.PublicKey).Equal(certificate(t, folder, ServerCertFile).PublicKey) {
		t.Errorf("another key: %v", err)
	}
}

// What stands in the way of a renewal is said, and the certificate before stays.
func TestRenewalsThatCannotBe(t *testing.T) {
	elsewhere := made(t, "shop.local")
	copyOf := func(from, to Folder, name, as string) {
		text, err := os.ReadFile(from.Path(name))
		if err == nil {
			err = os.WriteFile(to.Path(as), text, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	write := func(f Folder, name, text string) {
		if err := os.WriteFile(f.Path(name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for name, c := range map[string]struct {
		harm  func(Folder)
		hosts []string
		after time.Duration
		says  string
	}{
		"no authority":           {func(f Folder) { os.Remove(f.Path(CertFile)) }, nil, 0, "authority.crt"},
		"no authority's key":     {func(f Folder) { os.Remove(f.Path(KeyFile)) }, nil, 0, "authority.key"},
		"another's key":          {func(f Folder) { copyOf(elsewhere, f, KeyFile, KeyFile) }, nil, 0, "is not the key of authority.crt"},
		"a server as authority":  {func(f Folder) { copyOf(f, f, ServerCertFile, CertFile); copyOf(f, f, ServerKeyFile, KeyFile) }, nil, 0, "is no authority's certificate"},
		"hosts not known":        {func(f Folder) { os.Remove(f.Path(ServerCertFile)) }, nil, 0, "--host"},
		"rubbish as certificate": {func(f Folder) { write(f, ServerCertFile, "rubbish") }, nil, 0, "is no certificate in PEM form"},
		"rubbish as key":         {func(f Folder) { write(f, ServerKeyFile, "rubbish") }, nil, 0, "is no key in PEM form"},
		"a host elsewhere":       {func(Folder) {}, []string{"shop.local", "example.org"}, 0, `cannot vouch for all of these hosts (DNS name "example.org"`},
		"the authority ends":     {func(Folder) {}, nil, 9*365*24*time.Hour + 30*24*time.Hour, "the authority itself lasts until"},
	} {
		folder := made(t, "shop.local")
		c.harm(folder)
		before, _ := os.ReadFile(folder.Path(ServerCertFile))
		var hosts *Hosts
		if c.hosts != nil {
			h := parsed(t, c.hosts...)
			hosts = &h
		}
		err := folder.Renew(hosts, time.Now().Add(c.after))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
		if after, _ := os.ReadFile(folder.Path(ServerCertFile)); !bytes.Equal(after, before) {
			t.Errorf("%s: the certificate changed", name)
		}
	}
}

func TestHostsAsTheyAreTyped(t *testing.T) {
	for one, want := range map[string]string{
		"shop.local": "shop.local", "Shop.LOCAL.": "shop.local", "grinder": "grinder", "xn--mller-kva.local": "xn--mller-kva.local", "a-1.b": "a-1.b",
		"192.168.1.20": "192.168.1.20", "::ffff:192.168.1.20": "192.168.1.20", "FD12::7": "fd12::7",
	} {
		if got := parsed(t, one, one).elsewhere(); !slices.Equal(got, []string{want}) {
			t.Errorf("%s is %v, want %s once", one, got, want)
		}
	}
	if got := parsed(t, "localhost", "127.0.0.1").all(); !slices.Equal(got, []string{"localhost", "127.0.0.1", "::1"}) {
		t.Errorf("this machine is %v", got)
	}
	for one, says := range map[string]string{
		"https://shop.local": "without https://", "shop.local:8480": "a port", "[::1]": "alone", "me@shop.local": "alone", "shop.local/kiosk": "alone",
		"*.shop.local": "once for each", "müller.local": "xn--", "": "no part of a name", "a..b": "no part of a name", "-a.local": "no part of a name",
		"a_b.local": "no part of a name", "a b": "no part of a name", "192.168.1.256": "neither an address", "192.168.1": "neither an address", "7": "neither an address",
		"fe80::1%eth0": "no address that a tablet", "0.0.0.0": "no address that a tablet", "224.0.0.1": "no address that a tablet", "a\nb": "no part of a name",
		strings.Repeat("a", 64) + ".local": "63 at most", strings.Repeat("a.", 130) + "local": "longer than",
	} {
		if _, err := ParseHosts([]string{"shop.local", one}); err == nil || !strings.Contains(err.Error(), says) || !strings.HasPrefix(err.Error(), "--host "+one+":") {
			t.Errorf("%q: %v", one, err)
		}
	}
}

// Names as long as may be fit into what a subject holds (RFC 5280, A.1: 64 letters).
func TestSubjectsAreNotTooLong(t *testing.T) {
	long := strings.Repeat(strings.Repeat("a", 60)+".", 4) + "local"
	folder := made(t, long)
	for _, name := range []string{CertFile, ServerCertFile} {
		if got := certificate(t, folder, name).Subject.CommonName; len(got) > 64 || got == "" {
			t.Errorf("%s: %q", name, got)
		}
	}
	if out, ok := openssl(t, "verify", "-x509_strict", "-CAfile", folder.Path(CertFile), "-verify_hostname", long, folder.Path(ServerCertFile)); !ok {
		t.Error(out)
	}
}
