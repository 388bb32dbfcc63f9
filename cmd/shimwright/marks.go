package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
)

// A sizeReader reads typed sizes, labels and marks of shims that belong to no valve.
type sizeReader struct {
	app    *app
	unit   shim.Unit
	asked  func(shim.Family) bool
	book   func() (*shim.MarkBook, error) // read at the first text that may be a mark
	known  shim.Length                    // by micrometer
	record []shim.Disc                    // what it may be
	onHand bool                           // whether it is one that the shop has
	echo   bool                           // whether a person at the prompt sees what a mark was read as
}

// reader reads what the flags mean. With all, no flag means all
// shims, else plain discs.
func (o familyOptions) reader(a *app, u shim.Unit, all bool, book func() (*shim.MarkBook, error)) (*sizeReader, error) {
	of, err := o.typed(u)
	return &sizeReader{app: a, unit: u, asked: familiesLike(of, u, all), book: book}, err
}

// familiesLike reports which families the flags mean.
func familiesLike(of shim.Family, u shim.Unit, all bool) func(shim.Family) bool {
	return func(f shim.Family) bool {
		return all && of == shim.Family{} || f.Kind == of.Kind && work.Same(of.Diameter, f.Diameter, u)
	}
}

// marksLater reads the marks of the models in the shop when they are needed, before
// the shop is opened to book. A shop that cannot be read has none: the booking says
// why.
func (a *app) marksLater(cmd *cobra.Command) func() (*shim.MarkBook, error) {
	var book *shim.MarkBook
	read := false
	return func() (*shim.MarkBook, error) {
		if !read {
			read = true
			_ = a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) (err error) {
				book, err = work.MarkBook(ctx, shop)
				return err
			})
		}
		return book, nil
	}
}

// marksNow reads the marks of the models in the shop when they are needed.
func marksNow(ctx context.Context, shop *inventory.Shop) func() (*shim.MarkBook, error) {
	return func() (*shim.MarkBook, error) { return work.MarkBook(ctx, shop) }
}

// disc is [parseShim], for marks too.
func (r *sizeReader) disc(text string) (shim.Disc, error) {
	if d, is, err := r.mark(text); is || err != nil {
		return d, err
	}
	d, err := parseShim(text, r.unit)
	return d, r.unknown(text, err)
}

// pieces is [parsePieces], for marks too: B, Bx3, No. 5x3.
func (r *sizeReader) pieces(text string) (pieces, error) {
	if d, is, err := r.mark(text); is || err != nil {
		return pieces{Disc: d, count: 1, marked: true}, err
	}
	head := text
	if at := strings.LastIndexAny(text, times); at > 0 {
		head = text[:at]
		if d, is, err := r.mark(head); is || err != nil {
			_, tail, _ := cutCount(text[at:])
			p := pieces{Disc: d, told: true, marked: true}
			if err == nil {
				p.count, err = parseCount(tail)
			}
			return p, err
		}
	}
	p, err := parsePieces(text, r.unit)
	return p, r.unknown(head, err)
}

// marks are those of a file's rows.
func (r *sizeReader) marks(o familyOptions) (files.Marks, error) {
	of, err := o.typed(r.unit)
	if err != nil {
		return files.Marks{}, err
	}
	book, err := r.book()
	return files.Marks{Book: book, Of: of, OnHand: r.onHand}, err
}

// all reads each of the texts.
func (r *sizeReader) all(texts []string) (list []pieces, err error) {
	for _, text := range texts {
		p, err := r.pieces(text)
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
}

// mark reads a mark, false where the text is none. What it was taken for of several
// sizes is said.
func (r *sizeReader) mark(text string) (shim.Disc, bool, error) {
	text = strings.TrimSpace(text)
	if text == "" || strings.ContainsAny(text, ",;") || strings.Contains(text, ".") && !strings.HasPrefix(strings.ToLower(text), "no.") {
		return shim.Disc{}, false, nil // a size or a label
	}
	book, err := r.book()
	if err != nil {
		return shim.Disc{}, false, err
	}
	q := shim.MarkQuery{Unit: r.unit, Asked: r.asked, Known: r.known, Record: r.record}
	if r.onHand {
		q.Record = book.Had()
	}
	m, is, err := book.Read(text, q)
	if err != nil {
		return shim.Disc{}, is, wrong("", "%w", err)
	}
	if m.Said != "" {
		r.app.doubt(m.Said, "measure it if that cannot be")
	}
	if is && r.echo && r.app.person {
		fmt.Fprintf(r.app.err, "  %s %s\n", shimText{Unit: r.unit, mark: book.Of}.size(m.Disc), r.unit)
	}
	return m.Disc, is, nil
}

// unknown is the error of a text that is no size, in words of marks where shims have
// some.
func (r *sizeReader) unknown(text string, err error) error {
	if err == nil || strings.ContainsAny(text, ".,;") {
		return err
	}
	book, failed := r.book()
	if failed != nil {
		return err
	}
	if stray := book.Stray(text, shim.MarkQuery{Unit: r.unit, Asked: r.asked}); stray != nil && text != "" {
		return wrong("", "%w", stray)
	}
	return err
}
