package form_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/note"
	_ "midstroke/internal/seeded"
	"midstroke/internal/unit"
)

// shed is an invented request with a field of every type.
type shed struct {
	Units   unit.System
	Name    string
	Height  unit.Length
	Step    unit.Length
	Offset  *unit.Length
	Slope   float64
	Windows int
	Painted bool
	Leaning bool
	Colours []string
	Boards  []board
	Corner  []unit.Length
	Door    door
	Shelves []shelf
	settled int
}

type board struct {
	Length unit.Length
	Wood   string
}

type door struct {
	Kind   string
	Hinge  unit.Length
	Rail   unit.Length
	Handle handle
}

type handle struct{ Height, Travel unit.Length }

type shelf struct{ Depth unit.Length }

const (
	notWithKind fault.Code = "not_with_kind"
	notAName    fault.Code = "not_a_name"
)

var shedTable = form.NewRecord(
	form.Field("units", form.Units, func(s *shed) *unit.System { return &s.Units }).Needed(),
	form.Field("name", form.Checked(form.Text(1, 8), func(s string) bool { return s == strings.TrimSpace(s) }, notAName), func(s *shed) *string { return &s.Name }),
	form.Field("height", form.Length, func(s *shed) *unit.Length { return &s.Height }).Needed(),
	form.Field("step", form.LengthOrZero, func(s *shed) *unit.Length { return &s.Step }),
	form.Field("offset", form.SignedLength, func(s *shed) *unit.Length {
		s.Offset = new(unit.Length)
		return s.Offset
	}),
	form.Field("slope", form.Number(form.Span{Least: 0, Most: 1, Above: true, Below: true}), func(s *shed) *float64 { return &s.Slope }),
	form.Field("windows", form.Whole(0, 12), func(s *shed) *int { return &s.Windows }),
	form.Field("painted", form.Flag, func(s *shed) *bool { return &s.Painted }),
	form.Field("stands", form.Either("upright", "leaning"), func(s *shed) *bool { return &s.Leaning }),
	form.Field("colours", form.ListOf(form.NameOf([]string{"red", "green"}), 1, 3), func(s *shed) *[]string { return &s.Colours }),
	form.Field("boards", form.ListOf(boardType, 1, 4), func(s *shed) *[]board { return &s.Boards }),
	form.Field("corner", form.CompleteListOf(form.SignedLength, 2, 3), func(s *shed) *[]unit.Length { return &s.Corner }),
	form.Part("door", doorTable, func(s *shed) *door { return &s.Door }),
	form.Field("shelves", form.Records(shelfTable, 0, 2, shelf{Depth: unit.Inch}), func(s *shed) *[]shelf { return &s.Shelves }),
).Settle(func(_ form.Value, s *shed) { s.settled++ })

var boardType = form.Or(form.Length, form.NewRecord(
	form.Field("length", form.Length, func(b *board) *unit.Length { return &b.Length }).Needed(),
	form.Field("wood", form.NameOf([]string{"oak", "pine"}), func(b *board) *string { return &b.Wood }),
), func(l unit.Length) board { return board{Length: l} })

var doorTable = form.NewRecord(
	form.Field("kind", form.NameOf([]string{"hinged", "sliding"}), func(d *door) *string { return &d.Kind }).Needed().Short().Decides(notWithKind),
	form.Field("hinge", form.Length, func(d *door) *unit.Length { return &d.Hinge }).Needed().With("hinged"),
	form.Field("rail", form.Length, func(d *door) *unit.Length { return &d.Rail }).With("sliding"),
	form.Part("handle", form.NewRecord(
		form.Field("height", form.Length, func(h *handle) *unit.Length { return &h.Height }).Needed(),
		form.Field("travel", form.Length, func(h *handle) *unit.Length { return &h.Travel }).With("sliding"),
	), func(d *door) *handle { return &d.Handle }),
)

var shelfTable = form.NewRecord(
	form.Field("depth", form.Length, func(s *shelf) *unit.Length { return &s.Depth }),
)

