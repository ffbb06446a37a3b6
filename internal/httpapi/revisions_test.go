package httpapi_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

func TestFromDraftToPublicationAndBack(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	refused(t, s.post(t, "/v1/fits", eyeToEye, s.bearer("north server")...), 404) // nothing published yet

	first, tag := s.upload(t, "north", coded("A"))
	if first.Revision != 1 || first.State != "draft" || first.Current != nil || first.Note != "spring" || !strings.HasPrefix(first.CreatedBy, "key ") || len(first.Publications) != 0 {
		t.Errorf("the draft is %+v", first)
	}
	refused(t, s.post(t, "/v1/fits", fitsOf("", 1), s.bearer("north server")...), 404) // a draft answers nobody
	published := decode[told](t, s.publish(t, "north", 1, tag), 200)
	if published.State != "published" || *published.Current != 1 || len(published.Publications) != 1 || published.Publications[0].Action != "publish" ||
		published.Publications[0].By != first.CreatedBy || time.Since(published.Publications[0].At) > time.Minute {
		t.Errorf("published: %+v", published)
	}
	s.answeredFrom(t, "north", 1)
	refused(t, s.publish(t, "north", 1, "*"), 409)

	// Two drafts on the same ground: the first to be published wins, and the
	// other is told what changed.
	changed := coded("A")
	gone := changed.Dampers[0].Code
	changed.Dampers = changed.Dampers[1:]
	changed.Dampers[0].BodyDiameter += unit.Millimetre
	second, tag2 := s.upload(t, "north", changed)
	third, tag3 := s.upload(t, "north", coded("B"))
	refused(t, s.do(t, "POST", "/v1/catalogs/north/revisions/2/publish", "", s.bearer("north admin")...), 428)
	if *third.BasedOn != 1 || s.publish(t, "north", second.Revision, tag2).status != 200 {
		t.Fatalf("the third is %+v", third)
	}
	p := refused(t, s.publish(t, "north", third.Revision, tag3), 412)
	if p.Changes != "/v1/catalogs/north/revisions/1/changes/2?units=mm" || p.Code != "other_current_since_draft" || fmt.Sprint(p.Values) != "map[based_on:1 current:2 revision:3]" {
		t.Errorf("told %+v", p)
	}
	s.answeredFrom(t, "north", 2)

	type changes struct {
		Dampers struct{ Added, Removed, Changed int }
		Changes []struct {
			Kind, Code, Change string
			Fields             []struct {
				Field         string
				Before, After float64
			}
		}
		Samples []struct {
			Reference     *string
			Changed       bool
			Before, After struct {
				Outcome string
				Codes   []string
			}
		}
	}
	got := decode[changes](t, s.get(t, p.Changes, s.bearer("north server")...), 200)
	if got.Dampers != (struct{ Added, Removed, Changed int }{0, 1, 1}) || len(got.Changes) != 2 {
		t.Fatalf("changes %+v", got)
	}
	if c := got.Changes[0]; c.Code != gone || c.Change != "removed" {
		t.Errorf("the first is %+v", c)
	}
	if c := got.Changes[1]; c.Change != "changed" || len(c.Fields) != 1 || c.Fields[0].Field != "body_diameter" || c.Fields[0].After-c.Fields[0].Before < 0.999 {
		t.Errorf("the second is %+v", c)
	}
	// The drafts may be compared, too: every code of the third is another.
	samples := `{"samples":[` + eyeToEye[:len(eyeToEye)-1] + `,"reference":"eyes"},` + strings.Replace(eyeToEye, "17 5/16", "100", 1) + `]}`
	got = decode[changes](t, s.post(t, "/v1/catalogs/north/revisions/1/changes/3?units=in", samples, s.bearer("north admin")...), 200)
	if got.Dampers.Added != 480 || got.Dampers.Removed != 480 || len(got.Samples) != 2 {
		t.Fatalf("changes %+v, %d samples", got.Dampers, len(got.Samples))
	}
	if one := got.Samples[0]; !one.Changed || *one.Reference != "eyes" || got.Samples[1].Reference != nil || one.Before.Codes[0][:1] != "A" || one.After.Codes[0][:1] != "B" {
		t.Errorf("the first sample: %+v", one)
	}
	p = refused(t, s.post(t, "/v1/catalogs/north/revisions/1/changes/3?units=in", `{"samples":[{"units":"in"}]}`, s.bearer("north admin")...), 422)
	if len(p.Errors) == 0 || p.Errors[0].Pointer == nil || !strings.HasPrefix(*p.Errors[0].Pointer, "/samples/0/") {
		t.Errorf("a sample at fault: %+v", p.Errors)
	}

	// A rollback has nothing to do with what a revision was drafted on.
	stale := refused(t, s.do(t, "POST", "/v1/catalogs/north/revisions/1/rollback", "", append(s.bearer("north admin"), "If-Match", tag)...), 412)
	if stale.Changes != "" || stale.Code != "revision_changed" || fmt.Sprint(stale.Values) != "map[revision:1]" {
		t.Errorf("told %q and %q", stale.Detail, stale.Changes)
	}
	back := s.do(t, "POST", "/v1/catalogs/north/revisions/1/rollback", "", append(s.bearer("north admin"), "If-Match", "*")...)
	if r := decode[told](t, back, 200); *r.Current != 1 || len(r.Publications) != 2 || r.Publications[1].Action != "roll_back" || *r.Publications[1].Replaced != 2 {
		t.Errorf("rolled back: %+v", r)
	}
	s.answeredFrom(t, "north", 1)
	refused(t, s.do(t, "POST", "/v1/catalogs/north/revisions/3/rollback", "", append(s.bearer("north admin"), "If-Match", "*")...), 409)

	type page struct {
		Items      []told
		NextCursor *string `json:"next_cursor"`
	}
	var numbers []int
	for target := "/v1/catalogs/north/revisions?limit=2"; target != ""; {
		one := decode[page](t, s.get(t, target, s.bearer("north server")...), 200)
		for _, r := range one.Items {
			numbers = append(numbers, r.Revision)
		}
		target = ""
		if one.NextCursor != nil {
			target = "/v1/catalogs/north/revisions?limit=2&cursor=" + *one.NextCursor
		}
	}
	if !slices.Equal(numbers, []int{3, 2, 1}) {
		t.Errorf("revisions %v", numbers)
	}
}

