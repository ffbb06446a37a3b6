package main_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"midstroke/internal/pglocal"
)

// TestAReplicaSeesTheStockWithinASecond puts stock on one of two instances and reads it in
// the answers of the other, which holds it in memory.
func TestAReplicaSeesTheStockWithinASecond(t *testing.T) {
	t.Parallel()
	dir := usedDataDir(t)
	owner := serve(t, "--data-dir", dir)
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	key := demoKey(t, url)
	guest := serve(t, "--database-url", url)
	send := func(to *server, method, path, body string) []byte {
		t.Helper()
		r, err := http.NewRequestWithContext(t.Context(), method, to.url+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Authorization", "Bearer "+key)
		r.Header.Set("Content-Type", "application/json")
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		raw, err := io.ReadAll(a.Body)
		if err != nil || a.StatusCode != http.StatusOK {
			t.Fatalf("%s %s: %d, %v: %s", method, path, a.StatusCode, err, raw)
		}
		return raw
	}
	seen := func(at *server) int {
		t.Helper()
		var a struct {
			Fits []struct {
				PickList []struct {
					Code  *string
					Stock []struct{ Quantity int }
				} `json:"pick_list"`
			}
		}
		if err := json.Unmarshal(send(at, "POST", "/v1/fits", strings.Replace(request, `"top":3`, `"codes":["`+stormDamper+`"]`, 1)), &a); err != nil || len(a.Fits) != 1 {
			t.Fatalf("%d fits, %v", len(a.Fits), err)
		}
		if stock := a.Fits[0].PickList[0].Stock; len(stock) == 1 {
			return stock[0].Quantity
		}
		return -1
	}
	var slowest time.Duration
	for quantity := 10; quantity > 0; quantity-- {
		to, other := owner, guest
		if quantity%2 == 0 {
			to, other = guest, owner
		}
		send(to, "PUT", "/v1/stock", fmt.Sprintf(`{"code":%q,"location":"main","quantity":%d}`, stormDamper, quantity))
		put := time.Now()
		if got := seen(to); got != quantity {
			t.Errorf("the instance that answered says %d, want %d", got, quantity)
		}
		for seen(other) != quantity && time.Since(put) < 10*time.Second {
			time.Sleep(5 * time.Millisecond)
		}
		slowest = max(slowest, time.Since(put))
	}
	t.Logf("the other instance knew after %s at most", slowest.Round(time.Millisecond))
	if slowest > time.Second {
		t.Errorf("the other instance knew only after %s", slowest)
	}
	guest.interrupt(t)
	owner.interrupt(t)
}
