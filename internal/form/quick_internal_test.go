package form

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// compareParsers fails where the quick parser reads a body otherwise than the one
// for all bodies, and says whether it read it at all.
func compareParsers(t *testing.T, body string) bool {
	t.Helper()
	const most = 200
	quick := parseQuick(body, most, nil)
	if quick == nil {
		return false
	}
	whole, err := parseJSON([]byte(body), most)
	if err != nil {
		t.Errorf("%q is read, though: %v", body, err)
		return true
	}
	if !slices.Equal(quick.nodes, whole.nodes) {
		t.Errorf("%q is read as\n%+v\nnot as\n%+v", body, quick.nodes, whole.nodes)
	}
	return true
}

func TestTheQuickParserReadsOrdinaryBodies(t *testing.T) {
	files, err := filepath.Glob("../../testdata/examples/*.json")
	if err != nil || len(files) == 0 {
		t.Fatal("no examples", err)
	}
	for _, file := range files {
		body, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !compareParsers(t, string(body)) {
			t.Errorf("%s is left to the other parser", file)
		}
	}
	for _, body := range []string{
		`0`, `-0.5e+10`, `1E5`, ` [ ] `, `{"a":{},"b":[],"a":null}`, `{"größe":"3 Zoll – ungefähr"}`, "\t[true , false,\r\nnull]\n", `"x"`,
	} {
		if !compareParsers(t, body) {
			t.Errorf("%s is left to the other parser", body)
		}
	}
}

// TestTheQuickParserGivesUp: on what it can't read, and on what another has to
// judge.
func TestTheQuickParserGivesUp(t *testing.T) {
	for _, body := range []string{
		"", " ", "{", "[1,]", `{"a":1,}`, "01", "1.", ".5", "-", "+1", "1e", "tru", "nul", "truefalse", `{"a" 1}`, `{a:1}`, `{"a":1 "b":2}`,
		`"\n"`, "\"\n\"", `"a`, "\"\xff\"", "[1 2]", "{} {}", "NaN", `{"a":}`, "[,1]", "{,}", "\ufeff{}", "[1}", `{"a":1]`,
		strings.Repeat("[", 40) + strings.Repeat("]", 40), "[" + strings.Repeat("1,", 300) + "1]",
	} {
		if compareParsers(t, body) {
			t.Errorf("%q is read", body)
		}
	}
}

// TestTheParsersAgree damages bodies in all sorts of ways.
func TestTheParsersAgree(t *testing.T) {
	bodies := []string{
		`{"units":"in","upper":{"style":"eye","bolt":"M12"},"readings":["16 5/8",{"length":16.6e0,"side":"left"}],"top":-0.25,"explain":true,"x":null}`,
		`[[],{},"",0,[{"a":[1,2,{"b":"ö"}]}]]`,
	}
	pieces := []string{"", `"`, "{", "}", "[", "]", ",", ":", " ", "0", "1", "-", ".", "e", "E+", "true", "null", "\\", "\x00", "\xff", "ä", "\n"}
	read := 0
	random := rand.New(rand.NewPCG(8259, 3629)) // any seed
	for range 20_000 {
		body := bodies[random.IntN(len(bodies))]
		for range 1 + random.IntN(2) {
			at := random.IntN(len(body) + 1)
			cut := min(len(body), at+random.IntN(3))
			body = body[:at] + pieces[random.IntN(len(pieces))] + body[cut:]
		}
		if compareParsers(t, body) {
			read++
		}
	}
	if read < 1000 {
		t.Errorf("only %d bodies could be read", read)
	}
}

func FuzzTheParsersAgree(f *testing.F) {
	f.Add(`{"units":"in","readings":["16 5/8",1.5e-3],"explain":true,"x":null}`)
	f.Fuzz(func(t *testing.T, body string) { compareParsers(t, body) })
}
