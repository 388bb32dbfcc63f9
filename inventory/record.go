package inventory

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
)

// A Record is a row whose content only the rules read: a machine, a set of
// gauges, a certificate, a visit to another shop. The store finds it by its
// number, its name and what it belongs to. Records are never removed.
type Record struct {
	Kind   string // one of [RecordKinds]
	Number int64  // 1, 2, 3, … within the kind
	Name   string // what it is looked up by
	Of     int64  // the job or machine that it belongs to, or 0
	Body   json.RawMessage
	Seal   Hash // the store's; rules see none
}

// A RecordFilter selects records of one kind; other zero fields select all.
type RecordFilter struct {
	Kind, Name string
	Of         int64
	Page
}

// The kinds of record, each counted on its own.
const (
	Machines     = "machines"
	Visits       = "visits" // of a machine to another shop, imported
	Gauges       = "gauges"
	Certificates = "certificates"
	LevelSets    = "levels" // of pieces that the box is to hold
	Prints       = "prints" // of labels
	Suppliers    = "suppliers"
	PriceLists   = "price lists"
)

// RecordKinds lists the kinds.
var RecordKinds = []string{Machines, Visits, Gauges, Certificates, LevelSets, Prints, Suppliers, PriceLists}

func (r Record) sealed() Record {
	r.Seal = seal(r.Kind, r.Number, r.Name, r.Of, string(r.Body))
	return r
}

func (r Record) where() string { return fmt.Sprintf("%s %d", singular(r.Kind), r.Number) }

// singular is one of a kind, in words.
func singular(kind string) string { return strings.TrimSuffix(kind, "s") }

func (r Record) sound() (Record, error) {
	if r.Seal != r.sealed().Seal {
		return r, broken(r.where())
	}
	r.Seal = Hash{}
	return r, nil
}

// NoRecord is the error of a store for a record that is not there.
func NoRecord(kind string, number int64) error {
	return shim.Fail(ErrUnknown, "", "there is no %s", Record{Kind: kind, Number: number}.where())
}

// record writes a value as the content of a record.
func record(kind string, number int64, name string, of int64, body any) (Record, error) {
	data, err := json.Marshal(body)
	return Record{Kind: kind, Number: number, Name: name, Of: of, Body: data}, err
}

// keep adds a record with a value as its content, or changes the one that has the
// number, and gives its number.
func keep(w Writer, kind string, number int64, name string, of int64, body any) (int64, error) {
	row, err := record(kind, number, name, of, body)
	if err != nil {
		return number, err
	}
	if number != 0 {
		return number, w.PutRecord(row)
	}
	return w.AddRecord(row)
}

// listed reads the content of the records that a filter selects.
func listed[T any](r Reader, f RecordFilter, read func(Record) (T, error)) (list []T, err error) {
	rows, err := r.Records(f)
	for _, row := range rows {
		one, err := read(row)
		if err != nil {
			return nil, err
		}
		list = append(list, one)
	}
	return list, err
}

// read reads the content of a record.
func (r Record) read(into any) error {
	if err := json.Unmarshal(r.Body, into); err != nil {
		return Damaged(r.where(), "cannot be read: "+err.Error())
	}
	return nil
}

// Record implements [Reader].
func (g *guard) Record(kind string, number int64) (Record, error) {
	r, err := g.raw.Record(kind, number)
	if err != nil {
		return r, g.gone(err, kind, number, singular(kind))
	}
	if r.Kind != kind || r.Number != number {
		return r, broken(Record{Kind: kind, Number: number}.where())
	}
	return r.sound()
}

// Records implements [Reader].
func (g *guard) Records(f RecordFilter) ([]Record, error) {
	rows, err := g.raw.Records(f)
	list, err := verified(rows, err, func(x, y Record) int { return cmp.Compare(x.Number, y.Number) }, func(r Record) bool { return f.takes(r) })
	if err != nil {
		return nil, err
	}
	return list, g.complete(Group{What: f.Kind}, f.Name == "" && f.Of == 0 && f.whole(len(list)), len(list))
}

func (f RecordFilter) takes(r Record) bool {
	return r.Kind == f.Kind && (f.Name == "" || r.Name == f.Name) && (f.Of == 0 || r.Of == f.Of)
}

// AddRecord implements [Writer].
func (g *guardWriter) AddRecord(r Record) (int64, error) {
	t, err := g.Tally(Group{What: r.Kind})
	if err != nil {
		return 0, err
	}
	r.Number = t.Count + 1
	if _, err := g.w.AddRecord(r.sealed()); err != nil {
		return 0, err
	}
	return r.Number, g.added(r.Kind, r.Number)
}

// PutRecord implements [Writer].
func (g *guardWriter) PutRecord(r Record) error {
	if _, err := g.Record(r.Kind, r.Number); err != nil {
		return err
	}
	return g.w.PutRecord(r.sealed())
}

// records compares the records with their seals.
func (a *audit) records(r Reader) error {
	for _, kind := range RecordKinds {
		list, err := r.Records(RecordFilter{Kind: kind})
		if err != nil {
			return err
		}
		for i, row := range list {
			_, err := row.sound()
			a.saw(err, Group{What: kind})
			a.numbered(singular(kind), row.Number, i)
		}
	}
	return nil
}

// Pick gives those of all records that the filter selects, for a store that
// looks through them.
func (f RecordFilter) Pick(all []Record) []Record {
	list := slices.DeleteFunc(slices.Clone(all), func(r Record) bool { return !f.takes(r) })
	slices.SortFunc(list, func(x, y Record) int { return cmp.Compare(x.Number, y.Number) })
	return list
}
