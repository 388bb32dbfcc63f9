package paper

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// luminance is the relative luminance of WCAG 2.2 for "#rgb" or "#rrggbb".
func luminance(t *testing.T, color string) float64 {
	t.Helper()
	hex := strings.TrimPrefix(color, "#")
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	require.Len(t, hex, 6, color)
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		require.NoError(t, err)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

// contrast is the contrast ratio of WCAG 2.2, from 1 to 21.
func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrastItself(t *testing.T) {
	assert.InDelta(t, 21, contrast(t, "#000", "#ffffff"), 1e-9)
	// #767676 is the lightest grey that passes 4.5 on white (WebAIM).
	assert.Greater(t, contrast(t, "#767676", "#fff"), 4.5)
	assert.Less(t, contrast(t, "#777777", "#fff"), 4.5)
}

// Text stands out 4.5 to 1 (WCAG 2.2, 1.4.3) from every ground that a form has
// under text: white, as nothing but strips has another, and strips have no
// text. What is drawn stands out 3 to 1 (1.4.11) from white and from the grey.
func TestContrast(t *testing.T) {
	rule := regexp.MustCompile(`(?s)([^{}]+)\{([^{}]*)\}`)
	color := regexp.MustCompile(`(?:^|[;\s])(color|background|fill|stroke):[^;]*?(#[0-9a-f]{3,6})`)
	anyColor := regexp.MustCompile(`(?i)#[0-9a-f]{3,8}\b|rgb|hsl|opacity`)
	texts, drawn := 0, 0
	for _, name := range []string{"style.css", "labels.css"} {
		css, err := templates.ReadFile("templates/" + name)
		require.NoError(t, err)
		for _, r := range rule.FindAllStringSubmatch(string(css), -1) {
			selector := strings.TrimSpace(r[1])
			for _, c := range color.FindAllStringSubmatch(r[2], -1) {
				text := c[1] == "color" || c[1] == "fill" && strings.Contains(selector, "text")
				switch {
				case text:
					texts++
					assert.GreaterOrEqual(t, contrast(t, c[2], "#fff"), 4.5, "%s: %s", selector, c[0])
				case c[1] == "background":
					assert.Equal(t, "#fff", c[2], "%s", selector)
				case c[1] == "stroke" || strings.Contains(selector, "ink") || strings.Contains(selector, "module"):
					drawn++
					for _, ground := range []string{"#fff", "#ccc"} {
						assert.GreaterOrEqual(t, contrast(t, c[2], ground), 3.0, "%s: %s", selector, c[0])
					}
				default:
					assert.Contains(t, []string{"#fff", "#ccc"}, c[2], "%s: a ground that is not known here", selector)
				}
			}
		}
		for _, c := range anyColor.FindAllString(string(css), -1) {
			assert.Regexp(t, `^#(000|333|ccc|fff)$`, c, "%s: black and white only", name)
		}
	}
	assert.NotZero(t, texts)
	assert.NotZero(t, drawn)
	for name, form := range allForms(t) {
		body := form[strings.Index(form, "<body>"):]
		assert.NotRegexp(t, `style="[^"]*(?:color|fill|background)`, body, name)
	}
}
