package inventory

import (
	"context"
	"strings"
	"time"
)

// A Field is a part of a job that can be mended after it was opened.
type Field string

// The fields that [Shop.EditJob] mends, and the engine, which
// [Shop.MoveEngine] does.
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
func (s *Shop) EditJob(ctx context.Context, job int64, fields map[Field]string) (edits []Edit, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		edits = nil
		j, err := b.Job(job)
		if err != nil {
			return err
		}
		before, err := b.Edits(job)
		if err != nil {
			return err
		}
		for _, field := range []Field{TagField, MeterField, NoteField} {
			text, told := fields[field]
			if text = strings.TrimSpace(text); !told || text == *j.field(field) {
				continue
			}
			if err := validText(string(field), text); err != nil {
				return err
			}
			e := Edit{Job: job, Number: len(before) + len(edits) + 1, Field: field, Old: *j.field(field), New: text, Time: b.at, Who: s.who}.sealed()
			*j.field(field) = text
			if err := b.AddEdit(e); err != nil {
				return err
			}
			edits = append(edits, e)
		}
		if len(edits) == 0 {
			return Fail(ErrInvalid, "give what is to stand there from now on", "job %d: nothing is changed by that", job)
		}
		return b.PutJob(j)
	})
	return edits, err
}
