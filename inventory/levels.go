package inventory

import (
	"context"
	"slices"
	"time"

	"shimwright/shim"
)

// Levels are how many pieces of each size the box is to hold of some families. They
// hold together only, since sizes stand in for one another. Later levels of a
// family replace earlier ones.
type Levels struct {
	ID       int64 `json:"-"` // [Record.Number]
	Made     time.Time
	Who      string        `json:",omitempty"`
	Seed     uint64        // of the jobs that were drawn
	Period   int           // jobs from one delivery to the next
	Families []shim.Family // that these are the levels of, those without any included
	Levels   []Level       `json:",omitempty"` // by family and size
}

// A Level is how many pieces of a size the box is to hold.
type Level struct {
	shim.Disc
	Count int
}

// KeepLevels keeps the levels of their families.
func (s *Shop) KeepLevels(ctx context.Context, l Levels) (Levels, error) {
	_, err := s.update(ctx, func(b *booking) (err error) {
		if l.Period < 1 || len(l.Families) == 0 {
			return shim.Fail(ErrInvalid, "", "levels of no family, or of no jobs")
		}
		for _, level := range l.Levels {
			if level.Count < 1 || level.Size <= 0 || !slices.Contains(l.Families, level.Family) {
				return shim.Fail(ErrInvalid, "", "a level of %d for %s makes no sense", level.Count, level.Disc)
			}
		}
		slices.SortFunc(l.Levels, func(x, y Level) int { return x.Disc.Compare(y.Disc) })
		l.Made, l.Who = b.at, s.who
		l.ID, err = keep(b, LevelSets, 0, "", 0, l)
		return err
	})
	return l, err
}

// Levels gives the levels that stand, those of the newest first. Each has only the
// families that nothing newer has.
func (s *Shop) Levels(ctx context.Context) (list []Levels, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		rows, err := r.Records(RecordFilter{Kind: LevelSets})
		if err != nil {
			return err
		}
		var seen []shim.Family
		list = nil
		for _, row := range slices.Backward(rows) {
			var l Levels
			if err := row.read(&l); err != nil {
				return err
			}
			l.ID = row.Number
			l.Families = slices.DeleteFunc(l.Families, func(f shim.Family) bool { return slices.Contains(seen, f) })
			l.Levels = slices.DeleteFunc(l.Levels, func(x Level) bool { return !slices.Contains(l.Families, x.Family) })
			seen = append(seen, l.Families...)
			if len(l.Levels) > 0 {
				list = append(list, l)
			}
		}
		return nil
	})
	return list, err
}
