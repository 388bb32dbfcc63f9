package entry

import (
	"strings"

	"shimwright/shim"
)

// Marked reads a shim of a family with marks: "10", "No. 10" or "10 mic 2.697".
// It is false where the text is no mark: see [Size]. It is not sure where a known
// size or the sizes on sale told which of several sizes the mark means. A mark
// that leaves its size open beside a micrometer's reading is left out. The error
// is an [*shim.Hinted].
func Marked(text string, u shim.Unit, marks shim.MarkList, catalogue []shim.Range, known shim.Length) (s Shim, sure, marked bool, err error) {
	mark, _, miked := strings.Cut(strings.ToLower(text), "mic")
	if len(marks.Sizes(mark)) == 0 {
		return Shim{}, false, false, nil
	}
	sure = true
	if miked {
		if s, sure, err = Size(text[len(mark):], u, catalogue); err != nil {
			return Shim{}, false, true, err
		}
	}
	m, _ := marks.Read(mark, u, catalogue, s.Mic, known)
	if m.Size == 0 && s.Mic == 0 {
		return Shim{}, false, true, m.Open(mark, u, "type mic and what it reads")
	}
	s.Stamp = m.Size
	return s, sure && (len(m.Among) == 1 || s.Mic != 0), true, nil
}
