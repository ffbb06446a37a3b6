package shop

import (
	"context"
	"crypto/sha256"
	"errors"
)

// ErrKeyEnded says that a request's key stopped being valid before the request was
// done.
var ErrKeyEnded = errors.New("the key isn't valid any more")

type keyOfRequest struct{}

// WithKey says by which key a request came, given as the hash of the key. The
// database shows the request the rows of that key's shop and no others.
func WithKey(ctx context.Context, hash [sha256.Size]byte) context.Context {
	return context.WithValue(ctx, keyOfRequest{}, hash)
}

// KeyOf gives what WithKey was told.
func KeyOf(ctx context.Context) (hash [sha256.Size]byte, ok bool) {
	hash, ok = ctx.Value(keyOfRequest{}).([sha256.Size]byte)
	return hash, ok
}
