package inventory

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/shim"
)

// A State is how far a job has come.
type State string

// The states of a job, in the order of the work.
const (
	StateOpen      State = "open"      // opened, nothing measured
	StateMeasured  State = "measured"  // readings are in
	StatePlanned   State = "planned"   // shims are reserved, nothing fitted
	StateFitting   State = "fitting"   // some of the plan's shims are in
	StateFitted    State = "fitted"    // all of the plan's shims are in
	StateRechecked State = "rechecked" // measured again after the fit
	StateClosed    State = "closed"    // done
	StateCancelled State = "cancelled" // cancelled; reserved shims are free again
)

// States lists all states in the order of the work.
var States = []State{StateOpen, StateMeasured, StatePlanned, StateFitting, StateFitted, StateRechecked, StateClosed, StateCancelled}

// Final reports whether the job is finished.
func (s State) Final() bool { return s == StateClosed || s == StateCancelled }

// holds reports whether a job in this state reserves shims of the box.
func (s State) holds() bool { return s == StatePlanned || s == StateFitting }

// A Job is one machine's visit to the shop.
type Job struct {
	ID       int64
	Engine   int64  // [Engine.ID]
	Name     string // the engine's name
	Diameter shim.Length
	Tag      string // the customer's tag: what the shop calls this visit
	Meter    string // odometer or hours, as read, with its unit
	Note     string
	State    State
	Who      string
	Opened   time.Time
	Changed  time.Time // when the job last changed
	Plan     int       // the number of the latest plan, 0 without one
	Anyway   bool      // closed although some valve was not proven to be inside its limits
	Machine  int64     // [Machine.ID], 0 for a visit without a tag
	MeterNew string    // what the meter before read where another one is in since, with its unit, or "unknown"
	Reset    string    // what was done that wear cannot be followed across: "seats cut"
	Build    bool      // a fresh build: what was in are set-up shims of the bench set, or none
	Short    int       // pieces that its plan counted on and that were taken away
	Seal     Hash      // the store's; rules see none
}

// An Opening is what is known when a job is opened.
type Opening struct {
	Spec   shim.Engine
	Source string // the engine file's text; names the engine for later jobs
	Tag    string
	Meter  string // odometer or hours with their unit
	Note   string
	Build  bool      // a fresh build, see [Job.Build]
	Date   time.Time // day of arrival; zero means now

	MeterNew, Reset string // see [Job]
}

// OpenJob opens a job.
func (s *Shop) OpenJob(ctx context.Context, o Opening) (job Job, err error) {
	if problems := o.Spec.Validate(); len(problems) > 0 {
		return Job{}, shim.Fail(ErrInvalid, "", "%s: %w", problems[0].Key, &problems[0].Hinted)
	}
	if o.Source == "" {
		return Job{}, shim.Fail(ErrInvalid, "give the engine file", "the engine file is empty")
	}
	for name, text := range map[string]string{"tag": o.Tag, "odometer": o.Meter, "odometer before": o.MeterNew, "reset": o.Reset, "note": o.Note} {
		if err := validText(name, text); err != nil {
			return Job{}, err
		}
	}
	_, err = s.update(ctx, func(b *booking) error {
		opened := o.Date.UTC().Truncate(time.Second)
		if o.Date.IsZero() {
			opened = b.at
		}
		if err := OnTime(opened); err != nil {
			return err
		}
		engine, err := b.engine(o)
		if err != nil {
			return err
		}
		at, err := atMachine(b, o.Tag, o.Spec.Name)
		if err != nil {
			return err
		}
		job = Job{
			Machine: at, MeterNew: strings.TrimSpace(o.MeterNew), Reset: strings.TrimSpace(o.Reset),
			Engine: engine, Name: o.Spec.Name, Diameter: o.Spec.Diameter, Tag: strings.TrimSpace(o.Tag), Meter: o.Meter, Note: o.Note,
			State: StateOpen, Build: o.Build, Who: s.who, Opened: opened, Changed: b.at,
		}
		if job.ID, err = b.AddJob(job); err != nil {
			return err
		}
		return b.familiesStand(job.ID)
	})
	return job, err
}

