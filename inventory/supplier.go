package inventory

import (
	"strings"
	"unicode"
)

// supplierKey is what two names of suppliers are compared by: letters in lower
// case, without blanks.
func supplierKey(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, name)
}

// SameSupplier tells whether two names are one supplier: "Willow Road" and
// "willowroad" are.
func SameSupplier(x, y string) bool { return supplierKey(x) == supplierKey(y) }

// A Spelling keeps to the first spelling of each supplier's name that it meets.
type Spelling map[string]string

// Of is the name in its first spelling, without blanks at its ends.
func (s Spelling) Of(name string) string {
	key := supplierKey(name)
	if _, known := s[key]; !known {
		s[key] = strings.TrimSpace(name)
	}
	return s[key]
}
