package wire

// What the tests of the writer need from inside.
var (
	AppendLength = appendLength
	AppendNumber = appendNumber
	AppendCell   = appendCell
)

// AppendString writes s as a JSON string.
func AppendString(b []byte, s string) []byte {
	w := writer{b: b}
	w.string(s)
	return w.b
}
