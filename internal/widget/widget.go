package widget

import (
	"crypto/sha256"
	"crypto/sha512"
	"embed"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
)

//go:embed dist src/counter/counter.html src/sheet/sheet.html src/batch/batch.html
var embedded embed.FS

// The paths at which the files expect to be served.
const (
	// ScriptPath is that of the web component, always the newest.
	ScriptPath = "/widget/midstroke.js"
	// ManifestPath is that of a file that names the present version and its
	// integrity.
	ManifestPath = "/widget/manifest.json"
)

// VersionPath is the path of one version of the web component.
func VersionPath(hash string) string { return "/widget/v/" + hash + "/midstroke.js" }

// A File is one thing that a browser loads.
type File struct {
	// ContentType is the Content-Type field to send it with.
	ContentType string
	// Body is its text. Nobody changes it.
	Body []byte
}

// Files are all the files that are served.
type Files struct {
	// Script is the web component, to be served at ScriptPath and at
	// VersionPath(Hash).
	Script File
	// Manifest is JSON to be served at ManifestPath.
	Manifest File
	// Counter, Sheet and Batch are the pages. They load what Beside lists.
	Counter, Sheet, Batch File
	// Beside are the scripts and style sheets of the pages, by the path at
	// which they are to be served.
	Beside map[string]File
	// Hash names the version of Script: the same text has the same on every
	// instance. 32 hexadecimal digits of SHA-256.
	Hash string
	// Integrity is Script's value for an integrity attribute, by SHA-384 (W3C
	// Subresource Integrity).
	Integrity string
}

const (
	scriptType = "text/javascript; charset=utf-8" // RFC 9239
	styleType  = "text/css; charset=utf-8"
	pageType   = "text/html; charset=utf-8"
)

// Load gives the files that the build has embedded.
func Load() (*Files, error) {
	f := &Files{Beside: map[string]File{}}
	for _, one := range []struct {
		name, contentType string
		to                *File
	}{
		{"dist/midstroke.js", scriptType, &f.Script},
		{"src/counter/counter.html", pageType, &f.Counter},
		{"src/sheet/sheet.html", pageType, &f.Sheet},
		{"src/batch/batch.html", pageType, &f.Batch},
	} {
		file, err := newFile(one.contentType, one.name)
		if err != nil {
			return nil, err
		}
		*one.to = file
	}
	for name, contentType := range map[string]string{
		"counter.js": scriptType, "counter.css": styleType, "sheet.js": scriptType, "sheet.css": styleType,
		"batch.js": scriptType, "batch.css": styleType,
	} {
		file, err := newFile(contentType, "dist/"+name)
		if err != nil {
			return nil, err
		}
		f.Beside["/widget/"+name] = file
	}
	f.Hash, f.Integrity = hashOf(f.Script.Body), integrityOf(f.Script.Body)
	manifest, err := json.MarshalIndent(struct {
		Script    string `json:"script"`
		Integrity string `json:"integrity"`
		Newest    string `json:"newest"`
	}{VersionPath(f.Hash), f.Integrity, ScriptPath}, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("the widget's manifest: %w", err)
	}
	f.Manifest = File{ContentType: "application/json", Body: append(manifest, '\n')}
	return f, nil
}

func newFile(contentType, name string) (File, error) {
	body, err := embedded.ReadFile(name)
	return File{ContentType: contentType, Body: body}, err
}

func hashOf(body []byte) string {
	sum := sha256.Sum256(body)
	return hex.EncodeToString(sum[:16])
}

func integrityOf(body []byte) string {
	sum := sha512.Sum384(body)
	return "sha384-" + base64.StdEncoding.EncodeToString(sum[:])
}
