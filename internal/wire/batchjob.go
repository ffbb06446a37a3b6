package wire

import (
	"encoding/json"
	"math"
	"time"
)

// BatchJob is a file of requests that is answered in the background.
type BatchJob struct {
	ID       string `json:"id"`
	State    string `json:"state"`
	Repeated bool   `json:"repeated"`
	Catalog  struct {
		Name     string `json:"name"`
		Revision int    `json:"revision"`
	} `json:"catalog"`
	Rows       int         `json:"rows"`
	RowsDone   int         `json:"rows_done"`
	RowsFaulty int         `json:"rows_with_faults"`
	Outcomes   BatchCounts `json:"outcomes"`
	// Faults are the first rows with faults.
	Faults []BatchRowFault `json:"faults"`
	// Rate is in rows a second.
	Rate        *float64   `json:"rate"`
	SecondsLeft *int       `json:"seconds_left"`
	Bytes       int64      `json:"bytes"`
	Created     time.Time  `json:"created_at"`
	Changed     time.Time  `json:"changed_at"`
	Finished    *time.Time `json:"finished_at"`
	Expires     *time.Time `json:"expires_at"`
	Result      *string    `json:"result"`
	Events      string     `json:"events"`
	Problem     *string    `json:"problem"`
}

// BatchCounts counts rows by outcome.
type BatchCounts struct {
	Fits          int `json:"fits"`
	NoFit         int `json:"no_fit"`
	MeasureAgain  int `json:"measure_again"`
	OutsideMethod int `json:"outside_method"`
}

// BatchRowFault is a row with a fault.
type BatchRowFault struct {
	Line  int    `json:"line"`
	Text  string `json:"text"`
	Codes string `json:"codes"`
	// Named says that the text begins with the name of a column.
	Named bool `json:"begins_with_column"`
}

// SetRate sets the rate, and how long the rest takes where that is known.
func (j *BatchJob) SetRate(rate float64, left time.Duration, known bool) {
	if rate > 0 {
		rounded := math.Round(rate*10) / 10
		j.Rate = &rounded
	}
	if known {
		seconds := int(math.Ceil(left.Seconds()))
		j.SecondsLeft = &seconds
	}
}

// AppendBatchJob appends a job as one line of JSON.
func AppendBatchJob(dst []byte, j *BatchJob) []byte {
	if j.Faults == nil {
		j.Faults = []BatchRowFault{}
	}
	text, err := json.Marshal(j)
	if err != nil {
		panic(err) // it holds nothing that can't be written
	}
	return append(append(dst, text...), '\n')
}
