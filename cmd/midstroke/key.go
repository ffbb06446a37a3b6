package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"midstroke/internal/postgres"
	"midstroke/internal/shop"
)

// keyCommands make, list and revoke keys.
type keyCommands struct {
	Create keyCreateCommand `cmd:"" help:"Make a key and show it once."`
	First  keyFirstCommand  `cmd:"" help:"Make a shop's first keys and show them once; none if it has keys."`
	List   keyListCommand   `cmd:"" help:"List the keys by prefix, with their last use."`
	Revoke keyRevokeCommand `cmd:"" help:"Revoke a key for good; every instance refuses it within a second."`
}

type keyCreateCommand struct {
	Shop    string     `required:"" placeholder:"NAME" help:"Shop that the key is for. If it doesn't exist it is created, with a catalogue of the same name."`
	Use     string     `required:"" enum:"widget,server,admin" placeholder:"USE" help:"widget: ask and read, only from web pages of its origins; server: from anywhere, and read revisions; admin: also change the catalogue."`
	Origin  []string   `placeholder:"ORIGIN" help:"Web origin whose pages may use a widget's key, such as https://shop.example. May be given more than once."`
	Quotes  bool       `name:"keep-quotes" help:"Let a widget's key keep quotes. It can read none. Other keys may keep and read them."`
	Expires string     `placeholder:"WHEN" help:"When the key expires: at the end of a date such as 2030-06-30 (UTC), or after a time such as 90d or 12h. Default: never."`
	Store   storeFlags `embed:""`
}

// Run makes a key.
func (k *keyCreateCommand) Run(ctx context.Context, c console) error {
	use, _ := shop.Uses.Parse(k.Use) // kong has checked it
	text, key := shop.NewKey(use)
	key.Shop = k.Shop
	err := readName("--shop", &key.Shop)
	switch {
	case err != nil:
	case use == shop.Widget && len(k.Origin) == 0:
		err = errors.New("--origin: a widget's key needs the web origins of its pages, such as https://shop.example")
	case use != shop.Widget && len(k.Origin) > 0:
		err = fmt.Errorf("--origin: a key for %s isn't for web pages, so it has no origins", use)
	case use != shop.Widget && k.Quotes:
		err = fmt.Errorf("--keep-quotes: a key for %s may keep quotes without it", use)
	default:
		key.KeepsQuotes = k.Quotes
		key.Expires, err = parseExpiry(k.Expires, time.Now())
	}
	for _, text := range k.Origin {
		origin, originErr := shop.ParseOrigin(text)
		err = errors.Join(err, originErr)
		key.Origins = append(key.Origins, origin)
	}
	if err != nil {
		fmt.Fprintf(c.err, "midstroke: %v\n", err)
		return exitError(exitWrong)
	}
	return k.Store.with(ctx, c, func(store *postgres.Store) error {
		if err := store.CreateKey(ctx, key); err != nil {
			return err
		}
		fmt.Fprintf(c.err, "A key for %s of shop %s, shown only once; its prefix is %s.\n", use, key.Shop, key.Prefix)
		_, err := fmt.Fprintln(c.out, text)
		return err
	})
}

type keyFirstCommand struct {
	Shop   string     `required:"" placeholder:"NAME" help:"Shop that the keys are for. If it doesn't exist it is created, with a catalogue of the same name."`
	Origin []string   `placeholder:"ORIGIN" help:"Web origin for a widget's key, such as https://shop.example. May be given more than once. Default: no widget's key."`
	Store  storeFlags `embed:""`
}

