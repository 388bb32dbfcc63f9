// Package files reads and writes the forms in which a shop keeps its work:
// the engine (TOML), the check, the box and the catalogue (CSV). docs/files.md
// is the contract for those who write such files.
//
// Enter at [ReadEngine], [ReadCheck], [ReadBox] or [ReadCatalogue]. Each takes
// the name to use in messages and the text to read. Each checks the whole text
// before it gives anything back: the error is a [Faults] that lists everything
// wrong with the file, in the order of its lines, each with its place and the
// way out. Warnings do not stop anything and come beside the result.
//
// Lengths and prices are read digit by digit from the text; no float touches
// them. A CSV text is never held as a whole.
package files
