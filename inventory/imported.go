package inventory

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/shim"
)

// An Imported says where a visit to another shop comes from.
type Imported struct {
	ID      string    // the visit's, the same in every copy of it
	Shop    string    `json:",omitempty"` // as that shop calls itself
	Job     int64     // its number there
	Day     time.Time // imported
	Changed time.Time // when that shop changed it last
	// Certificates are those of the visit, as the file has them.
	Certificates []json.RawMessage `json:",omitempty"`
}

// VisitID names a visit to this shop in other shops.
func VisitID(j Job) string {
	sum := sha256.Sum256([]byte("shimwright visit " + strconv.FormatInt(j.ID, 10) + " " + j.Opened.UTC().Format(time.RFC3339)))
	return hex.EncodeToString(sum[:16])
}

// ID names the visit in every shop.
func (v Visit) ID() string {
	if v.Imported != nil {
		return v.Imported.ID
	}
	return VisitID(v.Job)
}

// newer reports whether this copy of a visit knows more than the other: it was changed
// later, or another issue of its certificate was made within the second.
func (i Imported) newer(old Imported) bool {
	return i.Changed.After(old.Changed) || i.Changed.Equal(old.Changed) && len(i.Certificates) > len(old.Certificates)
}

// A keptVisit is the content of the record of a visit to another shop.
type keptVisit struct {
	Imported
	Visit  Job
	Spec   shim.Engine
	Source string
	Found  []shim.Measurement `json:",omitempty"`
	Left   []shim.Measurement `json:",omitempty"`
	Seats  []Seat             `json:",omitempty"`
	Gauges []Gauge            `json:",omitempty"`

	Before, After time.Time `json:",omitzero"`
}

func importedVisit(r Record) (v Visit, err error) {
	var k keptVisit
	if err := r.read(&k); err != nil {
		return v, err
	}
	k.Visit.Machine = r.Of
	var stale []Gauge // already when it was measured first
	for _, g := range k.Gauges {
		if !k.Before.IsZero() && g.OutOfDate(k.Before) {
			stale = append(stale, g)
		}
	}
	return Visit{OutOfDate: stale, Job: k.Visit, Engine: Engine{Spec: k.Spec, Source: k.Source}, Found: k.Found, Left: k.Left, Seats: k.Seats, Gauges: k.Gauges,
		Before: k.Before, After: k.After, Imported: &k.Imported}, nil
}

func (v Visit) kept(machine int64) (Record, error) {
	j := v.Job
	j.ID, j.Engine, j.Plan, j.Machine, j.Short, j.Seal = 0, 0, 0, 0, 0, Hash{}
	return record(Visits, 0, v.Imported.ID, machine, keptVisit{Imported: *v.Imported, Visit: j, Spec: v.Engine.Spec, Source: v.Engine.Source,
		Found: v.Found, Left: v.Left, Seats: v.Seats, Gauges: v.Gauges, Before: v.Before, After: v.After})
}

// imports lists a machine's visits to other shops.
func imports(r Reader, machine int64) ([]Visit, error) {
	return listed(r, RecordFilter{Kind: Visits, Of: machine}, importedVisit)
}

// elsewhere is the machine's last visit to another shop before the job, nil where
// there is none.
func (w *work) elsewhere(r Reader) (last *Visit, err error) {
	if w.Machine == 0 {
		return nil, nil
	}
	list, err := imports(r, w.Machine)
	for i := range list {
		v := &list[i]
		if v.Job.State != StateCancelled && sameValves(&v.Engine.Spec, &w.engine.Spec) && !v.Job.Opened.After(w.Opened) &&
			(last == nil || v.Job.Opened.After(last.Job.Opened)) {
			last = v
		}
	}
	return last, err
}

// Elsewhere is the last visit of a job's machine to another shop before the job, nil
// where there is none.
func (s *Shop) Elsewhere(ctx context.Context, job int64) (v *Visit, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		w, err := load(r, job)
		if err != nil {
			return err
		}
		v, err = w.elsewhere(r)
		return err
	})
	return v, err
}

// known is the shim that a visit to another shop left in a valve.
func (v *Visit) known(valve shim.Valve) Known {
	k := Known{Seat: Seat{Valve: valve}}
	at := slices.IndexFunc(v.Seats, func(s Seat) bool { return s.Valve == valve && s.Size() != 0 && !s.SetUp })
	if at < 0 {
		return k
	}
	k = Known{Seat: v.Seats[at], Elsewhere: v.Imported, Time: v.Job.Opened}
	found := slices.IndexFunc(v.Found, func(m shim.Measurement) bool { return m.Valve == valve })
	k.Fitted = found >= 0 && v.Found[found].Size() != 0 && v.Found[found].Marks != k.Marks
	return k
}

