package inventory

import (
	"strings"
	"unicode"
)

// TagKey is what two tags are compared by: letters in lower case, without
// blanks and dashes. "AB-123", "ab 123" and "AB123" are one machine.
func TagKey(tag string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) {
			return -1
		}
		return unicode.ToLower(r)
	}, tag)
}

// matches tells whether the filter lets a tag through.
func (f JobFilter) matches(tag string) bool {
	key := TagKey(tag)
	return (f.Tag == "" || key == TagKey(f.Tag)) && (f.TagPart == "" || strings.Contains(key, TagKey(f.TagPart)))
}

// Tags gives those of the tags that the filter lets through, for a store that
// looks jobs up by their exact tag.
func (f JobFilter) Tags(all []string) []string {
	var list []string
	for _, tag := range all {
		if f.matches(tag) {
			list = append(list, tag)
		}
	}
	return list
}
