package paper

import (
	"encoding/json"
	"html"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// At a phone's width the drawings keep their size and slide in a frame of their
// own: the page itself does not.
func TestBrowserPhone(t *testing.T) {
	need(t, "chromium")
	const look = `<script>
addEventListener("load", () => {
	const scale = s => [...document.querySelectorAll(s)].map(e => e.getBoundingClientRect().width / e.viewBox.baseVal.width * 25.4 / 96);
	const out = document.createElement("pre");
	out.textContent = JSON.stringify({
		scales: scale(".head svg, .key svg, .drawn svg"),
		over: document.documentElement.scrollWidth - innerWidth,
		width: innerWidth,
	});
	out.id = "found";
	document.body.append(out);
});
</script>`
	e := engineOf("Petrel 1500 six", 6, 1, 2, 2, shim.MM)
	for name, form := range map[string]string{
		"card":  text(t, func(w io.Writer) error { return Card(w, planOf(t, jobOf(e, checkOf(e, 2)))) }),
		"sheet": text(t, func(w io.Writer) error { return Sheet(w, e, Info{}) }),
	} {
		m := foundBy.FindStringSubmatch(chromium(t, put(t, form, look), "--dump-dom", "--window-size=390,844"))
		require.NotNil(t, m, name)
		var found struct {
			Scales      []float64
			Over, Width float64
		}
		require.NoError(t, json.Unmarshal([]byte(html.UnescapeString(m[1])), &found))
		require.Less(t, found.Width, 600.0)
		require.NotEmpty(t, found.Scales)
		for _, s := range found.Scales {
			assert.InDelta(t, 1, s, 0.02, "%s: a drawing's size", name)
		}
		assert.LessOrEqual(t, found.Over, 1.0, "%s: the page slides sideways", name)
	}
}

// A tab in a style sheet is written out by [shim.VisibleLines] and takes the
// rule behind it away.
func TestStylesAreWhole(t *testing.T) {
	e := engineOf("Wren 250 single", 1, 1, 1, 1, shim.MM)
	form := text(t, func(w io.Writer) error { return Sheet(w, e, Info{}) })
	style, _, found := strings.Cut(form, "</style>")
	require.True(t, found)
	assert.NotContains(t, style, `\`)
}
