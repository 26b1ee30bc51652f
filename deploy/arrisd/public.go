package main

import (
	"errors"
	"fmt"
	"net/url"
	"strings"
)

// longestPublicURL leaves a code on paper small enough for phones.
const longestPublicURL = 100

// checkPublicURL tells why an address cannot stand in codes on paper.
func checkPublicURL(address string) error {
	if address == "" {
		return nil
	}
	u, err := url.Parse(address)
	switch {
	case err != nil:
		return fmt.Errorf("--public-url: %q cannot be read; write an address such as https://grinding.example.org", address)
	case u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "":
		return fmt.Errorf("--public-url: %q must begin with https:// or http:// and a host, as in https://grinding.example.org", address)
	case u.User != nil:
		return errors.New("--public-url: it has a user or a password before the host, which everybody would read on paper; leave them out")
	case u.RawQuery != "" || u.ForceQuery || strings.Contains(address, "#"):
		return fmt.Errorf("--public-url: %q has more behind the path than an address to begin with; leave out what follows ? or #", address)
	case len(address) > longestPublicURL:
		return fmt.Errorf("--public-url: %q has %d letters; with more than %d a code is too large for paper", address, len(address), longestPublicURL)
	case u.String() != address || strings.ContainsFunc(address, func(r rune) bool { return r <= ' ' || r > '~' }):
		return fmt.Errorf("--public-url: %q has letters that not every reader of codes takes; write the host in its ASCII form (xn--…) and the path with escapes (%%20)", address)
	}
	return nil
}
