package webhook

import (
	"net"
	"net/netip"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/fault"
)

// The codes of the faults of addresses.
const (
	notAURL        fault.Code = "not_a_url"
	hasCredentials fault.Code = "not_allowed.credentials"
	notHTTPS       fault.Code = "not_allowed.http"
	notPublic      fault.Code = "not_allowed.private_address"
)

// Policy says where events may be sent.
type Policy struct {
	// Allowed are networks that aren't public and may be sent to all the same.
	Allowed []netip.Prefix
}

// Check gives what is wrong with the URL of a webhook, "" where nothing is. What its
// name leads to is checked when a connection is made.
func (p *Policy) Check(text string) fault.Code {
	u, err := url.Parse(text)
	switch {
	case err != nil || u.Host == "" || u.Hostname() == "" || u.Fragment != "" || u.Opaque != "" || strings.ContainsFunc(text, func(r rune) bool { return r <= ' ' || r == 0x7f }):
		return notAURL
	case u.Scheme != "https" && u.Scheme != "http":
		return notAURL
	case u.User != nil:
		return hasCredentials
	case u.Scheme == "http" && len(p.Allowed) == 0:
		return notHTTPS
	}
	host := strings.TrimSuffix(strings.ToLower(u.Hostname()), ".")
	if !isPort(u.Port()) || isOddNumber(host) {
		return notAURL
	}
	if a, err := netip.ParseAddr(host); err == nil && !p.may(a, u.Scheme == "http") {
		return notPublic
	}
	if (host == "localhost" || strings.HasSuffix(host, ".localhost")) && !p.may(netip.AddrFrom4([4]byte{127, 0, 0, 1}), true) {
		return notPublic
	}
	return ""
}

// isPort says whether a port can be connected to; "" is that of the scheme.
func isPort(port string) bool {
	n, err := strconv.ParseUint(port, 10, 16)
	return port == "" || err == nil && n > 0
}

// isOddNumber says whether a host is an IPv4 address in another form than four decimal
// numbers, such as 2130706433 or 0x7f.1, which some resolvers read. No name of the
// internet has a number as its last label (RFC 3696, section 2).
func isOddNumber(host string) bool {
	if _, err := netip.ParseAddr(host); err == nil {
		return false
	}
	last := host[strings.LastIndexByte(host, '.')+1:]
	_, err := strconv.ParseUint(last, 0, 64)
	return err == nil || last != "" && strings.Trim(last, "0123456789") == ""
}

// may says whether events may be sent to an address. What isn't encrypted goes to
// allowed networks alone.
func (p *Policy) may(a netip.Addr, plain bool) bool {
	a = a.Unmap().WithZone("")
	if slices.ContainsFunc(p.Allowed, func(n netip.Prefix) bool { return n.Contains(a) }) {
		return true
	}
	return !plain && public(a)
}

// special are the networks that aren't reached over the internet, by IANA's registries
// of special-purpose addresses (RFC 6890 and its updates), beside those that netip knows.
var special = []netip.Prefix{
	netip.MustParsePrefix("0.0.0.0/8"),       // this network
	netip.MustParsePrefix("100.64.0.0/10"),   // shared by carriers
	netip.MustParsePrefix("192.0.0.0/24"),    // protocol assignments
	netip.MustParsePrefix("192.0.2.0/24"),    // documentation
	netip.MustParsePrefix("192.88.99.0/24"),  // 6to4 relays, deprecated
	netip.MustParsePrefix("198.18.0.0/15"),   // benchmarks
	netip.MustParsePrefix("198.51.100.0/24"), // documentation
	netip.MustParsePrefix("203.0.113.0/24"),  // documentation
	netip.MustParsePrefix("240.0.0.0/4"),     // reserved, and broadcast
	netip.MustParsePrefix("64:ff9b:1::/48"),  // local translation
	netip.MustParsePrefix("100::/64"),        // discard
	netip.MustParsePrefix("2001::/23"),       // protocol assignments, Teredo among them
	netip.MustParsePrefix("2001:db8::/32"),   // documentation
	netip.MustParsePrefix("3fff::/20"),       // documentation
	netip.MustParsePrefix("5f00::/16"),       // segment routing
	netip.MustParsePrefix("fec0::/10"),       // site-local, deprecated
}

// Networks whose addresses have an IPv4 address within, and where it begins.
var embedding = []struct {
	network netip.Prefix
	at      int
}{
	{netip.MustParsePrefix("64:ff9b::/96"), 12}, // NAT64, RFC 6052
	{netip.MustParsePrefix("2002::/16"), 2},     // 6to4, RFC 3056
	{netip.MustParsePrefix("::/96"), 12},        // IPv4-compatible, RFC 4291, deprecated
}

// public says whether an address is one of the internet.
func public(a netip.Addr) bool {
	if !a.IsValid() || !a.IsGlobalUnicast() || a.IsPrivate() || a.IsLoopback() {
		return false
	}
	if slices.ContainsFunc(special, func(n netip.Prefix) bool { return n.Contains(a) }) {
		return false
	}
	for _, e := range embedding {
		if raw := a.As16(); a.Is6() && e.network.Contains(a) {
			return public(netip.AddrFrom4([4]byte(raw[e.at : e.at+4])))
		}
	}
	return true
}

// refusedError says that an address may not be sent to.
type refusedError struct{ address string }

func (e *refusedError) Error() string { return "the address " + e.address + " isn't public" }

// control gives a *refusedError for a connection that may not be made. It sees the
// address that a name led to, at the moment of connecting.
func (p *Policy) control(address string, plain bool) error {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return &refusedError{address}
	}
	if a, err := netip.ParseAddr(host); err != nil || !p.may(a, plain) {
		return &refusedError{host}
	}
	return nil
}
