package inventory

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestMeterWentBack(t *testing.T) {
	for _, c := range []struct {
		before, now string
		back        bool
	}{
		{"24,310 km", "24,309 km", true},
		{"24,310 km", "24,310 km", false},
		{"24.310 km", "2431 km", true},
		{"24 310 km", "24'311", false},
		{"24\u202f310\u00a0km", "24310km", false},
		{"1203.5 h", "1203,4 h", true},
		{"1203.5 h", "1204 H", false},
		{"1,203.5 h", "1203.45 h", true},
		{"24,310 km", "15,106 miles", false}, // 24,310.8 km
		{"24,310 km", "15,105 miles", true},
		{"24,310 km", "7 h", false}, // nothing to compare
		{"24,310 km", "new clock", false},
		{"unread", "3 km", false},
		{"", "3 km", false},
		{"99999999999999999999 km", "3 km", false},
	} {
		assert.Equal(t, c.back, MeterWentBack(c.before, c.now), "%q, then %q", c.before, c.now)
	}
}

func TestTagKey(t *testing.T) {
	for _, tag := range []string{"AB-123", "ab 123", "Ab123", " a b\u00a01\u20132-3 "} {
		assert.Equal(t, "ab123", TagKey(tag), "%q", tag)
	}
	assert.NotEqual(t, TagKey("AB 123"), TagKey("AB 124"))
}
