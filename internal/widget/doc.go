// Package widget holds what browsers load: the web component that a shop puts
// on its page, the page for an adviser at the counter, and the sheet to print.
//
// Everything in src is written as standard ES modules, with style sheets and
// messages imported by their type, so that an editor or a browser can take it
// as it stands. Build joins the modules of each entry into one script; nothing
// but Go is needed for that. What the modules may be made of is kept narrow on
// purpose, and Build refuses the rest: imports by name on one line, no renaming,
// no default exports, no two top-level names alike, no template over several
// lines.
//
// Nothing here takes markup from an answer: text goes in as text, and a drawing
// that the service sends is rebuilt from a short list of elements and
// attributes.
package widget
