package shim

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// A Mark is what is written on the shims of one size where it is not the size
// itself: a number, a letter or two digits.
type Mark struct {
	Text string
	Size Length
}

// A MarkList is the marks of a family's shims, thinnest first. It is empty where
// shims are marked with their size. One mark may stand for several sizes.
type MarkList []Mark

// The bounds of a list of marks.
const (
	mostMarks    = 1000
	longestMark  = 8
	markAsSymbol = "-+/"
)

// Of is the mark of a size, empty where the list has none.
func (l MarkList) Of(size Length) string {
	for _, m := range l {
		if m.Size == size {
			return m.Text
		}
	}
	return ""
}

// Sizes are those that a text stands for as a mark, thinnest first, none where
// it is no mark of the list. Case does not matter, nor "No." before a number, nor
// a zero before it that a spreadsheet drops.
func (l MarkList) Sizes(text string) []Length {
	text, _ = cutNumber(text)
	equal := func(m Mark) bool { return strings.EqualFold(m.Text, text) }
	if !slices.ContainsFunc(l, equal) && whole(text) {
		equal = func(m Mark) bool {
			return whole(m.Text) && strings.TrimLeft(m.Text, "0") == strings.TrimLeft(text, "0")
		}
	}
	var sizes []Length
	for _, m := range l {
		if equal(m) && !slices.Contains(sizes, m.Size) {
			sizes = append(sizes, m.Size)
		}
	}
	return sizes
}

// cutNumber takes "No." or "#" off a mark, and reports whether it was there.
func cutNumber(text string) (mark string, said bool) {
	text = strings.TrimSpace(text)
	for _, before := range []string{"no.", "no ", "#"} {
		if len(text) > len(before) && strings.EqualFold(text[:len(before)], before) {
			return strings.TrimSpace(text[len(before):]), true
		}
	}
	return text, false
}

// whole reports whether the text is a whole number without a sign.
func whole(text string) bool {
	return text != "" && strings.Trim(text, "0123456789") == ""
}

// A Meaning is what a mark says of a shim's size.
type Meaning struct {
	Size  Length   // 0 where it is left open
	Among []Length // the sizes that it may stand for
	By    Told     // what told the size from the others
	// Plain reports whether one of the sizes is the text itself, a whole number
	// that is no mark then.
	Plain bool
}

// Told is what tells which of several sizes a mark stands for.
type Told int

const (
	Untold Told = iota
	ByMic
	ByRecord
	BySale
)

// Read gives what a text means as a mark. It is false where it is none. A mark of
// several sizes stands for the one that lies near the micrometer's reading, else
// near a shim on record (0 is none), else for the only one on sale. A whole number
// that may be a size itself is left open but beside a micrometer's reading.
func (l MarkList) Read(text string, u Unit, sale []Range, mic Length, recorded ...Length) (Meaning, bool) {
	m := Meaning{Among: l.Sizes(text)}
	if len(m.Among) == 0 {
		return Meaning{}, false
	}
	onSale := func(size Length) bool { return slices.ContainsFunc(sale, func(r Range) bool { return r.Has(size) }) }
	m.orSize(text, u, func(size Length) bool {
		return l.spans(size) || onSale(size) || slices.Contains(recorded, size)
	})
	m.choose(mic, recorded, onSale)
	return m, true
}

// orSize adds the size that the text is itself where a shim may have it.
func (m *Meaning) orSize(text string, u Unit, has func(Length) bool) {
	mark, said := cutNumber(text)
	if said || !whole(mark) {
		return
	}
	if size, err := u.Parse(mark); err == nil && !slices.Contains(m.Among, size) && has(size) {
		m.Among, m.Plain = append(m.Among, size), true
		slices.Sort(m.Among)
	}
}

// choose takes one of several sizes: the one that lies near the micrometer's, else
// the only one on record, else, where none is, the only one on sale.
func (m *Meaning) choose(mic Length, recorded []Length, onSale func(Length) bool) {
	near := func(known ...Length) func(Length) bool {
		return func(size Length) bool {
			return slices.ContainsFunc(known, func(l Length) bool { return l != 0 && (size-l).Abs() < WornApart })
		}
	}
	take := func(by Told, holds func(Length) bool) {
		if m.Size = only(m.Among, holds); m.Size != 0 {
			m.By = by
		}
	}
	switch {
	case len(m.Among) == 1:
		m.Size = m.Among[0]
	case mic != 0:
		take(ByMic, near(mic))
	case m.Plain:
	case slices.ContainsFunc(m.Among, near(recorded...)):
		take(ByRecord, near(recorded...))
	default:
		take(BySale, onSale)
	}
}

// spans reports whether a size lies between the thinnest and the thickest with a mark.
func (l MarkList) spans(size Length) bool {
	bySize := func(a, b Mark) int { return cmp.Compare(a.Size, b.Size) }
	return size >= slices.MinFunc(l, bySize).Size && size <= slices.MaxFunc(l, bySize).Size
}

