package inventory

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

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

// An Outlook is when a machine should be looked at again, as its last check made
// it likely. Meters count in Unit.
type Outlook struct {
	Job     int64     // the visit
	Made    time.Time // of that visit
	Unit    string    // km, mi or h
	Meter   float64   // at the visit
	PerDay  float64   `json:",omitempty"` // how fast the meter runs from visit to visit, 0 where not known
	Told    bool      // whether wear is known well enough for what follows
	Outside bool      `json:",omitempty"` // whether a valve is outside as it was left
	CheckBy float64   `json:",omitempty"` // the recommendation: the maker's, or earlier; 0 for none
	Maker   float64   `json:",omitempty"` // when the maker's interval is up, 0 for none
	Early   float64   `json:",omitempty"` // 1 in 20 that the first valve is outside before this
	First   float64   `json:",omitempty"` // as likely before as after
	Late    float64   `json:",omitempty"` // 19 in 20 that it is outside before this; 0 for not to be foreseen
	Due     time.Time `json:",omitzero"`  // when CheckBy is expected to be reached
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

// standing follows a machine to the one that it turned out to be.
func standing(r Reader, m Machine) (_ Machine, err error) {
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
		if m, err = standing(r, m); err != nil {
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
		if known = err == nil; known {
			m, err = standing(r, m)
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
				if m, err = standing(r, m); err != nil {
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

// A MachineFile is a machine with its visits, the first one first.
type MachineFile struct {
	Machine Machine
	Visits  []Visit
}

// A Visit is a job with what was found in each valve and what was left there.
type Visit struct {
	Job           Job
	Engine        Engine
	Found         []shim.Measurement // the last readings before anything was fitted, each with its shim
	Left          []shim.Measurement // the last ones after
	Seats         []Seat             // what is in each valve
	Gauges        []Gauge            // sets that were measured with, as they were then
	Certificates  []Certificate      // the issues of its certificate, of this shop's
	OutOfDate     []Gauge            // those of them whose calibration had run out when they were used
	Before, After time.Time          // when Found and Left were entered last, zero where never
	Edited        time.Time          // when the job was edited last, zero where never; not of an imported one
	Imported      *Imported          // of a visit to another shop, whose Job has no number here; nil for this shop's
}

// Machine gives a machine with its visits. One that was merged gives the one
// that it turned out to be.
func (s *Shop) Machine(ctx context.Context, id int64) (f MachineFile, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		f, err = machineFile(r, id)
		return err
	})
	return f, err
}

func machineFile(r Reader, id int64) (f MachineFile, err error) {
	m, err := machineAt(r, id)
	if err != nil {
		return f, err
	}
	if f.Machine, err = standing(r, m); err != nil {
		return f, err
	}
	jobs, err := r.Jobs(JobFilter{Machine: f.Machine.ID})
	if err != nil {
		return f, err
	}
	for _, j := range jobs {
		v, err := visit(r, j.ID)
		if err != nil {
			return f, err
		}
		f.Visits = append(f.Visits, v)
	}
	elsewhere, err := imports(r, f.Machine.ID)
	if err != nil {
		return f, err
	}
	f.Visits = append(f.Visits, elsewhere...)
	slices.SortStableFunc(f.Visits, func(a, b Visit) int {
		return cmp.Or(a.Job.Opened.Compare(b.Job.Opened), cmp.Compare(a.Job.ID, b.Job.ID))
	})
	return f, nil
}

func visit(r Reader, job int64) (Visit, error) {
	w, err := load(r, job)
	if err != nil {
		return Visit{}, err
	}
	v := Visit{Job: w.Job, Engine: w.engine, Found: w.readAs(CheckBefore), Left: w.readAs(CheckRecheck)}
	for _, valve := range w.engine.Spec.Valves() {
		v.Seats = append(v.Seats, w.seated(valve))
	}
	edits, err := r.Edits(job)
	if err != nil {
		return Visit{}, err
	}
	if n := len(edits); n > 0 {
		v.Edited = edits[n-1].Time
	}
	v.Gauges = gaugesOf(w.checks)
	if v.Certificates, _, err = certificatesOf(r, job); err != nil {
		return Visit{}, err
	}
	for _, c := range w.checks {
		if c.Gauge.OutOfDate(c.Time) && !slices.Contains(v.OutOfDate, c.Gauge) {
			v.OutOfDate = append(v.OutOfDate, c.Gauge)
		}
		if c.Kind == CheckBefore {
			v.Before = c.Time
		} else {
			v.After = c.Time
		}
	}
	return v, nil
}

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

// KeepOutlooks works out when machines should be looked at again and keeps that
// beside them, with no booking in between. It is kept until a visit changes.
func (s *Shop) KeepOutlooks(ctx context.Context, machines []int64, of func(MachineFile) (Outlook, error)) error {
	keeps := *s
	keeps.reads = false // it books nothing, it spares the next one the work
	_, err := keeps.update(ctx, func(b *booking) error {
		for _, id := range machines {
			f, err := machineFile(b, id)
			if err != nil {
				return err
			}
			o, err := of(f)
			if err != nil {
				return err
			}
			f.Machine.Outlook = &o
			if err := b.putMachine(f.Machine); err != nil {
				return err
			}
		}
		return nil
	})
	return err
}

// AddJob implements [Writer].
func (b *booking) AddJob(j Job) (int64, error) {
	id, err := b.Writer.AddJob(j)
	if err != nil {
		return id, err
	}
	return id, b.stale(j.Machine)
}

// PutJob implements [Writer].
func (b *booking) PutJob(j Job) error {
	if err := b.Writer.PutJob(j); err != nil {
		return err
	}
	return b.stale(j.Machine)
}

// stale drops what was kept of a machine's next check: one of its visits changed.
func (b *booking) stale(machine int64) error {
	if machine == 0 {
		return nil
	}
	m, err := machineAt(b, machine)
	if err != nil || m.Outlook == nil {
		return err
	}
	m.Outlook = nil
	return b.putMachine(m)
}
