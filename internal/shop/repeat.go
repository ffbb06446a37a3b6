package shop

import (
	"crypto/rand"
	"crypto/sha256"
	"errors"
)

// Answer is an answer as it was sent, kept for a request that is sent again.
type Answer struct {
	Status int
	Header map[string]string
	Body   []byte
}

// Claim is the right to carry out a request that came with a key of its own, so
// that it is carried out once however often it is sent.
type Claim struct {
	Shop int64
	// Key is the request's, as the caller made it up.
	Key string
	// Fingerprint tells one request from another.
	Fingerprint [sha256.Size]byte
	// ID tells this claim from another one of the same key.
	ID [16]byte
}

// NewClaim makes a claim, which holds once it is entered where claims are kept.
func NewClaim(shopID int64, key string, fingerprint [sha256.Size]byte) Claim {
	c := Claim{Shop: shopID, Key: key, Fingerprint: fingerprint}
	_, _ = rand.Read(c.ID[:]) // never fails: crypto/rand ends the process before
	return c
}

// Once says how a request is answered that is carried out once.
type Once struct {
	Claim  Claim
	Answer func(*Revision) Answer
}

var (
	// ErrKeyReused says that another request came with the same key before.
	ErrKeyReused = errors.New("the key was used for another request")
	// ErrInFlight says that the same request is being carried out.
	ErrInFlight = errors.New("the same request is being carried out")
)
