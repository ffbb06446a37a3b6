package main

import (
	"fmt"
	"net/netip"
	"strings"

	"midstroke/internal/httpapi"
	"midstroke/internal/limit"
)

// rateFlags say how much callers may ask for.
type rateFlags struct {
	Address   limit.Rate `name:"rate-address" env:"MIDSTROKE_RATE_ADDRESS" default:"0" placeholder:"N/TIME" help:"Tokens for each address that asks without a key or with a widget's key, such as 100/10s. A request takes one, long answers and explain take more. 0: no limit. Default: ${default}."`
	WidgetKey limit.Rate `name:"rate-widget-key" env:"MIDSTROKE_RATE_WIDGET_KEY" default:"0" placeholder:"N/TIME" help:"The same for each key of a widget. Default: ${default}."`
	ServerKey limit.Rate `name:"rate-server-key" env:"MIDSTROKE_RATE_SERVER_KEY" default:"0" placeholder:"N/TIME" help:"The same for each key of a server or an administrator. Default: ${default}."`
	Proxies   []network  `name:"trust-proxy" env:"MIDSTROKE_TRUST_PROXY" placeholder:"ADDRESS" help:"Proxies whose X-Forwarded-For is believed, as addresses or networks such as 10.0.0.0/8, separated by commas. Default: none, so that an address is that of the connection."`
}

// limits gives the settings as the handler takes them.
func (f *rateFlags) limits(threads *limit.Threads) httpapi.Limits {
	l := httpapi.Limits{AtOnce: threads.Processors(), Threads: threads, Address: f.Address, WidgetKey: f.WidgetKey, ServerKey: f.ServerKey}
	l.Proxies = prefixes(f.Proxies)
	return l
}

// network is an address, or a network of them.
type network struct{ netip.Prefix }

func prefixes(networks []network) (all []netip.Prefix) {
	for _, n := range networks {
		all = append(all, n.Prefix)
	}
	return all
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *network) UnmarshalText(text []byte) (err error) {
	written := strings.TrimSpace(string(text))
	if address, failed := netip.ParseAddr(written); failed == nil {
		p.Prefix = netip.PrefixFrom(address, address.BitLen())
		return nil
	}
	if p.Prefix, err = netip.ParsePrefix(written); err != nil {
		return fmt.Errorf("%q is no address and no network, such as 10.1.2.3 or 10.0.0.0/8", written)
	}
	return nil
}