// only is the one size that it holds for, 0 where there is none or several.
func only(sizes []Length, holds func(Length) bool) (one Length) {
	for _, l := range sizes {
		if holds(l) {
			if one != 0 {
				return 0
			}
			one = l
		}
	}
	return one
}

// Sizes names the sizes that the mark may stand for, in the unit: "2.500 or 3.500".
func (m Meaning) Sizes(u Figures) string {
	var names []string
	for _, size := range m.Among {
		names = append(names, u.FormatAtLeast(size, u.Places()))
	}
	return strings.Join(names, " or ")
}

// Open is the error for a mark whose size is left open. Mic says how to give
// what a micrometer reads.
func (m Meaning) Open(text string, u Figures, mic string) error {
	mark, _ := cutNumber(text)
	if m.Plain {
		return Fail(nil, fmt.Sprintf("write No. %s for the mark, %s for the size", mark, u.FormatAtLeast(m.plain(mark), 2)),
			"%s may be a mark or a size: %s %s", mark, m.Sizes(u), u)
	}
	return Fail(nil, "measure the shim with a micrometer and "+mic, "mark %s stands for %s %s, and nothing says for which", mark, m.Sizes(u), u)
}

// Taken says which of several sizes a mark was taken for, and by what.
func (m Meaning) Taken(text string, u Figures) string {
	by := "the only one on sale"
	switch m.By {
	case ByMic:
		by = "as the micrometer reads"
	case ByRecord:
		by = "the one on record"
	}
	mark, _ := cutNumber(text)
	return fmt.Sprintf("mark %s stands for %s %s: taken as %s, %s", mark, m.Sizes(u), u, u.FormatAtLeast(m.Size, u.Places()), by)
}

// plain is the size that the mark is itself.
func (m Meaning) plain(mark string) Length {
	size, _ := MM.Parse(mark) // whole inches are no size of a shim
	return size
}

// Has reports whether the range holds the size.
func (r Range) Has(size Length) bool {
	return r.Step > 0 && size >= r.From && size <= r.To && (size-r.From)%r.Step == 0
}

// MarksOf lists the marks of the valve's shims.
func (e *Engine) MarksOf(v Valve) MarkList {
	if t := e.Train(v.Side); v.Closer && t.Closer != nil {
		return t.Closer.Marks
	}
	return e.Marks
}

// Mark is the mark of a shim of the engine, empty where it has none.
func (e *Engine) Mark(d Disc) string {
	if e.Kind == d.Kind && e.Diameter == d.Diameter {
		return e.Marks.Of(d.Size)
	}
	for _, side := range Sides {
		if t := e.Train(side); t.closers() && t.Closer.Family == d.Family {
			return t.Closer.Marks.Of(d.Size)
		}
	}
	return ""
}

// Marked reports whether the engine has shims that are not marked with their size.
func (e *Engine) Marked() bool {
	return len(e.Marks) > 0 || slices.ContainsFunc(Sides[:], func(s Side) bool {
		t := e.Train(s)
		return t.closers() && len(t.Closer.Marks) > 0
	})
}

// WithMark is a size with the mark on the shim, where that is another text.
func WithMark(size, mark string) string {
	if mark == "" {
		return size
	}
	return size + " (" + mark + ")"
}

// SortMarks puts marks in order and leaves out what is there twice.
func SortMarks(l MarkList) MarkList {
	slices.SortStableFunc(l, func(a, b Mark) int { return cmp.Or(cmp.Compare(a.Size, b.Size), cmp.Compare(a.Text, b.Text)) })
	return slices.Compact(l)
}

// validateMarks looks at a list of marks.
func validateMarks(key string, l MarkList, add func(key, hint, format string, args ...any)) {
	if len(l) > mostMarks {
		add(key, "give the numbers there are, like 2.45 + 0.025 n, n = 1 to 17", "%d marks are more than %d", len(l), mostMarks)
		return
	}
	for _, m := range l {
		if message := m.wrong(); message != "" {
			add(key+"."+m.Text, "a mark is up to 8 letters and digits, like A, 10 or 2P", "%s", message)
		} else if err := ImplausibleSize(m.Size, MM); err != nil {
			add(key+"."+m.Text, HintOf(err), "mark %s: %s", m.Text, err)
		} else if other := slices.IndexFunc(l, func(o Mark) bool { return o.Text != m.Text && strings.EqualFold(o.Text, m.Text) }); other >= 0 && l[other].Text < m.Text {
			add(key+"."+m.Text, "capitals and small letters are one mark: list its sizes together, like 50 = [2.50, 3.50]", "the marks %s and %s are the same", l[other].Text, m.Text)
		}
	}
}

// wrong says what keeps the text from being a mark.
func (m Mark) wrong() string {
	part := func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune(markAsSymbol, r)
	}
	switch {
	case m.Text == "" || len([]rune(m.Text)) > longestMark || strings.ContainsFunc(m.Text, part):
		return fmt.Sprintf("%.20q is no mark", m.Text)
	case strings.Contains(strings.ToLower(m.Text), "mic"):
		return fmt.Sprintf("%q is no mark: mic stands before what a micrometer reads", m.Text)
	}
	return ""
}
