package shim

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Harmful reports whether a character can make a text look like another one: it
// steers a terminal, turns the direction of what follows, or breaks the line.
func Harmful(c rune) bool {
	return unicode.IsControl(c) || unicode.Is(unicode.Bidi_Control, c) && c != 0x200e && c != 0x200f && c != 0x61c ||
		c == 0x2028 || c == 0x2029 || c >= 0xfff9 && c <= 0xfffb || c >= 0xe0000 && c <= 0xe007f
}

// Visible is the text with what is harmful in it, and bytes that are no UTF-8,
// written out as in Go: \x1b, \u202e.
func Visible(text string) string { return visible(text, "") }

// VisibleLines is [Visible] for a text of several lines.
func VisibleLines(text string) string { return visible(text, "\n") }

func visible(text, kept string) string {
	harmless := true
	for i := 0; i < len(text) && harmless; i++ {
		harmless = text[i] >= ' ' && text[i] < 0x7f || strings.IndexByte(kept, text[i]) >= 0
	}
	if harmless {
		return text
	}
	var b strings.Builder
	for i, size := 0, 0; i < len(text); i += size {
		var c rune
		c, size = utf8.DecodeRuneInString(text[i:])
		switch {
		case strings.ContainsRune(kept, c):
			b.WriteRune(c)
		case c == utf8.RuneError && size == 1:
			fmt.Fprintf(&b, `\x%02x`, text[i])
		case !Harmful(c):
			b.WriteRune(c)
		case c < 0x100:
			fmt.Fprintf(&b, `\x%02x`, c)
		case c < 0x10000:
			fmt.Fprintf(&b, `\u%04x`, c)
		default:
			fmt.Fprintf(&b, `\U%08x`, c)
		}
	}
	return b.String()
}

// ImplausibleText says what is wrong with a text that people give to be kept, a
// bin or a note, and the way out; nil where it is harmless.
func ImplausibleText(text string) error {
	for _, c := range text {
		if Harmful(c) {
			return Fail(nil, "type the text again; it may have been copied from somewhere", "the text %q holds the character U+%04X, which changes how the text around it is shown", text, c)
		}
	}
	if !utf8.ValidString(text) {
		return Fail(nil, "type the text again", "the text %q is not UTF-8", text)
	}
	return nil
}

// SheetText is a cell of text for CSV, made [Visible]. A text that a spreadsheet
// would take for a formula gets an apostrophe in front; [FromSheet] takes it away.
func SheetText(text string) string {
	if text = Visible(text); formula(text) {
		return "'" + text
	}
	return text
}

// FromSheet is the text that [SheetText] wrote.
func FromSheet(cell string) string {
	if strings.HasPrefix(cell, "'") && formula(cell) {
		return cell[1:]
	}
	return cell
}

// formula reports whether a spreadsheet would take the text for a formula, or
// whether it is one behind apostrophes.
func formula(text string) bool {
	bare := strings.TrimLeft(text, "'")
	return bare != "" && strings.IndexByte("=+-@\t\r", bare[0]) >= 0
}