// readShed reads a body; its faults are "pointer code".
func readShed(t testing.TB, body string) (shed, []string) {
	t.Helper()
	f, err := form.OfBody([]byte(body), form.MostValues)
	if err != nil {
		t.Fatalf("%s: %v", body, err)
	}
	var s shed
	return s, told(t, form.Read(f, shedTable, &s, nil))
}

// told writes faults as "place code", and fails where one has no words.
func told(t testing.TB, faults fault.List) []string {
	t.Helper()
	var all []string
	for i := range faults {
		f := &faults[i]
		all = append(all, f.Pointer+f.Parameter+" "+string(f.Code))
		for _, lang := range note.Languages() {
			if text := f.Text(lang, unit.Inches); text == string(f.Code) || strings.ContainsAny(text, "{}") || strings.HasSuffix(text, ".") {
				t.Errorf("%s in %s reads %q", f.Code, lang, text)
			}
		}
	}
	return all
}

const inch = unit.Inch

func TestEveryTypeIsRead(t *testing.T) {
	offset := -inch / 2
	want := shed{
		Units: unit.Inches, Name: "north", Height: 90 * inch, Step: 0, Offset: &offset, Slope: 0.25, Windows: 2, Painted: true, Leaning: true,
		Colours: []string{"red", "red"}, Boards: []board{{Length: 40 * inch}, {Length: 12 * inch, Wood: "oak"}}, Corner: []unit.Length{-inch, 254 * unit.Millimetre},
		Door:    door{Kind: "sliding", Rail: 30 * inch, Handle: handle{Height: 40 * inch, Travel: 2 * inch}},
		Shelves: []shelf{{Depth: 8 * inch}, {Depth: inch}}, settled: 1,
	}
	body := `{"height":"7 ft 6 in","step":0,"name":"north","offset":"-1/2","slope":0.25,"windows":2e0,"painted":true,"stands":"leaning","colours":["red","red"],
		"boards":[40,{"wood":"oak","length":12}],"corner":[-1,"254 mm"],"door":{"rail":30,"handle":{"travel":2,"height":40},"kind":"sliding"},"shelves":[{"depth":8},{}],"units":"in"}`
	f, err := form.OfBody([]byte(body), form.MostValues)
	if err != nil {
		t.Fatal(err)
	}
	var s shed
	if faults := form.Read(f, shedTable, &s, nil); len(faults) > 0 {
		t.Fatal(faults)
	}
	if !reflect.DeepEqual(s, want) {
		t.Errorf("got  %+v\nwant %+v", s, want)
	}
}

