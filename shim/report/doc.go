// Package report prints plans: as tables for a terminal or in Markdown, as
// JSON and as CSV.
//
// Tables and Markdown show the same [Document] in two decorations. JSON is a
// contract, described in docs/json.md: fields are added to it, never renamed
// or removed.
package report