// What no catalogue can be called is not found, and what no database keeps is
// refused where it is named.
func TestNamesAndNotesThatNoDatabaseKeeps(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	for _, name := range []string{"%00", "%ff", "a%0ab", "%20north", strings.Repeat("n", 65)} {
		at := "/v1/catalogs/" + name + "/revisions"
		for _, target := range []string{at, at + "/1", at + "/1/changes/2?units=mm", at + "/1/export?units=mm"} {
			p := refused(t, s.get(t, target, s.bearer("north admin")...), 404)
			if p.Code != "no_catalog_of_name" {
				t.Errorf("%s: %s", target, p.Detail)
			}
		}
		for _, target := range []string{at + "/1/publish", at + "/1/rollback"} {
			refused(t, s.do(t, "POST", target, "", append(s.bearer("north admin"), "If-Match", "*")...), 404)
		}
		refused(t, s.do(t, "POST", at, goodDampers, append(s.bearer("north admin"), "Content-Type", "text/csv")...), 404)
	}
	for _, note := range []string{"%00", "%ff"} {
		p := refused(t, s.do(t, "POST", "/v1/catalogs/north/revisions?note="+note, goodDampers, append(s.bearer("north admin"), "Content-Type", "text/csv")...), 422)
		if len(p.Errors) != 1 || p.Errors[0].Parameter != "note" {
			t.Errorf("note=%s: %+v", note, p.Errors)
		}
	}
}

// A 404 says what of a path isn't there.
func TestWhatIsNotThereIsNamed(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	for target, want := range map[string]string{
		"/v1/catalogs/south/revisions":                      `The catalogues of this key have none called "south"`,
		"/v1/catalogs/south/revisions/4":                    `The catalogues of this key have no "south" with a revision 4`,
		"/v1/catalogs/north/revisions/4/export?units=in":    `The catalogues of this key have no "north" with a revision 4`,
		"/v1/catalogs/north/revisions/4/changes/5?units=in": `The catalogues of this key have no "north" with a revision 4`,
		"/v1/catalogs/north/revisions/four/export?units=in": `A revision has a whole number from 1; "four" isn't one`,
	} {
		if p := refused(t, s.get(t, target, s.bearer("north admin")...), 404); p.Detail != want {
			t.Errorf("%s: %s", target, p.Detail)
		}
	}
	up := s.do(t, "POST", "/v1/catalogs/south/revisions", goodDampers, append(s.bearer("north admin"), "Content-Type", "text/csv")...)
	if p := refused(t, up, 404); p.Detail != `The catalogues of this key have none called "south"` {
		t.Errorf("an upload: %s", p.Detail)
	}
}

