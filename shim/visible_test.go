package shim

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestVisible(t *testing.T) {
	for text, want := range map[string]string{
		"":                       "",
		"A4":                     "A4",
		"Größe 2,45 µm – “fine”": "Größe 2,45 µm – “fine”",
		`back\slash`:             `back\slash`,
		"\x1b[31mred":            `\x1b[31mred`,
		"a\u202eb\u2066c":        `a\u202eb\u2066c`,
		"\u009b2J":               `\x9b2J`,
		"\x9b2J":                 `\x9b2J`, // no UTF-8: a terminal may take it for the same
		"a\rb\nc\td\x00\x7f":     `a\x0db\x0ac\x09d\x00\x7f`,
		"a\u2028b":               `a\u2028b`,
		"שלום\u200f":             "שלום\u200f",
		"tag \U000e0041":         `tag \U000e0041`,
	} {
		assert.Equal(t, want, Visible(text), "%q", text)
		err := ImplausibleText(text)
		assert.Equal(t, want == text, err == nil, "%q", text)
		assert.Equal(t, err == nil, HintOf(err) == "", "%q", text)
	}
	assert.Equal(t, "a\nb\\x0d", VisibleLines("a\nb\r"))
}

// Whatever a text is, nothing of it steers a terminal, and what is harmless
// stays as it is; a spreadsheet gets no formula, and the text comes back.
func FuzzVisible(f *testing.F) {
	for _, seed := range []string{"A4", "\x1b]0;x\a", "\u202e", "=1+1", "'=1", "''-5", "\t=1", "'", "-5", "@x", "\xff"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		shown := Visible(text)
		require.True(t, utf8.ValidString(shown))
		require.False(t, strings.ContainsFunc(shown, func(c rune) bool {
			return unicode.IsControl(c) || c >= 0x202a && c <= 0x202e || c >= 0x2066 && c <= 0x2069
		}))
		require.Equal(t, shown, Visible(shown))
		cell := SheetText(text)
		if cell != "" {
			require.NotContains(t, "=+-@\t\r", cell[:1])
		}
		require.Equal(t, shown, FromSheet(cell))
		if ImplausibleText(text) == nil {
			require.Equal(t, text, shown)
		}
	})
}