// Jobs lists jobs, newest first.
func (s *Shop) Jobs(ctx context.Context, f JobFilter) (list []Job, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = r.Jobs(f)
		return err
	})
	return list, err
}

// A File is everything the shop knows about one job.
type File struct {
	Job          Job
	Engine       Engine
	Edits        []Edit
	Certificates []Certificate // the issues of its certificate
	Gauges       []Gauge       // sets that its checks were made with, as they were then
	Checks       []Check
	Plan         *KeptPlan   // the plan that stands, nil where none does
	Fitted       *KeptPlan   // the plan whose whole fit stands and is rechecked, nil where none does
	Left         []Placement // of the plan, not yet fitted
	Picks        []Pick      // for each of Left, where its shim lies
	Seats        []Seat      // what sits in each valve of the engine
	Holds        []Hold
	Purchases    []Purchase // pieces that arrived for earlier plans are in all three counts
	Movements    []Movement // every row of the job, taken-back ones included
	Standing     []Movement // those of them that were not taken back
	Unproven     []string   // valves that keep the job from being closed, with the reason
	// Found and Since are the last readings of the valves before anything was
	// fitted and after, each with the shim that sat in the valve then.
	Found, Since []shim.Measurement
	// Otherwise are the shims that came out of their valves as the plan was fitted
	// and are others than the readings said that it was made on.
	Otherwise []Seat
	Expected  []Expected // of the valves whose last reading tells
	// CloserFirst are the openers whose last reading is from when their closers showed no
	// play: it is provisional. It is never nil.
	CloserFirst []shim.Valve
}

// An Expected is what the shim that sits in a valve leaves there by its last reading.
type Expected struct {
	Valve     shim.Valve
	Clearance shim.Length
}

// Job gives one job's file.
func (s *Shop) Job(ctx context.Context, id int64) (f File, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		w, err := load(r, id)
		if err != nil {
			return err
		}
		f = File{Job: w.Job, Engine: w.engine, Checks: w.checks, Left: w.left(), Purchases: w.bought(), Standing: w.moves, Unproven: w.unproven()}
		f.Found, f.Since = w.readAs(CheckBefore), w.readAs(CheckRecheck)
		if w.plan.Number > 0 {
			f.Plan, f.Otherwise = &w.plan, w.otherwise()
		}
		if f.Fitted, err = w.fittedPlan(r); err != nil {
			return err
		}
		f.CloserFirst = w.closersFirst()
		for _, v := range w.engine.Spec.Valves() {
			seat := w.seated(v)
			f.Seats = append(f.Seats, seat)
			if c, known := w.expect(v, seat.Size()); known {
				f.Expected = append(f.Expected, Expected{v, c})
			}
		}
		f.Gauges = gaugesOf(w.checks)
		if f.Certificates, _, err = certificatesOf(r, id); err != nil {
			return err
		}
		if f.Edits, err = r.Edits(id); err != nil {
			return err
		}
		if f.Holds, err = r.Holds(HoldFilter{Job: id}); err != nil {
			return err
		}
		if f.Picks, err = w.picks(r); err != nil {
			return err
		}
		f.Movements, err = r.Movements(MovementFilter{Job: id})
		return err
	})
	return f, err
}

// A Field is a part of a job that can be edited after it was opened.
type Field string

// The fields that [Shop.EditJob] changes. The engine can change to another
// version of its file.
const (
	EngineField Field = "engine"
	TagField    Field = "tag"
	MeterField  Field = "meter"
	NoteField   Field = "note"

	MeterNewField Field = "meter before"
	ResetField    Field = "reset"
)

// An Edit is one changed field of a job, with its old value.
type Edit struct {
	Job      int64
	Number   int // 1, 2, 3, … within the job
	Field    Field
	Old, New string
	Time     time.Time
	Who      string
	Seal     Hash // the store's; rules see none
}