func TestFaultsHavePlaces(t *testing.T) {
	for _, c := range []struct {
		body string // beside units and height
		want []string
	}{
		{`"heigh":1`, []string{"/heigh unknown_field"}}, // height is given, so it isn't suggested
		{`"windos":1`, []string{"/windos unknown_field.near"}},
		{`"a/b~c":1`, []string{"/a~1b~0c unknown_field"}},
		{`"windows":1,"windows":2`, []string{"/windows duplicate_field"}},
		{`"zz":1,"zz":2`, []string{"/zz unknown_field"}},
		{`"name":""`, []string{"/name blank"}},
		{`"name":"a\u0000b"`, []string{"/name not_text"}},
		{`"name":"123456789"`, []string{"/name text_too_long"}},
		{`"name":" x"`, []string{"/name not_a_name"}},
		{`"name":7,"painted":"yes","windows":"2","slope":null,"colours":{},"door":[],"corner":true`, []string{
			"/name wrong_type.field", "/slope wrong_type.field", "/windows wrong_type.field", "/painted wrong_type.field",
			"/colours wrong_type.field", "/corner wrong_type.field", "/door wrong_type.field",
		}},
		{`"windows":1.5`, []string{"/windows wrong_type.whole"}},
		{`"windows":13`, []string{"/windows out_of_range.number"}},
		{`"slope":0`, []string{"/slope out_of_range.between"}},
		{`"slope":1e999`, []string{"/slope out_of_range.between"}},
		{`"step":-1`, []string{"/step negative.length"}},
		{`"step":"1,5"`, []string{"/step comma"}},
		{`"step":10001`, []string{"/step out_of_range.length"}},
		{`"step":394`, []string{"/step too_large"}}, // over 10 m as inches
		{`"offset":[]`, []string{"/offset wrong_type.field"}},
		{`"stands":"flat"`, []string{"/stands not_allowed.choice"}},
		{`"stands":1`, []string{"/stands wrong_type.choice"}},
		{`"colours":[]`, []string{"/colours too_few.items"}},
		{`"colours":["red","red","red","red"]`, []string{"/colours too_many.items"}},
		{`"colours":["blue",1]`, []string{"/colours/0 not_allowed.choice", "/colours/1 wrong_type.choice"}},
		{`"boards":[0,{"length":1,"by":2},{"wood":"oak"},"x"]`, []string{
			"/boards/0 not_positive.length", "/boards/1/by unknown_field", "/boards/2/length missing.field", "/boards/3 number_missing",
		}},
		{`"shelves":[1,{"depth":0}]`, []string{"/shelves/0 wrong_type.field", "/shelves/1/depth not_positive.length"}},
		{`"door":{}`, []string{"/door/kind missing.field"}},
		{`"door":{"hinge":0}`, []string{"/door/kind missing.field", "/door/hinge not_positive.length"}}, // which applies nobody knows
		{`"door":{"kind":"hinged"}`, []string{"/door/hinge missing.field"}},
		{`"door":{"kind":"hinged","hinge":1,"rail":"x","handle":{"height":1,"travel":1}}`, []string{"/door/rail not_with_kind", "/door/handle/travel not_with_kind"}},
		{`"door":{"kind":"sliding","handle":{"travel":1}}`, []string{"/door/handle/height missing.field"}},
	} {
		if _, got := readShed(t, `{"units":"in","height":1,`+c.body+`}`); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.body, got, c.want)
		}
	}
	for body, want := range map[string][]string{
		`[1]`: {" wrong_type.field"}, `null`: {" wrong_type.field"}, `{}`: {"/units missing.field", "/height missing.field"},
	} {
		if _, got := readShed(t, body); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", body, got, want)
		}
	}
}

