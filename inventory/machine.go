package inventory

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"

	"shimwright/shim"
)

// A Machine is a customer's engine, which comes in visit after visit: each job
// with its tag is one.
type Machine struct {
	ID     int64  `json:"-"` // [Record.Number]
	Model  string // the engine file's name
	Tag    string // what it goes by
	Number string `json:",omitempty"` // of the frame or the engine, as stamped
	Owner  string `json:",omitempty"` // a note of the owner's
	// Merged is the machine that this one turned out to be, 0 for one that stands.
	Merged int64         `json:",omitempty"`
	Edits  []MachineEdit `json:",omitempty"`
	// Outlook is what the last check made likely, the zero one where it tells nothing;
	// nil where it was not worked out since a visit changed.
	Outlook *Outlook `json:",omitempty"`
}

func (m Machine) record() (Record, error) { return record(Machines, m.ID, TagKey(m.Tag), 0, m) }

func machine(r Record) (m Machine, err error) {
	err = r.read(&m)
	m.ID = r.Number
	return m, err
}

// machineAt reads a machine.
func machineAt(r Reader, id int64) (Machine, error) {
	row, err := r.Record(Machines, id)
	if err != nil {
		return Machine{}, err
	}
	return machine(row)
}

// standing reads a machine, or the one that it turned out to be.
func standing(r Reader, id int64) (Machine, error) {
	m, err := machineAt(r, id)
	for err == nil && m.Merged != 0 {
		m, err = machineAt(r, m.Merged)
	}
	return m, err
}

// standingAt reads a machine that was not merged into another one.
func standingAt(r Reader, id int64) (Machine, error) {
	m, err := machineAt(r, id)
	if err == nil && m.Merged != 0 {
		err = shim.Fail(ErrState, "name that one", "machine %d was merged into machine %d", id, m.Merged)
	}
	return m, err
}

// tagged lists the machines that a tag leads to, by number: those that go by it,
// and of other models those that went by it once or that such a one was merged into.
func tagged(r Reader, tag string) (list []Machine, err error) {
	if TagKey(tag) == "" {
		return nil, nil
	}
	rows, err := r.Records(RecordFilter{Kind: Machines, Name: TagKey(tag)})
	if err != nil {
		return nil, err
	}
	var once []Machine
	for _, row := range rows {
		m, err := machine(row)
		if err != nil {
			return nil, err
		}
		if m.Merged == 0 {
			list = append(list, m)
			continue
		}
		if m, err = standing(r, m.Merged); err != nil {
			return nil, err
		}
		once = append(once, m)
	}
	for _, m := range once {
		if !slices.ContainsFunc(list, func(other Machine) bool { return SameModel(other.Model, m.Model) }) {
			list = append(list, m)
		}
	}
	slices.SortFunc(list, func(x, y Machine) int { return cmp.Compare(x.ID, y.ID) })
	return list, nil
}

// Tagged lists the machines that a tag leads to, as it is told: to each that goes by
// it or did once, see [Shop.EditMachine] and [Shop.MergeMachine].
func (s *Shop) Tagged(ctx context.Context, tag string) (list []Machine, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = tagged(r, tag)
		return err
	})
	return list, err
}

// Numbered gives the machine of a number, the one that it turned out to be where it
// was merged into another. It is false where there is none.
func (s *Shop) Numbered(ctx context.Context, id int64) (m Machine, known bool, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		m, err = machineAt(r, id)
		if errors.Is(err, ErrUnknown) {
			return nil
		}
		if known = err == nil; known && m.Merged != 0 {
			m, err = standing(r, m.Merged)
		}
		return err
	})
	return m, known, err
}

// machineOf finds the machine of a model that a tag leads to, 0 for none.
func machineOf(r Reader, tag, model string) (int64, error) {
	list, err := tagged(r, tag)
	for _, m := range list {
		if SameModel(m.Model, model) {
			return m.ID, err
		}
	}
	return 0, err
}

// atMachine gives the machine that a job with this tag is a visit of: a new one
// where it is not known.
func atMachine(w Writer, tag, model string) (int64, error) {
	id, err := machineOf(w, tag, model)
	if err != nil || id != 0 || TagKey(tag) == "" {
		return id, err
	}
	row, err := Machine{Model: model, Tag: strings.TrimSpace(tag)}.record()
	if err != nil {
		return 0, err
	}
	return w.AddRecord(row)
}

// MachineOf finds the machine of a model that a tag leads to, 0 for none.
func (s *Shop) MachineOf(ctx context.Context, tag, model string) (id int64, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		id, err = machineOf(r, tag, model)
		return err
	})
	return id, err
}

// FindMachines gives the jobs of an older shop file their machines: same tag,
// same model.
func FindMachines(w Writer) error {
	jobs, err := w.Jobs(JobFilter{})
	if err != nil {
		return err
	}
	g := guardOf(w)
	slices.Reverse(jobs)
	for _, j := range jobs {
		if j, err = j.sound(); err != nil {
			return err
		}
		if j.Machine, err = atMachine(g, j.Tag, j.Name); err != nil {
			return err
		}
		if j.Machine == 0 {
			continue
		}
		if err := w.PutJob(j.sealed()); err != nil {
			return err
		}
	}
	return g.flush()
}

// Machines lists the machines that stand, by number: those with the part in their
// tag, one of before, their frame number or owner's note, all where it is empty.
func (s *Shop) Machines(ctx context.Context, part string) (list []Machine, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		rows, err := r.Records(RecordFilter{Kind: Machines})
		if err != nil {
			return err
		}
		once := map[int64]bool{} // by number: the part is in a tag that leads to it
		var all []Machine
		for _, row := range rows {
			m, err := machine(row)
			if err != nil {
				return err
			}
			all = append(all, m)
			if m.Merged != 0 && part != "" && strings.Contains(TagKey(m.Tag), TagKey(part)) {
				if m, err = standing(r, m.Merged); err != nil {
					return err
				}
				once[m.ID] = true
			}
		}
		list = slices.DeleteFunc(all, func(m Machine) bool { return m.Merged != 0 || !m.matches(part) && !once[m.ID] })
		return nil
	})
	return list, err
}

// Once lists the tags that a machine went by before, those of machines that were
// merged into it too.
func (m Machine) Once() (tags []string) {
	for _, e := range m.Edits {
		if (e.Field == TagField || e.Field == MergedField) && e.Old != "" && TagKey(e.Old) != TagKey(m.Tag) && !slices.Contains(tags, e.Old) {
			tags = append(tags, e.Old)
		}
	}
	return tags
}

func (m Machine) matches(part string) bool {
	key := TagKey(part)
	return strings.Contains(TagKey(m.Tag), key) || strings.Contains(TagKey(m.Number), key) || strings.Contains(TagKey(m.Owner), key)
}
