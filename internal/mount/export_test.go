package mount

// What the tests check by itself.
var (
	MinorArea  = minorArea
	ShankArea  = shankArea
	ProofShear = proofShear
	ParseGrade = parseGrade
)