// Run makes a key to ask and one to change the catalogue, and one for web pages where
// their origins are given.
func (k *keyFirstCommand) Run(ctx context.Context, c console) error {
	err := readName("--shop", &k.Shop)
	var origins []string
	for _, text := range k.Origin {
		origin, originErr := shop.ParseOrigin(text)
		err = errors.Join(err, originErr)
		origins = append(origins, origin)
	}
	if err != nil {
		fmt.Fprintf(c.err, "midstroke: %v\n", err)
		return exitError(exitWrong)
	}
	return k.Store.with(ctx, c, func(store *postgres.Store) error {
		texts, err := firstKeys(ctx, store, k.Shop, origins)
		switch {
		case err != nil:
			return err
		case texts == nil:
			_, err = fmt.Fprintf(c.out, "The shop %s has keys already, and none was made.\n", k.Shop)
		default:
			_, err = fmt.Fprintf(c.out, "The shop %s has these new keys, which are shown only once (send one as Authorization: Bearer KEY):\n\n  %s\n", k.Shop, strings.Join(texts, "\n  "))
		}
		return err
	})
}

// firstKeys makes a key of each use for a shop that has none; a widget's only with
// origins. It gives nil if the shop has keys.
func firstKeys(ctx context.Context, store *postgres.Store, name string, origins []string) (texts []string, err error) {
	keys, err := store.Keys(ctx, name)
	if err != nil || len(keys) > 0 {
		return nil, err
	}
	for _, use := range []shop.Use{shop.Widget, shop.Server, shop.Admin} {
		if use == shop.Widget && len(origins) == 0 {
			continue
		}
		text, key := shop.NewKey(use)
		key.Shop = name
		if use == shop.Widget {
			key.Origins = origins
		}
		if err := store.CreateKey(ctx, key); err != nil {
			return nil, err
		}
		texts = append(texts, text)
	}
	return texts, nil
}

// parseExpiry reads when a key expires: "" for never.
func parseExpiry(text string, now time.Time) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	at, err := time.Parse(time.DateOnly, text)
	if err == nil {
		at = at.AddDate(0, 0, 1) // the end of that day
	} else {
		var days int
		var rest string
		if n, _ := fmt.Sscanf(text, "%d%s", &days, &rest); n == 2 && rest == "d" {
			at = now.AddDate(0, 0, days)
		} else if d, err := time.ParseDuration(text); err == nil {
			at = now.Add(d)
		} else {
			return time.Time{}, fmt.Errorf("--expires: %q is neither a date such as 2030-06-30 nor a time such as 90d or 12h", text)
		}
	}
	if !at.After(now) {
		return time.Time{}, fmt.Errorf("--expires: %q is in the past", text)
	}
	return at, nil
}

type keyListCommand struct {
	Shop  string     `placeholder:"NAME" help:"Only the keys of this shop."`
	Store storeFlags `embed:""`
}

// Run lists keys.
func (k *keyListCommand) Run(ctx context.Context, c console) error {
	return k.Store.with(ctx, c, func(store *postgres.Store) error {
		keys, err := store.Keys(ctx, k.Shop)
		if err != nil {
			return err
		}
		now := time.Now()
		w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "PREFIX\tSHOP\tUSE\tSTATE\tMADE\tLAST USE\tEXPIRES\tORIGINS")
		for i := range keys {
			key := &keys[i]
			state := "good"
			switch {
			case !key.Revoked.IsZero():
				state = "revoked"
			case !key.Valid(now):
				state = "expired"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", key.Prefix, key.Shop, key.Use, state,
				formatTime(key.Created), formatTime(key.LastUsed), formatTime(key.Expires), strings.Join(key.Origins, " "))
		}
		return w.Flush()
	})
}

func formatTime(t time.Time) string {
	if t.IsZero() {
		return "never"
	}
	return t.UTC().Format("2006-01-02 15:04Z")
}

type keyRevokeCommand struct {
	Prefix string     `arg:"" help:"The key's prefix, as key list shows it."`
	Store  storeFlags `embed:""`
}

// Run revokes a key.
func (k *keyRevokeCommand) Run(ctx context.Context, c console) error {
	return k.Store.with(ctx, c, func(store *postgres.Store) error {
		prefix := shop.PrefixOf(k.Prefix)
		if err := store.RevokeKey(ctx, prefix); err != nil {
			return err
		}
		_, err := fmt.Fprintf(c.out, "Revoked %s.\n", prefix)
		return err
	})
}
