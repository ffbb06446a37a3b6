package main_test

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// sendWrongRequests sends one request that the contract takes and two that it
// refuses, each with a text that may not come into the log.
func (s *server) sendWrongRequests(t *testing.T) {
	t.Helper()
	for body, status := range map[string]int{
		request: 200,
		strings.Replace(request, `"top":3`, `"top":"private"`, 1):     422,
		strings.Replace(request, `"top":3`, `"top":3,"private":1`, 1): 422,
	} {
		response, err := http.Post(s.url+"/v1/fits", "application/json", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		_ = response.Body.Close()
		if response.StatusCode != status {
			t.Errorf("%s: %s, want %d", body, response.Status, status)
		}
	}
}

// differences gives what a log says of differences from the contract.
func differences(t *testing.T, log string) []string {
	t.Helper()
	var all []string
	for text := range strings.Lines(log) {
		var line struct {
			Msg, Side, Method, Path, Pointer, Reason string
			Refused                                  bool
		}
		if err := json.Unmarshal([]byte(text), &line); err != nil || line.Msg != "not as the contract says" {
			continue
		}
		if !line.Refused {
			t.Errorf("the service took what the contract refuses, or answered otherwise: %s", text)
		}
		all = append(all, strings.Join([]string{line.Side, line.Method, line.Path, line.Pointer, line.Reason}, "; "))
	}
	if strings.Contains(log, "private\"") {
		t.Errorf("the log has what a caller sent: %s", log)
	}
	slices.Sort(all)
	return all
}