// field gives the job's field, nil for one that cannot be mended.
func (j *Job) field(f Field) *string {
	return map[Field]*string{TagField: &j.Tag, MeterField: &j.Meter, NoteField: &j.Note, MeterNewField: &j.MeterNew, ResetField: &j.Reset}[f]
}

// EditJob changes fields of a job, even a closed one, and returns the changes.
// With an engine the job also switches to that version of its engine file. All
// changes are one booking: all are made or none.
func (s *Shop) EditJob(ctx context.Context, job int64, fields map[Field]string, engine *Opening) (edits []Edit, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		edits = nil
		w, err := load(b, job)
		if err != nil {
			return err
		}
		before, err := b.Edits(job)
		if err != nil {
			return err
		}
		edit := func(field Field, old, text string) error {
			e := Edit{Job: job, Number: len(before) + len(edits) + 1, Field: field, Old: old, New: text, Time: b.at, Who: s.who}
			edits = append(edits, e)
			return b.AddEdit(e)
		}
		moved := false
		if engine != nil {
			was := w.Engine
			if moved, err = b.moveEngine(w, *engine); err != nil {
				return err
			}
			if moved {
				if err := edit(EngineField, fmt.Sprintf("engine %d", was), fmt.Sprintf("engine %d", w.Engine)); err != nil {
					return err
				}
			}
		}
		for _, field := range []Field{TagField, MeterField, MeterNewField, ResetField, NoteField} {
			text, told := fields[field]
			is := w.field(field)
			if text = strings.TrimSpace(text); !told || text == *is {
				continue
			}
			if err := validText(string(field), text); err != nil {
				return err
			}
			if err := edit(field, *is, text); err != nil {
				return err
			}
			*is = text
			if field == TagField {
				if err := b.stale(w.Machine); err != nil {
					return err
				}
				if w.Machine, err = atMachine(b, text, w.Name); err != nil {
					return err
				}
			}
		}
		if len(edits) == 0 {
			return shim.Fail(ErrInvalid, "give a new value", "job %d: nothing to change", job)
		}
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		if _, tagged := fields[TagField]; moved || tagged {
			if err := b.familiesStand(job); err != nil {
				return err
			}
		}
		if !moved {
			return nil
		}
		return b.settle(job)
	})
	return edits, err
}

// Close closes a job. Every valve's last reading must be inside its limits and
// taken after its last shim change; anyway closes the job without this.
func (s *Shop) Close(ctx context.Context, job int64, anyway bool) error {
	_, err := s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		if w.State.Final() {
			return w.fail("open a new job", "is finished")
		}
		if v, left := w.setUp(); left {
			return shim.Fail(ErrState, "fit its shim, or cancel the job", "job %d cannot be closed: valve %s has no shim of its own", job, v)
		}
		if empty := w.empty(); len(empty) > 0 {
			return shim.Fail(ErrState, "fit the rest, undo the fit, or plan again", "job %d cannot be closed: valve %s has no shim fitted", job, empty[0])
		}
		if open := w.unproven(); len(open) > 0 && !anyway {
			return shim.Fail(ErrState, "finish the work and measure again, or close it with --anyway", "job %d cannot be closed: %s", job, some(open))
		}
		w.State, w.Anyway = StateClosed, len(w.unproven()) > 0
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		return b.settle(job)
	})
	return err
}

// some joins reasons, the first few of them.
func some(list []string) string {
	const most = 4
	text := strings.Join(list[:min(most, len(list))], "; ")
	if n := len(list) - most; n > 0 {
		text += fmt.Sprintf("; %d more valves", n)
	}
	return text
}

