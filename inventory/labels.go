package inventory

import (
	"context"
	"slices"
	"time"

	"shimwright/shim"
)

// A Label is what was printed for a drawer, or for the scanner. It has no size where
// it is that of a bin itself, or of a word.
type Label struct {
	shim.Disc
	Stamp   shim.Length `json:",omitempty"` // the size marked, where it is another
	Bin     string      `json:",omitempty"`
	Marking string      `json:",omitempty"` // what is written on the shim, where its size is not
	Word    string      `json:",omitempty"` // that a scanner types
}

// sticks reports whether both labels belong at the same place.
func (l Label) sticks(m Label) bool { return l.Disc == m.Disc && l.Bin == m.Bin && l.Word == m.Word }

// A LabelPrint is a set of labels that was printed.
type LabelPrint struct {
	ID      int64 `json:"-"` // [Record.Number]
	Printed time.Time
	Who     string `json:",omitempty"`
	Labels  []Label
	key     string // of the command that kept it
}

// KeepPrint keeps what was printed.
func (s *Shop) KeepPrint(ctx context.Context, labels []Label) (p LabelPrint, err error) {
	_, err = s.update(ctx, func(b *booking) (err error) {
		if len(labels) == 0 {
			return shim.Fail(ErrInvalid, "", "a print of no labels")
		}
		key := ""
		if s.command != nil {
			key = s.command.Key
		}
		p = LabelPrint{Printed: b.at, Who: s.who, Labels: labels}
		p.ID, err = keep(b, Prints, 0, key, 0, p)
		return err
	})
	return p, err
}

// LabelPrints lists what was printed, the first one first.
func (s *Shop) LabelPrints(ctx context.Context) (list []LabelPrint, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = listed(r, RecordFilter{Kind: Prints}, labelPrint)
		return err
	})
	return list, err
}

func labelPrint(r Record) (p LabelPrint, err error) {
	err = r.read(&p)
	p.ID, p.key = r.Number, r.Name
	return p, err
}

// PrintUnder is the print that the command with the key kept, without a key the last
// one.
func PrintUnder(key string, all []LabelPrint) (p LabelPrint, found bool) {
	for _, p := range slices.Backward(all) {
		if key == "" || p.key == key {
			return p, true
		}
	}
	return p, false
}

// Unprinted leaves those labels that were never printed as they are now.
func Unprinted(labels []Label, all []LabelPrint) (list []Label) {
	for _, l := range labels {
		stands := false
		for _, p := range slices.Backward(all) {
			if i := slices.IndexFunc(p.Labels, l.sticks); i >= 0 {
				stands = p.Labels[i] == l
				break
			}
		}
		if !stands {
			list = append(list, l)
		}
	}
	return list
}