// Imported lists the visits of all machines to other shops; they have no number
// here.
func (s *Shop) Imported(ctx context.Context) (list []Job, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		rows, err := r.Records(RecordFilter{Kind: Visits})
		for _, row := range rows {
			v, err := importedVisit(row)
			if err != nil {
				return err
			}
			list = append(list, v.Job)
		}
		return err
	})
	return list, err
}

// An Import is what a machine's file brought.
type Import struct {
	Machine Machine
	New     bool    // whether the machine was not known
	Added   int     // visits
	Newer   int     // visits that were known, and of which the file knows more
	Known   int     // visits that were known, this shop's own ones too
	Moved   int     // visits that were kept at another machine
	From    []int64 // the machines that those came from
}

// ImportMachine keeps the visits of a machine to other shops beside its own. Into
// is the machine that they belong to; 0 is the one that has some of them, else the
// one of the same tag and model, a new one where there is none. A visit that is known is not kept
// twice: one that is at another machine moves where into is told, else it stays. Ledger, box
// and jobs stay as they are.
func (s *Shop) ImportMachine(ctx context.Context, file MachineFile, into int64) (done Import, err error) {
	m := file.Machine
	for name, text := range map[string]string{"tag": m.Tag, "model": m.Model, "number": m.Number, "owner's note": m.Owner} {
		if err := validText(name, text); err != nil {
			return done, err
		}
	}
	if TagKey(m.Tag) == "" {
		return done, shim.Fail(ErrInvalid, "give it a tag in the other shop and export it again", "the machine has no tag")
	}
	_, err = s.update(ctx, func(b *booking) error {
		done = Import{}
		id, err := into, error(nil)
		if id == 0 {
			if id, err = holder(b, file.Visits); err != nil {
				return err
			}
		}
		if id == 0 {
			if id, err = machineOf(b, m.Tag, m.Model); err != nil {
				return err
			}
		}
		if id == 0 {
			done.New = true
			row, err := Machine{Model: m.Model, Tag: strings.TrimSpace(m.Tag), Number: m.Number, Owner: m.Owner}.record()
			if err != nil {
				return err
			}
			if id, err = b.AddRecord(row); err != nil {
				return err
			}
		}
		if done.Machine, err = standingAt(b, id); err != nil {
			return err
		}
		if here := done.Machine; !SameModel(here.Model, m.Model) {
			return shim.Fail(ErrInvalid, "only machines of one model can be one", "machine %d is a %s, that of the file a %s", id, here.Model, m.Model)
		}
		return b.keepVisits(&done, file.Visits, into != 0)
	})
	return done, err
}

// holder is the machine that was told to be the one of a file, under whatever tag:
// it has some visit of it. It is 0 where there is none.
func holder(r Reader, visits []Visit) (int64, error) {
	for _, v := range visits {
		rows, err := r.Records(RecordFilter{Kind: Visits, Name: v.ID()})
		if err != nil {
			return 0, err
		}
		for _, row := range rows {
			had, err := importedVisit(row)
			if err != nil {
				return 0, err
			}
			if had.same(v) {
				m, err := standing(r, row.Of)
				return m.ID, err
			}
		}
	}
	return 0, nil
}

// same reports whether two visits of one id are one: shops that opened a job of the
// same number within the second have the same id for it.
func (v Visit) same(other Visit) bool {
	return TagKey(v.Job.Tag) == TagKey(other.Job.Tag) && SameModel(v.Engine.Spec.Name, other.Engine.Spec.Name)
}

// ours reports whether a visit is a job of this shop, whatever machine it is at.
func ours(r Reader, v Visit) (bool, error) {
	if v.Imported.Job <= 0 {
		return false, nil
	}
	j, err := r.Job(v.Imported.Job)
	switch {
	case errors.Is(err, ErrUnknown):
		return false, nil
	case err != nil || VisitID(j) != v.Imported.ID || !SameModel(j.Name, v.Engine.Spec.Name):
		return false, err
	}
	edits, err := r.Edits(j.ID)
	return TagKey(j.Tag) == TagKey(v.Job.Tag) || slices.ContainsFunc(edits, func(e Edit) bool {
		return e.Field == TagField && TagKey(e.Old) == TagKey(v.Job.Tag)
	}), err
}

// keptAt finds the row of a visit: the machine's, else that of another one that
// stands. It is nil where there is none.
func (b *booking) keptAt(machine int64, v Visit) (at *Record, err error) {
	rows, err := b.Records(RecordFilter{Kind: Visits, Name: v.Imported.ID})
	for i := range rows {
		row := &rows[i]
		if row.Of == machine {
			return row, err
		}
		had, err := importedVisit(*row)
		if err != nil {
			return nil, err
		}
		m, err := machineAt(b, row.Of)
		if err != nil {
			return nil, err
		}
		if m.Merged == 0 && had.same(v) {
			at = row
		}
	}
	return at, err
}

