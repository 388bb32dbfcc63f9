package shim

import (
	"fmt"
	"slices"
	"strings"
)

// A MarkBook is what is written on the shims of some models, family by family,
// for shims that belong to no valve: those of a box, a catalogue, an order. A nil
// one has no marks.
type MarkBook struct {
	families []bookFamily
	had      []Disc
}

// A bookFamily is a family with the models that list its marks.
type bookFamily struct {
	Family
	models []bookModel
	sale   []Range
}

type bookModel struct {
	name  string
	marks MarkList
	older bool // a version that tells only how its marks are read
}

// NewMarkBook makes the book of some models. Had are shims that the shop has: a
// whole number that is the size of one is not taken for a mark.
func NewMarkBook(engines []*Engine, had ...Disc) *MarkBook {
	b := &MarkBook{had: had}
	for _, e := range engines {
		b.engine(e, false)
	}
	return b
}

// AddOlder adds an older version of a model that is still in use: a mark that it
// reads differently is left open.
func (b *MarkBook) AddOlder(e *Engine) { b.engine(e, true) }

func (b *MarkBook) engine(e *Engine, older bool) {
	b.add(e.Name, Family{Kind: e.Kind, Diameter: e.Diameter}, e.Marks, e.Catalogue, older)
	for _, side := range Sides {
		if t := e.Train(side); t.closers() {
			b.add(e.Name, t.Closer.Family, t.Closer.Marks, t.Closer.Catalogue, older)
		}
	}
}

func (b *MarkBook) add(model string, f Family, marks MarkList, sale []Range, older bool) {
	at := slices.IndexFunc(b.families, func(have bookFamily) bool { return have.Family == f })
	if at < 0 {
		at, b.families = len(b.families), append(b.families, bookFamily{Family: f})
	}
	of := &b.families[at]
	of.sale = append(of.sale, sale...)
	if len(marks) > 0 && !slices.ContainsFunc(of.models, func(m bookModel) bool { return slices.Equal(m.marks, marks) }) {
		of.models = append(of.models, bookModel{model, marks, older})
	}
}

// Of is the mark of a shim, empty where it has none or the models differ.
func (b *MarkBook) Of(d Disc) string {
	if b == nil {
		return ""
	}
	for _, f := range b.families {
		if f.Family == d.Family {
			text, _ := f.mark(d.Size)
			return text
		}
	}
	return ""
}

// mark is the mark of a size. Where the models differ it is empty, and each is named
// with its own.
func (f *bookFamily) mark(size Length) (text, differ string) {
	var each []string
	same := true
	for _, m := range f.models {
		if one := m.marks.Of(size); one != "" && !m.older {
			same = same && (text == "" || strings.EqualFold(text, one))
			text, each = one, append(each, one+" for "+m.name)
		}
	}
	if !same {
		return "", strings.Join(each, ", ")
	}
	return text, ""
}

