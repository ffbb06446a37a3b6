// Package batch answers files of requests: CSV, a workbook, or a JSON object a line.
// Each row is a request in the flat names of GET /v1/fits. The same file comes back,
// in the same order, with the answer in columns of its own behind what was there.
//
// What is wrong with the file as a whole is told before any row is answered, as a
// *table.Faults. What is wrong with a row is told in that row, and the others are
// answered. The rows of CSV and of JSON objects go through in pieces, so that a file of
// any length takes the same memory.
package batch
