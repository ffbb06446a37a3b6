package httpapi_test

import (
	"fmt"
	"testing"

	"midstroke/internal/httpapi"
	"midstroke/internal/shop"
)

func TestADraftIsDeleted(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	remove := func(number int, who string, header ...string) *answer {
		t.Helper()
		return s.do(t, "DELETE", fmt.Sprintf("/v1/catalogs/north/revisions/%d", number), "", append(s.bearer(who), header...)...)
	}
	_, first := s.upload(t, "north", coded("A"))
	_, second := s.upload(t, "north", coded("B"))
	if a := s.get(t, "/v1/catalogs/north/revisions/1/changes/2?units=in", s.bearer("north server")...); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	refused(t, remove(2, "north server"), 403)
	refused(t, remove(2, "south admin"), 404)
	p := refused(t, remove(2, "north admin", "If-Match", first), 412)
	if p.Code != "revision_changed" {
		t.Errorf("another one's tag: %+v", p)
	}
	if a := remove(2, "north admin", "If-Match", second); a.status != 204 || len(a.body) != 0 {
		t.Errorf("deleted: %d: %s", a.status, a.body)
	}
	// What was in memory is gone as well.
	for _, path := range []string{"/v1/catalogs/north/revisions/2", "/v1/catalogs/north/revisions/1/changes/2?units=in", "/v1/catalogs/north/revisions/2/export?units=in"} {
		refused(t, s.get(t, path, s.bearer("north server")...), 404)
	}
	refused(t, remove(2, "north admin"), 404)
	if r, _ := s.upload(t, "north", coded("C")); r.Revision != 3 {
		t.Errorf("the next draft has number %d, want 3", r.Revision)
	}
	s.publish(t, "north", 1, "*")
	p = refused(t, remove(1, "north admin"), 409)
	if p.Code != "current_stays" || p.Type != "/docs/problems#wrong-state" {
		t.Errorf("the revision that answers come from: %+v", p)
	}
	s.publish(t, "north", 3, "*")
	if a := s.get(t, "/v1/dampers?catalog=north&revision=1&units=in", s.bearer("north server")...); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	refused(t, remove(1, "south admin"), 404)
	if a := remove(1, "north admin"); a.status != 204 {
		t.Errorf("an old revision: %d: %s", a.status, a.body)
	}
	refused(t, s.get(t, "/v1/dampers?catalog=north&revision=1&units=in", s.bearer("north server")...), 404)
	s.upload(t, "north", coded("D"))
	if a := remove(4, "north admin"); a.status != 204 {
		t.Errorf("without If-Match: %d: %s", a.status, a.body)
	}
}

// TestAShopsQuota: an upload beyond it says what to do.
func TestAShopsQuota(t *testing.T) {
	t.Parallel()
	s, owner := newStoredShops(t)
	s.start(t, httpapi.Config{Keys: s.ring, Revisions: func() httpapi.Revisions { return owner }, Quota: shop.Quota{Revisions: 1}})
	send := func(name string) *answer {
		t.Helper()
		return s.do(t, "POST", "/v1/catalogs/"+name+"/revisions", aDamper, append(s.bearer(name+" admin"), "Content-Type", "text/csv")...)
	}
	if a := send("north"); a.status != 201 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	p := refused(t, send("north"), 507)
	if p.Code != "quota_of_revisions" || p.Type != "/docs/problems#quota-reached" || p.Values["stored"] != 1. || p.Values["most"] != 1. {
		t.Errorf("%+v", p)
	}
	if a := send("south"); a.status != 201 {
		t.Errorf("the other shop: %d: %s", a.status, a.body)
	}
	if a := s.do(t, "DELETE", "/v1/catalogs/north/revisions/1", "", s.bearer("north admin")...); a.status != 204 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	if a := send("north"); a.status != 201 {
		t.Errorf("after a deletion: %d: %s", a.status, a.body)
	}
}

// TestADraftDeletedElsewhereIsGone: another instance deletes a draft that this one
// holds in memory.
func TestADraftDeletedElsewhereIsGone(t *testing.T) {
	t.Parallel()
	s, store := newStoredShops(t)
	s.upload(t, "north", coded("A"))
	s.upload(t, "north", coded("B"))
	changes := "/v1/catalogs/north/revisions/1/changes/2?units=in"
	decode[map[string]any](t, s.get(t, changes, s.bearer("north server")...), 200)
	if err := store.Discard(t.Context(), shop.Place{Catalog: "north"}, 2, func(shop.Revision) error { return nil }); err != nil {
		t.Fatal(err)
	}
	refused(t, s.get(t, changes, s.bearer("north server")...), 404)
}
