package arris

import (
	"crypto/sha256"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"text/template"
	"time"

	"arris.example/client/arris/internal/authority"
)

type tlsCommands struct {
	Init  tlsInitCommand  `cmd:"" help:"Make an authority of your own, and a certificate for a server."`
	Renew tlsRenewCommand `cmd:"" help:"Make the server's certificate anew, under the same authority."`
}

type tlsInitCommand struct {
	tlsFolder
	Host []string `placeholder:"HOST" sep:"none" help:"A name or an address that tablets go to, such as shop.local or 192.168.1.20; once for each. The server's own machine is always among them."`
}

type tlsRenewCommand struct {
	tlsFolder
	Host []string `placeholder:"HOST" sep:"none" help:"Other hosts than before: a name or an address, once for each. Default: the same."`
}

type tlsFolder struct {
	Dir string `arg:"" optional:"" predictor:"file" help:"The folder of the four files. Default: tls, beside a shop of your own."`
}

// folder is the one said, or that of the caller.
func (f tlsFolder) folder() (authority.Folder, error) {
	dir := f.Dir
	if dir == "" {
		own := OwnFile()
		if own == "" {
			return "", wrongUsage("there is no home directory to keep certificates in: say a folder")
		}
		dir = filepath.Join(filepath.Dir(own), "tls")
	}
	whole, err := filepath.Abs(dir)
	if err != nil {
		return "", usageError{err}
	}
	return authority.Folder(whole), nil
}

// Run makes an authority and a server's certificate.
func (c *tlsInitCommand) Run(p *program) error {
	if len(c.Host) == 0 {
		return wrongUsage("--host is missing: by which name or address do tablets reach the server?%s", ownHosts())
	}
	hosts, err := authority.ParseHosts(c.Host)
	if err != nil {
		return usageError{err}
	}
	folder, err := c.folder()
	if err != nil {
		return err
	}
	if err := folder.Make(hosts, time.Now()); err != nil {
		return usageError{err}
	}
	return p.tellTLS(folder, tlsMadeText)
}

// Run makes the server's certificate anew.
func (c *tlsRenewCommand) Run(p *program) error {
	var others *authority.Hosts
	if len(c.Host) > 0 {
		hosts, err := authority.ParseHosts(c.Host)
		if err != nil {
			return usageError{err}
		}
		others = &hosts
	}
	folder, err := c.folder()
	if err != nil {
		return err
	}
	if err := folder.Renew(others, time.Now()); err != nil {
		return usageError{err}
	}
	return p.tellTLS(folder, tlsRenewedText)
}

const tlsMadeText = `In {{.Dir}} there are now

  authority.crt   for each tablet, which is to trust it
  authority.key   vouches for servers: keep it to yourself, the server does not need it
  server.crt      for {{.Hosts}}, until {{.Until}}
  server.key      for the server alone

Start the server with the last two:

  arrisd --http :8480 --grpc :8481 \
      --tls-cert {{.Cert}} \
      --tls-key {{.Key}}

Then, once on each tablet:

  1. Bring authority.crt to it by cable, memory stick or mail, and open it. Where nothing comes of that,
     look in its settings, under security, for installing a certificate, of the kind "CA". A browser
     that keeps certificates of its own has that in its own settings.
  2. Some tablets ask for more: in their settings, where trusted certificates are listed, switch on
     "{{.Authority}}". Its SHA-256 fingerprint, to compare, is
     {{.Fingerprint}}
  3. Open https://{{.Host}}:8480/kiosk/

The authority can vouch for these hosts and those of a local network, and for no others, so that who
trusts it risks nothing elsewhere. It lasts until {{.AuthorityUntil}}.

The command line trusts it by --tls-ca:

  arris solve bowl-50 --server {{.Host}}:8481 --tls-ca {{.Trusted}}

Before {{.Until}}, renew the server's certificate:

  arris tls renew {{.Dir}}
`

const tlsRenewedText = `{{.Cert}} is now for {{.Hosts}}, until {{.Until}}.
A running arrisd takes it up by itself; tablets notice nothing.
`

// tellTLS tells what is in a folder, and what to do with it.
func (p *program) tellTLS(folder authority.Folder, text string) error {
	cert, err := folder.Certificate(authority.ServerCertFile)
	if err != nil {
		return usageError{err}
	}
	own, err := folder.Certificate(authority.CertFile)
	if err != nil {
		return usageError{err}
	}
	hosts := append(authority.Elsewhere(cert), "localhost")
	host := hosts[0]
	if strings.Contains(host, ":") {
		host = "[" + host + "]"
	}
	words, err := template.New("").Parse(text)
	if err != nil {
		return err
	}
	return words.Execute(p.Out, map[string]string{
		"Dir":  shellWord(string(folder)),
		"Cert": shellWord(folder.Path(authority.ServerCertFile)), "Key": shellWord(folder.Path(authority.ServerKeyFile)),
		"Trusted": shellWord(folder.Path(authority.CertFile)),
		"Hosts":   strings.Join(hosts, ", "), "Host": host, "Until": cert.NotAfter.Format(time.DateOnly),
		"Authority": own.Subject.CommonName, "AuthorityUntil": own.NotAfter.Format(time.DateOnly),
		"Fingerprint": fingerprint(own.Raw),
	})
}

// fingerprint is a certificate's, as browsers and tablets show it, in two lines.
func fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	text := strings.ReplaceAll(fmt.Sprintf("% X", sum), " ", ":")
	half := len(text)/2 + 1
	return text[:half] + "\n     " + text[half:]
}

// ownHosts are how this machine is known to others, as far as it knows.
func ownHosts() string {
	var flags []string
	if name, err := os.Hostname(); err == nil {
		flags = append(flags, "--host "+line(strings.ToLower(name)))
	}
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		addresses = nil // then none is offered
	}
	for _, a := range addresses {
		if at, ok := a.(*net.IPNet); ok && at.IP.IsPrivate() {
			flags = append(flags, "--host "+at.IP.String())
		}
	}
	if len(flags) == 0 {
		return ""
	}
	return " If it is this machine, perhaps " + strings.Join(flags, " or ")
}

var plainWord = regexp.MustCompile(`^[A-Za-z0-9_./:@%+=,~-]+$`)

// shellWord is a word as a shell takes it for one.
func shellWord(word string) string {
	if plainWord.MatchString(word) {
		return word
	}
	return "'" + strings.ReplaceAll(line(word), "'", `'\''`) + "'"
}
