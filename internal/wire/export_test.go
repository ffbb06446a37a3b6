package wire

import "midstroke/internal/form"

// What the tests of the writer need from inside.
var (
	AppendLength = appendLength
	AppendNumber = appendNumber
)

// ForgetTexts forgets the texts kept for further answers.
func ForgetTexts() {
	for i := range keptTexts {
		keptTexts[i].Store(nil)
	}
}

// AppendString writes s as a JSON string.
func AppendString(b []byte, s string) []byte {
	w := writer{b: b}
	w.appendText(s)
	return w.b
}

// AppendCell writes s as a cell of the CSV form.
func AppendCell(b []byte, s string) []byte { return quoteCell(append(b, s...), len(b)) }

// FlatNames are the names of the flat form.
func FlatNames() []form.Name { return flatNames.All() }

// Shape is what an answer's table says of a value.
type Shape struct {
	Name           string
	Kind           string // the type of JSON that it has in the contract; "map" for any names, "" for a number or a text
	Null, Optional bool
	Members        []Shape
	Items          *Shape
}

// Tables are the tables of answers by the name of their schema.
func Tables() map[string][]Shape {
	return map[string][]Shape{
		"FitsAnswer":     exported(shapesOf(fitsMembers)),
		"HardwareAnswer": exported(shapesOf(hardwareAnswerMembers)),
		"TravelAnswer":   exported(shapesOf(travelMembers)),
		"RatesAnswer":    exported(shapesOf(wholeRates)),
		"GuideAnswer":    exported(shapesOf(guideMembers)),
		"Damper":         exported(shapesOf(listedDamper)),
		"Sleeve":         exported(shapesOf(listedSleeve)),
		"Spacer":         exported(shapesOf(listedSpacer)),
		"Adapter":        exported(shapesOf(listedAdapter)),
		"Coverage":       exported(shapesOf(coverageMembers)),
		"BatchPreview":   exported(shapesOf(batchPreviewMembers)),
	}
}

var kindNames = [...]string{
	lengthKind: "number", numberKind: "number", wholeKind: "integer", flagKind: "boolean", textKind: "string", anyKind: "",
	objectKind: "object", listKind: "array", mapKind: "map",
}

func exported(members []namedShape) []Shape {
	var all []Shape
	for _, m := range members {
		s := Shape{Name: m.name, Kind: kindNames[m.kind], Null: m.null, Optional: m.optional, Members: exported(m.members)}
		if m.items != nil {
			s.Items = &exported([]namedShape{{"", *m.items}})[0]
		}
		all = append(all, s)
	}
	return all
}

// RequestFields gives the fields of each request body by the name of its schema
// in the contract.
func RequestFields() map[string][]form.About {
	return map[string][]form.About{
		"FitsRequest": fitsTable.Fields(), "HardwareRequest": hardwareTable.Fields(), "TravelRequest": travelRequestTable.Fields(),
		"RatesRequest": ratesTable.Fields(),
		"QuoteRequest": quoteFields(), "QuoteChange": quoteChangeTable.Fields(),
		"StockLine": stockTable.Fields(), "WebhookRequest": webhookTable.Fields(), "WebhookChange": webhookChangeTable.Fields(),
	}
}

// quoteFields gives the fields of a request for a quote, with those of the parts that
// are read one by one.
func quoteFields() []form.About {
	axle := quoteAxleTable.Fields()
	for i := range axle {
		if axle[i].Name == readFitsMember {
			axle[i].Kind, axle[i].Fields = form.KindRecord, fitsTable.Fields()
		}
	}
	fields := quoteTable.Fields()
	for i := range fields {
		if fields[i].Name == readAxlesMember {
			fields[i].Item = &form.About{Kind: form.KindRecord, Fields: axle}
		}
	}
	return fields
}