func (b *booking) keepVisits(done *Import, visits []Visit, told bool) error {
	id := done.Machine.ID
	own, err := b.Jobs(JobFilter{Machine: id})
	if err != nil {
		return err
	}
	for _, v := range visits {
		if err := v.valid(); err != nil {
			return err
		}
		if v.Job.Opened.After(b.at.Add(24 * time.Hour)) {
			return shim.Fail(ErrInvalid, "set the clock of this computer, or have it exported again by one whose clock is right", "a visit is of %s, in the future", v.Job.Opened.Format(time.DateOnly))
		}
		fresh := *v.Imported
		fresh.Day = b.at
		if fresh.Changed.After(b.at) { // a clock that is ahead must not keep later corrections out
			fresh.Changed = b.at
		}
		v.Imported = &fresh
		mine, err := ours(b, v)
		if err != nil {
			return err
		}
		if mine || slices.ContainsFunc(own, func(j Job) bool { return VisitID(j) == v.Imported.ID }) {
			done.Known++
			continue
		}
		row, err := b.keptAt(id, v)
		if err != nil {
			return err
		}
		if row != nil {
			if err := b.keepAgain(done, v, *row, told); err != nil {
				return err
			}
			continue
		}
		next, err := v.kept(id)
		if err != nil {
			return err
		}
		if next.Number, err = b.AddRecord(next); err != nil {
			return err
		}
		done.Added++
	}
	return b.stale(id)
}

// keepAgain brings a visit that is kept up to date where the file knows more, and to
// the machine where that was told.
func (b *booking) keepAgain(done *Import, v Visit, row Record, told bool) error {
	old, err := importedVisit(row)
	if err != nil {
		return err
	}
	from, to := row.Of, row.Of
	if told {
		to = done.Machine.ID
	}
	newer := v.Imported.newer(*old.Imported)
	if !newer {
		v = old
	}
	v.Imported.Day = old.Imported.Day
	switch {
	case from != to:
		done.Moved++
		if !slices.Contains(done.From, from) {
			done.From = append(done.From, from)
		}
	case newer:
		done.Newer++
	default:
		done.Known++
		return nil
	}
	next, err := v.kept(to)
	if err != nil {
		return err
	}
	next.Number = row.Number
	if err := b.PutRecord(next); err != nil {
		return err
	}
	return errors.Join(b.stale(from), b.stale(to))
}

// mergeVisits makes the imported visits of one machine those of another one. What
// would be there twice, this shop's own jobs too, stays with the one that is merged.
func (b *booking) mergeVisits(from, into int64) error {
	seen := map[string]bool{}
	own, err := b.Jobs(JobFilter{Machine: into})
	if err != nil {
		return err
	}
	for _, j := range own {
		seen[VisitID(j)] = true
	}
	for _, machine := range []int64{into, from} {
		rows, err := b.Records(RecordFilter{Kind: Visits, Of: machine})
		if err != nil {
			return err
		}
		for _, row := range rows {
			to := into
			if seen[row.Name] {
				to = from
				if err := b.fresher(row, into); err != nil {
					return err
				}
			}
			seen[row.Name] = true
			if to == row.Of {
				continue
			}
			row.Of = to
			if err := b.PutRecord(row); err != nil {
				return err
			}
		}
	}
	return nil
}

// fresher gives what a row knows to the machine's row of the same visit, where that
// knows less.
func (b *booking) fresher(row Record, machine int64) error {
	rows, err := b.Records(RecordFilter{Kind: Visits, Name: row.Name, Of: machine})
	if err != nil || len(rows) == 0 || rows[0].Number == row.Number {
		return err
	}
	here, err := importedVisit(rows[0])
	if err != nil {
		return err
	}
	there, err := importedVisit(row)
	if err != nil || !there.Imported.newer(*here.Imported) {
		return err
	}
	rows[0].Body = row.Body
	return b.PutRecord(rows[0])
}

// valid reports the first thing wrong with a visit to another shop.
func (v Visit) valid() error {
	if v.Imported == nil || v.Imported.ID == "" {
		return shim.Fail(ErrInvalid, "", "a visit has no id")
	}
	j := v.Job
	for name, text := range map[string]string{"visit's id": v.Imported.ID, "shop's name": v.Imported.Shop, "meter": j.Meter, "meter before": j.MeterNew, "reset": j.Reset, "note": j.Note, "name of who did it": j.Who, "tag": j.Tag} {
		if err := validText(name, text); err != nil {
			return err
		}
	}
	if problems := v.Engine.Spec.Validate(); len(problems) > 0 {
		return shim.Fail(ErrInvalid, "", "%s: %w", problems[0].Key, &problems[0].Hinted)
	}
	return OnTime(j.Opened)
}