// Sizes are all that a text stands for as a mark of the families asked for; nil asks
// for all.
func (b *MarkBook) Sizes(text string, asked func(Family) bool) []Length {
	if b == nil {
		return nil
	}
	var list []Length
	for i := range b.families {
		if f := &b.families[i]; asked == nil || asked(f.Family) {
			list = append(list, f.sizes(text)...)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// Marked reports whether some family has marks.
func (b *MarkBook) Marked() bool {
	return b != nil && slices.ContainsFunc(b.families, func(f bookFamily) bool { return len(f.models) > 0 })
}

// Stray says why a text that is no size is no mark of the families asked for either:
// it is one of another family, or of none. It is nil where none of them has marks. The
// error is an [*Hinted].
func (b *MarkBook) Stray(text string, q MarkQuery) error {
	text = strings.TrimSpace(text)
	if _, err := q.Unit.Parse(text); err == nil || b == nil {
		return nil
	}
	var asked error
	for _, f := range b.families {
		switch {
		case len(f.sizes(text)) > 0:
			return Fail(nil, "give its diameter and family, or its size", "%s is no size, and a mark of %s", text, f.Family)
		case len(f.models) > 0 && asked == nil && (q.Asked == nil || q.Asked(f.Family)):
			asked = Fail(nil, "give the size, or a mark that the engine file lists", "%q is neither a size nor a mark of %s", text, f.Family)
		}
	}
	return asked
}

// Had are the shims that the shop has.
func (b *MarkBook) Had() []Disc {
	if b == nil {
		return nil
	}
	return b.had
}

// A Marking is what a mark stands for.
type Marking struct {
	Disc
	Said string // which of several sizes it was taken for, and by what; else empty
}

// A MarkQuery says what a mark may stand for.
type MarkQuery struct {
	Unit  Unit
	Asked func(Family) bool // which families are meant; nil is all
	Known Length            // by micrometer; 0 is not known
	// Record are the shims that it may be, such as those in the box: they tell
	// which of two sizes is meant, before the sizes on sale do.
	Record []Disc
}

// Read gives what a text means as a mark. It is false where it is none of the
// families asked for. The error, an [*Hinted], says why the shim is left open: the
// text may be a size itself, the mark has several sizes or families, or models
// differ.
func (b *MarkBook) Read(text string, q MarkQuery) (m Marking, is bool, err error) {
	if b == nil {
		return Marking{}, false, nil
	}
	all := b.Sizes(text, q.Asked)
	if len(all) == 0 {
		return Marking{}, false, nil
	}
	mark, _ := cutNumber(text)
	open := Meaning{Among: all}
	if open.orSize(text, q.Unit, func(size Length) bool { return b.hasSize(size, q.Asked) }); open.Plain && q.Known == 0 {
		return Marking{}, true, open.Open(text, q.Unit, "")
	}
	var of []*bookFamily
	for i := range b.families {
		if f := &b.families[i]; (q.Asked == nil || q.Asked(f.Family)) && len(f.sizes(text)) > 0 {
			of = append(of, f)
		}
	}
	if len(of) > 1 {
		var names []string
		for _, f := range of {
			names = append(names, fmt.Sprintf("%s %s of %s", Meaning{Among: f.sizes(text)}.Sizes(q.Unit), q.Unit, f.Family))
		}
		return Marking{}, true, Fail(nil, "give its diameter and family, or its size", "mark %s stands for %s", mark, strings.Join(names, " and for "))
	}
	return of[0].read(text, open, q)
}

// read is [MarkBook.Read] in one family, of what the text may mean there.
func (f *bookFamily) read(text string, m Meaning, q MarkQuery) (Marking, bool, error) {
	if err := f.differ(text, q.Unit); err != nil {
		return Marking{}, true, err
	}
	m.choose(q.Known, f.SizesOf(q.Record), f.sells)
	if m.Size == 0 {
		return Marking{}, true, m.Open(text, q.Unit, "give the size in full")
	}
	if _, differ := f.mark(m.Size); differ != "" {
		return Marking{}, true, Fail(nil, "give the size in full", "the models mark %s %s differently: %s", q.Unit.FormatAtLeast(m.Size, q.Unit.Places()), q.Unit, differ)
	}
	read := Marking{Disc: f.Of(m.Size)}
	if m.By != Untold && m.By != ByMic {
		read.Said = m.Taken(text, q.Unit)
	}
	return read, true, nil
}

// Differ is an error, an [*Hinted], where the models read a mark of the family
// differently.
func (b *MarkBook) Differ(text string, family Family, u Unit) error {
	if b == nil {
		return nil
	}
	for i := range b.families {
		if f := &b.families[i]; f.Family == family {
			return f.differ(text, u)
		}
	}
	return nil
}

// differ is [MarkBook.Differ] in one family.
func (f *bookFamily) differ(text string, u Unit) error {
	all := f.sizes(text)
	var words []string
	differ := false
	for _, m := range f.models {
		if sizes := m.marks.Sizes(text); len(sizes) > 0 {
			words = append(words, Meaning{Among: sizes}.Sizes(u)+" "+u.String()+" for "+m.name)
			differ = differ || !slices.Equal(sizes, all)
		}
	}
	if !differ {
		return nil
	}
	mark, _ := cutNumber(text)
	return Fail(nil, "give the size in full", "mark %s stands for %s", mark, strings.Join(words, " and for "))
}

// sizes are all that a text stands for as a mark, thinnest first.
func (f *bookFamily) sizes(text string) []Length {
	var list []Length
	for _, m := range f.models {
		list = append(list, m.marks.Sizes(text)...)
	}
	slices.Sort(list)
	return slices.Compact(list)
}

func (f *bookFamily) sells(size Length) bool {
	return slices.ContainsFunc(f.sale, func(r Range) bool { return r.Has(size) })
}

// hasSize reports whether a shim of the families may have the size: it lies among
// the marked ones, is on sale or the shop has it.
func (b *MarkBook) hasSize(size Length, asked func(Family) bool) bool {
	wanted := func(f Family) bool { return asked == nil || asked(f) }
	return slices.ContainsFunc(b.had, func(d Disc) bool { return d.Size == size && wanted(d.Family) }) ||
		slices.ContainsFunc(b.families, func(f bookFamily) bool {
			return wanted(f.Family) && (f.sells(size) || slices.ContainsFunc(f.models, func(m bookModel) bool { return m.marks.spans(size) }))
		})
}

// SizesOf are the sizes of the family's shims among some.
func (f Family) SizesOf(discs []Disc) (sizes []Length) {
	for _, d := range discs {
		if d.Family == f {
			sizes = append(sizes, d.Size)
		}
	}
	return sizes
}