// The faults of files are told with their place, in a workbook with sheet and
// cell, also in one line of text.
func TestFaultsOfFilesSayWhere(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	const target = "/v1/catalogs/north/revisions"
	var file bytes.Buffer
	if err := table.Write(&file, table.XLSX, coded("A"), unit.Inches); err != nil {
		t.Fatal(err)
	}
	book := changedWorkbook(t, file.Bytes(), "twin_tube", "rubber")
	const media = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	p := refused(t, s.do(t, "POST", target, book, append(s.bearer("north admin"), "Content-Type", media)...), 422)
	if e := p.Errors[0]; e.File != "catalogue.xlsx" || e.Sheet != "dampers" || e.Column != "construction" || e.Line < 2 || !strings.HasSuffix(e.Cell, fmt.Sprint(e.Line)) {
		t.Errorf("told %+v", e)
	}
	a := s.do(t, "POST", target+"?errors=text", book, append(s.bearer("north admin"), "Content-Type", media)...)
	if want := fmt.Sprintf("error: catalogue.xlsx, sheet dampers, %s: construction: ", p.Errors[0].Cell); a.status != 200 || !strings.HasPrefix(string(a.body), want) {
		t.Errorf("as text: %d %s, want %s", a.status, a.body, want)
	}
	a = s.do(t, "POST", target+"?errors=text", badDampers, append(s.bearer("north admin"), "Content-Type", "text/csv")...)
	if a.status != 200 || !strings.HasPrefix(string(a.body), "error: dampers.csv:2: extended: ") || !strings.Contains(string(a.body), "; dampers.csv:3: construction: ") {
		t.Errorf("as text: %d %s", a.status, a.body)
	}
}

const (
	goodDampers = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\n" +
		"d1,monotube,300 mm,460 mm,1 mm,50 mm,eye,stud\n"
	badDampers = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\n" +
		"d1,monotube,300 mm,460,1 mm,50 mm,eye,stud\nd2,rubber,300 mm,200 mm,1 mm,50 mm,eye,stud\n"
)

func TestFilesAtFaultChangeNothing(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	const target = "/v1/catalogs/north/revisions"
	whole := archive(t, coded("A"))
	for name, c := range map[string]struct {
		media, body string
		status      int
		faults      []string
	}{
		"no file":           {"application/zip", "", 422, []string{"catalogue.zip:0:"}},
		"half an archive":   {"application/zip", whole[:len(whole)/2], 422, []string{"catalogue.zip:0:"}},
		"JSON":              {"application/json", "{}", 415, nil},
		"bad rows":          {"text/csv", badDampers, 422, []string{"dampers.csv:2:extended", "dampers.csv:3:construction", "dampers.csv:3:extended"}},
		"an empty archive":  {"application/zip", zipped(t), 422, []string{"catalogue.zip:0:"}},
		"an unknown file":   {"application/zip", zipped(t, "dampers.csv", goodDampers, "prices.csv", "a"), 422, []string{"catalogue.zip/prices.csv:1:"}},
		"one file twice":    {"application/zip", zipped(t, "dampers.csv", goodDampers, "old/dampers.csv", goodDampers), 422, []string{"catalogue.zip/old/dampers.csv:2:code"}},
		"prices of nothing": {"text/csv", strings.Replace(strings.Replace(goodDampers, "lower_style\n", "lower_style,price\n", 1), "stud\n", "stud,12.50\n", 1), 422, []string{"catalog.csv:0:currency"}},
	} {
		t.Run(name, func(t *testing.T) {
			p := refused(t, s.do(t, "POST", target, c.body, append(s.bearer("north admin"), "Content-Type", c.media)...), c.status)
			var got []string
			for _, e := range p.Errors {
				got = append(got, fmt.Sprintf("%s:%d:%s", e.File, e.Line, e.Column))
				if e.Cure == "" {
					t.Errorf("no cure: %+v", e)
				}
			}
			if !slices.Equal(got, c.faults) {
				t.Errorf("faults %q, want %q", got, c.faults)
			}
		})
	}
	var many strings.Builder
	many.WriteString(strings.SplitAfter(goodDampers, "\n")[0])
	for i := range 1500 {
		fmt.Fprintf(&many, "d%d,monotube,300 mm,460,1 mm,50 mm,eye,stud\n", i)
	}
	if p := refused(t, s.do(t, "POST", target, many.String(), append(s.bearer("north admin"), "Content-Type", "text/csv")...), 422); len(p.Errors) != 1000 || p.Unlisted != 500 {
		t.Errorf("%d faults and %d more", len(p.Errors), p.Unlisted)
	}
	type page struct{ Items []told }
	if got := decode[page](t, s.get(t, target, s.bearer("north admin")...), 200); len(got.Items) != 0 {
		t.Errorf("something was written: %+v", got.Items)
	}
	// And the next file is taken.
	if r := decode[told](t, s.do(t, "POST", target, goodDampers, append(s.bearer("north admin"), "Content-Type", "text/csv")...), 201); r.Revision != 1 {
		t.Errorf("%+v", r)
	}
}

