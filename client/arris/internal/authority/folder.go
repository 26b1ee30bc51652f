package authority

import (
	"crypto/ecdsa"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Folder is where an authority and the certificate of its server are kept.
type Folder string

// The files in a folder.
const (
	CertFile       = "authority.crt"
	KeyFile        = "authority.key"
	ServerCertFile = "server.crt"
	ServerKeyFile  = "server.key"
)

// Who may read a file.
const (
	everybody os.FileMode = 0o644
	owner     os.FileMode = 0o600
)

type file struct {
	name string
	text []byte
	mode os.FileMode
}

// Make makes an authority and a server's certificate: four files, or none. It fails where one of them is there.
func (f Folder) Make(hosts Hosts, now time.Time) error {
	files, err := newFiles(hosts, now)
	if err != nil {
		return err
	}
	for _, one := range files {
		if _, err := os.Lstat(f.Path(one.name)); err == nil {
			return f.inTheWay(one.name)
		}
	}
	if err := os.MkdirAll(string(f), 0o700); err != nil {
		return err
	}
	for i, one := range files {
		if err := f.add(one); err != nil {
			for _, made := range files[:i] {
				err = errors.Join(err, os.Remove(f.Path(made.name)))
			}
			return err
		}
	}
	return nil
}

// newFiles are those of a new authority, the keys before what is told of them.
func newFiles(hosts Hosts, now time.Time) ([]file, error) {
	own, err := New(hosts, now)
	if err != nil {
		return nil, err
	}
	key, err := newKey()
	if err != nil {
		return nil, err
	}
	cert, err := own.Certify(hosts, key.Public(), now)
	if err != nil {
		return nil, err
	}
	ownKey, err := keyText(own.key)
	if err != nil {
		return nil, err
	}
	serverKey, err := keyText(key)
	return []file{
		{KeyFile, ownKey, owner}, {CertFile, certText(own.Certificate.Raw), everybody},
		{ServerKeyFile, serverKey, owner}, {ServerCertFile, certText(cert), everybody},
	}, err
}

// Renew makes the server's certificate anew, for the hosts of the one before unless others are said. Its key stays, so that one file
// changes and a server never sees half of a change; where the key was taken away, there is another.
func (f Folder) Renew(hosts *Hosts, now time.Time) error {
	own, err := f.authority()
	if err != nil {
		return err
	}
	if hosts == nil {
		before, err := f.Certificate(ServerCertFile)
		if err != nil {
			return fmt.Errorf("%w; or say for which hosts by --host", err)
		}
		of := hostsOf(before)
		hosts = &of
	}
	key, err := f.serverKey()
	if err != nil {
		return err
	}
	cert, err := own.Certify(*hosts, key.Public(), now)
	if err != nil {
		return err
	}
	beside, err := f.beside(file{ServerCertFile, certText(cert), everybody})
	if err != nil {
		return err
	}
	if err := os.Rename(beside, f.Path(ServerCertFile)); err != nil {
		return errors.Join(err, os.Remove(beside))
	}
	return nil
}

// Path is where a file is.
func (f Folder) Path(name string) string { return filepath.Join(string(f), name) }

// Certificate reads one of the two.
func (f Folder) Certificate(name string) (*x509.Certificate, error) {
	text, err := f.read(name)
	if err != nil {
		return nil, err
	}
	cert, err := certOf(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Path(name), err)
	}
	return cert, nil
}

func (f Folder) authority() (*Authority, error) {
	cert, err := f.Certificate(CertFile)
	if err != nil {
		return nil, err
	}
	key, err := f.key(KeyFile)
	switch {
	case err != nil:
		return nil, err
	case !cert.IsCA:
		return nil, fmt.Errorf("%s: is no authority's certificate", f.Path(CertFile))
	case !key.PublicKey.Equal(cert.PublicKey):
		return nil, fmt.Errorf("%s: is not the key of %s", f.Path(KeyFile), CertFile)
	}
	return &Authority{cert, key}, nil
}

func (f Folder) serverKey() (*ecdsa.PrivateKey, error) {
	key, err := f.key(ServerKeyFile)
	if !errors.Is(err, fs.ErrNotExist) {
		return key, err
	}
	if key, err = newKey(); err != nil {
		return nil, err
	}
	text, err := keyText(key)
	if err != nil {
		return nil, err
	}
	return key, f.add(file{ServerKeyFile, text, owner})
}

func (f Folder) key(name string) (*ecdsa.PrivateKey, error) {
	text, err := f.read(name)
	if err != nil {
		return nil, err
	}
	key, err := keyOf(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Path(name), err)
	}
	return key, nil
}

func (f Folder) read(name string) ([]byte, error) {
	text, err := os.ReadFile(f.Path(name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no %s (%w); arris tls init makes one", f.Path(name), fs.ErrNotExist)
	}
	return text, err
}

// add writes a file that is not there yet, whole or not at all.
func (f Folder) add(one file) error {
	beside, err := f.beside(one)
	if err != nil {
		return err
	}
	err = os.Link(beside, f.Path(one.name)) // a renaming would go over one that came meanwhile
	if errors.Is(err, fs.ErrExist) {
		err = f.inTheWay(one.name)
	}
	return errors.Join(err, os.Remove(beside))
}

func (f Folder) inTheWay(name string) error {
	return fmt.Errorf("%s is there already and stays: arris tls renew makes a new certificate under the same authority; for another authority say another folder",
		f.Path(name))
}

// beside writes a file under a name of its own, to be put in its place.
func (f Folder) beside(one file) (string, error) {
	to, err := os.CreateTemp(string(f), ".arris-*")
	if err != nil {
		return "", err
	}
	_, err = to.Write(one.text)
	if err := errors.Join(err, to.Chmod(one.mode), to.Sync(), to.Close()); err != nil {
		return "", errors.Join(err, os.Remove(to.Name()))
	}
	return to.Name(), nil
}
