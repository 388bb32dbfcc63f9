package inventory

import (
	"context"
	"fmt"
	"strings"
	"time"
)

// A Field is a part of a job that can be mended after it was opened.
type Field string

// The fields that [Shop.EditJob] mends. Of the engine it is another version of
// its file.
const (
	EngineField Field = "engine"
	TagField    Field = "tag"
	MeterField  Field = "meter"
	NoteField   Field = "note"
)

// An Edit is one field of a job that was mended. The value before it is kept.
type Edit struct {
	Job      int64
	Number   int // 1, 2, 3, … within the job
	Field    Field
	Old, New string
	Time     time.Time
	Who      string
	Seal     Hash
}

func (e Edit) sealed() Edit {
	e.Seal = seal(e.Job, e.Number, e.Field, e.Old, e.New, e.Time.Unix(), e.Who)
	return e
}

// field gives the job's field, nil for one that cannot be mended.
func (j *Job) field(f Field) *string {
	return map[Field]*string{TagField: &j.Tag, MeterField: &j.Meter, NoteField: &j.Note}[f]
}

// EditJob mends fields of a job, a closed one too, and gives what it changed.
// With an engine the job goes by that version of its engine file as well, all in
// one booking: either all of it is mended or nothing.
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
			e := Edit{Job: job, Number: len(before) + len(edits) + 1, Field: field, Old: old, New: text, Time: b.at, Who: s.who}.sealed()
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
		for _, field := range []Field{TagField, MeterField, NoteField} {
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
		}
		if len(edits) == 0 {
			return Fail(ErrInvalid, "give what is to stand there from now on", "job %d: nothing is changed by that", job)
		}
		if err := b.PutJob(w.Job); err != nil || !moved {
			return err
		}
		return b.settle(job)
	})
	return edits, err
}
