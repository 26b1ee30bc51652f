package authority

import (
	"crypto/x509"
	"fmt"
	"net"
	"net/netip"
	"regexp"
	"slices"
	"strings"
)

// Hosts are where a server is reached.
type Hosts struct {
	Names     []string
	Addresses []netip.Addr
}

// here is how a server is reached on its own machine.
var here = []string{"localhost", "127.0.0.1", "::1"}

// localDomains are names that mean something in a local network only: RFC 6761, RFC 6762, RFC 8375, and what ICANN set aside for it in 2024.
var localDomains = []string{"localhost", "local", "home.arpa", "internal"}

// localRanges are addresses that mean something in a local network only: RFC 1122, RFC 1918, RFC 3927, RFC 4193, RFC 4291.
var localRanges = []string{
	"127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "::1/128", "fc00::/7", "fe80::/10",
}

// ParseHosts reads names and addresses as they are typed, and adds those of the server's own machine.
func ParseHosts(typed []string) (Hosts, error) {
	var hosts Hosts
	for _, one := range slices.Concat(typed, here) {
		if address, err := netip.ParseAddr(one); err == nil {
			if address.Zone() != "" || address.IsUnspecified() || address.IsMulticast() {
				return Hosts{}, fmt.Errorf("--host %s: is no address that a tablet could go to; write one such as 192.168.1.20", one)
			}
			hosts.Addresses = append(hosts.Addresses, address.Unmap())
			continue
		}
		name, err := parseName(one)
		if err != nil {
			return Hosts{}, fmt.Errorf("--host %s: %w", one, err)
		}
		hosts.Names = append(hosts.Names, name)
	}
	hosts.Names, hosts.Addresses = onceEach(hosts.Names), onceEach(hosts.Addresses)
	return hosts, nil
}

func onceEach[T comparable](all []T) []T {
	var once []T
	for _, one := range all {
		if !slices.Contains(once, one) {
			once = append(once, one)
		}
	}
	return once
}

// A name is made of labels (RFC 1123, 2.1), the last of which is no number, or it would be an address.
var (
	label  = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$`)
	digits = regexp.MustCompile(`^[0-9]+$`)
)

const longestName = 253

func parseName(typed string) (string, error) {
	name := strings.ToLower(strings.TrimSuffix(typed, "."))
	labels := strings.Split(name, ".")
	switch {
	case strings.ContainsAny(name, "/:@[]"):
		return "", fmt.Errorf("write the name or the address alone, such as shop.local, without https:// before it or a port behind")
	case strings.Contains(name, "*"):
		return "", fmt.Errorf("one name for many is not made; say --host once for each")
	case strings.IndexFunc(name, func(r rune) bool { return r > '~' }) >= 0:
		return "", fmt.Errorf("has letters that names in certificates cannot have; write it as browsers send it, beginning with xn--")
	case len(name) > longestName:
		return "", fmt.Errorf("is longer than the %d letters that a name may have", longestName)
	case digits.MatchString(labels[len(labels)-1]):
		return "", fmt.Errorf("is neither an address nor a name; an address is written like 192.168.1.20")
	}
	for _, one := range labels {
		if !label.MatchString(one) {
			return "", fmt.Errorf("%q is no part of a name: letters a to z, digits and hyphens between them, 63 at most", one)
		}
	}
	return name, nil
}

// hostsOf are the hosts that a certificate is for.
func hostsOf(c *x509.Certificate) Hosts {
	hosts := Hosts{Names: c.DNSNames}
	for _, ip := range c.IPAddresses {
		if address, ok := netip.AddrFromSlice(ip); ok {
			hosts.Addresses = append(hosts.Addresses, address.Unmap())
		}
	}
	return hosts
}

// all are names and addresses, as a browser's address has them.
func (h Hosts) all() []string {
	all := slices.Clone(h.Names)
	for _, address := range h.Addresses {
		all = append(all, address.String())
	}
	return all
}

// Elsewhere are the hosts that other machines reach a certificate's server by.
func Elsewhere(c *x509.Certificate) []string { return hostsOf(c).elsewhere() }

func (h Hosts) elsewhere() []string {
	return slices.DeleteFunc(h.all(), func(host string) bool { return slices.Contains(here, host) })
}

// first is what the hosts are called by; a subject has at most 64 letters (RFC 5280, A.1), of which some are said around it.
func (h Hosts) first() string {
	const most = 40
	for _, host := range h.elsewhere() {
		return host[:min(len(host), most)]
	}
	return here[0]
}

func (h Hosts) addresses() []net.IP {
	var all []net.IP
	for _, address := range h.Addresses {
		all = append(all, address.AsSlice())
	}
	return all
}

// domains are the names that an authority may vouch for, with all below them.
func (h Hosts) domains() []string {
	domains := slices.Clone(localDomains)
	for _, name := range h.Names {
		if !below(name, domains) {
			domains = append(domains, name)
		}
	}
	return domains
}

func below(name string, domains []string) bool {
	return slices.ContainsFunc(domains, func(d string) bool { return name == d || strings.HasSuffix(name, "."+d) })
}

// ranges are the addresses that an authority may vouch for.
func (h Hosts) ranges() []*net.IPNet {
	var all []netip.Prefix
	for _, text := range localRanges {
		all = append(all, netip.MustParsePrefix(text))
	}
	for _, address := range h.Addresses {
		if !slices.ContainsFunc(all, func(p netip.Prefix) bool { return p.Contains(address) }) {
			all = append(all, netip.PrefixFrom(address, address.BitLen()))
		}
	}
	var nets []*net.IPNet
	for _, p := range all {
		nets = append(nets, &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	return nets
}