func TestTwoWhoPublishAtOnce(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	for round := range 5 {
		const people = 4
		numbers, tags := make([]int, people), make([]string, people)
		for i := range people {
			r, _ := s.upload(t, "north", catalog.Contents{Currency: "EUR", Limits: demo.Contents().Limits, Dampers: coded("A").Dampers[:i+1]})
			numbers[i] = r.Revision
		}
		for i, n := range numbers {
			tags[i] = s.get(t, fmt.Sprint("/v1/catalogs/north/revisions/", n), s.bearer("north admin")...).header.Get("ETag")
		}
		statuses := make([]int, people)
		var all sync.WaitGroup
		for i := range people {
			all.Go(func() { statuses[i] = s.publish(t, "north", numbers[i], tags[i]).status })
		}
		all.Wait()
		slices.Sort(statuses)
		if !slices.Equal(statuses, []int{200, 412, 412, 412}) {
			t.Fatalf("round %d: %v, want one winner", round, statuses)
		}
	}
}

// catalogs is a page of catalogues as it is answered.
type catalogs struct {
	Items []struct {
		Name     string
		Revision *int
		Counts   *shop.Counts
		Drafts   *[]int
	}
	NextCursor *string `json:"next_cursor"`
}

// String tells a page in short: "name revision dampers [drafts]".
func (c catalogs) String() string {
	var all []string
	for _, one := range c.Items {
		text := one.Name
		if one.Revision != nil {
			text += fmt.Sprint(" ", *one.Revision, " ", one.Counts.Dampers)
		}
		if one.Drafts != nil {
			text += fmt.Sprint(" ", *one.Drafts)
		}
		all = append(all, text)
	}
	return strings.Join(all, "; ")
}

// TestWhichCataloguesAKeySees: the demo has 480 dampers.
func TestWhichCataloguesAKeySees(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	sees := func(want string, header ...string) {
		t.Helper()
		if got := decode[catalogs](t, s.get(t, "/v1/catalogs", header...), 200).String(); got != want {
			t.Errorf("sees %q, want %q", got, want)
		}
	}
	widget := append(s.bearer("north widget"), "Origin", pageOrigin)
	sees("demo 7 480")
	sees("demo 7 480", widget...)
	sees("demo 7 480; north []", s.bearer("north server")...)
	_, tag := s.upload(t, "north", coded("A"))
	s.upload(t, "north", coded("B"))
	sees("demo 7 480; north [2 1]", s.bearer("north admin")...)
	s.publish(t, "north", 1, tag)
	sees("demo 7 480; north 1 480", widget...)
	sees("demo 7 480; north 1 480 [2]", s.bearer("north admin")...)
	sees("demo 7 480; south []", s.bearer("south admin")...)

	first := s.get(t, "/v1/catalogs?limit=1", s.bearer("north server")...)
	page := decode[catalogs](t, first, 200)
	if page.String() != "demo 7 480" || page.NextCursor == nil || !strings.Contains(first.header.Get("Link"), "cursor="+*page.NextCursor) {
		t.Errorf("the first page is %v, Link %q", page, first.header.Get("Link"))
	}
	last := decode[catalogs](t, s.get(t, "/v1/catalogs?limit=1&cursor="+*page.NextCursor, s.bearer("north server")...), 200)
	if last.String() != "north 1 480 [2]" || last.NextCursor != nil {
		t.Errorf("the last page is %v", last)
	}
	want := "name,revision,counts_dampers,counts_sleeves,counts_spacers,counts_adapters,drafts\r\ndemo,7,480,"
	if a := s.get(t, "/v1/catalogs?format=csv"); !strings.HasPrefix(string(a.body), want) {
		t.Errorf("as CSV: %q", a.body)
	}
	refused(t, s.get(t, "/v1/catalogs?units=in"), 422)
	refused(t, s.get(t, "/v1/catalogs?cursor=x"), 422)
}

// aDamper is a file with one damper.
const aDamper = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\na,twin_tube,300 mm,450 mm,1 mm,50 mm,eye,eye\n"
