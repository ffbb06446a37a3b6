// Package widget holds what browsers load: the web component that a shop puts
// on its page, the page for an adviser at the counter, and the sheet to print.
//
// The sources in src are TypeScript and JSX, drawn by the library in
// third_party/preact. Package bundle joins them, and its command writes the
// bundles into dist, from where they are embedded. Neither this package nor the
// tests need Node; the type checker does.
//
// The pages take no markup from an answer. Texts are set as texts, and drawings
// that the service sends are rebuilt from a short list of elements and
// attributes.
package widget

//go:generate go run ./generate