// TestWithoutUnits tells what is wrong in inches and in millimetres alike.
func TestWithoutUnits(t *testing.T) {
	for _, c := range []struct {
		body string
		want []string
	}{
		{`{"height":1}`, []string{"/units missing.field"}},
		{`{"units":"cm","height":1}`, []string{"/units not_allowed.choice"}},
		{`{"units":null,"height":1}`, []string{"/units wrong_type.choice"}},
		{`{"height":500,"step":"1/2","offset":"-500"}`, []string{"/units missing.field"}}, // each a length in one of the two
		{`{"height":0,"step":"1,5"}`, []string{"/units missing.field", "/height not_positive.length", "/step comma"}},
		{`{"height":"11 m"}`, []string{"/units missing.field", "/height too_large"}},
	} {
		if s, got := readShed(t, c.body); !slices.Equal(got, c.want) || s.Units != unit.Unset {
			t.Errorf("%s: %q and %v, want %q", c.body, got, s.Units, c.want)
		}
	}
	// The core is asked in both, too.
	f, err := form.OfBody([]byte(`{"height":5}`), form.MostValues)
	if err != nil {
		t.Fatal(err)
	}
	var s shed
	got := told(t, form.Read(f, shedTable, &s, func(own fault.List, s *shed) (core fault.List) {
		if s.Height > 50*unit.Millimetre {
			core.Add("/height", "too_large.length") // 5 in, but not 5 mm
		}
		core.Add("/name", "blank")
		core.Add("/units", "blank") // beside what the reader says of it
		return core
	}))
	if want := []string{"/units missing.field", "/name blank"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestCoreFaultsBesideOwn leaves out what the core says of a field that is at
// fault already, of what is in it and of what it is in.
func TestCoreFaultsBesideOwn(t *testing.T) {
	f, err := form.OfBody([]byte(`{"units":"in","height":0,"door":{"kind":"hinged","hinge":"x"}}`), form.MostValues)
	if err != nil {
		t.Fatal(err)
	}
	var s shed
	got := told(t, form.Read(f, shedTable, &s, func(own fault.List, _ *shed) (core fault.List) {
		for _, pointer := range []string{"/height", "/height/0", "/heights", "/door", "/door/hinge/x", "/door/rail"} {
			core.Add(pointer, "blank")
		}
		return core
	}))
	if want := []string{"/height not_positive.length", "/door/hinge number_missing", "/heights blank", "/door/rail blank"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestManyFaultsAreCounted(t *testing.T) {
	var members []string
	for i := range 300 {
		members = append(members, fmt.Sprintf(`"x%d":1`, i))
	}
	f, err := form.OfBody([]byte(`{`+strings.Join(members, ",")+`}`), form.MostValues)
	if err != nil {
		t.Fatal(err)
	}
	var s shed
	faults := form.Read(f, shedTable, &s, nil)
	// units and height are missing beside the 300
	if last := faults[len(faults)-1]; len(faults) != 201 || last.Code != form.TooManyFaults || last.Values[0].Number != 102 {
		t.Errorf("%d faults, the last %+v", len(faults), last)
	}
}

func TestNotJSON(t *testing.T) {
	for body, code := range map[string]fault.Code{
		"": "not_json.empty", " \n": "not_json.empty", `{"a": [1.`: "not_json.cut_off", `{} {}`: "not_json.more",
		"units=in": "not_json.syntax", `{"a":NaN}`: "not_json.syntax", `{"a":1,}`: "not_json.syntax", "{\"a\":\"\xff\"}": "not_json.syntax",
	} {
		_, err := form.OfBody([]byte(body), form.MostValues)
		var syntax *form.SyntaxError
		if !errors.As(err, &syntax) || syntax.Code != code || syntax.Text("es") == "" || syntax.Offset > int64(len(body)) {
			t.Errorf("%q: %v, want %s", body, err, code)
		}
	}
}

func TestBodiesAreBounded(t *testing.T) {
	_, err := form.OfBody([]byte(`[`+strings.Repeat("1,", 100)+`1]`), 100)
	var faults fault.List
	if !errors.As(err, &faults) || faults[0].Code.Public() != "too_many" {
		t.Errorf("got %v", err)
	}
	if _, err := form.OfBody([]byte(`[`+strings.Repeat("1,", 98)+`1]`), 100); err != nil {
		t.Errorf("99 numbers and their list: %v", err)
	}
	deep := strings.Repeat("[", 5000) + strings.Repeat("]", 5000)
	if _, got := readShed(t, `{"units":"in","height":1,"name":`+deep+`}`); !slices.Equal(got, []string{"/name wrong_type.field"}) {
		t.Errorf("%q", got)
	}
}

var shedNames = form.NamesOf(shedTable)

// TestFlatNames is by hand.
func TestFlatNames(t *testing.T) {
	var got []string
	for _, n := range shedNames.All() {
		name := n.Name + " " + n.Pointer
		if n.List {
			name += " list"
		}
		for _, w := range n.When {
			name += " " + w.Name + "=" + strings.Join(w.Values, ",")
		}
		got = append(got, name)
	}
	want := []string{
		"units /units", "name /name", "height /height", "step /step", "offset /offset", "slope /slope", "windows /windows", "painted /painted",
		"stands /stands", "colours /colours list", "boards /boards list", "boards_oak /boards list", "boards_pine /boards list", "corner /corner list",
		"door /door/kind", "door_hinge /door/hinge door=hinged", "door_rail /door/rail door=sliding",
		"door_handle_height /door/handle/height", "door_handle_travel /door/handle/travel door=sliding",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestFlatFaultsAreInTheSendersNames(t *testing.T) {
	for _, c := range []struct {
		query string
		want  []string
	}{
		{"units=in&height=1&painted=TRUE&door=sliding&door_rail=&name=+&windows=2", nil},
		{"height=1&units=in&units=in", []string{"units duplicate_field"}},
		{"units=in&height=1&door_kind=hinged", []string{"door_kind unknown_field.parameter_near"}},
		{"units=in&height=1&colour=red", []string{"colour unknown_field.parameter_near"}},
		{"units=in&height=1&sheds=1", []string{"sheds unknown_field.parameter"}},
		{"units=in", []string{"height missing.field"}},
		{"units=in&height=1&windows=0x2&slope=NaN&painted=1", []string{"slope wrong_type.field", "windows wrong_type.field", "painted wrong_type.field"}},
		{"units=in&height=1&boards=1&boards=x&boards_oak=0&boards_pine=2&boards_pine=3", []string{"boards number_missing", "boards_oak not_positive.length", "boards too_many.items"}},
		{"units=in&height=1&door_hinge=x", []string{"door missing.field", "door_hinge number_missing"}},
	} {
		values, err := url.ParseQuery(c.query)
		if err != nil {
			t.Fatal(err)
		}
		flat := shedNames.Read(values)
		var s shed
		got := told(t, flat.All(form.Read(&flat.Form, shedTable, &s, nil)))
		slices.Sort(got)
		slices.Sort(c.want)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.query, got, c.want)
		}
	}
}

// TestFlatIsTheBody reads random requests both ways.
func TestFlatIsTheBody(t *testing.T) {
	length := rapid.SampledFrom([]string{"1", "17 1/4", "438 mm", "0", "x", "-2", "1,5"})
	rapid.Check(t, func(t *rapid.T) {
		body := map[string]any{"units": rapid.SampledFrom([]string{"in", "mm", "cm"}).Draw(t, "units")}
		values := url.Values{"units": {body["units"].(string)}}
		for _, name := range []string{"height", "step", "offset"} {
			if rapid.Bool().Draw(t, name) {
				l := length.Draw(t, name+" length")
				body[name], values[name] = l, []string{l}
			}
		}
		if corner := rapid.SliceOfN(length, 0, 4).Draw(t, "corner"); len(corner) > 0 {
			body["corner"], values["corner"] = corner, corner
		}
		kind := rapid.SampledFrom([]string{"hinged", "sliding", "revolving"}).Draw(t, "kind")
		l := length.Draw(t, "rail")
		body["door"], values["door"], values["door_rail"] = map[string]any{"kind": kind, "rail": l}, []string{kind}, []string{l}

		raw, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		f, err := form.OfBody(raw, form.MostValues)
		if err != nil {
			t.Fatal(err)
		}
		flat := shedNames.Read(values)
		var a, b shed
		inBody, inQuery := form.Read(f, shedTable, &a, nil), form.Read(&flat.Form, shedTable, &b, nil)
		if !reflect.DeepEqual(a, b) || fmt.Sprint(inBody) != fmt.Sprint(inQuery) {
			t.Fatalf("%s\n%+v %v\n%+v %v", raw, a, inBody, b, inQuery)
		}
	})
}

func ExampleRead() {
	f, _ := form.OfBody([]byte(`{"units": "in", "height": "7 ft 6 in", "door": {"kind": "sliding", "hinge": 3}, "windos": 2}`), form.MostValues)
	var s shed
	faults := form.Read(f, shedTable, &s, nil)
	fmt.Println(s.Height.Text(unit.Inches))
	for i := range faults {
		fmt.Println(faults[i].Pointer, "–", faults[i].Text("en", s.Units))
	}
	// Output:
	// 90 in
	// /door/hinge – hinge is only for the kind hinged, not for sliding
	// /windos – there is no field of this name here; did you mean windows?
}
