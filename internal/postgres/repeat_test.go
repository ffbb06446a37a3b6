package postgres_test

import (
	"bytes"
	"errors"
	"maps"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
)

// TestAClaimIsHeldOnce goes through the life of an answer that is kept.
func TestAClaimIsHeldOnce(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	owner := shopOf(t, s)
	first := shop.NewClaim(owner, "spring", [32]byte{1})
	if kept, err := s.Claim(t.Context(), first, time.Minute); err != nil || kept != nil {
		t.Fatal(kept, err)
	}
	again, other := shop.NewClaim(owner, "spring", [32]byte{1}), shop.NewClaim(owner, "spring", [32]byte{2})
	if _, err := s.Claim(t.Context(), again, time.Minute); !errors.Is(err, shop.ErrInFlight) {
		t.Errorf("while it is carried out: %v", err)
	}
	if _, err := s.Claim(t.Context(), other, time.Minute); !errors.Is(err, shop.ErrKeyReused) {
		t.Errorf("another request: %v", err)
	}

	answer := shop.Answer{Status: 201, Header: map[string]string{"ETag": `"x"`}, Body: []byte("{}\x00\n")}
	if err := s.Keep(t.Context(), again, answer); !errors.Is(err, shop.ErrInFlight) {
		t.Errorf("kept by a claim that doesn't hold: %v", err)
	}
	// With the draft, or neither.
	broken := shop.PartsOf(contents(t, 2))
	broken.Checked = func() error { return errors.New("on purpose") }
	if _, err := s.Draft(t.Context(), ownPlace, broken, "", "a test", &shop.Once{Claim: first, Answer: func(*shop.Revision) shop.Answer { return answer }}); err == nil {
		t.Error("a broken draft was drafted")
	}
	if _, err := s.Draft(t.Context(), ownPlace, shop.PartsOf(contents(t, 2)), "", "a test", &shop.Once{Claim: again, Answer: func(*shop.Revision) shop.Answer { return answer }}); !errors.Is(err, shop.ErrInFlight) {
		t.Errorf("drafted by a claim that doesn't hold: %v", err)
	}
	if _, err := s.Describe(t.Context(), ownPlace, 1); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("there is a draft without its answer: %v", err)
	}
	if _, err := s.Draft(t.Context(), ownPlace, shop.PartsOf(contents(t, 2)), "", "a test", &shop.Once{Claim: first, Answer: func(*shop.Revision) shop.Answer { return answer }}); err != nil {
		t.Fatal(err)
	}
	kept, err := s.Claim(t.Context(), again, time.Minute)
	if err != nil || kept == nil || kept.Status != 201 || !maps.Equal(kept.Header, answer.Header) || !bytes.Equal(kept.Body, answer.Body) {
		t.Errorf("kept %+v, %v", kept, err)
	}
	if _, err := s.Claim(t.Context(), other, time.Minute); !errors.Is(err, shop.ErrKeyReused) {
		t.Errorf("another request, after the answer: %v", err)
	}
	if err := s.GiveUp(t.Context(), first); err != nil {
		t.Fatal(err)
	}
	if kept, err := s.Claim(t.Context(), again, time.Minute); err != nil || kept == nil {
		t.Errorf("an answer is gone that was given: %v", err)
	}

	// What is too old is as if it were not there, and is deleted.
	conn := connect(t, url)
	set(t, conn, "midstroke.shop", "*")
	exec(t, conn, "UPDATE kept_answers SET created_at = now() - interval '25 hours'")
	if kept, err := s.Claim(t.Context(), other, time.Minute); err != nil || kept != nil {
		t.Errorf("after a day: %+v, %v", kept, err)
	}
	exec(t, conn, "UPDATE kept_answers SET created_at = now() - interval '25 hours'")
	if err := s.ForgetAnswers(t.Context()); err != nil || count(t, conn, "kept_answers", "true") != 0 {
		t.Errorf("old answers are left, %v", err)
	}
}

func TestAClaimThatIsGivenUpOrRunsOut(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	owner := shopOf(t, s)
	claim := func() shop.Claim { return shop.NewClaim(owner, "k", [32]byte{}) }
	first := claim()
	if _, err := s.Claim(t.Context(), first, time.Minute); err != nil {
		t.Fatal(err)
	}
	if err := s.GiveUp(t.Context(), first); err != nil {
		t.Fatal(err)
	}
	second := claim()
	if kept, err := s.Claim(t.Context(), second, time.Millisecond); err != nil || kept != nil {
		t.Fatalf("after it was given up: %v, %v", kept, err)
	}
	time.Sleep(20 * time.Millisecond)
	third := claim()
	if kept, err := s.Claim(t.Context(), third, time.Minute); err != nil || kept != nil {
		t.Fatalf("after it ran out: %v, %v", kept, err)
	}
	if err := s.Keep(t.Context(), second, shop.Answer{Status: 201, Header: map[string]string{}, Body: []byte{}}); !errors.Is(err, shop.ErrInFlight) {
		t.Errorf("kept by the claim that ran out: %v", err)
	}
}
