// Package batchjob is about files of requests that are answered in the background: what
// is kept of each, how far it is, and for how long its answer stays.
package batchjob

import (
	"crypto/sha256"
	"errors"
	"io"
	"time"

	"github.com/google/uuid"

	"midstroke/internal/shop"
)

// State is how far a job is.
type State string

// The states. A job that is cancelled is deleted.
const (
	Waiting State = "waiting"
	Running State = "running"
	Done    State = "done"
	Failed  State = "failed"
)

// Ended says whether nothing more becomes of a job.
func (s State) Ended() bool { return s == Done || s == Failed }

var (
	// ErrNotFound says that there is no such job, or that it is another shop's.
	ErrNotFound = errors.New("no such job")
	// ErrGone says that a job was cancelled, or is done by another process.
	ErrGone = errors.New("the job is gone")
	// ErrTooMany says that a shop has as many unfinished jobs as it may have.
	ErrTooMany = errors.New("too many jobs of the shop wait")
)

// MostWaiting is how many unfinished jobs a shop may have.
const MostWaiting = 50

// Job is a file of requests with what became of it.
type Job struct {
	ID    string
	Shop  int64
	State State
	// Repeated says that the same file had been sent before, and that this is the job of
	// then.
	Repeated bool
	// Print is the fingerprint of the request that brought the file.
	Print [sha256.Size]byte
	// File is what faults call the file, Media its media type, and Size its bytes.
	File, Media string
	Size        int64
	Asked       Asked
	// Place and Revision say what all rows are answered from.
	Place    shop.Place
	Revision int
	// Rows are those of the file. ResultSize is how many bytes of the answer there are.
	Rows       int
	Progress   Progress
	ResultSize int64
	// Problem says why a job failed, in the language that was asked for.
	Problem string

	Created, Changed time.Time
	// Began is when the present attempt began, BeganAt at which row. Finished and Expires
	// are zero until the job has ended.
	Began, Finished, Expires time.Time
	BeganAt                  int
}

// Asked is what the request said of the rows.
type Asked struct {
	Picks    []string            `json:"picks,omitempty"`
	Keep     []string            `json:"keep,omitempty"`
	ReadAs   map[string]string   `json:"read_as,omitempty"`
	Defaults map[string][]string `json:"defaults,omitempty"`
	Language string              `json:"language"`
}

// Progress says how far the answer is kept.
type Progress struct {
	Rows     int            `json:"rows"`
	Faulty   int            `json:"faulty"`
	Outcomes map[string]int `json:"outcomes"`
	// Faults are the first rows with faults.
	Faults []RowFault `json:"faults"`
}

// RowFault is what is wrong with a row.
type RowFault struct {
	Line  int    `json:"line"`
	Text  string `json:"text"`
	Codes string `json:"codes"`
	// Named says that the text begins with the name of a column.
	Named bool `json:"named,omitempty"`
}

// Answer is a part of an answer.
type Answer struct {
	io.Reader
	Size int64
}

// New makes a job of a file. The caller fills in the rest.
func New(shopID int64, now time.Time) (*Job, error) {
	id, err := uuid.NewV7()
	return &Job{ID: id.String(), Shop: shopID, State: Waiting, Created: now, Changed: now}, err
}

// Rate gives how many rows a second are answered, 0 where that isn't known.
func (j *Job) Rate() float64 {
	took := j.Changed.Sub(j.Began).Seconds()
	if j.Began.IsZero() || took <= 0 || j.Progress.Rows <= j.BeganAt {
		return 0
	}
	return float64(j.Progress.Rows-j.BeganAt) / took
}

// Left gives how long the rest takes by that rate, and whether that is known.
func (j *Job) Left() (time.Duration, bool) {
	rate := j.Rate()
	if j.State != Running || rate == 0 {
		return 0, false
	}
	return time.Duration(float64(j.Rows-j.Progress.Rows) / rate * float64(time.Second)), true
}
