package wire

import (
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/unit"
)

// MostSamples is how many sample requests may be asked about at once.
const MostSamples = 100

// ReadSamples reads a body of sample requests: {"samples": […]}, each as
// [ReadFits] reads it. The catalogue and the revision that they name are not
// used.
func ReadSamples(body []byte) ([]FitsRequest, error) {
	f, err := form.OfBody(body, form.MostListValues)
	if err != nil {
		return nil, unread(err)
	}
	if faults := form.Read(f, samplesTable, new(struct{}), nil); len(faults) > 0 {
		return nil, refused(faults, unit.Unset)
	}
	var samples []FitsRequest
	var faults fault.List
	for i, entry := range f.Entries("samples") {
		sample, found := readFits(entry)
		samples = append(samples, *sample)
		faults.AddUnder("/samples/"+strconv.Itoa(i), found)
	}
	return samples, refused(faults, unit.Unset)
}

// samplesTable is the list of samples, whose entries are read one by one.
var samplesTable = form.NewRecord(
	form.Field("samples", form.ListOf(form.Any, 1, MostSamples), func(*struct{}) *[]struct{} { return new([]struct{}) }).Needed(),
)
