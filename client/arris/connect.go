package arris

import (
	"cmp"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
)

// connect gives the connection to ask, and what ends it.
func (p *program) connect(c callFlags, does use) (grpc.ClientConnInterface, func() error, error) {
	if c.Server == "" {
		if does == tries && isMissing(cmp.Or(c.Store, OwnFile())) {
			return p.trial()
		}
		place, err := p.place(c.Store, does)
		if err != nil {
			return nil, nil, err
		}
		p.kept = place.asked(does)
		return p.local(place)
	}
	host, port, err := net.SplitHostPort(c.Server)
	if err != nil || host == "" || port == "" {
		return nil, nil, wrongUsage("--server is %q; write HOST:PORT, such as localhost:8081 or [::1]:8081", c.Server)
	}
	protection, err := c.protection(host)
	if err != nil {
		return nil, nil, usageError{err}
	}
	conn, err := grpc.NewClient("passthrough:///"+c.Server, grpc.WithTransportCredentials(protection),
		grpc.WithUserAgent("arris"), grpc.WithDefaultCallOptions(grpc.MaxCallRecvMsgSize(mostAnswerBytes)))
	if err != nil {
		return nil, nil, usageError{err}
	}
	return conn, conn.Close, nil
}

// demoStore names the demonstration shop.
const demoStore = "demo"

// use is what a command does with a shop.
type use int

const (
	looks   use = iota
	changes     // what is there: another process may not have the file open meanwhile
	makes       // what was not there, a file to keep it in as well
	tries       // as makes, and nothing is kept
)

// trial is an empty shop to try things in that are not kept, where there is no shop yet.
func (p *program) trial() (grpc.ClientConnInterface, func() error, error) {
	dir, err := os.MkdirTemp("", "arris-*")
	if err != nil {
		return nil, nil, usageError{err}
	}
	conn, end, err := p.local(Place{filepath.Join(dir, "shop.db"), true})
	if err != nil {
		return nil, nil, errors.Join(err, os.RemoveAll(dir))
	}
	return conn, func() error { return errors.Join(end(), os.RemoveAll(dir)) }, nil
}

// isMissing tells whether a store is a file that is not there.
func isMissing(store string) bool {
	if store == "" || store == demoStore || strings.Contains(store, "://") {
		return false
	}
	_, err := os.Stat(store)
	return errors.Is(err, fs.ErrNotExist)
}

// place is where the shop is kept: where the caller says, else in a file of their own, once there is one.
func (p *program) place(said string, does use) (Place, error) {
	if said == demoStore {
		if does != looks {
			return Place{}, wrongUsage("the demonstration shop is made anew each time: keep a shop in a file by --store FILE, or leave --store out for one of your own")
		}
		return Place{}, nil
	}
	store := cmp.Or(said, OwnFile())
	switch {
	case store == "" && does == looks:
		return Place{}, nil
	case store == "":
		return Place{}, wrongUsage("there is no home directory to keep a shop in: say --store FILE or --server HOST:PORT")
	case !isMissing(store):
		return Place{store, does != looks}, nil
	case does == makes:
		if err := os.MkdirAll(filepath.Dir(store), 0o700); err != nil {
			return Place{}, usageError{err}
		}
		_, _ = fmt.Fprintf(p.Err, "arris: your shop is kept in %s from now on; --store demo is the demonstration shop still\n", visible(store))
		return Place{store, true}, nil
	case said != "":
		return Place{}, wrongUsage("--store %s: there is no such file; what is created there first makes it", said)
	case does == changes:
		return Place{}, wrongUsage("you have no shop yet, and the demonstration shop is made anew each time: " +
			"create or import something, or say --store FILE or --server HOST:PORT")
	}
	return Place{}, nil
}

// asked says which shop was asked, for who looks for something that only another has; nothing of databases, whose names hold secrets.
func (at Place) asked(does use) string {
	switch {
	case at.Store == "" || strings.Contains(at.Store, "://"):
		return ""
	case does != looks: // nothing can be changed in the demonstration shop
		return fmt.Sprintf("asked was the shop in %s\n", visible(at.Store))
	}
	return fmt.Sprintf("asked was the shop in %s; --store demo asks the demonstration shop\n", visible(at.Store))
}

// OwnFile is where the caller's own shop is kept by the rules of their system; empty where they have no such place.
func OwnFile() string {
	data := os.Getenv("XDG_DATA_HOME")
	if data == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return ""
		}
		data = filepath.Join(home, ".local", "share")
	}
	return filepath.Join(data, "arris", "shop.db")
}

// protection is TLS unless the caller wants none, or the server is on this machine and no authority is said to trust.
func (c callFlags) protection(host string) (credentials.TransportCredentials, error) {
	switch {
	case c.Plaintext && c.TLSCA != "":
		return nil, errors.New("--plaintext and --tls-ca contradict each other: leave one out")
	case c.Plaintext, c.TLSCA == "" && isLoopback(host):
		return insecure.NewCredentials(), nil
	case c.TLSCA == "":
		return credentials.NewTLS(&tls.Config{MinVersion: tls.VersionTLS12}), nil
	}
	text, err := os.ReadFile(c.TLSCA)
	if err != nil {
		return nil, fmt.Errorf("--tls-ca: %w", err)
	}
	trusted := x509.NewCertPool()
	if !trusted.AppendCertsFromPEM(text) {
		return nil, fmt.Errorf("--tls-ca: %s has no certificate in PEM form, with lines of -----BEGIN CERTIFICATE-----", c.TLSCA)
	}
	return credentials.NewTLS(&tls.Config{MinVersion: tls.VersionTLS12, RootCAs: trusted}), nil
}

// protectionHint says what to change where the two ends do not agree on how to encrypt, by what the connection complains of.
func protectionHint(complaint string) string {
	switch {
	case strings.Contains(complaint, "looked like an HTTP/1.1 header"):
		return "; that is a port for REST and the page: say the one for gRPC, which the server tells when it starts"
	case strings.Contains(complaint, "error reading server preface"):
		return "; if the server encrypts, say whom to trust by --tls-ca FILE"
	case strings.Contains(complaint, "unknown authority"):
		return "; say whom to trust by --tls-ca FILE"
	case strings.Contains(complaint, "does not look like a TLS handshake"):
		return "; the server does not encrypt: say --plaintext, without --tls-ca, if the way to it is safe"
	}
	return ""
}

func isLoopback(host string) bool {
	if strings.EqualFold(host, "localhost") {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}
