// Package authority is a shop's own certificate authority: a key that vouches for the shop's servers and for nothing else, so that a tablet
// that trusts it takes no risk beyond them.
package authority

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"time"
)

const (
	// authorityYears is how long an authority lasts.
	authorityYears = 10
	// serverDays is how long a server's certificate lasts: browsers take no more than 398 days, its first hour included.
	serverDays = 397
	// backdated is by how much a clock may be slow that looks at a certificate just made.
	backdated = time.Hour
)

// Authority vouches for servers.
type Authority struct {
	Certificate *x509.Certificate
	key         *ecdsa.PrivateKey
}

// New makes an authority for servers at the hosts and, as addresses and names change, for any in a local network. It cannot vouch for
// other hosts, nor for other authorities (RFC 5280, 4.2.1.10).
func New(hosts Hosts, now time.Time) (*Authority, error) {
	key, err := newKey()
	if err != nil {
		return nil, err
	}
	from := now.UTC().Add(-backdated)
	template := &x509.Certificate{
		Subject:     pkix.Name{CommonName: "Arris, " + hosts.first() + ", " + now.Format(time.DateOnly)},
		NotBefore:   from,
		NotAfter:    from.AddDate(authorityYears, 0, 0),
		KeyUsage:    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		IsCA:        true, MaxPathLenZero: true, BasicConstraintsValid: true,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: hosts.domains(), PermittedIPRanges: hosts.ranges(),
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		return nil, err
	}
	made, err := x509.ParseCertificate(der)
	return &Authority{made, key}, err
}

// Certify vouches for a server's key at the hosts. It gives the certificate's DER, and fails where the authority may not vouch for a host, or ends too soon.
func (a *Authority) Certify(hosts Hosts, server crypto.PublicKey, now time.Time) ([]byte, error) {
	from := now.UTC().Add(-backdated)
	template := &x509.Certificate{
		Subject:   pkix.Name{CommonName: hosts.first()},
		NotBefore: from, NotAfter: from.AddDate(0, 0, serverDays),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
		DNSNames: hosts.Names, IPAddresses: hosts.addresses(),
	}
	if a.Certificate.NotAfter.Before(template.NotAfter) {
		return nil, fmt.Errorf("the authority itself lasts until %s only; make another in another folder", a.Certificate.NotAfter.Format(time.DateOnly))
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.Certificate, server, a.key)
	if err != nil {
		return nil, err
	}
	made, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	return der, a.verify(made, hosts, now)
}

// verify looks at a certificate as a browser will.
func (a *Authority) verify(made *x509.Certificate, hosts Hosts, now time.Time) error {
	roots := x509.NewCertPool()
	roots.AddCert(a.Certificate)
	for _, host := range hosts.all() {
		if _, err := made.Verify(x509.VerifyOptions{Roots: roots, DNSName: host, CurrentTime: now}); err != nil {
			var not x509.CertificateInvalidError
			if errors.As(err, &not) && not.Reason == x509.CANotAuthorizedForThisName {
				return fmt.Errorf("this authority cannot vouch for all of these hosts (%s); make another for them in another folder", not.Detail)
			}
			return err
		}
	}
	return nil
}

func newKey() (*ecdsa.PrivateKey, error) { return ecdsa.GenerateKey(elliptic.P256(), rand.Reader) }

func certText(der []byte) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
}

// keyText is a key in PEM form (PKCS #8).
func keyText(key *ecdsa.PrivateKey) ([]byte, error) {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), err
}

func certOf(text []byte) (*x509.Certificate, error) {
	block, _ := pem.Decode(text)
	if block == nil || block.Type != "CERTIFICATE" {
		return nil, errors.New("is no certificate in PEM form")
	}
	return x509.ParseCertificate(block.Bytes)
}

// keyOf reads a key as keyText writes it.
func keyOf(text []byte) (*ecdsa.PrivateKey, error) {
	block, _ := pem.Decode(text)
	if block == nil {
		return nil, errors.New("is no key in PEM form")
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, err
	}
	private, ok := key.(*ecdsa.PrivateKey)
	if !ok {
		return nil, fmt.Errorf("is a %T; one on an elliptic curve is made here", key)
	}
	return private, nil
}
