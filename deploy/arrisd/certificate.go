package main

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

const (
	// lookEvery is how soon a changed certificate is found.
	lookEvery = time.Second
	// renewBefore is how long before its end a certificate is spoken of.
	renewBefore = 30 * 24 * time.Hour
)

// certificate is what the server shows of itself. When its files change they are read again at the next greeting, and what cannot be used,
// such as a certificate whose key is not there yet, changes nothing.
type certificate struct {
	certFile, keyFile string
	log               *slog.Logger

	mu      sync.Mutex
	pair    *tls.Certificate
	seen    []os.FileInfo
	looked  time.Time
	trouble string // that was told already
}

// readCertificate reads what --tls-cert and --tls-key name.
func readCertificate(s settings, log *slog.Logger) (*certificate, error) {
	c := &certificate{certFile: s.TLSCert, keyFile: s.TLSKey, log: log}
	if err := c.read(time.Now()); err != nil {
		return nil, err
	}
	return c, nil
}

// config is TLS from version 1.2 on, for the protocols named.
func (c *certificate) config(protocols ...string) *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: protocols, GetCertificate: c.current}
}

// current is the certificate for a greeting.
func (c *certificate) current(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if now := time.Now(); now.Sub(c.looked) >= lookEvery {
		c.looked = now
		c.refresh(now)
	}
	return c.pair, nil
}

// refresh reads changed files, and again each time until they can be used.
func (c *certificate) refresh(now time.Time) {
	if !c.changed() {
		return
	}
	err := c.read(now)
	if err == nil {
		c.trouble = ""
		return
	}
	if c.trouble != err.Error() {
		c.trouble = err.Error()
		c.log.Warn("the new certificate cannot be used; the one before stays", "error", c.trouble)
	}
}

func (c *certificate) changed() bool {
	for i, name := range []string{c.certFile, c.keyFile} {
		info, err := os.Stat(name)
		if err != nil || !os.SameFile(info, c.seen[i]) || info.Size() != c.seen[i].Size() || !info.ModTime().Equal(c.seen[i].ModTime()) {
			return true
		}
	}
	return false
}

// read takes both files as they are, if they fit each other and the day is right.
func (c *certificate) read(now time.Time) error {
	cert, certInfo, err := readPart("--tls-cert", c.certFile)
	if err != nil {
		return err
	}
	key, keyInfo, err := readPart("--tls-key", c.keyFile)
	if err != nil {
		return err
	}
	if bytes.Contains(key, []byte("ENCRYPTED")) {
		return fmt.Errorf("--tls-key: %s is locked by a passphrase, which a server cannot be asked for; unlock it with: openssl pkey -in %[1]s -out FILE", c.keyFile)
	}
	pair, err := tls.X509KeyPair(cert, key)
	if err != nil {
		return fmt.Errorf("--tls-cert %s and --tls-key %s cannot be used: %s", c.certFile, c.keyFile, strings.TrimPrefix(err.Error(), "tls: "))
	}
	if err := inForce(pair.Leaf, now); err != nil {
		return fmt.Errorf("--tls-cert: %s %w", c.certFile, err)
	}
	c.pair, c.seen = &pair, []os.FileInfo{certInfo, keyInfo}
	c.tell(now)
	return nil
}

// readPart reads one of the two files, with what is known of it to see that it changes.
func readPart(flag, name string) ([]byte, os.FileInfo, error) {
	info, err := os.Stat(name) // before it is read: what changes meanwhile is then read again
	var text []byte
	if err == nil {
		text, err = os.ReadFile(name)
	}
	if err != nil {
		return nil, nil, unread(flag, name, err)
	}
	if block, _ := pem.Decode(text); block == nil {
		return nil, nil, fmt.Errorf("%s: %s is not in PEM form, with lines of -----BEGIN …-----", flag, name)
	}
	return text, info, nil
}

// unread tells why a file was not read.
func unread(flag, name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: there is no file %s; arris tls init makes one", flag, name)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: %s may not be read by the user that arrisd runs as", flag, name)
	}
	return fmt.Errorf("%s: %w", flag, err)
}

// inForce tells why a certificate cannot be shown on a day.
func inForce(leaf *x509.Certificate, now time.Time) error {
	const renew = "arris tls renew makes a new one where arris tls init made this one"
	switch {
	case now.After(leaf.NotAfter):
		return fmt.Errorf("expired on %s; %s", day(leaf.NotAfter), renew)
	case now.Before(leaf.NotBefore):
		return fmt.Errorf("is not valid before %s, and by this machine's clock it is %s; set the clock, or wait", day(leaf.NotBefore), day(now))
	case len(leaf.DNSNames) == 0 && len(leaf.IPAddresses) == 0:
		return errors.New("names no host that browsers would look for, as a subject alternative name")
	}
	return nil
}

// tell logs what is in use, and when it is time for another.
func (c *certificate) tell(now time.Time) {
	leaf := c.pair.Leaf
	names := slices.Clone(leaf.DNSNames)
	for _, ip := range leaf.IPAddresses {
		names = append(names, ip.String())
	}
	c.log.Info("TLS", "certificate", c.certFile, "for", strings.Join(names, " "), "until", day(leaf.NotAfter))
	if info := c.seen[1]; info.Mode().Perm()&0o004 != 0 {
		c.log.Warn("every user of this machine may read the key; chmod 600 keeps it to its owner", "key", c.keyFile)
	}
	if left := leaf.NotAfter.Sub(now); left < renewBefore {
		c.log.Warn("the certificate expires soon; have a new one made", "certificate", c.certFile, "until", day(leaf.NotAfter))
	}
}

// expiry is the metric by which a certificate's end is seen coming.
func (c *certificate) expiry() prometheus.Collector {
	return prometheus.NewGaugeFunc(prometheus.GaugeOpts{
		Name: "arris_tls_certificate_expiry_timestamp_seconds",
		Help: "When the certificate in use expires, in seconds since 1970.",
	}, func() float64 {
		c.mu.Lock()
		defer c.mu.Unlock()
		return float64(c.pair.Leaf.NotAfter.Unix())
	})
}

func day(t time.Time) string { return t.UTC().Format(time.RFC3339) }
