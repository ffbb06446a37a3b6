package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"midstroke/internal/jobs"
	"midstroke/internal/postgres"
	"midstroke/internal/webhook"
)

// jobKinds are the kinds of jobs that this process does, over a store.
func (s *supervisor) jobKinds(store *postgres.Store) *jobs.Kinds {
	kinds := jobs.NewKinds()
	// Deliveries wait for others' servers and take next to nothing here.
	jobs.Add(kinds, jobs.Kind[postgres.DeliveryJob]{
		Do: (&courier{store, s.sender}).deliver, Timeout: webhook.AttemptTime, Again: untilNoted, AtOnce: 200, OfShop: 4,
	})
	jobs.Add(kinds, s.batchKind(store))
	return kinds
}

// untilNoted says when a delivery is tried again. One that is given up is done as a job,
// unless that couldn't be noted.
func untilNoted(attempts int) (time.Duration, bool) {
	if wait, again := webhook.Again(attempts); again {
		return wait, true
	}
	return time.Hour, true
}

// courier delivers events to webhooks.
type courier struct {
	store  *postgres.Store
	sender *webhook.Sender
}

// deliver sends an event once, and notes what became of it.
func (c *courier) deliver(ctx context.Context, job jobs.Job[postgres.DeliveryJob]) error {
	to, body, err := c.store.ToDeliver(ctx, job.Args)
	switch {
	case errors.Is(err, webhook.ErrNotFound):
		return nil // delivered before, or the webhook was deleted
	case err != nil:
		return err
	case !to.Active:
		off := webhook.Attempt{At: time.Now(), Fault: webhook.SwitchedOff}
		return c.store.NoteAttempt(ctx, job.Args, &to, &off, webhook.Failed, time.Time{})
	}
	attempt := c.sender.Send(ctx, &to, job.Args.Delivery, body)
	if errors.Is(ctx.Err(), context.Canceled) {
		return ctx.Err() // the process stops, so that nothing is known
	}
	if attempt.Fault == "" {
		return c.store.NoteAttempt(ctx, job.Args, &to, &attempt, webhook.Delivered, time.Time{})
	}
	failed := fmt.Errorf("delivery %s: %s", job.Args.Delivery, attempt.Fault)
	wait, again := webhook.Again(job.Attempt)
	if !again || attempt.Off() {
		return c.store.NoteAttempt(ctx, job.Args, &to, &attempt, webhook.Failed, time.Time{})
	}
	return errors.Join(failed, c.store.NoteAttempt(ctx, job.Args, &to, &attempt, webhook.Waiting, time.Now().Add(wait)))
}
