package widget

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"crypto/sha512"
	"embed"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed src
var source embed.FS

// The paths at which the files expect to be served.
const (
	// ScriptPath is that of the web component, always the newest.
	ScriptPath = "/widget/midstroke.js"
	// ManifestPath tells where the present version is and its integrity.
	ManifestPath = "/widget/manifest.json"
)

// VersionPath is where the web component of the version hash is, and no other.
func VersionPath(hash string) string { return "/widget/v/" + hash + "/midstroke.js" }

// A File is one thing that a browser loads.
type File struct {
	// ContentType is the Content-Type field to send it with.
	ContentType string
	// Body is what it holds, and Zipped the same by gzip (RFC 1952), smallest.
	// Neither may be changed.
	Body, Zipped []byte
}

// Files are all that there is to serve, made once.
type Files struct {
	// Script is the web component, to be served at ScriptPath and at
	// VersionPath(Hash).
	Script File
	// Manifest is JSON to be served at ManifestPath.
	Manifest File
	// Counter and Sheet are the two pages. They load what Beside lists.
	Counter, Sheet File
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

// Build joins the modules and makes the files. It fails only where something
// in src isn't as doc.go asks.
func Build() (*Files, error) {
	src, err := fs.Sub(source, "src")
	if err != nil {
		return nil, err
	}
	f := &Files{Beside: map[string]File{}}
	script, err := bundle(src, "element.js", messagesOf(""))
	if err != nil {
		return nil, err
	}
	f.Script = newFile(scriptType, script)
	f.Hash, f.Integrity = hashOf(script), integrityOf(script)
	for _, page := range []struct {
		name string
		to   *File
	}{{"counter", &f.Counter}, {"sheet", &f.Sheet}} {
		html, err := fs.ReadFile(src, page.name+".html")
		if err != nil {
			return nil, err
		}
		*page.to = newFile(pageType, html)
		script, err := bundle(src, page.name+".js", messagesOf(page.name))
		if err != nil {
			return nil, err
		}
		f.Beside["/widget/"+page.name+".js"] = newFile(scriptType, script)
		styles, err := joinStyles(src, "base.css", page.name+".css")
		if err != nil {
			return nil, err
		}
		f.Beside["/widget/"+page.name+".css"] = newFile(styleType, styles)
	}
	manifest, err := json.MarshalIndent(struct {
		Script    string `json:"script"`
		Integrity string `json:"integrity"`
		Newest    string `json:"newest"`
	}{VersionPath(f.Hash), f.Integrity, ScriptPath}, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("the widget's manifest: %w", err)
	}
	f.Manifest = newFile("application/json", append(manifest, '\n'))
	return f, nil
}

// messagesOf picks the messages of a page: those of its own, whose keys begin
// with its name and a full stop, and those that belong to no page.
func messagesOf(page string) func(key string) bool {
	return func(key string) bool {
		owner, _, owned := strings.Cut(key, ".")
		return !owned || owner == page
	}
}

func newFile(contentType string, body []byte) File {
	var zipped bytes.Buffer
	// Neither the level nor the buffer can be at fault.
	w, _ := gzip.NewWriterLevel(&zipped, gzip.BestCompression)
	_, _ = w.Write(body)
	_ = w.Close()
	return File{ContentType: contentType, Body: body, Zipped: zipped.Bytes()}
}

func hashOf(body []byte) string {
	sum := sha256.Sum256(body)
	return hex.EncodeToString(sum[:16])
}

func integrityOf(body []byte) string {
	sum := sha512.Sum384(body)
	return "sha384-" + base64.StdEncoding.EncodeToString(sum[:])
}
