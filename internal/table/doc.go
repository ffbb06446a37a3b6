// Package table reads and writes a shop's catalogue as files: CSV, a workbook,
// one JSON object a line, or an archive of such files.
//
// # Files
//
//	catalog.csv   one row: the currency and the clearances; may be left out
//	dampers.csv   one row a damper; must be there
//	sleeves.csv   one row a sleeve; may be left out, as the two below
//	spacers.csv   one row a spacer
//	adapters.csv  one row an adapter
//
// The files are written as CSV by RFC 4180 in UTF-8, with a header. The reader
// takes more than that: a byte order mark, line ends with or without CR, a comma,
// a semicolon or a tab between cells, blank rows, and columns in any order. The
// names of columns may differ in case, and may have blanks or hyphens in place of
// underscores.
//
// # Columns
//
// They are the fields of the tables in package catalog. An asterisk marks those
// that must be there and filled in.
//
//	catalog   currency, sleeve_gap_least, sleeve_gap_most, bolt_gap_least,
//	          bolt_gap_most, left_over_most
//	dampers   code*, description, construction*, gas, adjusters, compressed*,
//	          extended*, length_tolerance*, body_diameter*, upper_style*,
//	          upper_…, lower_style*, lower_…, invertible, reservoir,
//	          force_table, gas_included, gas_force_n, test_temperature_c,
//	          in_stock, price
//	sleeves   code*, description, outer*, bore*, bore_is, length*, in_stock,
//	          price
//	spacers   code*, description, bore*, thickness*, in_stock, price
//	adapters  code*, description, from_style*, from_…, to_style*, to_…,
//	          adds_length*, in_stock, price
//	an end    …bore, …bore_is, …width (an eye); …thread, …usable_length,
//	          …spigot (a stud); …hole_spacing, …slot, …hole (a bar pin)
//
// # Cells
//
// A length carries its unit ("14 1/2 in", "368 mm") or its column's header
// does ("compressed (mm)"); a bare number with neither is refused, since it
// could be either. An empty cell is a length that isn't known, and in
// catalog.csv the usual clearance. Yes or no is yes, no, true, false, 1 or 0;
// empty is no. Adjusters are separated by "|". An empty bore_is is actual. A
// price has a point and at most two decimals and no sign of a currency; empty
// is none. A force table is one cell: "0.13 160/380; 0.39 290/690" gives at each
// velocity in m/s the compression and the rebound force in N, and positions of
// an adjuster are named and separated by "|": "soft: 0.13 … | firm: 0.13 …". Threads are written as "M12", "M12x1.25", "1/2 in" or "1/2-20 in".
//
// A text that a spreadsheet would take for a formula, one that begins with =,
// +, - or @, is written with an apostrophe before it, which reading takes off
// again. What an adapter adds may be negative and is written as a bare number
// under "adds_length (mm)" for the same reason.
//
// # Faults
//
// Reading goes on after a fault. Each fault is reported with its file, line,
// column, value and cure; MaxListed of them are listed, the rest are counted. Rows
// are read one at a time and none is kept. One row is at most 1 MiB.
package table