// unproven lists the valves whose clearance is not proven to be inside the
// limits, with the reason.
func (w *work) unproven() []string {
	readings, from := w.latest()
	var list []string
	for _, v := range w.engine.Spec.Valves() {
		m, read := readings[v]
		changed := w.fittedBetween(v, from[v].Seq, forever)
		switch {
		case w.seat(v, forever).SetUp:
			list = append(list, fmt.Sprintf("%s has no shim of its own", v))
		case !read:
			list = append(list, fmt.Sprintf("%s is not measured", v))
		case w.closerFirst(v, from[v]):
			list = append(list, fmt.Sprintf("%s is not measured since %s showed no play", v, v.Other()))
		case changed:
			list = append(list, fmt.Sprintf("%s is not measured since its shim was changed", v))
		default:
			limits := w.limits(v)
			if verdict := limits.Judge(m.Reading); verdict != shim.OK {
				list = append(list, fmt.Sprintf("%s is %s", v, verdict))
			} else if limits.Undecided(m.Reading) {
				list = append(list, fmt.Sprintf("%s is undecided: %s", v, limits.Deciding(m.Reading, w.engine.Spec.Units.Clearance)))
			}
		}
	}
	return list
}

// closersFirst lists the openers whose last reading is provisional; it is never nil.
func (w *work) closersFirst() []shim.Valve {
	latest, from := w.latest()
	list := []shim.Valve{}
	for _, v := range w.engine.Spec.Valves() {
		if _, read := latest[v]; read && w.closerFirst(v, from[v]) {
			list = append(list, v)
		}
	}
	return list
}

// closerFirst reports whether an opener was read while its closer, with the shim that
// it had then, showed no play: that reading is provisional. The closer may have been read
// before the opener, or after it with no shim of the two changed in between.
func (w *work) closerFirst(opener shim.Valve, read Check) bool {
	closer := opener.Other()
	if at, has := w.engine.Spec.Find(closer); opener.Closer || !has || w.engine.Spec.Valves()[at] != closer {
		return false
	}
	first := false
	for _, c := range w.checks {
		if c.Number < read.Number && read.carried() && c.reads(opener) && w.closerFirst(opener, c) {
			return true // nobody read it again
		}
		for _, m := range c.Readings {
			if m.Valve != closer || m.Reading.Kind == shim.Unread {
				continue
			}
			jams := w.limits(closer).NoPlay(m.Reading)
			if c.Number <= read.Number {
				first = jams && !w.fittedBetween(closer, c.Seq, read.Seq)
			} else if jams && !w.fittedBetween(closer, read.Seq, c.Seq) && !w.fittedBetween(opener, read.Seq, c.Seq) {
				return true
			}
		}
	}
	return first
}

// Cancel cancels a job: reserved shims are free again, fitted shims go back into
// the box and pulled shims out of it. Pieces that were bought for the
// job stay in the box, and what was read on a shim stays known. It is [ErrShort]
// where a pulled shim was used elsewhere since.
func (s *Shop) Cancel(ctx context.Context, job int64, note string) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		if w.State.Final() {
			return w.fail("open a new job", "is finished")
		}
		taken, err := b.takenPieces(w)
		if err != nil {
			return err
		}
		w.State = StateCancelled
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		rows := slices.DeleteFunc(slices.Clone(w.moves), func(m Movement) bool { return m.Kind == KindReceived })
		if err := b.reverse(rows, []int64{job}, note); err != nil {
			return err
		}
		return b.stillKnown(taken, note)
	})
}

// stillKnown books anew what was told of shims of the box since they were taken
// out of it: they are back in it.
func (b *booking) stillKnown(taken []*piece, note string) error {
	for _, p := range taken {
		is := p.from
		is.Stamp, is.Mic = p.known.Stamp, p.known.Mic
		here, err := b.Balance(p.from)
		if err != nil {
			return err
		}
		if is == p.from || here.Count == 0 { // its like was used since, and it went into the engine instead
			continue
		}
		for _, row := range []Movement{{Lot: p.from, Count: -1}, {Lot: is, Count: 1}} {
			row.Kind, row.Note = KindCorrected, note
			if err := b.post(row, override); err != nil {
				return err
			}
		}
	}
	return nil
}
