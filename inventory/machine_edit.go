package inventory

import (
	"cmp"
	"context"
	"strconv"
	"strings"
	"time"

	"shimwright/shim"
)

// A MachineEdit is one changed field of a machine, with its old value.
type MachineEdit struct {
	Field    Field
	Old, New string
	Time     time.Time
	Who      string
}

// The fields of a machine that can be edited, beside [TagField].
const (
	NumberField Field = "number"
	OwnerField  Field = "owner"
	MergedField Field = "merged"
)

// EditMachine changes fields of a machine and returns the changes. Where its tag
// changes, the old one still leads to it until another machine of its model goes by it.
func (s *Shop) EditMachine(ctx context.Context, id int64, fields map[Field]string) (m Machine, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		if m, err = standingAt(b, id); err != nil {
			return err
		}
		changed := 0
		for _, f := range []struct {
			name Field
			is   *string
		}{{TagField, &m.Tag}, {NumberField, &m.Number}, {OwnerField, &m.Owner}} {
			text, told := fields[f.name]
			if text = strings.TrimSpace(text); !told || text == *f.is {
				continue
			}
			if err := validText(string(f.name), text); err != nil {
				return err
			}
			if f.name == TagField {
				if err := b.retag(m, text); err != nil {
					return err
				}
			}
			m.Edits = append(m.Edits, MachineEdit{Field: f.name, Old: *f.is, New: text, Time: b.at, Who: s.who})
			*f.is = text
			changed++
		}
		if changed == 0 {
			return shim.Fail(ErrInvalid, "give a new value", "machine %d: nothing to change", id)
		}
		return b.putMachine(m)
	})
	return m, err
}

// retag checks that a machine can go by another tag, and keeps the old one as a
// machine that was merged into it.
func (b *booking) retag(m Machine, tag string) error {
	if TagKey(tag) == "" {
		return shim.Fail(ErrInvalid, "give a tag with letters or digits", "machine %d needs a tag", m.ID)
	}
	if TagKey(tag) == TagKey(m.Tag) {
		return nil
	}
	switch other, err := machineOf(b, tag, m.Model); {
	case err != nil:
		return err
	case other != 0 && other != m.ID:
		is, err := machineAt(b, other)
		if err != nil {
			return err
		}
		if TagKey(is.Tag) != TagKey(tag) { // not any more
			break
		}
		return shim.Fail(ErrInvalid, "if both are one machine: shimwright machine merge "+strconv.FormatInt(other, 10)+" "+strconv.FormatInt(m.ID, 10), "machine %d goes by the tag %q", other, tag)
	}
	row, err := Machine{Model: m.Model, Tag: m.Tag, Merged: m.ID}.record()
	if err != nil {
		return err
	}
	_, err = b.AddRecord(row)
	return err
}

func (b *booking) putMachine(m Machine) error {
	row, err := m.record()
	if err != nil {
		return err
	}
	return b.PutRecord(row)
}

// MergeMachine makes the visits of one machine those of another one of the same
// model: they turned out to be one. The tag of the first leads to the second.
func (s *Shop) MergeMachine(ctx context.Context, id, into int64) (m Machine, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		from, err := standingAt(b, id)
		if err != nil {
			return err
		}
		if m, err = standingAt(b, into); err != nil {
			return err
		}
		switch {
		case id == into:
			return shim.Fail(ErrInvalid, "name two machines", "machine %d cannot be merged into itself", id)
		case !SameModel(from.Model, m.Model):
			return shim.Fail(ErrInvalid, "only machines of one model can be one", "machine %d is a %s, machine %d a %s", id, from.Model, into, m.Model)
		}
		jobs, err := b.Jobs(JobFilter{Machine: id})
		if err != nil {
			return err
		}
		for _, j := range jobs {
			j.Machine = into
			if err := b.PutJob(j); err != nil {
				return err
			}
		}
		if err := b.familiesAgree(into); err != nil {
			return err
		}
		if err := b.mergeVisits(id, into); err != nil {
			return err
		}
		from.Merged = into
		from.Edits = append(from.Edits, MachineEdit{Field: MergedField, New: m.Tag, Time: b.at, Who: s.who})
		m.Edits = append(m.Edits, MachineEdit{Field: MergedField, Old: from.Tag, New: m.Tag, Time: b.at, Who: s.who})
		m.Outlook = nil // worked out again from all visits
		m.Number, m.Owner = cmp.Or(m.Number, from.Number), cmp.Or(m.Owner, from.Owner)
		if err := b.putMachine(from); err != nil {
			return err
		}
		return b.putMachine(m)
	})
	return m, err
}
