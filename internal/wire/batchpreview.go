package wire

// BatchPreview is the answer to POST /v1/batches/preview.
type BatchPreview struct {
	From Edition
	// Kind is csv, workbook or objects.
	Kind, Sheet string
	Rows        int
	Columns     []BatchColumn
	Faults      []BatchFault
	// Picks are the paths of the values of each row.
	Picks []string
	First []BatchRow
}

// BatchColumn is how a column is understood.
type BatchColumn struct {
	Header, Name, Units, Near string
	Earlier                   bool
}

// BatchFault is what is wrong with a file as a whole.
type BatchFault struct{ Column, Code, Text, Cure string }

// BatchRow is one of the first rows.
type BatchRow struct {
	Line          int
	Cells, Values []string
	Fault, Codes  string
}

var batchPreviewMembers = members[BatchPreview]{
	anObject("catalog", editionMembers, func(p *BatchPreview) *Edition { return &p.From }),
	aText("kind", func(p *BatchPreview) string { return p.Kind }),
	aTextOrNull("sheet", func(p *BatchPreview) string { return p.Sheet }),
	aWhole("rows", func(p *BatchPreview) int { return p.Rows }),
	aList("columns", members[BatchColumn]{
		aText("header", func(c *BatchColumn) string { return c.Header }),
		aTextOrNull("name", func(c *BatchColumn) string { return c.Name }),
		aTextOrNull("units", func(c *BatchColumn) string { return c.Units }),
		aTextOrNull("near", func(c *BatchColumn) string { return c.Near }),
		aFlag("earlier", func(c *BatchColumn) bool { return c.Earlier }),
	}, func(p *BatchPreview) []BatchColumn { return p.Columns }),
	aFlag("ready", func(p *BatchPreview) bool { return len(p.Faults) == 0 }),
	aList("faults", members[BatchFault]{
		aTextOrNull("column", func(f *BatchFault) string { return f.Column }),
		aText("code", func(f *BatchFault) string { return f.Code }),
		aText("text", func(f *BatchFault) string { return f.Text }),
		aTextOrNull("cure", func(f *BatchFault) string { return f.Cure }),
	}, func(p *BatchPreview) []BatchFault { return p.Faults }),
	aListOf("picks", textKind, func(p *BatchPreview) []string { return p.Picks }, (*writer).appendText),
	aList("first", members[BatchRow]{
		aWhole("line", func(r *BatchRow) int { return r.Line }),
		aListOf("cells", textKind, func(r *BatchRow) []string { return r.Cells }, (*writer).appendText),
		aListOf("values", textKind, func(r *BatchRow) []string { return r.Values }, (*writer).appendText),
		aTextOrNull("fault", func(r *BatchRow) string { return r.Fault }),
		aTextOrNull("fault_codes", func(r *BatchRow) string { return r.Codes }),
	}, func(p *BatchPreview) []BatchRow { return p.First }),
}

// AppendBatchPreview appends the answer to POST /v1/batches/preview.
func AppendBatchPreview(dst []byte, p *BatchPreview) []byte {
	return appendAnswer(writer{b: dst}, batchPreviewMembers, p)
}
